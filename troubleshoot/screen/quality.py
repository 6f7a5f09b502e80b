"""What is weak in a pack, drawn: one table of everything looked for, and below it every weak spot with its place."""

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from troubleshoot.quality import Judged, Weakness
from troubleshoot.rulebook.wording import label
from troubleshoot.screen.drawing import block, heading

NOTE = (
    "What rests on drawn cases comes from the world moved away from the pack's words, every check answered. "
    "Hints for those who write rules: figures are simulated, words are judged by short lists."
)


def quality_table(judged: Judged) -> RenderableType:
    """One line for each thing looked for: of how many, and how many are weak."""
    table = Table(box=None, padding=(0, 1), show_edge=False)
    for position, head in enumerate(("looked for", "among", "found")):
        table.add_column(head, justify="right" if position else "left")
    for kind, among in judged.looked_at.items():
        table.add_row(Text(kind), Text(str(among)), Text(str(len(judged.of(kind)))))
    return Group(heading(f"Quality of the pack {judged.pack}"), table, block(NOTE, "dim"))


def weak_spots(judged: Judged, most: int) -> Sequence[RenderableType]:
    """Every weak spot under its heading, with file and line; no more than `most` of a kind."""
    parts: list[RenderableType] = []
    for kind in judged.looked_at:
        some = judged.of(kind)
        if some:
            parts += [heading(kind), *(block(_spot(w)) for w in some[:most])]
            if len(some) > most:
                parts.append(block(f"and {len(some) - most} more; --all shows them", "dim"))
    return parts


def _spot(weak: Weakness) -> str:
    where = f" ({label(weak.where)})" if weak.where else ""
    return f"{label(weak.name)}{where}: {weak.says}; {weak.file}:{weak.line}"

"""What a log of events shows, drawn in the terminal: how it was read, findings in rank order, a strip of time."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from troubleshoot.eventlog import LEVEL, WATCH, Account, Finding, Log, Look, clock_text, sentence
from troubleshoot.eventlog.telling import odds
from troubleshoot.screen.drawing import block, console, heading, line, printable
from troubleshoot.sketch.strips import Row, Strips, legend

TAKEN, CHANGED, FREE = "█", "▒", "·"
MOST_BLOCKS = 8


@contextmanager
def reading_bar() -> Iterator[Callable[[float], object]]:
    """A bar on standard error while a file is read, where that is a terminal; call it with the part that is done."""
    import sys

    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn

    columns = (TextColumn("reading"), BarColumn(), TaskProgressColumn())
    with Progress(*columns, console=console(sys.stderr), transient=True, disable=not sys.stderr.isatty()) as bars:
        task = bars.add_task("", total=1.0)
        yield lambda part: bars.update(task, completed=part)


def account_lines(log: Log, account: Account) -> RenderableType:
    """How the file was read: rows, hours, what was refused and why."""
    roles = ", ".join(
        f"{role} {column}" for role, column in sorted(account.mapping.columns.items(), key=lambda c: str(c[1]))
    )
    parts: list[RenderableType] = [heading(f"The log {account.file}")]
    spell = f"{log.hours:.1f} hours" + (f" in {len(log.runs)} runs" if len(log.runs) > 1 else "")
    first = f", from {clock_text(log, log.start)}" if log.rows else ""
    parts.append(line("read", f"{account.read:,} row{'' if account.read == 1 else 's'} of {spell}{first}"))
    parts.append(line("as", f"columns {roles}; times as {account.mapping.times}; {account.encoding}"))
    if account.refused:
        parts.append(
            line(
                "refused",
                f"{account.refused:,} row{'' if account.refused == 1 else 's'}, the first of each kind:",
                "yellow",
            )
        )
        parts += [block(f"line {p.line}: {p.text}", "", 13) for p in account.reasons]
    if account.late:
        parts.append(line("order", "some rows were out of order and have been sorted by time"))
    return Group(*parts)


def findings_table(found: Sequence[Finding], notes: Mapping[int, Sequence[str]], looks: int) -> RenderableType:
    """Findings in rank order: what was seen, and how likely chance alone would show it."""
    parts: list[RenderableType] = [heading("What chance does not explain")]
    table = Table(box=None, padding=(0, 1), show_edge=False)
    table.add_column("", justify="right", no_wrap=True)
    table.add_column("what", ratio=1)
    table.add_column("by chance", no_wrap=True)
    for number, finding in enumerate(found, 1):
        text = Text(printable(sentence(finding)))
        for note in notes.get(number, ()):
            text.append(f"\n{printable(note)}", style="dim")
        table.add_row(str(number), text, Text(_wrapped(odds(finding.corrected))))
    if found:
        parts.append(Padding(table, (0, 0, 0, 1)))
    else:
        parts.append(block("Nothing. That clears no single place: a fault that shows seldom needs a longer log."))
    parts.append(
        block(
            f"After {looks:,} looks, corrected by Holm within each family of looks. A log of a healthy layout shows "
            f"any finding at all at most {LEVEL * 100:.0f} times in 100.",
            "dim",
        )
    )
    return Group(*parts)


def _wrapped(text: str) -> str:
    """Odds on two lines where one is long, so that a narrow screen has room for the sentence."""
    return text.replace("under 1 in a billion", "under 1 in\na billion")


def watch_lines(watch: Sequence[Finding]) -> list[RenderableType]:
    """What is not sure enough to be called found."""
    if not watch:
        return []
    parts: list[RenderableType] = [heading("Worth watching, not sure")]
    parts += [block(f"- {sentence(f)}") for f in watch]
    parts.append(block(f"Of such, {WATCH * 100:.0f} in 100 are false (Benjamini and Hochberg).", "dim"))
    return parts


def blocks_table(seen: Look) -> list[RenderableType]:
    """The blocks that flicker most, with rate and dwell."""
    if not seen.blocks:
        return []
    table = Table(box=None, padding=(0, 1), show_edge=False)
    for name in ("block", "trains", "flickers", "an hour", "dwell"):
        table.add_column(name, justify="left" if name == "block" else "right")
    for name, stays, count, rate, dwell in seen.blocks[:MOST_BLOCKS]:
        table.add_row(Text(printable(name)), f"{stays}", f"{count}", f"{rate:.1f}", f"{dwell:.2f} s")
    return [heading("Blocks that flicker most"), Padding(table, (0, 0, 0, 1))]


def turnouts_table(seen: Look) -> list[RenderableType]:
    """The turnouts with the most unconfirmed throws, or the slowest, with their waits."""
    rows = sorted(seen.turnouts, key=lambda r: (r[2] - r[1], -r[4], r[0]))[:MOST_BLOCKS]
    rows = [r for r in rows if r[1]]
    if not any(confirmed for _, _, confirmed, _, _ in seen.turnouts) or not rows:
        return []
    table = Table(box=None, padding=(0, 1), show_edge=False)
    for name in ("turnout", "throws", "confirmed", "middle", "slowest"):
        table.add_column(name, justify="left" if name == "turnout" else "right")
    for name, asked, confirmed, wait, slowest in rows:
        table.add_row(Text(printable(name)), f"{asked}", f"{confirmed}", f"{wait:.2f} s", f"{slowest:.2f} s")
    return [heading("Turnouts, most unconfirmed first"), Padding(table, (0, 0, 0, 1))]


def note_lines(notes: Sequence[str]) -> list[RenderableType]:
    """What could not be looked at."""
    return [line("note", note, "yellow") for note in notes]


def strips_plot(strips: Strips, width: int) -> RenderableType:
    """Strips of time in characters: taken, changed within the column, free; letters for commands, reports and trips."""
    longest = min(max((len(r.name) for r in strips.rows), default=4), 18)
    columns = max(width - longest - 5, 20)
    parts: list[RenderableType] = [heading(strips.title)]
    for row in strips.rows:
        text = Text(printable(f"{row.name[:longest]:>{longest}} "), style="dim")
        text.append(cells_of(row, strips, columns), style="default")
        parts.append(Padding(text, (0, 0, 0, 2)))
    foot = [" "] * columns
    if strips.moment is not None:
        foot[_column(strips.moment, strips, columns)] = "^"
    parts.append(Padding(Text(" " * (longest + 1) + "".join(foot)), (0, 0, 0, 2)))
    first, last = (strips.ticks[0][1], strips.ticks[-1][1]) if strips.ticks else ("", "")
    gap = max(columns - len(first) - len(last), 1)
    parts.append(Padding(Text(" " * (longest + 1) + first + " " * gap + last, style="dim"), (0, 0, 0, 2)))
    says = legend(strips).replace("filled: occupied", f"{TAKEN} occupied, {CHANGED} changes within the column")
    parts.append(block(says, "dim"))
    return Group(*parts)


def _column(moment: float, strips: Strips, columns: int) -> int:
    share = (moment - strips.start) / max(strips.end - strips.start, 1e-9)
    return min(columns - 1, max(0, int(share * columns)))


def cells_of(row: Row, strips: Strips, columns: int) -> str:
    """One row as characters."""
    step = (strips.end - strips.start) / columns
    cells = []
    for i in range(columns):
        start, end = strips.start + i * step, strips.start + (i + 1) * step
        inside = sum(max(0.0, min(b, end) - max(a, start)) for a, b in row.held)
        edge = any(start < x <= end for span in row.held for x in span if strips.start < x < strips.end)
        cells.append(CHANGED if edge else TAKEN if inside > step / 2 else FREE)
    for moment, letter in row.marks:
        cells[_column(moment, strips, columns)] = letter
    return "".join(cells)

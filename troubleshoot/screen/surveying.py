"""A survey drawn: weak spots worst first with figure, limit, formula and cure, then what the record does not tell.

Spots of one kind with the same figures are told once, with all their places. On a wide screen the figures stand in
columns, on a narrow one under each other. What is weak is decided by `survey`.
"""

from collections.abc import Iterable, Mapping, Sequence

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from troubleshoot.layout import Place
from troubleshoot.screen.drawing import block, heading, line, places_text, printable
from troubleshoot.survey import DETAILS, SEVERITIES, Missing, Surveyed, WeakSpot, worded

WIDE = 90
"""Columns from which the figures stand beside each other."""

TITLES: Mapping[str, tuple[str, str]] = {
    "serious": ("Serious: mend before it stops an evening", "bold red"),
    "weak": ("Weak: little is wanted to make a fault of it", "bold yellow"),
    "remark": ("Remarks: true at usual figures, or near a limit", "bold cyan"),
}
_HEADS = (("place", 21), ("figure", 9), ("limit", 10), ("formula", 28), ("cheapest cure", 32))
_MOST_TOLD = 3
_INDENT = 4


def survey_lines(name: str, made: Surveyed, width: int) -> RenderableType:
    """The whole survey of a layout, for a screen of so many columns."""
    count = len(made.spots)
    found = f"{count} weak spot{'' if count == 1 else 's'}" if count else "no weak spot"
    parts: list[RenderableType] = [heading(f"Survey of {name}"), block(f"{made.looks} looks at the record, {found}.")]
    for severity in SEVERITIES:
        groups = grouped(s for s in made.spots if s.severity == severity)
        if groups:
            parts.append(heading(*TITLES[severity]))
            parts += [_row([h for h, _ in _HEADS], "dim")] if width >= WIDE else []
            parts += [drawn for group in groups for drawn in (_beside if width >= WIDE else _below)(group)]
    parts += _missing(made.missing)
    return Group(*parts)


def grouped(spots: Iterable[WeakSpot]) -> list[list[WeakSpot]]:
    """Spots of one kind with one figure and limit together, in the order of the first of each."""
    groups: dict[tuple[str, float, float, str], list[WeakSpot]] = {}
    for spot in spots:
        cure = spot.cure.replace(spot.place.name, "")
        groups.setdefault((spot.kind, spot.value, spot.limit, cure), []).append(spot)
    return list(groups.values())


def _cells(group: Sequence[WeakSpot]) -> tuple[str, str, str, str, str]:
    one = group[0]
    side = "at most" if DETAILS[one.kind].fails == "above" else "at least"
    value, limit = worded(one.value, one.unit), worded(one.limit, one.unit)
    where = places_text([s.place for s in group])
    return where, value, f"{side} {limit}", one.formula, f"{one.cure} ({one.cure_minutes:.0f} min)"


def _assumed(spot: WeakSpot) -> str:
    names = list(spot.assumed[:_MOST_TOLD])
    more = len(spot.assumed) - len(names)
    return ", ".join(names) + (f" and {more} more" if more > 0 else "")


def _row(cells: Sequence[str], style: str = "") -> RenderableType:
    grid = Table.grid(padding=(0, 1), expand=True)
    for _, share in _HEADS:
        grid.add_column(ratio=share, overflow="fold")
    grid.add_row(*(Text(printable(cell), style=style) for cell in cells))
    return Padding(grid, (0, 0, 0, _INDENT))


def _beside(group: Sequence[WeakSpot]) -> list[RenderableType]:
    parts = [block(group[0].says + ".", "bold"), _row(_cells(group))]
    return parts + ([block(f"assumed: {_assumed(group[0])}", "dim", _INDENT)] if group[0].assumed else [])


def _below(group: Sequence[WeakSpot]) -> list[RenderableType]:
    where, value, limit, formula, cure = _cells(group)
    parts = [block(group[0].says + ".", "bold"), line("place", where), line("figure", f"{value}; {limit}")]
    parts += [line("formula", formula), line("cure", cure)]
    return parts + ([line("assumed", _assumed(group[0]), "dim")] if group[0].assumed else [])


def _missing(missing: Sequence[Missing]) -> list[RenderableType]:
    """What could be judged if the record said more, and the one figure that would decide most."""
    if not missing:
        return []
    parts: list[RenderableType] = [heading("Could be judged if the record said more")]
    for one in missing[: _MOST_TOLD + 2]:
        where = f" of {places_text(list(one.places), 3)}" if len(one.places) > 1 else ""
        parts.append(block(f"- {one.figure}{where} ({one.asks}): {_looks(one.checks)}"))
    if len(missing) > _MOST_TOLD + 2:
        parts.append(block(f"- and {len(missing) - _MOST_TOLD - 2} figures more, a look or two each", "dim"))
    first = missing[0]
    at = _places(first.places)
    text = f"The one figure that would decide most is the {first.figure}{at}: {_looks(first.checks)}. "
    parts.append(block(f"{text}Give it in the record as: {first.asks}.", "bold"))
    return parts


def _looks(count: int) -> str:
    return f"{count} look{'' if count == 1 else 's'}"


def _places(places: Sequence[Place]) -> str:
    return f" of {places_text(list(places), 3)}" if len(places) > 1 else ""

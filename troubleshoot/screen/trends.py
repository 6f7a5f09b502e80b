"""Rounds on the screen: trends with a small plot each, one plot in full, what is due, and a reading just taken.

Everything can be read without colour and at 60 columns: a state is a word, a limit a dashed line with its name.
"""

import math
from collections.abc import Sequence
from datetime import date

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from troubleshoot.quantities import show
from troubleshoot.rounds import DueCheck, Judged, Trend
from troubleshoot.rounds.telling import judged_text, pace, reach_text
from troubleshoot.rulebook.wording import counted, label
from troubleshoot.screen.drawing import block, heading, line, printable
from troubleshoot.sketch.trends import Panel, scaled, span

_STEPS = "▁▂▃▄▅▆▇█"
_STYLES = {
    "drifting": "bold red", "shifted": "bold red", "beyond": "bold red", "beyond-limit": "bold red",
    "season-or-drift": "yellow", "unlike-before": "yellow", "moving": "yellow", "too-little": "dim",
}  # fmt: skip
WORDS = {
    "too-little": "too little yet", "steady": "steady", "moving": "moves, no limit within a year",
    "season-or-drift": "season or drift", "shifted": "has shifted", "drifting": "DRIFTS",
    "beyond-limit": "BEYOND LIMIT", "unlike-before": "unlike its past", "overdue": "overdue",
}  # fmt: skip
HELD = (
    "In simulated clubs 9 of 10 such ranges held where five places or more are read together, about 3 of 4 for a place "
    "read by itself."
)
"""What `tests/benchmarks/table.md` shows for drift."""
SMALL, PLOT_ROWS = 14, 9


def spark(panel: Panel, width: int = SMALL) -> str:
    """The readings of a panel as a row of blocks, the last `width` of them, between the least and the greatest."""
    values = [scaled(panel, m.value) for m in panel.marks][-width:]
    low, high = min(values), max(values)
    if high - low < 1e-9:
        return _STEPS[3] * len(values)
    return "".join(_STEPS[round((v - low) / (high - low) * (len(_STEPS) - 1))] for v in values)


def trends_screen(found: Sequence[Trend], panels: Sequence[Panel], today: date) -> RenderableType:
    """All trends, what moves first, each with its readings as a small plot and its verdict in words."""
    parts: list[RenderableType] = [heading(f"Readings over time, as of {today.isoformat()}")]
    if not found:
        parts.append(block("No readings yet. A round begins with: troubleshoot round plan"))
    for trend, panel in zip(found, panels, strict=True):
        unit = trend.check.unit or ""
        row = Text.assemble(
            (f"{spark(panel):{SMALL}}  ", "cyan"),
            printable(f"{label(trend.check.name)} at {trend.place.name}: "),
            (WORDS[trend.state], _STYLES.get(trend.state, "")),
        )
        parts.append(Padding(row, (0, 0, 0, 2)))
        parts.append(block(_verdict(trend, unit), "dim", 4 + SMALL))
    parts.append(block(f"Dates are estimates. {HELD}", "dim"))
    return Group(*parts)


def _verdict(trend: Trend, unit: str) -> str:
    if trend.why:
        return trend.why
    stands = f"now about {show(trend.now, unit)} ({trend.band.replace('-', ' ')})"
    if trend.state == "steady":
        return f"{stands}, {counted(trend.count, 'reading')}"
    moves = pace(trend) + (f" since {trend.since:%Y-%m}" if trend.since else "")
    reach = [reach_text(trend.reaches[0])] if trend.reaches else []
    more = [f"the last {trend.shifted} readings are unlike all before"] if trend.state == "shifted" else []
    return "; ".join([stands, *more, moves, *reach])


def plot(panel: Panel, trend: Trend, width: int = 60) -> RenderableType:
    """One place in full: every reading, the limits as dashed lines, the fitted line, and what to know about it."""
    across = max(20, min(width, 100) - 16)
    rows = _grid(panel, across)
    parts: list[RenderableType] = [heading(panel.title), block(WORDS[trend.state], _STYLES.get(trend.state, ""))]
    parts.append(Padding(Text("\n".join(rows), no_wrap=True, overflow="crop"), (0, 0, 0, 2)))
    parts.append(line("now", _verdict(trend, trend.check.unit or "")))
    if trend.low is not None and trend.high is not None:
        ends = (pace(_with_slope(trend, trend.low)), pace(_with_slope(trend, trend.high)))
        parts.append(line("between", f"{ends[0]} and {ends[1]} (95 in 100)"))
    parts += [line("ahead", reach_text(r)) for r in trend.reaches]
    parts += [line("note", remark, "dim") for remark in trend.remarks]
    return Group(*parts)


def _with_slope(trend: Trend, slope: float) -> Trend:
    from dataclasses import replace

    return replace(trend, slope=slope)


def _grid(panel: Panel, across: int) -> list[str]:
    """The plot as rows of text: o a reading, ^ one beyond what the meter shows, . the fitted line, - a limit."""
    low, high, first, last = span(panel)
    cells, names = [[" "] * across for _ in range(PLOT_ROWS)], dict[int, str]()

    def row_of(value: float) -> int:
        return round((high - scaled(panel, value)) / (high - low) * (PLOT_ROWS - 1))

    for name, value in panel.limits:
        if 0 <= (at := row_of(value)) < PLOT_ROWS:
            cells[at] = list(f"-- {name} ".ljust(across, "-")[:across])
            names[at] = show(value, panel.unit)
    signs = [(d, v, ".") for d, v in panel.line] + [(m.day, m.value, "^" if m.beyond else "o") for m in panel.marks]
    for day, value, sign in signs:
        column = round((day.toordinal() - first) / (last - first) * (across - 1))
        if 0 <= (at := row_of(value)) < PLOT_ROWS:
            cells[at][column] = sign
    for at, end in ((0, high), (PLOT_ROWS - 1, low)):
        names.setdefault(at, show(math.exp(end) if panel.logarithmic else end, panel.unit))
    rows = [f"{names.get(i, ''):>11} |{''.join(row).rstrip()}" for i, row in enumerate(cells)]
    left, right = date.fromordinal(first), date.fromordinal(last)
    return [*rows, f"{'':>12} {left:%Y-%m}{'':{max(1, across - 14)}}{right:%Y-%m}"]


def due_screen(due: Sequence[DueCheck], today: date, history: str) -> RenderableType:
    """What to read next, the most pressing first, with why, minutes and set-ups."""
    parts: list[RenderableType] = [heading(f"Due on {today.isoformat()}")]
    if not due:
        parts.append(block("Nothing is due."))
    for one in due:
        name = Text.assemble(
            (WORDS[one.state], _STYLES.get(one.state, "")),
            printable(f"  {label(one.check)} at {one.place}"),
        )
        parts.append(Padding(name, (0, 0, 0, 2)))
        parts.append(block(one.why, "", 4))
        states = ", ".join(label(s) for s in one.set_ups)
        parts.append(block(f"{one.minutes:.0f} min" + (f", with {states}" if states else ""), "dim", 4))
        if one.offer is not None:
            about = f" about {one.offer.about}" if one.offer.about else ""
            parts.append(block(f"an inquiry is worth it: {label(one.offer.symptom)}{about}", "", 4))
            command = f"troubleshoot round inquire {one.check.rsplit('/', 1)[-1]} {_quoted(one.place)}{history}"
            parts.append(block(command, "dim", 4))
    return Group(*parts)


def _quoted(text: str) -> str:
    import shlex

    return shlex.quote(text)


def judged_lines(judged: Judged) -> list[RenderableType]:
    """What a reading just taken is worth."""
    style = _STYLES.get(judged.state, "")
    return [line("judged", judged_text(judged), style)]


def plan_numbers(minutes: float, count: int, switched: int) -> str:
    """The length of a round in words."""
    hours = counted(minutes, "minute") if minutes < 100 else f"{minutes / 60:.1f} hours"
    times = {0: "not switched", 1: "switched once"}.get(switched, f"switched {switched} times")
    return f"{count} reading{'' if count == 1 else 's'}, about {hours}; track power is {times}"

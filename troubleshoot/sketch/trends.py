"""Readings over time as a picture: one small panel a place, with the limits of the check and the line that was fitted.

Rules: what changes by factors is drawn on a logarithmic scale; a limit is a line with its name, so that colour is
never needed to read it; a reading beyond what the meter shows is a hollow mark. What they mean is told from outside.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from troubleshoot.quantities import show
from troubleshoot.sketch.svg import DOUBTFUL, FAINT, INK, SERIOUS, SOUND, Page

WIDE, HIGH = 360.0, 190.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 58.0, 12.0, 38.0, 24.0
_INKS = {"drifting": SERIOUS, "shifted": SERIOUS, "beyond": SERIOUS, "season-or-drift": DOUBTFUL, "moving": DOUBTFUL}


@dataclass(frozen=True)
class Mark:
    """One reading: its day, its value in SI, and whether the true one lies beyond what the meter shows."""

    day: date
    value: float
    beyond: bool = False


@dataclass(frozen=True)
class Panel:
    """What one panel shows. `limits` are names and SI values, `line` the fitted one, `says` a line of words."""

    title: str
    unit: str
    logarithmic: bool
    marks: tuple[Mark, ...]
    limits: tuple[tuple[str, float], ...] = ()
    line: tuple[tuple[date, float], ...] = ()
    state: str = "steady"
    says: str = ""


def scaled(panel: Panel, value: float) -> float:
    """A value as it stands on the scale of a panel."""
    return math.log(max(value, 1e-30)) if panel.logarithmic else value


def span(panel: Panel) -> tuple[float, float, int, int]:
    """Least and greatest value on the scale of a panel, first and last day as counted by the calendar.

    A limit is taken in where it is not so far off that the readings would shrink to a line; the nearest one always.
    """
    days = [m.day.toordinal() for m in panel.marks] + [d.toordinal() for d, _ in panel.line]
    values = [scaled(panel, m.value) for m in panel.marks]
    low, high = min(values), max(values)
    near = sorted((scaled(panel, v) for _, v in panel.limits), key=lambda v: max(low - v, v - high))
    reach = max(high - low, 1e-9)
    wanted = [v for v in near if low - 3.0 * reach <= v <= high + 3.0 * reach] or near[:1]
    low, high = min([low, *wanted]), max([high, *wanted])
    room = max(0.06 * (high - low), 1e-9)
    return low - room, high + room, min(days), max(*days, min(days) + 1)


class _Scale:
    """Where a day and a value stand inside a panel."""

    def __init__(self, panel: Panel, x: float, y: float) -> None:
        self.panel, self.x, self.y = panel, x, y
        self.low, self.high, self.first, self.last = span(panel)

    def inside(self, value: float) -> bool:
        return self.low <= scaled(self.panel, value) <= self.high

    def across(self, when: date) -> float:
        part = (when.toordinal() - self.first) / (self.last - self.first)
        return self.x + _LEFT + part * (WIDE - _LEFT - _RIGHT)

    def up(self, value: float) -> float:
        part = (scaled(self.panel, value) - self.low) / (self.high - self.low)
        return self.y + HIGH - _BOTTOM - part * (HIGH - _TOP - _BOTTOM)

    def ends(self) -> tuple[float, float]:
        """The lowest and the highest value of the scale, in SI."""
        return (math.exp(self.low), math.exp(self.high)) if self.panel.logarithmic else (self.low, self.high)


def draw(panels: Sequence[Panel], title: str, columns: int = 2) -> str:
    """All panels on one page, as SVG."""
    columns = max(1, min(columns, len(panels)))
    rows = math.ceil(len(panels) / columns)
    page = Page(columns * WIDE, 30.0 + rows * HIGH, title)
    page.words(12.0, 20.0, title, 13.0, bold=True)
    for i, panel in enumerate(panels):
        _panel(page, panel, (i % columns) * WIDE, 30.0 + (i // columns) * HIGH)
    return page.text()


def _panel(page: Page, panel: Panel, x: float, y: float) -> None:
    ink = _INKS.get(panel.state, SOUND)
    page.words(x + 12.0, y + 14.0, _cut(panel.title, 56), 10.5, bold=True)
    page.words(
        x + 12.0, y + 28.0, _cut(f"{panel.state.replace('-', ' ')}: {panel.says}" if panel.says else "", 72), 8.5, ink
    )
    if not panel.marks:
        return
    scale = _Scale(panel, x, y)
    page.box(x + _LEFT, y + _TOP, WIDE - _LEFT - _RIGHT, HIGH - _TOP - _BOTTOM, ink=FAINT, wide=0.5)
    _axes(page, panel, scale, x, y)
    for name, value in panel.limits:
        if scale.inside(value):
            up = scale.up(value)
            page.line(x + _LEFT, up, x + WIDE - _RIGHT, up, SERIOUS, 0.8)
            page.words(x + WIDE - _RIGHT - 3.0, up - 3.0, f"{name}: {show(value, panel.unit)}", 8.0, SERIOUS, "end")
    inside = [(d, v) for d, v in panel.line if scale.inside(v)]
    page.path([(scale.across(d), scale.up(v)) for d, v in inside], ink, 1.4)
    for mark in panel.marks:
        at = scale.across(mark.day), scale.up(mark.value)
        page.dot(*at, 2.4, INK)
        if mark.beyond:
            page.dot(*at, 1.3, "#ffffff")


def _axes(page: Page, panel: Panel, scale: _Scale, x: float, y: float) -> None:
    low, high = scale.ends()
    for value in (low, high):
        page.words(x + _LEFT - 4.0, scale.up(value) + 3.0, show(value, panel.unit), 8.0, FAINT, "end")
    first, last = date.fromordinal(scale.first), date.fromordinal(scale.last)
    bottom = y + HIGH - _BOTTOM
    for when, anchor in ((first, "start"), (last, "end")):
        page.words(scale.across(when), bottom + 12.0, f"{when:%Y-%m}", 8.0, FAINT, anchor)
    for year in range(first.year + 1, last.year + 1):
        new = date(year, 1, 1)
        page.line(scale.across(new), bottom - 4.0, scale.across(new), bottom, FAINT, 0.8)


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 3] + "..."

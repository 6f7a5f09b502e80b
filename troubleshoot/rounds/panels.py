"""A series with its trend as a panel to draw, for the page and for the terminal."""

import math
from collections.abc import Mapping, Sequence

from troubleshoot.rounds.history import History
from troubleshoot.rounds.series import Series, all_series
from troubleshoot.rounds.telling import drift_text
from troubleshoot.rounds.trend import STEADY, TOO_LITTLE, Trend
from troubleshoot.rulebook import short
from troubleshoot.sketch.trends import Mark, Panel


def panels(history: History, found: Sequence[Trend]) -> list[Panel]:
    """A panel for each trend of a history, in its order."""
    every: Mapping[tuple[str, str], Series] = all_series(history)
    return [panel(every[t.key], t) for t in found]


def panel(series: Series, trend: Trend) -> Panel:
    """One series with its limits, its line and what is said of it."""
    marks = tuple(Mark(p.taken.day, series.back(p.y), p.beyond != 0) for p in series.points)
    names = [b.outcome.replace("-", " ") for b in series.check.bands]
    # A limit bears the name of what lies behind it, seen from sound.
    sound = max(series.sound)
    limits = tuple(
        (names[i] if i < sound else names[i + 1], series.back(edge))
        for i, edge in enumerate(series.edges)
        if math.isfinite(edge)
    )
    title = f"{short(series.check.name).replace('-', ' ')} at {series.place.name}"
    says = {TOO_LITTLE: trend.why, STEADY: ""}.get(trend.state, drift_text(trend))
    state = trend.state if trend.healthy or trend.state == TOO_LITTLE else "beyond"
    return Panel(title, series.check.unit or "", series.logarithmic, marks, limits, trend.line, state, says)

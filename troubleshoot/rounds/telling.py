"""What rounds find, in words and as plain data: the same words for the terminal, the page and the work list.

Nothing is judged here.
"""

import math
from collections.abc import Mapping
from typing import Any

from troubleshoot.quantities import show
from troubleshoot.rounds.ahead import Reach
from troubleshoot.rounds.judging import Judged
from troubleshoot.rounds.planning import Sheet, State, Visit
from troubleshoot.rounds.series import scale_is_logarithmic
from troubleshoot.rounds.trend import Trend
from troubleshoot.rulebook import Rulebook
from troubleshoot.rulebook.wording import counted

_SLOW_MONTHS = 24.0


def reading_text(judged: Judged) -> str:
    """A reading as people say it."""
    reading = judged.taken.reading
    if reading.over_range:
        return "over range"
    return f"{reading.bound}{show(reading.value, reading.unit)}"


def pace(trend: Trend) -> str:
    """How fast a reading moves, such as `halves every 4 months` or `rises 0.2 mm a year`; nothing without a slope."""
    if trend.slope is None:
        return ""
    unit = trend.check.unit or ""
    if not scale_is_logarithmic(unit):
        return f"{'falls' if trend.slope < 0 else 'rises'} {show(abs(trend.slope), unit)} a year"
    if trend.slope <= -1.0:
        return "falls at once"
    months = 12.0 * math.log(2.0) / max(abs(math.log1p(trend.slope)), 1e-9)
    if months <= _SLOW_MONTHS:
        often = counted(months, "month") if months >= 1.5 else counted(max(1.0, months * 4.35), "week")
        return f"{'halves' if trend.slope < 0 else 'doubles'} every {often}"
    return f"{'falls' if trend.slope < 0 else 'rises'} {abs(trend.slope) * 100:.0f} % a year"


def reach_text(reach: Reach) -> str:
    """When a limit comes, with its interval."""
    name = reach.outcome.replace("-", " ")
    early = f"{reach.early:%Y-%m}" if reach.early else "?"
    if reach.likely is None:
        return f"{name} not before {early}"
    late = f"{reach.late:%Y-%m}" if reach.late else "out of sight"
    return f"{name} about {reach.likely:%Y-%m} (between {early} and {late})"


def drift_text(trend: Trend) -> str:
    """Why a reading is on the list, in one line."""
    parts = []
    if trend.state == "shifted":
        parts.append(f"the last {trend.shifted} readings are unlike all before")
    if trend.reaches or trend.state != "shifted":
        parts.append(pace(trend) + (f" since {trend.since:%Y-%m}" if trend.since else ""))
    parts += [reach_text(trend.reaches[0])] if trend.reaches else []
    if trend.state == "season-or-drift":
        parts.append("this may be the season")
    return "; ".join(p for p in parts if p)


def trend_data(trend: Trend) -> dict[str, Any]:
    """A trend as plain data; dates as text, slopes a year as in `Trend`."""
    return {
        "check": trend.check.name,
        "at": trend.place.name,
        "unit": trend.check.unit,
        "state": trend.state,
        "says": trend.why or drift_text(trend),
        "readings": trend.count,
        "first": trend.first.isoformat(),
        "last": trend.last.isoformat(),
        "now": trend.now,
        "band": trend.band,
        "healthy": trend.healthy,
        "slope-per-year": trend.slope,
        "slope-low": trend.low,
        "slope-high": trend.high,
        "slope-is": "factor-less-one" if scale_is_logarithmic(trend.check.unit or "") else "si",
        "chance": trend.chance,
        "since": trend.since.isoformat() if trend.since else None,
        "shifted": trend.shifted,
        "reaches": [_reach_data(r) for r in trend.reaches],
        "season": trend.how,
        "remarks": list(trend.remarks),
    }


def _reach_data(reach: Reach) -> dict[str, Any]:
    dates = {"early": reach.early, "likely": reach.likely, "late": reach.late}
    return {"outcome": reach.outcome, "limit": reach.limit} | {
        k: d.isoformat() if d else None for k, d in dates.items()
    }


def judged_data(judged: Judged) -> dict[str, Any]:
    """A judged reading as plain data, SI values."""
    taken = judged.taken
    return {
        "check": taken.check,
        "at": taken.place,
        "day": taken.day.isoformat(),
        "reading": taken.reading.said,
        "value": None if taken.reading.over_range else taken.reading.value,
        "meter": taken.meter,
        "temperature": taken.temperature,
        "humidity": taken.humidity,
        "event": taken.number,
        "state": judged.state,
        "band": judged.band,
        "healthy": judged.healthy,
        "past": judged.past,
        "past-low": judged.low,
        "past-high": judged.high,
        "spreads": judged.z,
        "worse": judged.worse,
        "moved-together": list(judged.moved_together) if judged.moved_together else None,
        "says": judged_text(judged),
    }


_STATES: Mapping[str, str] = {
    "first": "the first readings here; held against the limits only",
    "new-meter": "the first readings with this meter; held against the limits only",
    "as-before": "as before",
    "unlike-before": "unlike its past",
    "beyond-limit": "beyond the limit of this check",
}


def judged_text(judged: Judged) -> str:
    """What a reading is worth, in a sentence or two."""
    unit = judged.taken.reading.unit
    parts = [f"{judged.band.replace('-', ' ')}{' (healthy)' if judged.healthy else ''}: {_STATES[judged.state]}"]
    if judged.low is not None and judged.high is not None:
        parts.append(
            f"its past reads {show(judged.low, unit)} to {show(judged.high, unit)} ({counted(judged.past, 'reading')})"
        )
    if judged.state == "unlike-before" and judged.moved_together is None:
        parts.append("make it once more before it is believed")
    if judged.moved_together:
        same, others = judged.moved_together
        parts.append(
            f"{same} of {others} other places moved the same way that day: the meter or the weather, not this place"
        )
    return "; ".join(parts)


def sheet_data(rulebook: Rulebook, sheet: Sheet) -> dict[str, Any]:
    """The sheet of a round as plain data, SI values; an expected end that is open is None."""

    def state(one: State) -> dict[str, str]:
        return {"set-up": one.set_up, "at": one.place}

    def visit(one: Visit) -> dict[str, Any]:
        wanted = one.expected
        return {
            "number": one.number,
            "check": one.check.name,
            "at": one.place.name,
            "board": one.board,
            "asks": one.check.asks.replace("{place}", one.place.name),
            "unit": one.check.unit,
            "expected-low": wanted.low if wanted else None,
            "expected-high": wanted.high if wanted and math.isfinite(wanted.high) else None,
            "assumed": list(wanted.assumed) if wanted else [],
            "minutes": one.minutes,
            "tool": one.check.tool,
            "leave": [state(s) for s in one.leave],
            "enter": [state(s) for s in one.enter],
            "cautions": list(one.cautions),
        }

    cautions = {n: f"{rulebook.cautions[n].hazard} {rulebook.cautions[n].do}" for n in sheet.cautions}
    choice = sheet.choice
    return {
        "minutes": sheet.minutes,
        "power-switched": sheet.switched,
        "readings": [visit(v) for v in sheet.visits],
        "at-end": [state(s) for s in sheet.at_end],
        "cautions": cautions,
        "at-least-of-best": choice.at_least if choice else None,
        "goes-by-none-of": [p.name for p in choice.without] if choice else [],
    }

"""The readings of one check at one place as points to fit: on a scale on which they change evenly, with its limits.

Rules: what can change by factors (ohms, volts, amperes, farads, times) is fitted as a logarithm, so that a leak that
halves every half year is a straight line; what cannot (millimetres, degrees, per cent, counts) as it is. A reading
beyond the meter's highest range, or given only as a bound, stands at the bound: a fall from there is at least as
steep as it looks. Days are counted from the calendar; a year has 365.25. The limits are those of the check at that
place of the layout. What all series share is left to `weather`.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache

from troubleshoot.electrics import meter_error
from troubleshoot.inquiry import edges
from troubleshoot.layout import Layout, Place, Unknown
from troubleshoot.rounds.history import History, Taken
from troubleshoot.rulebook import Check, Rulebook

YEAR = 365.25
EVEN_UNITS = ("mm", "C", "%", "count", "N")
"""Units of readings that change by steps, not by factors."""
LEAST_PART = 1e-3
"""On a scale of factors nothing is taken as smaller than this part of the lowest limit (estimate)."""
EVEN_STEP = 0.1
"""The finest step, in the reading's own unit, of what does not change by factors (common practice)."""
_UNIT_SIZE = {"mm": 1e-3, "C": 1.0, "%": 1.0, "count": 1.0, "N": 1.0}


@dataclass(frozen=True)
class Point:
    """One reading to fit: days, value on the scale, whether the true one lies beyond (-1 below, 1 above), its meter.

    Readings without a meter's name are taken to be of one meter.
    """

    x: float
    y: float
    beyond: int
    taken: Taken
    meter: str = ""


@dataclass(frozen=True)
class Series:
    """The readings of a check at a place; `edges` are the limits between its bands on the scale, rising.

    `sound` names the bands of a healthy part; `error` is the meter's standard deviation on the scale.
    """

    check: Check
    place: Place
    logarithmic: bool
    points: tuple[Point, ...]
    edges: tuple[float, ...]
    sound: tuple[int, ...]
    error: float

    @property
    def key(self) -> tuple[str, str]:
        """Names of the check and the place."""
        return self.check.name, self.place.name

    def back(self, y: float) -> float:
        """A value on the scale as a reading, in SI."""
        return math.exp(y) if self.logarithmic else y

    def band(self, y: float) -> int:
        """Which band a value on the scale falls into."""
        return sum(1 for e in self.edges if y > e)


def scale_is_logarithmic(unit: str) -> bool:
    """Whether readings in a unit change by factors."""
    return unit not in EVEN_UNITS


def place_of(layout: Layout, rulebook: Rulebook, check: str, name: str) -> Place:
    """The place of a reading; one that the record does not name has the kind that its check looks at."""
    try:
        return layout.place(name)
    except Unknown:
        places = layout.related(rulebook.checks[check].relation, layout.itself)
        return Place(places[0].kind if places else "layout", name)


@lru_cache(maxsize=4096)
def frame(layout: Layout, rulebook: Rulebook, check: str, place: str) -> Series:
    """A series without points: what is known of a check at a place before any reading."""
    entry, where = rulebook.checks[check], place_of(layout, rulebook, check, place)
    unit = entry.unit or ""
    logarithmic = scale_is_logarithmic(unit)
    limits = edges(layout, entry, where).edges
    found = rulebook.findings[entry.finding]
    sound = tuple(i for i, b in enumerate(entry.bands) if found.sound[found.outcomes.index(b.outcome)] >= 0.5)
    error = meter_error(layout, unit)
    if not logarithmic:
        middle = max((abs(e) for e in limits if math.isfinite(e)), default=_UNIT_SIZE[unit])
        error = max(error * middle, EVEN_STEP * _UNIT_SIZE[unit])
    shown = tuple(_scaled(e, logarithmic) for e in limits)
    return Series(entry, where, logarithmic, (), shown, sound or (len(entry.bands) - 1,), error)


def _scaled(value: float, logarithmic: bool) -> float:
    return math.log(max(value, 1e-30)) if logarithmic else value


def _bounds(layout: Layout, series: Series) -> tuple[float, float]:
    """Between which values a reading can be told at all, on the scale."""
    if not series.logarithmic:
        return -math.inf, math.inf
    least = min(series.edges, default=0.0) + math.log(LEAST_PART)
    highest = layout.figure(layout.itself, "highest-ohms") if series.check.unit == "ohm" else None
    most = math.log(highest.value) if highest else max(series.edges, default=0.0) - math.log(LEAST_PART)
    return least, max(most, max(series.edges, default=0.0) + series.error)


def point_of(layout: Layout, series: Series, taken: Taken) -> Point:
    """A reading on the scale of its series."""
    reading, (least, most) = taken.reading, _bounds(layout, series)
    size = abs(reading.value) if series.logarithmic else reading.value
    y = most if math.isinf(size) else _scaled(size, series.logarithmic)
    beyond = {"<": -1, ">": 1}.get(reading.bound, 0)
    if y >= most or reading.over_range:
        y, beyond = min(y, most), 1
    elif y <= least:
        y, beyond = least, -1
    return Point(float(taken.day.toordinal()), y, beyond, taken, taken.meter or "")


def all_series(history: History) -> Mapping[tuple[str, str], Series]:
    """Every series of a history, in the order of their names."""
    made = {}
    for key, taken in history.by_series.items():
        plain = frame(history.layout, history.rulebook, *key)
        points = tuple(point_of(history.layout, plain, t) for t in taken)
        made[key] = replace(plain, points=points)
    return made


def day(x: float) -> date:
    """Days as they are counted here, as a date."""
    return date.fromordinal(round(x))

"""What a reading should be at a place: the one door from the rest of the tool to the physics.

Rules: a reading has bands in rising order, each up to a factor of a named quantity or up to a plain SI
figure; the last has no limit. From them come the limits of a place (`limits`), the range that a healthy or
a faulty part shows (`expected`), named comparisons (`compare`) and how far a meter may be out
(`meter_error`). A circuit network may later stand behind `expected` without anybody noticing. What a band
means is left to the rule packs.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from troubleshoot.electrics import leaks
from troubleshoot.electrics.ground import Ground
from troubleshoot.electrics.values import Quantity, quantity
from troubleshoot.layout import Figure, Layout, Place

Band = tuple[str, float, str | None, float | None]
"""Outcome, factor, name of a quantity or None, plain SI value or None."""

HEALTHY = "healthy"
"""Asks `expected` for what a part shows with nothing wrong."""

AC_UNITS = ("V AC", "mA AC")
"""Units of readings that go through a meter's AC range, and so through its kind and bandwidth."""

TRUE_VOLTS = ("drop-limit", "joint-drop-limit")
"""Quantities in true volts, which an AC reading shows only as the owner's meter does."""

_ERRORS = {
    **dict.fromkeys(("ohm", "kohm", "V", "V DC", "mV", "A", "mA"), 0.03),
    **dict.fromkeys(("V AC", "mA AC", "s", "ms", "min"), 0.10),
    **dict.fromkeys(("nF", "uF", "C", "%"), 0.05),
    "pF/m": 0.15,
    "mm": 0.02,
    "m": 0.01,
    "count": 0.02,
}
"""Log standard deviations of readings by unit. Source: common practice for hand meters and rules."""

_MAKERS_TOLERANCE = 0.02
"""Tolerance of the parts that are measured. Source: common practice."""


_TELLING_AXLES = 5
"""Up to this many axles, whole numbers of them read more than 10 % apart from what lies between."""

_MOST_AXLES = 200
"""More axles than stand in any block: a reading this low is something else."""


@dataclass(frozen=True, slots=True)
class ReadingSpec:
    """A reading as a check asks for it: unit, bands in rising order, and the outcomes of a healthy part."""

    unit: str
    bands: tuple[Band, ...]
    healthy: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Limits:
    """The limits between the bands of a reading at a place, in SI and rising, and what they rest on.

    `spread` holds for each limit the log standard deviation of its own, 0 where it is known exactly.
    """

    edges: tuple[float, ...]
    data: tuple[Figure, ...] = ()
    assumed: tuple[str, ...] = ()
    formulas: tuple[str, ...] = ()
    spread: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Expected:
    """The SI range in which a reading lies, the figures it rests on, and the meter's relative tolerance."""

    low: float
    high: float
    unit: str
    data: tuple[Figure, ...]
    assumed: tuple[str, ...]
    formula: str
    tolerance: float = _MAKERS_TOLERANCE

    def holds(self, value: float) -> bool:
        """Whether a reading lies in the range, the meter's tolerance allowed for."""
        return self.low * (1.0 - self.tolerance) <= value <= self.high * (1.0 + self.tolerance)


@dataclass(frozen=True, slots=True)
class Comparison:
    """A reading held against a known thing: the nearest of its values, and whether it fits."""

    name: str
    count: int
    value: float
    unit: str
    ratio: float
    within: bool
    says: str
    data: tuple[Figure, ...]


def meter_error(layout: Layout, unit: str) -> float:
    """How far a reading in a unit may be out, as a standard deviation of its logarithm.

    AC current is worse on a meter that is not known to be true RMS. Units: ratio. Source: common practice.
    """
    error = _ERRORS.get(unit, 0.03)
    return 2.0 * error if unit == "mA AC" and layout.meter != "true-rms" else error


def _edge(layout: Layout, place: Place, band: Band, unit: str) -> tuple[float, Quantity | None, float, Ground]:
    """One limit: SI value, the quantity behind it, its log spread, and further figures that it used."""
    _, factor, name, plain = band
    ground = Ground(layout, place)
    if name is None:
        return (math.inf if plain is None else plain), None, 0.0, ground
    found = quantity(name, layout, place)
    value, spread = factor * found.value, found.spread
    if unit in AC_UNITS and name in TRUE_VOLTS:
        shown = ground.meter()
        value *= shown.value
        spread = math.hypot(spread, math.log(shown.high / shown.low) / 4.0)
    return value, found, spread, ground


def limits(layout: Layout, place: Place, reading: ReadingSpec | Sequence[Band], unit: str = "") -> Limits:
    """The limits between the bands of a reading at a place: one fewer than there are bands.

    A limit that would fall below the one before it on this layout is lifted to it: the band between is empty.
    With a unit of AC volts, limits in true volts become what the owner's meter shows. Units: SI.
    """
    if isinstance(reading, ReadingSpec):
        bands, unit = reading.bands, unit or reading.unit
    else:
        bands = tuple(reading)
    edges: list[float] = []
    spread: list[float] = []
    formulas: dict[str, None] = {}
    data: dict[Figure, None] = {}
    for band in bands[:-1]:
        value, found, own_spread, ground = _edge(layout, place, band, unit)
        edges.append(max([value, *edges[-1:]]))
        spread.append(own_spread)
        if found:
            formulas[_said(band[1], found)] = None
            data.update(dict.fromkeys((*found.data, *ground.used)))
    assumed = tuple(f.said for f in data if f.assumed)
    return Limits(tuple(edges), tuple(data), assumed, tuple(formulas), tuple(spread))


def _said(factor: float, found: Quantity) -> str:
    times = "" if factor == 1.0 else f"{factor:g} x "
    formula = f"({found.formula})" if times else found.formula
    return f"{times}{found.name.replace('-', ' ')} = {times}{formula}"


def expected(layout: Layout, place: Place, reading: ReadingSpec, who: str = HEALTHY) -> Expected:
    """The range in which a reading lies at a place, if the part is healthy or as an outcome says.

    `who` is 'healthy' or the name of one outcome. The range of several healthy outcomes goes from the
    lowest to the highest. Units: SI. Raises ValueError for an outcome that the reading does not have.
    """
    wanted = reading.healthy if who == HEALTHY else (who,)
    outcomes = [band[0] for band in reading.bands]
    at = [outcomes.index(name) for name in wanted if name in outcomes]
    if len(at) != len(wanted) or not at:
        raise ValueError(f"{who!r} is no outcome of this reading; it has {', '.join(outcomes)}")
    known = limits(layout, place, reading)
    lows, highs = (0.0, *known.edges), (*known.edges, math.inf)
    tolerance = _MAKERS_TOLERANCE + meter_error(layout, reading.unit)
    return Expected(
        lows[min(at)],
        highs[max(at)],
        reading.unit,
        known.data,
        known.assumed,
        "; ".join(known.formulas),
        tolerance,
    )


def compare(name: str, layout: Layout, place: Place, value: float) -> Comparison | None:
    """A reading held against a known thing, or None where that says nothing.

    'resistor-axles': the whole number of axles side by side that reads nearest to an ohms reading.
    'filter-current': whether a current is that of a filter across the rails. Units: SI. Source: arithmetic.
    """
    if not 0.0 < value < math.inf:
        return None
    return {"resistor-axles": _axles, "filter-current": _filter}[name](layout, place, value)


def _axles(layout: Layout, place: Place, value: float) -> Comparison | None:
    axle = quantity("axle-ohms", layout, place)
    count = leaks.axles_for(value, axle.value)
    if count > _MOST_AXLES:
        return None
    nearest = leaks.equal_in_parallel(axle.value, count)
    ratio = value / nearest
    within = abs(ratio - 1.0) <= 0.10
    axles = "one axle" if count == 1 else f"{count} axles side by side"
    says = f"reads like {axles}" if within else f"reads like no whole number of axles; nearest are {axles}"
    if count > _TELLING_AXLES:
        says += ", but any reading this low is near some number of axles"
    return Comparison("resistor-axles", count, nearest, "ohm", ratio, within, says, axle.data)


def _filter(layout: Layout, place: Place, value: float) -> Comparison | None:
    known = quantity("filter-current", layout, place)
    ratio = value / known.value
    within = 0.9 * known.low <= value <= 1.1 * known.high
    says = "as much as a filter across the rails" if within else "not what a filter across the rails draws"
    return Comparison("filter-current", 1, known.value, "A", ratio, within, says, known.data)

"""What can be told from a layout record before anybody asks: whether its own figures leave enough margin.

Rules: each look gives the figure, the bound it should keep and whether it does; one that fails makes its
cause more likely and proves nothing. A look that rests on assumed figures says so. Units: SI. Source: as
the formulas.
"""

from collections.abc import Callable
from dataclasses import dataclass

from troubleshoot.electrics import cables, power
from troubleshoot.electrics.at_place import inrush_time, loop_expected
from troubleshoot.electrics.ground import Ground
from troubleshoot.electrics.values import quantity
from troubleshoot.layout import Figure, Layout, Place

SUMMER_KELVIN = 15.0
"""Warming of a room between laying track and a hot day, K. Source: common practice."""

DRY_PERCENT = 20.0
"""Fall of the relative humidity in the heating season, %. Source: common practice."""


@dataclass(frozen=True, slots=True)
class Sanity:
    """One look at the record: its name, the figure, the most (or least) it should be, and whether that
    holds."""

    name: str
    value: float
    bound: float
    unit: str
    holds: bool
    formula: str
    data: tuple[Figure, ...]

    @property
    def assumed(self) -> bool:
        """Whether any figure behind it was assumed."""
        return any(f.assumed for f in self.data)


def _feeder(g: Ground) -> tuple[float, float]:
    current = quantity("feeder-current", g.layout, g.place)
    g.used.update(dict.fromkeys(current.data))
    return current.value, g.threshold() / 3.0


def _loop(g: Ground) -> tuple[float, float]:
    return loop_expected(g)[0] + g.figure("source-ohms"), power.loop_limit(g.volts(), g.trip())


def _drop(g: Ground) -> tuple[float, float]:
    bus = cables.loop_ohms(g.figure("bus-length"), cables.ohms_per_metre(g.figure("bus-area")))
    return power.spread_load_drop(g.trip(), bus), power.drop_limit(g.volts())


def _trip_below_booster(g: Ground) -> tuple[float, float]:
    return g.figure("trip"), power.TRIP_BELOW_BOOSTER * g.figure("booster-limit")


def _delay_below_booster(g: Ground) -> tuple[float, float]:
    return g.figure("trip-delay"), g.figure("booster-delay") / 2.0


def _gap(g: Ground) -> tuple[float, float]:
    base = g.word("own-block", "material") or ""
    drying = DRY_PERCENT if "wood" in base or "ply" in base else 0.0
    closing = cables.gap_closing(g.figure("block-length"), SUMMER_KELVIN, drying)
    return closing, g.figure("gap", g.first("joint-of"))


def _charging(g: Ground) -> tuple[float, float]:
    return inrush_time(g), g.trip_delay()


def _section(g: Ground) -> tuple[float, float]:
    needed = quantity("section-least", g.layout, g.place)
    g.used.update(dict.fromkeys(needed.data))
    return needed.value, g.figure("block-length")


_LOOKS: tuple[tuple[str, str, str, Callable[[Ground], tuple[float, float]]], ...] = (
    ("feeder-current", "A", "feeder current < threshold / 3", _feeder),
    ("loop", "ohm", "loop to the farthest rail < track volts / (1.5 x trip current)", _loop),
    ("drop", "V", "drop of the bus at the trip current, load spread < 5 % of the track volts", _drop),
    ("trip-below-booster", "A", "trip current <= 0.8 x limit of the booster", _trip_below_booster),
    ("delay-below-booster", "s", "trip delay < half the delay of the booster", _delay_below_booster),
    ("gap", "m", "closing of the gap by 15 K, and on a wooden base by 20 % drier air < its width", _gap),
    ("charging", "s", "time to charge all storage < trip delay", _charging),
    ("section", "m", "longest train + bogie + gap < length of the reversing section", _section),
)


def sanity(layout: Layout, place: Place) -> tuple[Sanity, ...]:
    """Every look that applies to a place: 'section' only at a reversing section.

    Units: SI. Source: the formulas of the modules by theme; the margins are common practice.
    """
    found = []
    for name, unit, formula, work in _LOOKS:
        ground = Ground(layout, place)
        if name == "section" and ground.word("own-block", "reversing") != "yes":
            continue
        value, bound = work(ground)
        holds = value <= bound * (1.0 + 1e-9)
        found.append(Sanity(name, value, bound, unit, holds, formula, tuple(ground.used)))
    return tuple(found)

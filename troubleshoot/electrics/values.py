"""The quantities that rule packs may name in a limit, each computed at a place of a layout.

Rules: a name of the closed list, SI values, the formula as text, the figures it used, and its source. `low`
and `high` are the range that the value may lie in although nothing is wrong, where it is known only
roughly; else both equal the value. Volts across rails and gaps are what the owner's own meter shows: an
average meter good to 1 kHz shows about a tenth. The physics is in the modules by theme; bands and meter
errors are in `expected`.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from troubleshoot.electrics import at_place, leaks, power, wheels
from troubleshoot.electrics.ground import Ground
from troubleshoot.layout import Figure, Layout, Place


@dataclass(frozen=True, slots=True)
class Quantity:
    """A named quantity at a place: SI value and range, unit, formula, the figures it rests on, and its
    source."""

    name: str
    value: float
    unit: str
    formula: str
    data: tuple[Figure, ...]
    source: str
    low: float
    high: float

    @property
    def assumed(self) -> tuple[str, ...]:
        """What the record does not give and was assumed, as a person calls it."""
        return tuple(f.said for f in self.data if f.assumed)

    @property
    def spread(self) -> float:
        """Log standard deviation of the value for want of knowledge; the range is taken as two of them
        either way."""
        return math.log(self.high / self.low) / 4.0 if 0.0 < self.low < self.high else 0.0


@dataclass(frozen=True, slots=True)
class _Spec:
    unit: str
    formula: str
    source: str
    work: Callable[[Ground], float | at_place.Range]


_SPECS: Mapping[str, _Spec] = {
    "leak-limit": _Spec(
        "ohm",
        "track volts (less the drop of diodes) / threshold",
        "arithmetic (Ohm's law)",
        at_place.leak_limit,
    ),
    "joint-leak-limit": _Spec(
        "ohm",
        "volts across the joint / threshold; in phase these are the drop of the neighbour's diodes, or its "
        "train's current x the ohms of its feeder wire and half its rail; at a reversing section they are "
        "the track volts",
        "arithmetic (Ohm's law); train current: common practice",
        at_place.joint_leak_limit,
    ),
    "axle-ohms": _Spec("ohm", "resistance of an axle", "the layout record", lambda g: g.of_stock("axle-ohms")),
    "axle-current": _Spec(
        "A",
        "track volts (less the drop of diodes) / resistance of an axle",
        "arithmetic (Ohm's law)",
        lambda g: leaks.axle_current(leaks.volts_seen(g.volts(), g.detector_drop()), g.of_stock("axle-ohms")),
    ),
    "detector-threshold": _Spec(
        "A", "threshold / passes through the coil", "the layout record", lambda g: g.threshold()
    ),
    "known-load-seen": _Spec(
        "ohm",
        "track volts (less the drop of diodes) / (1.5 x threshold)",
        "arithmetic; the 1.5 is common practice",
        lambda g: leaks.load_seen(leaks.volts_seen(g.volts(), g.detector_drop()), g.threshold()),
    ),
    "known-load-unseen": _Spec(
        "ohm",
        "track volts (less the drop of diodes) / (0.5 x threshold)",
        "arithmetic; the half is common practice",
        lambda g: leaks.load_unseen(leaks.volts_seen(g.volts(), g.detector_drop()), g.threshold()),
    ),
    "feeder-current": _Spec(
        "A",
        "2 x track volts x capacitance per metre x length of the feeder x edges per second",
        "arithmetic (charge per edge); NMRA S-9.1 for the edges",
        at_place.feeder_current,
    ),
    "filter-current": _Spec(
        "A",
        "RMS current of the track volts through resistor and capacitor of a filter",
        "textbook (steady RC response); 100 ohm and 0.1 uF are common practice",
        at_place.filter_current,
    ),
    "track-volts": _Spec(
        "V",
        "track volts x what this meter shows of the track signal",
        "textbook model of a meter (one pole)",
        at_place.track_volts,
    ),
    "gap-volts-in-phase": _Spec(
        "V",
        "(volts between points in phase + drop of a diode detector) x what this meter shows, at least 0.1 V",
        "common practice; textbook model of a meter",
        at_place.in_phase,
    ),
    "gap-volts-out-of-phase": _Spec(
        "V",
        "track volts (both sides together with a common rail) x what this meter shows",
        "arithmetic; textbook model of a meter",
        at_place.out_of_phase,
    ),
    "gap-volts-common-rail": _Spec(
        "V",
        "(track volts of one side + those of the other) x what this meter shows",
        "arithmetic; textbook model of a meter",
        at_place.common_rail,
    ),
    "breaker-trip": _Spec("A", "trip current", "the layout record", lambda g: g.trip()),
    "booster-limit": _Spec(
        "A", "current limit of the booster", "the layout record", lambda g: g.figure("booster-limit")
    ),
    "breaker-delay": _Spec("s", "trip delay", "the layout record", lambda g: g.trip_delay()),
    "booster-delay": _Spec("s", "delay of the booster", "the layout record", lambda g: g.figure("booster-delay")),
    "loop-limit": _Spec(
        "ohm",
        "track volts / (1.5 x trip current)",
        "arithmetic; the 1.5 is common practice",
        lambda g: power.loop_limit(g.volts(), g.trip()),
    ),
    "loop-expected": _Spec(
        "ohm",
        "2 x length x ohms per metre of bus and feeder + half the block's rail, both rails + the clip wire",
        "arithmetic; copper by handbook, rail by weak measurements",
        at_place.loop_expected,
    ),
    "drop-limit": _Spec("V", "5 % of the track volts", "common practice", lambda g: power.drop_limit(g.volts())),
    "joint-drop-limit": _Spec(
        "V",
        "20 mV per amp x (track volts / resistor of the dummy load)",
        "common practice",
        at_place.joint_drop_limit,
    ),
    "inrush-time": _Spec(
        "s",
        "storage of all vehicles x track volts / current limit of the booster",
        "textbook (charge at constant current)",
        at_place.inrush_time,
    ),
    "district-load": _Spec("A", "vehicles at work x current of a train", "common practice", at_place.district_load),
    "input-low-limit": _Spec("V", "0.3 x input supply", "common practice (CMOS inputs)", at_place.input_low),
    "input-high-limit": _Spec("V", "0.7 x input supply", "common practice (CMOS inputs)", at_place.input_high),
    "input-supply": _Spec("V", "input supply", "the layout record", lambda g: g.figure("input-volts")),
    "contact-limit": _Spec(
        "ohm", "pull-up resistor x 0.3 / 0.7", "arithmetic on the input's limits", at_place.contact_limit
    ),
    "wire-leak-limit": _Spec(
        "ohm", "pull-up resistor x 0.7 / 0.3", "arithmetic on the input's limits", at_place.wire_leak_limit
    ),
    "supply-volts": _Spec("V", "volts of the supply", "the layout record", lambda g: g.figure("supply-volts")),
    "back-to-back-least": _Spec(
        "m",
        "least distance of wheel backs for the scale",
        "NMRA S-4.2, NEM 310",
        lambda g: g.by_scale(g.gauge().back_to_back_least, "least distance of wheel backs"),
    ),
    "back-to-back-most": _Spec(
        "m",
        "greatest distance of wheel backs for the scale",
        "NEM 310",
        lambda g: g.by_scale(g.gauge().back_to_back_most, "greatest distance of wheel backs"),
    ),
    "blade-opening-least": _Spec(
        "m",
        "2.0 mm in HO, other scales by their gauge",
        "arithmetic on NMRA S-3.2 and S-4.2",
        lambda g: g.by_scale(wheels.least_blade_opening(g.layout.scale or "HO"), "least opening of a blade"),
    ),
    "gap-least": _Spec(
        "m",
        "0.4 mm in HO, other scales by their gauge",
        "common practice",
        lambda g: g.by_scale(wheels.least_gap(g.layout.scale or "HO"), "least width of a gap"),
    ),
    "stagger-most": _Spec(
        "m",
        "1 mm in HO and above, less in small scales",
        "common practice",
        lambda g: g.by_scale(wheels.most_stagger(g.layout.scale or "HO"), "greatest offset of gaps"),
    ),
    "section-least": _Spec(
        "m",
        "longest conducting train + longest bogie + gap",
        "common practice",
        at_place.least_section,
    ),
    "storage-charge-time": _Spec(
        "s",
        "3 x charging resistor x storage of a vehicle",
        "textbook (charge of a capacitor)",
        at_place.charge_time,
    ),
    "feeder-capacitance": _Spec(
        "F/m",
        "capacitance per metre of the feeder pair",
        "the layout record; common practice by spacing",
        lambda g: g.figure("feeder-capacitance"),
    ),
}

QUANTITIES: Mapping[str, str] = {name: spec.unit for name, spec in _SPECS.items()}
"""Every quantity that a limit may name, with its SI unit."""


@lru_cache(maxsize=8192)
def quantity(name: str, layout: Layout, place: Place) -> Quantity:
    """A named quantity at a place of a layout, reached by the layout's own relations.

    Layouts never change, so what was worked out once is kept. Units: SI, as `QUANTITIES` says. Raises
    KeyError for a name that is not in the closed list. Source: in the result.
    """
    spec = _SPECS[name]
    ground = Ground(layout, place)
    worked = spec.work(ground)
    value, low, high = worked if isinstance(worked, tuple) else (worked, worked, worked)
    return Quantity(name, value, spec.unit, spec.formula, tuple(ground.used), spec.source, low, high)

"""In which range a figure plausibly lies that a record does not give, and where a record would give it.

Ranges are factors of the default, or SI values where a default is nought. All are estimates by common practice, wide
enough that what fails throughout them fails on nearly every layout. What no record gives at all stands in TRADE.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from troubleshoot.layout import Figure

SMALL, LARGE = ("Z", "N"), ("large",)

FACTORS: Mapping[tuple[str, str], tuple[float, float]] = {
    ("layout", "track-volts"): (0.8, 1.2),
    ("layout", "axle-ohms"): (0.45, 2.2),
    ("layout", "longest-train"): (0.5, 2.0),
    ("layout", "shortest-wheelbase"): (0.7, 1.5),
    ("layout", "storage"): (0.2, 5.0),
    ("layout", "storage-charge-ohms"): (0.01, 1.5),
    ("layout", "storage-vehicles"): (0.25, 5.0),
    ("booster", "limit"): (0.5, 2.0),
    ("booster", "delay"): (0.15, 2.5),
    ("booster", "output"): (0.8, 1.2),
    ("booster", "source-ohms"): (0.2, 3.0),
    ("breaker", "trip"): (0.5, 1.25),
    ("breaker", "delay"): (0.33, 1.4),
    ("bus", "length"): (0.4, 3.0),
    ("bus", "area"): (0.4, 1.6),
    ("bus-segment", "length"): (0.4, 3.0),
    ("bus-segment", "area"): (0.4, 1.6),
    ("district", "filter-ohms"): (0.33, 2.2),
    ("district", "filter-capacitance"): (0.47, 2.2),
    ("district", "filter-watts"): (0.125, 2.5),
    ("detector", "threshold"): (0.25, 5.0),
    ("detector", "passes"): (1.0, 1.0),
    ("detector", "drop"): (0.85, 1.4),
    ("block", "length"): (0.25, 4.0),
    ("block", "rail-ohms"): (0.5, 1.9),
    ("block", "feeds"): (1.0, 1.0),
    ("block", "gap"): (0.4, 1.5),
    ("joint", "gap"): (0.4, 1.5),
    ("joint", "offset"): (1.0, 1.0),
    ("feeder", "length"): (0.33, 15.0),
    ("feeder", "area"): (0.4, 3.0),
    ("feeder", "capacitance"): (0.05, 1.3),
    ("decoder", "base"): (1.0, 1.0),
    ("decoder", "outputs"): (1.0, 1.0),
    ("decoder", "pulse"): (0.25, 2.5),
    ("decoder", "storage"): (0.47, 2.2),
    ("decoder", "charge-ohms"): (0.1, 4.7),
    ("motor", "ohms"): (0.75, 4.0),
    ("motor", "current"): (0.6, 1.6),
    ("frog", "length"): (0.5, 2.4),
    ("input", "volts"): (0.66, 2.4),
    ("input", "pull-up"): (0.22, 4.7),
    ("field-wire", "length"): (0.2, 3.5),
    ("supply", "volts"): (0.9, 1.5),
    ("supply", "limit"): (0.25, 3.0),
    ("control-bus", "length"): (0.3, 4.0),
    ("control-bus", "area"): (0.6, 2.5),
    ("control-bus", "device-current"): (0.4, 3.0),
    ("control-bus-segment", "length"): (0.3, 4.0),
    ("signal", "heads"): (1.0, 1.0),
}
"""How far from its default an assumed figure may lie, as factors. Source: estimates by common practice."""

SPACING: Mapping[str, tuple[float, float]] = {
    "apart": (0.5, 1.2),
    "loose-pair": (0.8, 1.2),
    "twisted": (0.7, 1.3),
    "bundled": (0.85, 1.3),
}
"""Spread of a feeder's capacitance about the figure of its spacing. Source: as `layout.defaults.SPACING`."""

FOLLOWS = (0.93, 1.07)
"""Spread of what follows from another figure that the record gives. Source: estimate."""

ASKS: Mapping[str, str] = {
    "layout": "stock",
    "booster": "boosters",
    "breaker": "districts",
    "bus": "districts, bus",
    "bus-segment": "districts, bus",
    "district": "districts",
    "detector": "detectors",
    "block": "blocks",
    "feeder": "blocks, feeder",
    "joint": "joints",
    "decoder": "decoders",
    "motor": "turnouts",
    "frog": "turnouts",
    "input": "turnouts, feedback",
    "field-wire": "turnouts, feedback",
    "supply": "supplies",
    "signal": "signals",
    "control-bus": "control-bus",
    "control-bus-segment": "control-bus, segments",
    "vehicle": "stock, vehicles",
}
"""The section of a record in which the figures of a kind of place are given."""

CALLED: Mapping[tuple[str, str], str] = {
    ("bus", "area"): "wire",
    ("bus-segment", "area"): "wire",
    ("feeder", "area"): "wire",
    ("control-bus", "area"): "wire",
    ("motor", "ohms"): "motor-ohms",
    ("motor", "current"): "motor-current",
    ("frog", "length"): "frog-length",
}
"""What a record calls a figure, where it is called otherwise than here."""


@dataclass(frozen=True, slots=True)
class Usual:
    """A figure that no record gives: usual value and plausible range in SI, and factors for small and large scales."""

    value: float
    unit: str
    said: str
    low: float
    high: float
    small: float = 1.0
    large: float = 1.0


TRADE: Mapping[str, Usual] = {
    "clip": Usual(0.05, "ohm", "contact of wheels or coin", 0.02, 0.15),
    "feed-point": Usual(0.5, "", "part of the block beyond its feed", 0.5, 1.0),
    "wires-a-block": Usual(2.0, "count", "wires of a block through a plug", 1.0, 2.0),
    "train-current": Usual(0.5, "A", "current of a train", 0.15, 1.0, 0.5, 4.0),
    "bogie": Usual(0.04, "m", "longest bogie of a vehicle", 0.025, 0.08, 0.5, 4.0),
    "warming": Usual(15.0, "K", "warming of the room from laying the track to summer", 8.0, 25.0),
    "drying": Usual(20.0, "%", "fall of the humidity in the heating season", 5.0, 40.0),
    "damp-ballast": Usual(3e4, "ohm m", "resistance of a metre of damp ballast", 2e4, 1e5),
    "axle-watts": Usual(0.125, "W", "rating of an axle's resistor", 0.063, 0.25),
    "alternating": Usual(1.0, "", "volts for each volt on the supply's label: more if it gives AC", 1.0, 1.3),
    "thermal-link": Usual(3.0, "s", "time of a thermal link at twice its current", 1.0, 10.0),
    "reverser": Usual(0.010, "s", "time that a reverser takes to turn", 0.004, 0.020),
    "gathered": Usual(1.0, "", "part of the vehicles that stand in one district", 0.25, 1.0),
    "stall-current": Usual(0.015, "A", "current of a slow motor", 0.01, 0.025),
    "servo-current": Usual(0.5, "A", "current of a servo as it starts", 0.2, 0.8),
    "board-current": Usual(0.05, "A", "current of a decoder or detector board", 0.02, 0.1),
    "head-current": Usual(0.02, "A", "current of a signal head", 0.005, 0.04),
    "wire-capacitance": Usual(5e-11, "F/m", "capacitance of a feedback wire", 2e-11, 1e-10),
    "coil-mass": Usual(0.008, "kg", "copper of a turnout coil", 0.004, 0.02, 0.5, 3.0),
    "busy-share": Usual(0.5, "", "part of the blocks with a train at work", 0.25, 0.5),
}
"""Source: common practice and estimates; `damp-ballast` and the temperatures as in the trade's worked examples."""


def usual(name: str, scale: str | None) -> tuple[Figure, float, float]:
    """A figure of the trade for a scale, with its plausible range. Units: SI."""
    row = TRADE[name]
    factor = row.small if scale in SMALL else row.large if scale in LARGE else 1.0
    return Figure(row.value * factor, row.unit, True, row.said), row.low * factor, row.high * factor


def spread(kind: str, name: str) -> tuple[float, float]:
    """The factors of a figure's default between which it plausibly lies. Raises KeyError for one that no look uses."""
    return FACTORS[kind, name]


def where(kind: str, name: str) -> str:
    """How a person finds the place in a record where a figure is given: `trip, under districts`."""
    section = "" if (kind, name) == ("layout", "track-volts") else ASKS[kind]
    return CALLED.get((kind, name), name) + (f", under {section}" if section else "")

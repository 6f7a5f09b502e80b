"""Every figure a layout record may give: unit, name in speech, sane range, and what is assumed without it.

Values are SI. A default is by kind of place and figure, and by scale where scales differ; each row names
its source. "trade" means common practice without a published text: a starting value, always shown as
assumed. What follows from the figures is left to `electrics`.
"""

from collections.abc import Mapping
from dataclasses import dataclass

SCALES: tuple[str, ...] = ("Z", "N", "TT", "HO", "OO", "S", "O", "large")
_USUAL_SCALE = "HO"


@dataclass(frozen=True)
class Spec:
    """One figure: SI unit, name in speech, range beyond which it is a slip of the pen, and default."""

    unit: str
    phrase: str
    least: float
    most: float
    default: float | Mapping[str, float] | None = None

    def assumed(self, scale: str | None) -> float | None:
        """The default for a scale (HO where it is not known), or None where there is no sensible one."""
        if isinstance(self.default, Mapping):
            return self.default.get(scale or _USUAL_SCALE, self.default[_USUAL_SCALE])
        return self.default


def _by_scale(tiny: float, middle: float, large: float, **others: float) -> Mapping[str, float]:
    """One value for N and smaller, one for TT to O, one for large scale, and exceptions."""
    table = {s: tiny if s in ("Z", "N") else large if s == "large" else middle for s in SCALES}
    return {**table, **others}


_AWG_22, _AWG_14 = 0.3255e-6, 2.081e-6  # m2, from the AWG diameter formula (ASTM B258)

FIGURES: Mapping[str, Mapping[str, Spec]] = {
    "layout": {
        # NMRA S-9.1 (2020) Table 3, nominal: 12 V for N and smaller, 15 V for HO, S, O, 18 V for large scale.
        # The table does not name TT; its decoders are those of HO, so the trade runs it at 15 V.
        "track-volts": Spec("V", "track volts", 7.0, 27.0, _by_scale(12.0, 15.0, 18.0)),
        # A hand-held meter of the cheap kind is good to about 1 kHz on AC and 20 Mohm (trade).
        "meter-bandwidth": Spec("Hz", "meter bandwidth", 40.0, 1e7, 1000.0),
        "highest-ohms": Spec("ohm", "highest ohms range of the meter", 1e3, 1e9, 20e6),
        # Trade: 10 kohm is the common resistor axle; large scale uses less because thresholds are higher.
        "axle-ohms": Spec("ohm", "resistance of an axle", 500.0, 1e6, _by_scale(10e3, 10e3, 4.7e3)),
        # Longest train that conducts from end to end (lit coaches, metal wheels); trade.
        "longest-train": Spec("m", "longest conducting train", 0.05, 50.0, _by_scale(1.2, 2.0, 4.0, O=3.0, S=2.5)),
        # Shortest distance between the outer axles of a locomotive; trade.
        "shortest-wheelbase": Spec(
            "m", "shortest wheelbase", 5e-3, 1.0, _by_scale(0.016, 0.025, 0.08, TT=0.02, O=0.05, S=0.035)
        ),
        "storage": Spec("F", "storage in each vehicle", 1e-6, 10.0, 470e-6),  # trade: sound decoder with a buffer
        "storage-charge-ohms": Spec("ohm", "charging resistor of a storage pack", 1.0, 1e4, 100.0),  # trade
        "storage-vehicles": Spec("count", "vehicles with storage", 0.0, 500.0, 4.0),  # trade: a few in one district
    },
    "booster": {
        "limit": Spec("A", "current limit", 0.2, 30.0, _by_scale(3.0, 5.0, 10.0)),  # trade
        "delay": Spec("s", "delay", 1e-4, 5.0, 0.2),  # trade: 30 to 500 ms
        "output": Spec("V", "output", 7.0, 27.0),  # as the track volts; see `record`
        "source-ohms": Spec("ohm", "output resistance", 1e-4, 5.0, 0.1),  # trade: bridge, socket and short leads
    },
    "breaker": {
        "trip": Spec("A", "trip current", 0.1, 30.0),  # 80 % of its booster's limit; see `record`
        "delay": Spec("s", "trip delay", 1e-5, 5.0, 0.015),  # trade: electronic breakers, 5 to 20 ms
    },
    "bus": {
        "length": Spec("m", "bus length", 0.1, 200.0, _by_scale(5.0, 8.0, 15.0)),  # trade: one way, to the far end
        "area": Spec("m2", "bus wire", 0.05e-6, 50e-6, _AWG_14),  # trade
    },
    "district": {  # a filter across the bus: 100 ohm and 0.1 uF, 2 W (trade)
        "filter-ohms": Spec("ohm", "resistor of the filter", 1.0, 1e4, 100.0),
        "filter-capacitance": Spec("F", "capacitor of the filter", 1e-10, 1e-5, 1e-7),
        "filter-watts": Spec("W", "rating of the filter's resistor", 0.05, 100.0, 2.0),
    },
    "detector": {
        "threshold": Spec("A", "threshold", 5e-5, 0.5, 0.002),  # trade: 0.5 to 10 mA
        "passes": Spec("count", "passes through the coil", 1.0, 20.0, 1.0),
        "zones": Spec("count", "zones", 1.0, 256.0),
        "drop": Spec("V", "volts dropped", 0.0, 3.0, 0.0),  # 0.7 V for diode-drop kinds; see `record`
        "address": Spec("count", "address", 0.0, 65535.0),
    },
    "block": {
        "length": Spec("m", "length", 0.02, 200.0, _by_scale(1.2, 2.0, 5.0, O=3.0)),  # trade
        # Nickel silver, per metre and rail: amateur measurements, code 100 57 and 76, code 83 108 mohm/m.
        "rail-ohms": Spec("ohm/m", "resistance of the rail", 1e-4, 2.0, _by_scale(0.2, 0.11, 0.02, Z=0.35, O=0.06)),
        "gap": Spec("m", "gap width", 1e-4, 0.02, 1e-3),  # trade: a cut of a thin disc, or a joiner's rib
        "rail-code": Spec("count", "rail code", 25.0, 400.0),
        "feeds": Spec("count", "feeds", 1.0, 100.0, 1.0),  # trade: one drop a block
    },
    "feeder": {
        "length": Spec("m", "feeder length", 0.02, 200.0, 0.3),  # trade: a drop from the bus under the track
        "area": Spec("m2", "feeder wire", 0.02e-6, 10e-6, _AWG_22),  # trade
        "capacitance": Spec("F/m", "capacitance of the feeder pair", 1e-12, 1e-9, 100e-12),  # trade: bundled PVC pair
    },
    "joint": {
        "gap": Spec("m", "gap width", 1e-4, 0.02, 1e-3),  # trade, as for a block
        "offset": Spec("m", "offset of the two gaps", 0.0, 0.1, 0.0),
    },
    "decoder": {
        "address": Spec("count", "address", 0.0, 2048.0),
        "base": Spec("count", "numbering base", 0.0, 1.0, 1.0),  # trade; S-9.2.1 leaves the base open
        "outputs": Spec("count", "outputs", 1.0, 32.0, 4.0),  # S-9.2.1 section D: four pairs an address
        "pulse": Spec("s", "pulse", 1e-3, 30.0, 0.2),  # trade: coil motors
        "storage": Spec("F", "capacitor of the discharge unit", 1e-5, 1.0, 4.7e-3),  # trade
        "charge-ohms": Spec("ohm", "charging resistor of the discharge unit", 0.1, 1e4, 100.0),  # trade
    },
    "turnout": {
        "number": Spec("count", "number", 1.0, 2048.0),
        "output": Spec("count", "output of its decoder", 1.0, 32.0),
    },
    "motor": {
        "ohms": Spec("ohm", "coil resistance", 0.5, 5e3, 4.0),  # trade: twin coils, 4 to 8 ohm
        "current": Spec("A", "current", 1e-3, 5.0, 0.015),  # trade: a stall motor at 12 V
    },
    "frog": {
        # Trade: dead length of an insulated frog of a middling turnout, longer the finer its angle.
        "length": Spec("m", "dead length", 1e-3, 0.5, _by_scale(0.015, 0.025, 0.06, TT=0.02, O=0.045, S=0.035)),
    },
    "input": {
        "volts": Spec("V", "input supply", 1.0, 30.0, 5.0),  # trade: logic inputs
        "pull-up": Spec("ohm", "pull-up resistor", 100.0, 1e6, 10e3),  # trade
    },
    "field-wire": {
        "length": Spec("m", "length of the contact wire", 0.05, 200.0, 3.0),  # trade
    },
    "supply": {
        "volts": Spec("V", "supply volts", 1.5, 30.0, 12.0),  # trade; boosters need more, see `record`
        "limit": Spec("A", "supply limit", 0.05, 50.0, 2.0),  # trade
    },
    "control-bus": {
        "length": Spec("m", "length of the control bus", 0.2, 1000.0, 10.0),  # trade
        "area": Spec("m2", "wire of the control bus", 0.02e-6, 10e-6, 0.1288e-6),  # trade: flat cable, 26 AWG
        "device-current": Spec("A", "current of a throttle or panel", 1e-3, 2.0, 0.025),  # trade
    },
    "control-bus-segment": {
        "length": Spec("m", "length", 0.2, 1000.0, 5.0),  # trade
    },
    "bus-segment": {
        "length": Spec("m", "length", 0.1, 200.0),
        "area": Spec("m2", "wire", 0.05e-6, 50e-6, _AWG_14),  # trade
    },
    "signal": {
        "heads": Spec("count", "heads", 1.0, 8.0, 1.0),
        "address": Spec("count", "address", 0.0, 2048.0),
    },
    "vehicle": {
        "axle-ohms": Spec("ohm", "resistance of an axle", 10.0, 1e7),
        "length": Spec("m", "length", 0.01, 50.0),
        "wheelbase": Spec("m", "wheelbase", 5e-3, 2.0),
        "storage": Spec("F", "storage", 1e-6, 10.0),
    },
    "plug": {"ways": Spec("count", "ways", 2.0, 200.0)},
}
"""Figures by kind of place. A record gives them under the same names."""

HOME: Mapping[str, tuple[str, str]] = {
    **{name: ("layout", name) for name in FIGURES["layout"]},
    "booster-limit": ("booster-of", "limit"),
    "booster-delay": ("booster-of", "delay"),
    "booster-output": ("booster-of", "output"),
    "source-ohms": ("booster-of", "source-ohms"),
    "trip": ("breaker-of", "trip"),
    "trip-delay": ("breaker-of", "delay"),
    "bus-length": ("bus-of", "length"),
    "bus-area": ("bus-of", "area"),
    "threshold": ("detector-of", "threshold"),
    "passes": ("detector-of", "passes"),
    "zones": ("detector-of", "zones"),
    "detector-drop": ("detector-of", "drop"),
    "block-length": ("own-block", "length"),
    "rail-ohms": ("own-block", "rail-ohms"),
    "feeder-length": ("feeder-of", "length"),
    "feeder-area": ("feeder-of", "area"),
    "feeder-capacitance": ("feeder-of", "capacitance"),
    "gap": ("joint-of", "gap"),
    "offset": ("joint-of", "offset"),
    "decoder-address": ("decoder-of", "address"),
    "base": ("decoder-of", "base"),
    "outputs": ("decoder-of", "outputs"),
    "pulse": ("decoder-of", "pulse"),
    "motor-ohms": ("motor-of", "ohms"),
    "motor-current": ("motor-of", "current"),
    "input-volts": ("input-of", "volts"),
    "pull-up": ("input-of", "pull-up"),
    "field-wire-length": ("field-wire-of", "length"),
    "supply-volts": ("supply-of", "volts"),
    "supply-limit": ("supply-of", "limit"),
    "control-bus-length": ("control-bus", "length"),
}
"""Figures that can be asked of any place: the relation that leads to their home, and their name there."""

SPACING: Mapping[str, float] = {
    "apart": 10e-12,  # computed, pi e0 / ln(D/r): 5 to 8 pF/m in free air, about 12 along wood
    "loose-pair": 50e-12,  # trade: flat twin or loose pair, 40 to 60 pF/m
    "twisted": 85e-12,  # trade: twisted PVC pair, 60 to 110 pF/m
    "bundled": 100e-12,  # trade: in a loom or duct beside others
}
"""Capacitance of a feeder pair in F/m, by how its two wires run."""

RAIL_CODE_OHMS: Mapping[int, float] = {
    100: 0.067,
    83: 0.108,
    70: 0.206,
    55: 0.31,
    75: 0.16,
    80: 0.2,
    60: 0.28,
    40: 0.5,
}
"""Ohm per metre of one nickel silver rail by code: amateur measurements for 100, 83, 70, else geometry."""

DIODE_DROP = 0.7
"""Volts that an anti-parallel diode pair takes (textbook)."""

TRIP_SHARE = 0.8
"""A district's breaker should trip at no more than this share of its booster's limit (trade)."""

BOOSTER_SUPPLY_HEADROOM = 3.0
"""Volts a booster's supply needs above the track volts (trade)."""

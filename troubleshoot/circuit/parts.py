"""A circuit as a list of parts between named nodes, and what may be changed in it.

Rules: plain data without any library, SI units. `earth` is the one node whose volts are zero. Nothing is
solved here; how a layout becomes a circuit is left to `building`.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

EARTH = "earth"
OPEN_OHMS = 1e8
"""What is left between two ends that do not touch: damp air, timber, dirt. An open wire is not infinite (estimate)."""
STRAY_OHMS = 1e9
"""What ties a part that floats to its surroundings. It only gives every node some volts (estimate)."""
THERMAL_VOLTS = 0.025852
"""kT/q at 27 C, the temperature that circuit simulators take for granted."""


@dataclass(frozen=True, slots=True)
class Resistor:
    """A resistance between two nodes."""

    a: str
    b: str
    ohms: float


@dataclass(frozen=True, slots=True)
class Source:
    """Volts from `b` (minus) to `a` (plus), behind a resistance."""

    a: str
    b: str
    volts: float
    ohms: float


@dataclass(frozen=True, slots=True)
class Diodes:
    """Two strings of equal diodes side by side, one each way round, of `series` diodes each."""

    a: str
    b: str
    series: int
    saturation: float
    emission: float

    def current(self, volts: float) -> tuple[float, float]:
        """Amps from a to b, and siemens, at some volts. Formula: 2 Is sinh(v / (n N Vt)), Shockley."""
        slope = self.emission * self.series * THERMAL_VOLTS
        x = max(-90.0, min(90.0, volts / slope))
        return 2.0 * self.saturation * math.sinh(x), 2.0 * self.saturation * math.cosh(x) / slope


@dataclass(frozen=True, slots=True)
class Capacitor:
    """A capacitance between two nodes, behind a resistance of its own."""

    a: str
    b: str
    farads: float
    ohms: float = 0.0


@dataclass(frozen=True, slots=True)
class Between:
    """A change: a further resistance between two nodes, as of a leak, a short or a bridge."""

    a: str
    b: str
    ohms: float


@dataclass(frozen=True, slots=True)
class Becomes:
    """A change: a resistor has another value, as of a loose joint; OPEN_OHMS where it is interrupted."""

    name: str
    ohms: float


@dataclass(frozen=True, slots=True)
class Gives:
    """A change: a source gives other volts."""

    name: str
    volts: float


@dataclass(frozen=True, slots=True)
class Stores:
    """A change: a further capacitance between two nodes, behind a resistance, as of a filter."""

    a: str
    b: str
    farads: float
    ohms: float = 0.0


Change = Between | Becomes | Gives | Stores


class Unsound(ValueError):
    """A circuit that cannot be solved, in words."""


@dataclass
class Netlist:
    """Parts by name. Two parts of one kind may not share a name."""

    resistors: dict[str, Resistor] = field(default_factory=dict)
    sources: dict[str, Source] = field(default_factory=dict)
    diodes: dict[str, Diodes] = field(default_factory=dict)
    capacitors: dict[str, Capacitor] = field(default_factory=dict)

    def resistor(self, name: str, a: str, b: str, ohms: float) -> None:
        """Add a resistor. Raises Unsound for a value that is none, and for a name given twice."""
        if not 0.0 < ohms < math.inf:
            raise Unsound(f"{name}: a resistance of {ohms:g} ohm cannot be worked with; it must be above 0")
        if a == b:
            raise Unsound(f"{name}: both ends are at {a}, so it joins nothing")
        if name in self.resistors:
            raise Unsound(f"{name}: two parts have this name")
        self.resistors[name] = Resistor(a, b, ohms)

    def source(self, name: str, a: str, b: str, volts: float, ohms: float) -> None:
        """Add a source. Raises Unsound for a source across itself or without any resistance."""
        if a == b:
            raise Unsound(f"{name}: its two outputs are one point, so it feeds itself")
        if not 0.0 < ohms < math.inf or not math.isfinite(volts):
            raise Unsound(f"{name}: {volts:g} V behind {ohms:g} ohm cannot be worked with")
        self.sources[name] = Source(a, b, volts, ohms)

    def nodes(self) -> list[str]:
        """Every node but earth, in the order in which parts name them."""
        seen: dict[str, None] = {}
        for part in self.parts():
            seen[part.a] = None
            seen[part.b] = None
        seen.pop(EARTH, None)
        return list(seen)

    def parts(self) -> Iterator[Resistor | Source | Diodes | Capacitor]:
        """All parts."""
        yield from self.resistors.values()
        yield from self.sources.values()
        yield from self.diodes.values()
        yield from self.capacitors.values()

    def changed(self, changes: tuple[Change, ...]) -> "Netlist":
        """The circuit with changes made in it for good."""
        new = Netlist(dict(self.resistors), dict(self.sources), dict(self.diodes), dict(self.capacitors))
        for count, change in enumerate(changes):
            if isinstance(change, Between):
                new.resistor(f"change {count}", change.a, change.b, change.ohms)
            elif isinstance(change, Becomes):
                old = new.resistors[change.name]
                new.resistors[change.name] = Resistor(old.a, old.b, change.ohms)
            elif isinstance(change, Gives):
                source = new.sources[change.name]
                new.sources[change.name] = Source(source.a, source.b, change.volts, source.ohms)
            else:
                new.capacitors[f"change {count}"] = Capacitor(change.a, change.b, change.farads, change.ohms)
        return new

"""A layout as a circuit: boosters, buses, breakers, detectors, feeders, rails, joints and what hangs on them.

Rules: every figure comes from the record or from its defaults, and is noted; node names say where they are
(`yard-2 P 3`: third point of one rail of yard-2). `P` is the rail that detectors and gaps are in, `N` the other.
Where a record does not say how things stand, the circuit takes what the trade does: feeders leave the bus
at even distances and join their block in its middle, one rail is gapped at a block joint and both at a
district's edge. What goes wrong is left to `faults`, what is measured to `probing`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from troubleshoot.circuit.parts import EARTH, OPEN_OHMS, THERMAL_VOLTS, Capacitor, Diodes, Netlist
from troubleshoot.electrics import cables, waves
from troubleshoot.electrics.ground import Ground
from troubleshoot.layout import Figure, Layout, Place

BREAKER_OHMS = 0.03
"""A closed breaker, both legs, its terminals included (estimate)."""
LAMP_OHMS = 1.5
"""A breaker that is a lamp, cold (estimate)."""
COIL_OHMS = 0.01
"""A turn of wire through a detector's coil (estimate)."""
JOINER_OHMS = 0.01
"""A sound rail joiner (common practice: a few milliohms to a few tens)."""
PIECE = 1.0
"""Length of a piece of track between joiners, m (common practice)."""
MOST_PIECES = 24
RELEASED_OHMS = 1e4
"""What a booster that is switched off still leaves between its outputs (estimate)."""
REFERENCE_OHMS = 0.05
"""The reference wire from booster to booster (estimate)."""
ADRIFT_OHMS = 1e6
"""What still ties a booster without a reference to the others: its supply's insulation (estimate)."""
BALLAST_OHM_METRES = 1e6
"""Ohms of a metre of dry ballasted track from rail to rail (estimate)."""
EMISSION = 1.9
"""Emission coefficient of a rectifier diode (textbook: 1 to 2)."""


@dataclass(eq=False)
class Circuit:
    """A netlist, and where in it the places of the layout are."""

    layout: Layout
    power: bool
    net: Netlist = field(default_factory=Netlist)
    taps: dict[str, int] = field(default_factory=dict)
    pieces: dict[str, int] = field(default_factory=dict)
    order: dict[str, list[str]] = field(default_factory=dict)
    feeds: dict[str, str] = field(default_factory=dict)
    used: dict[str, dict[Figure, None]] = field(default_factory=dict)

    def middle(self, block: str) -> int:
        """The point of a block at which its feeder joins the rails."""
        return self.pieces[block] // 2

    def rail(self, block: str, leg: str, point: int) -> str:
        """A point of a rail of a block: 0 at one end, `pieces` at the other."""
        return f"{block} {leg} {point}"

    def bus(self, district: str, leg: str, tap: int) -> str:
        """A point of a district's bus: 0 behind the breaker, then one for each feeder."""
        return f"{district} bus {leg} {tap}"

    def last_tap(self, district: str) -> int:
        """The farthest point of a district's bus."""
        return len(self.order[district])


def circuit_of(layout: Layout, power: bool) -> Circuit:
    """The circuit of a whole layout with power on or off. A layout without blocks gets one of each."""
    circuit = Circuit(layout, power)
    boosters = layout.places_of("booster") or layout.related("booster-of", layout.itself)[:1]
    districts = layout.places_of("district") or layout.related("district-of", layout.itself)[:1]
    blocks = layout.places_of("block") or layout.related("own-block", layout.itself)[:1]
    for booster in boosters:
        _booster(circuit, booster)
    known = {b.name for b in boosters}
    homes: dict[str, list[Place]] = {d.name: [] for d in districts}
    for block in blocks:
        home = layout.related("district-of", block)[0].name
        homes.setdefault(home, []).append(block)
    for district in districts:
        feeds = layout.related("booster-of", district)[0].name
        circuit.feeds[district.name] = feeds if feeds in known else boosters[0].name
    for name, members in homes.items():
        circuit.feeds.setdefault(name, boosters[0].name)
        _district(circuit, Place("district", name), members)
    _joints(circuit, {b.name for b in blocks})
    return circuit


def _note(circuit: Circuit, place: Place) -> Ground:
    """A ground whose figures are noted under the name of the place."""
    return Ground(circuit.layout, place, circuit.used.setdefault(place.name, {}))


def _booster(circuit: Circuit, booster: Place) -> None:
    ground, name = _note(circuit, booster), booster.name
    half = ground.volts(booster) / 2.0 if circuit.power else 0.0
    ohms = (ground.figure("source-ohms", booster) if circuit.power else RELEASED_OHMS) / 2.0
    circuit.net.source(f"{name} P", f"{name} P", f"{name} middle", half, ohms)
    circuit.net.source(f"{name} N", f"{name} middle", f"{name} N", half, ohms)
    adrift = circuit.layout.word(booster, "reference") == "isolated"
    circuit.net.resistor(f"{name} reference", f"{name} middle", EARTH, ADRIFT_OHMS if adrift else REFERENCE_OHMS)


def _segments(ground: Ground, district: Place) -> list[tuple[float, float]]:
    """Stretches of a district's bus: length, and ohms a metre of one leg."""
    layout, own = ground.layout, []
    for part in layout.places_of("bus-segment"):
        if layout.word(part, "of") in (district.name, f"{district.name} bus"):
            own.append((ground.figure("length", part), cables.ohms_per_metre(ground.figure("area", part))))
    if own:
        return own
    bus = ground.first("bus-of", district)
    return [(ground.figure("length", bus), cables.ohms_per_metre(ground.figure("area", bus)))]


def _between(segments: Sequence[tuple[float, float]], start: float, end: float) -> float:
    """Ohms of one leg of the bus between two distances from its beginning."""
    total, at = 0.0, 0.0
    for length, per_metre in segments:
        total += max(0.0, min(end, at + length) - max(start, at)) * per_metre
        at += length
    return total


def _district(circuit: Circuit, district: Place, blocks: Sequence[Place]) -> None:
    ground, name, net = _note(circuit, district), district.name, circuit.net
    booster = circuit.feeds[name]
    kind = circuit.layout.word(district, "breaker")
    ohms = LAMP_OHMS if kind == "lamp" else BREAKER_OHMS
    segments = _segments(ground, district)
    whole = sum(length for length, _ in segments)
    circuit.order[name] = [b.name for b in blocks]
    for leg in "PN":
        net.resistor(f"{name} breaker {leg}", f"{booster} {leg}", circuit.bus(name, leg, 0), ohms / 2.0)
        for k in range(len(blocks)):
            start, end = whole * k / len(blocks), whole * (k + 1) / len(blocks)
            piece = max(_between(segments, start, end), 1e-6)
            net.resistor(f"{name} bus {leg} {k + 1}", circuit.bus(name, leg, k), circuit.bus(name, leg, k + 1), piece)
    for k, block in enumerate(blocks):
        circuit.taps[block.name] = k + 1
        _block(circuit, district, block)


def _block(circuit: Circuit, district: Place, block: Place) -> None:
    ground, net, name = _note(circuit, block), circuit.net, block.name
    length, per_metre = ground.figure("length", block), ground.figure("rail-ohms", block)
    count = max(2, min(MOST_PIECES, 2 * round(length / PIECE / 2.0)))
    circuit.pieces[name] = count
    wire = ground.figure("feeder-length") * cables.ohms_per_metre(ground.figure("feeder-area"))
    tap, middle = circuit.taps[name], circuit.middle(name)
    for leg in "PN":
        net.resistor(f"{name} tap {leg}", circuit.bus(district.name, leg, tap), f"{name} tap {leg}", 1e-3)
        detected = f"{name} detected {leg}" if leg == "P" else f"{name} tap N"
        net.resistor(f"{name} feeder {leg}", detected, f"{name} core {leg}", max(wire, 1e-4))
        net.resistor(f"{name} drop {leg}", f"{name} core {leg}", circuit.rail(name, leg, middle), 2e-3)
        for k in range(count):
            ohms = max(length / count * per_metre + (JOINER_OHMS if k else 0.0), 1e-6)
            net.resistor(f"{name} rail {leg} {k + 1}", circuit.rail(name, leg, k), circuit.rail(name, leg, k + 1), ohms)
    if ground.detector_kind(block) == "diode-drop":
        _diodes(circuit, ground, block)
    else:
        net.resistor(f"{name} detector", f"{name} tap P", f"{name} detected P", COIL_OHMS)
    for end in (0, count):
        across = circuit.rail(name, "P", end), circuit.rail(name, "N", end)
        net.resistor(f"{name} ballast {end}", *across, 2.0 * BALLAST_OHM_METRES / length)
    if circuit.power:
        farads = waves.cable_capacitance(ground.figure("feeder-capacitance"), ground.figure("feeder-length"))
        _capacitor(circuit, f"{name} feeder", f"{name} core P", f"{name} core N", farads)


def _capacitor(circuit: Circuit, name: str, a: str, b: str, farads: float) -> None:
    circuit.net.capacitors[name] = Capacitor(a, b, farads)


def _diodes(circuit: Circuit, ground: Ground, block: Place) -> None:
    """A diode-drop detector: strings whose drop at a train's current is what the record says."""
    drop, amps = ground.detector_drop(block), ground.trade("train-current")
    series = max(1, round(drop / 0.7))
    saturation = amps / math.exp(drop / series / (EMISSION * THERMAL_VOLTS))
    name = block.name
    circuit.net.diodes[f"{name} detector"] = Diodes(f"{name} tap P", f"{name} detected P", series, saturation, EMISSION)


def _joints(circuit: Circuit, blocks: set[str]) -> None:
    """Joints between blocks: at which end of a block each is, and which rails are cut there."""
    layout, taken = circuit.layout, dict.fromkeys(blocks, 0)
    common = layout.facts(layout.itself).get("common-rail") == "yes"
    for joint in layout.places_of("joint"):
        sides = [s for s in layout.words(joint, "between") if s in blocks]
        if len(sides) != 2 or sides[0] == sides[1]:
            continue
        ends = []
        for side in sides:
            ends.append(circuit.pieces[side] if taken[side] % 2 else 0)
            taken[side] += 1
        closed = layout.word(joint, "insulated") == "no"
        homes = {layout.related("district-of", Place("block", s))[0] for s in sides}
        turning = {layout.word(Place("block", s), "reversing") == "yes" for s in sides}
        both = not common and (len(homes) > 1 or len(turning) > 1)
        for leg, cut in (("P", not closed), ("N", both and not closed)):
            spots = [circuit.rail(s, leg, e) for s, e in zip(sides, ends, strict=True)]
            circuit.net.resistor(f"{joint.name} joint {leg}", spots[0], spots[1], OPEN_OHMS if cut else JOINER_OHMS)

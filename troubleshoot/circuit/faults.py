"""What goes wrong, as changes of a circuit.

Rules: a fault is of a closed kind, sits at a place, and may have a size (ohms, or a share of the volts). One
kind may have several variants (either leg of a pair), all as likely. A kind that means nothing at a place gives
nothing. How likely a fault is, and which cause it belongs to, is left to the rule packs and to belief.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from troubleshoot.circuit.building import REFERENCE_OHMS, Circuit
from troubleshoot.circuit.parts import OPEN_OHMS, Becomes, Between, Change, Gives, Stores
from troubleshoot.layout import Place

Changes = tuple[Change, ...]

SOLID_OHMS = 0.05
"""Two conductors that touch firmly (estimate)."""


@dataclass(frozen=True)
class Kind:
    """A kind of fault: what it is, the unit of its size ('' where it has none), and its usual range of sizes.

    `goes_when_lifted` holds where what shows of it goes as soon as the part it sits in is disconnected.
    """

    says: str
    unit: str
    least: float
    most: float
    goes_when_lifted: bool = False


KINDS: Mapping[str, Kind] = {
    "leak": Kind("current leaks from rail to rail", "ohm", 100.0, 50e3, True),
    "core-leak": Kind("the two cores of a feeder leak to each other", "ohm", 100.0, 100e3, True),
    "joint-leak": Kind("an insulated joint leaks", "ohm", 100.0, 50e3),
    "joint-closed": Kind("an insulated joint is closed", "ohm", 0.02, 5.0),
    "short": Kind("both rails touch", "ohm", 0.05, 5.0, True),
    "bus-short": Kind("both wires of a bus touch", "ohm", 0.05, 5.0, True),
    "booster-short": Kind("both wires between booster and breakers touch", "ohm", 0.05, 5.0),
    "feeder-open": Kind("a feeder is interrupted", "", OPEN_OHMS, OPEN_OHMS),
    "feeder-high": Kind("a feeder has a poor connection", "ohm", 0.5, 20.0),
    "rail-high": Kind("a rail joiner has a poor connection", "ohm", 0.5, 20.0),
    "rail-open": Kind("a rail joiner is interrupted", "", OPEN_OHMS, OPEN_OHMS),
    "bus-high": Kind("a bus is too thin or has a poor connection", "ohm", 0.5, 5.0),
    "breaker-high": Kind("something stands in series with a breaker", "ohm", 0.5, 10.0),
    "breaker-open": Kind("a breaker is open", "", OPEN_OHMS, OPEN_OHMS),
    "districts-tied": Kind("two districts are joined by a wire", "ohm", 0.02, 2.0),
    "feed-crossed": Kind("the two wires of a feed are exchanged", "", 1.0, 1.0),
    "booster-crossed": Kind("a booster gives the signal upside down", "", 1.0, 1.0),
    "booster-uneven": Kind("a booster gives other volts than the next", "share", 0.75, 0.93),
    "booster-low": Kind("a booster gives too few volts", "share", 0.4, 0.85),
    "reference-lost": Kind("a booster has lost its reference to the others", "", 1.0, 1.0),
    "filter": Kind("a resistor and a capacitor stand across the rails", "", 1.0, 1.0),
}
"""Every kind of fault that a circuit knows. Ranges are estimates."""


def changes(kind: str, circuit: Circuit, at: Place, size: float) -> tuple[Changes, ...]:
    """The variants of a fault of a size at a place; none where the circuit has no such place."""
    return tuple(v for v in _KINDS[kind](circuit, at, size) if v)


def blocks_at(circuit: Circuit, at: Place) -> list[str]:
    """Blocks of the circuit that a place has to do with."""
    return [b.name for b in circuit.layout.related("own-block", at) if b.name in circuit.taps]


def block_at(circuit: Circuit, at: Place) -> str | None:
    """The first of them."""
    return next(iter(blocks_at(circuit, at)), None)


def district_at(circuit: Circuit, at: Place) -> str | None:
    """The district of a place."""
    return next((d.name for d in circuit.layout.related("district-of", at) if d.name in circuit.order), None)


def booster_at(circuit: Circuit, at: Place) -> str | None:
    """The booster of a place."""
    return next(
        (b.name for b in circuit.layout.related("booster-of", at) if f"{b.name} P" in circuit.net.sources), None
    )


def joint_at(circuit: Circuit, at: Place) -> str | None:
    """The joint of a place."""
    return next(
        (j.name for j in circuit.layout.related("joint-of", at) if f"{j.name} joint P" in circuit.net.resistors), None
    )


def _across(circuit: Circuit, at: Place, size: float) -> list[Changes]:
    block = block_at(circuit, at)
    if block is None:
        return []
    m = circuit.middle(block)
    return [(Between(circuit.rail(block, "P", m), circuit.rail(block, "N", m), size),)]


def _cores(circuit: Circuit, at: Place, size: float) -> list[Changes]:
    block = block_at(circuit, at)
    return [(Between(f"{block} core P", f"{block} core N", size),)] if block else []


def _joint(circuit: Circuit, at: Place, size: float) -> list[Changes]:
    joint = joint_at(circuit, at)
    return [(Becomes(f"{joint} joint P", size),)] if joint else []


def _bus(circuit: Circuit, at: Place, size: float) -> list[Changes]:
    name = district_at(circuit, at)
    return [(Between(circuit.bus(name, "P", 0), circuit.bus(name, "N", 0), size),)] if name else []


def _booster_short(circuit: Circuit, at: Place, size: float) -> list[Changes]:
    name = booster_at(circuit, at)
    return [(Between(f"{name} P", f"{name} N", size),)] if name else []


def _grown(circuit: Circuit, part: str, size: float) -> Changes:
    return (Becomes(part, circuit.net.resistors[part].ohms + size),)


def _feeder(circuit: Circuit, at: Place, size: float) -> list[Changes]:
    block = block_at(circuit, at)
    return [_grown(circuit, f"{block} drop {leg}", size) for leg in "PN"] if block else []


def _rail(circuit: Circuit, at: Place, size: float) -> list[Changes]:
    block = block_at(circuit, at)
    if block is None:
        return []
    piece = circuit.middle(block) + 1
    return [_grown(circuit, f"{block} rail {leg} {piece}", size) for leg in "PN"]


def _bus_high(circuit: Circuit, at: Place, size: float) -> list[Changes]:
    name = district_at(circuit, at)
    return [_grown(circuit, f"{name} bus P 1", size)] if name and circuit.last_tap(name) else []


def _breaker(circuit: Circuit, at: Place, size: float) -> list[Changes]:
    name = district_at(circuit, at)
    return [_grown(circuit, f"{name} breaker P", size)] if name else []


def next_district(circuit: Circuit, name: str) -> str | None:
    """Another district, of another booster if there is one: the one that a tie would most disturb."""
    others = [d for d in circuit.order if d != name]
    return next((d for d in others if circuit.feeds[d] != circuit.feeds[name]), next(iter(others), None))


def _tied(circuit: Circuit, at: Place, size: float) -> list[Changes]:
    name = district_at(circuit, at)
    other = next_district(circuit, name) if name else None
    if name is None or other is None:
        return []
    return [(Between(circuit.bus(name, leg, 0), circuit.bus(other, leg, 0), size),) for leg in "PN"]


def _crossed(circuit: Circuit, at: Place, size: float) -> list[Changes]:
    del size
    block = block_at(circuit, at)
    if block is None:
        return []
    m = circuit.middle(block)
    cut = tuple(Becomes(f"{block} drop {leg}", OPEN_OHMS) for leg in "PN")
    swapped = tuple(
        Between(f"{block} core {leg}", circuit.rail(block, other, m), 2e-3) for leg, other in (("P", "N"), ("N", "P"))
    )
    return [(*cut, *swapped)]


def _volts(share: Callable[[float], float]) -> Callable[[Circuit, Place, float], list[Changes]]:
    def change(circuit: Circuit, at: Place, size: float) -> list[Changes]:
        name = booster_at(circuit, at)
        if name is None:
            return []
        return [tuple(Gives(f"{name} {leg}", circuit.net.sources[f"{name} {leg}"].volts * share(size)) for leg in "PN")]

    return change


def _reference(circuit: Circuit, at: Place, size: float) -> list[Changes]:
    del size
    name = booster_at(circuit, at)
    part = f"{name} reference"
    if name is None or circuit.net.resistors[part].ohms > REFERENCE_OHMS:
        return []
    return [(Becomes(part, 1e6),)]


def _filter(circuit: Circuit, at: Place, size: float) -> list[Changes]:
    del size
    block = block_at(circuit, at)
    if block is None:
        return []
    m = circuit.middle(block)
    return [(Stores(circuit.rail(block, "P", m), circuit.rail(block, "N", m), 1e-7, 100.0),)]


_KINDS: Mapping[str, Callable[[Circuit, Place, float], list[Changes]]] = {
    "leak": _across,
    "core-leak": _cores,
    "joint-leak": _joint,
    "joint-closed": _joint,
    "short": _across,
    "bus-short": _bus,
    "booster-short": _booster_short,
    "feeder-open": _feeder,
    "feeder-high": _feeder,
    "rail-high": _rail,
    "rail-open": _rail,
    "bus-high": _bus_high,
    "breaker-high": _breaker,
    "breaker-open": _breaker,
    "districts-tied": _tied,
    "feed-crossed": _crossed,
    "booster-crossed": _volts(lambda _size: -1.0),
    "booster-uneven": _volts(lambda size: size),
    "booster-low": _volts(lambda size: size),
    "reference-lost": _reference,
    "filter": _filter,
}

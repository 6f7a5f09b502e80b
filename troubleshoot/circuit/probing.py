"""Where the probes of a meter go, in which state of the layout, and what the meter then shows.

Rules: a probe spot is of a closed list; so are the states that a circuit knows (a wire lifted, a wire clipped
across the rails). A meter is a part of the circuit: it has a resistance, and an ohmmeter volts of its own. What
it shows of AC volts hangs on its kind and bandwidth. Which check asks for which spot is left to the rule packs.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from troubleshoot.circuit.building import Circuit
from troubleshoot.circuit.faults import block_at, booster_at, district_at, joint_at, next_district
from troubleshoot.circuit.parts import OPEN_OHMS, Becomes, Between, Change
from troubleshoot.layout import Place

VOLTMETER_OHMS = 10e6
"""Resistance of a hand meter on volts. Source: common practice."""
TEST_VOLTS, TEST_OHMS = 0.6, 1e3
"""An ohmmeter: what stands behind its probes (estimate; below the drop of a silicon diode pair)."""
SHUNT_OHMS = 1.0
"""A hand meter on milliamps (estimate)."""
CLIP_OHMS = 0.05
"""A short thick wire clipped across the rails. Source: common practice."""

METERS = ("ohms", "volts", "current")

Pair = tuple[str, str]


@dataclass(frozen=True)
class Probe:
    """What is measured: kind of reading, spot, and the states that the circuit must be in."""

    meter: str
    spot: str
    states: tuple[str, ...] = ()


def spot(name: str, circuit: Circuit, at: Place) -> Pair | None:
    """The two points of a spot at a place; None where the circuit has no such spot."""
    return _SPOTS[name][1](circuit, at)


def state(name: str, circuit: Circuit, at: Place) -> tuple[Change, ...]:
    """What a state of the layout changes in the circuit."""
    return _STATES[name][1](circuit, at)


def _rails(circuit: Circuit, at: Place) -> Pair | None:
    block = block_at(circuit, at)
    if block is None:
        return None
    m = circuit.middle(block)
    return circuit.rail(block, "P", m), circuit.rail(block, "N", m)


def _far(circuit: Circuit, at: Place) -> Pair | None:
    block = block_at(circuit, at) if at.kind != "district" else _last_block(circuit, at)
    if block is None:
        return None
    end = circuit.pieces[block]
    return circuit.rail(block, "P", end), circuit.rail(block, "N", end)


def _last_block(circuit: Circuit, at: Place) -> str | None:
    name = district_at(circuit, at)
    return circuit.order[name][-1] if name and circuit.order[name] else None


def _gap(circuit: Circuit, at: Place) -> Pair | None:
    joint = joint_at(circuit, at)
    if joint is None:
        return None
    part = circuit.net.resistors[f"{joint} joint P"]
    return part.a, part.b


def _cores(circuit: Circuit, at: Place) -> Pair | None:
    block = block_at(circuit, at)
    return (f"{block} core P", f"{block} core N") if block else None


def _start(circuit: Circuit, at: Place) -> Pair | None:
    name = district_at(circuit, at)
    return (circuit.bus(name, "P", 0), circuit.bus(name, "N", 0)) if name else None


def _outputs(circuit: Circuit, at: Place) -> Pair | None:
    name = booster_at(circuit, at)
    return (f"{name} P", f"{name} N") if name else None


def _two_boosters(circuit: Circuit, at: Place) -> Pair | None:
    name = booster_at(circuit, at)
    others = [s.removesuffix(" P") for s in circuit.net.sources if s.endswith(" P")]
    other = next((o for o in others if o != name), None)
    return (f"{name} P", f"{other} P") if name and other else None


def _two_districts(circuit: Circuit, at: Place) -> Pair | None:
    name = district_at(circuit, at)
    other = next_district(circuit, name) if name else None
    return (circuit.bus(name, "P", 0), circuit.bus(other, "P", 0)) if name and other else None


def _block_wire(circuit: Circuit, at: Place) -> Pair | None:
    block = block_at(circuit, at)
    if block is None:
        return None
    part = circuit.net.resistors[_block_wire_part(circuit, block)]
    return part.a, part.b


def _block_wire_part(circuit: Circuit, block: str) -> str:
    """Where the block's wire is opened: at its coil, or behind the diodes."""
    coil = f"{block} detector"
    return coil if coil in circuit.net.resistors else f"{block} feeder P"


_SPOTS: Mapping[str, tuple[str, Callable[[Circuit, Place], Pair | None]]] = {
    "block-rails": ("from rail to rail in the block", _rails),
    "far-rails": ("from rail to rail at the far end of the block", _far),
    "joint-gap": ("across the gap of the joint", _gap),
    "feeder-cores": ("between the two cores of the feeder", _cores),
    "bus-start": ("between the two wires behind the breaker", _start),
    "booster-outputs": ("between the two outputs of the booster", _outputs),
    "two-boosters": ("from a rail of one booster to the same rail of the next", _two_boosters),
    "two-districts": ("from a rail of one district to the same rail of the next", _two_districts),
    "block-wire": ("in the block wire at the detector", _block_wire),
}

SPOTS: Mapping[str, str] = {name: says for name, (says, _) in _SPOTS.items()}
"""Where probes can go, in words."""


def _off_detector(circuit: Circuit, at: Place) -> tuple[Change, ...]:
    block = block_at(circuit, at)
    if block is None:
        return ()
    return (Becomes(_block_wire_part(circuit, block), OPEN_OHMS),)


def _off_track(circuit: Circuit, at: Place) -> tuple[Change, ...]:
    block = block_at(circuit, at)
    return tuple(Becomes(f"{block} drop {leg}", OPEN_OHMS) for leg in "PN") if block else ()


def _both_lifted(circuit: Circuit, at: Place) -> tuple[Change, ...]:
    block = block_at(circuit, at)
    return (*_off_detector(circuit, at), *((Becomes(f"{block} tap N", OPEN_OHMS),) if block else ()))


def _off_breaker(circuit: Circuit, at: Place) -> tuple[Change, ...]:
    name = district_at(circuit, at)
    return tuple(Becomes(f"{name} breaker {leg}", OPEN_OHMS) for leg in "PN") if name else ()


def _clipped(circuit: Circuit, at: Place) -> tuple[Change, ...]:
    ends = _far(circuit, at)
    return (Between(*ends, CLIP_OHMS),) if ends else ()


_STATES: Mapping[str, tuple[str, Callable[[Circuit, Place], tuple[Change, ...]]]] = {
    "block-wire-lifted": ("the block's wire is off at the detector", _off_detector),
    "both-block-wires-lifted": ("both wires of the feeder are off at the bus", _both_lifted),
    "feeder-off-track": ("the feeder is off at the track", _off_track),
    "wires-off-breaker": ("both wires are off at the breaker's output", _off_breaker),
    "rails-bridged": ("a wire is clipped across the rails at the far end", _clipped),
}

STATES: Mapping[str, str] = {name: says for name, (says, _) in _STATES.items()}
"""States of the layout that a circuit knows, in words."""

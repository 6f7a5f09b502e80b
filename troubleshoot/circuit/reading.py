"""What a meter shows on this layout, by its circuit: with nothing wrong, and with a fault in it.

Rules: one model a layout, built and factorised when it is first asked. A fault without a size of its own is
tried at several sizes of its range and in all its variants. Breakers and boosters that a fault overloads act
before the meter is read. Without the numeric libraries there is no model, and those who ask go by the plain
formulas of `electrics`. How likely a fault is, is left to belief.
"""

import math
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from importlib.util import find_spec
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from troubleshoot.circuit import faults, probing
from troubleshoot.circuit.building import Circuit, circuit_of
from troubleshoot.circuit.faults import block_at, booster_at, district_at
from troubleshoot.circuit.parts import OPEN_OHMS, Becomes, Change, Gives, Unsound
from troubleshoot.circuit.probing import Pair, Probe
from troubleshoot.electrics import waves
from troubleshoot.electrics.ground import Ground
from troubleshoot.layout import Figure, Layout, Place

if TYPE_CHECKING:
    from troubleshoot.circuit.solving import Solver, State

FLOORS = {"ohms": 0.2, "volts": 0.05, "current": 2e-5}
"""What a hand meter shows, or fails to show, near nothing: leads, stray pick-up. Source: common practice."""
MOST_SOLVERS = 64
SIZES = 5
"""At how many sizes of its range a fault is tried."""
OWN_SPREAD, ASSUMED_SPREAD = 0.05, 0.20
"""Log spread of a computed figure: of parts as bought, and where figures are assumed (estimates)."""


@dataclass(frozen=True)
class Fault:
    """A kind of fault with the range of its sizes."""

    kind: str
    least: float
    most: float

    def sizes(self, count: int = SIZES) -> tuple[float, ...]:
        """Sizes spread evenly by ratio over the range, each standing for an equal part of it."""
        if self.most <= self.least:
            return (self.least,)
        step = math.log(self.most / self.least) / count
        return tuple(self.least * math.exp(step * (k + 0.5)) for k in range(count))


@dataclass(frozen=True)
class Computed:
    """What a meter shows: a value in SI for each size and variant (inf: over range), and what it rests on."""

    values: tuple[float, ...]
    spread: float
    width: float
    data: tuple[Figure, ...]
    assumed: tuple[str, ...]
    tripped: tuple[str, ...] = ()
    floor: float = 0.0

    def _blurred(self, value: float, blur: float) -> tuple[float, float]:
        """Centre and log spread of what is shown for a value; near the meter's floor anything small may show."""
        centre = max(math.hypot(value, self.floor / 2.0), 1e-12)
        return math.log(centre), math.hypot(math.hypot(self.spread, self.width), blur, 0.7 * self.floor / centre)

    @property
    def low(self) -> float:
        """The least that the meter may show."""
        return min(self.values)

    @property
    def high(self) -> float:
        """The most that the meter may show."""
        return max(self.values)

    def shares(self, edges: Sequence[float]) -> tuple[float, ...]:
        """The part of the readings in each of the ranges that rising limits make; the last takes what is over range."""
        bounds = [math.log(max(e, 1e-30)) for e in edges]
        total = [0.0] * (len(bounds) + 1)
        for value in self.values:
            centre, spread = (math.inf, 1.0) if value == math.inf else self._blurred(value, 0.0)
            below = [0.5 * math.erfc((centre - b) / (spread * math.sqrt(2.0))) for b in bounds]
            for k, (lo, hi) in enumerate(zip([0.0, *below], [*below, 1.0], strict=True)):
                total[k] += (hi - lo) / len(self.values)
        return tuple(total)

    def density(self, value: float, blur: float) -> float:
        """How dense readings are at a value, by the natural logarithm of it; `blur` is the meter's log error."""
        parts = []
        for one in self.values:
            if one < math.inf:
                centre, spread = self._blurred(one, blur)
                away = (math.log(value) - centre) / spread
                parts.append(math.exp(-0.5 * away * away) / (spread * math.sqrt(2.0 * math.pi)))
        return math.fsum(parts) / len(self.values)


class Model:
    """The circuits of one layout with power on and off, and readings in them."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self._known: dict[object, Computed | None] = {}
        self._solvers: dict[object, Solver] = {}

    @cached_property
    def live(self) -> Circuit:
        """The circuit with power on."""
        return circuit_of(self.layout, True)

    @cached_property
    def dead(self) -> Circuit:
        """The circuit with power off."""
        return circuit_of(self.layout, False)

    def circuit(self, probe: Probe) -> Circuit:
        """The circuit in which a meter is read: ohms only without power."""
        return self.dead if probe.meter == "ohms" else self.live

    def _solver(self, probe: Probe, place: Place) -> "Solver":
        """The circuit in the states that a check needs, factorised once for all faults that are tried in it.

        A wire that is lifted is cut before the factorisation, which keeps its digits; a fault is a port on it.
        """
        from troubleshoot.circuit.solving import Solver

        circuit = self.circuit(probe)
        states = tuple(c for name in probe.states for c in probing.state(name, circuit, place))
        key = (circuit.power, states, place if probe.meter == "current" else None)
        if key not in self._solvers:
            while len(self._solvers) >= MOST_SOLVERS:
                del self._solvers[next(iter(self._solvers))]
            net = circuit.net.changed(states)
            net.capacitors = {n: c for n, c in net.capacitors.items() if n in self._near(probe, circuit, place)}
            self._solvers[key] = Solver(net)
        return self._solvers[key]

    def _near(self, probe: Probe, circuit: Circuit, place: Place) -> set[str]:
        """Capacitors that charge through a meter at a place: those of its block and the blocks next to it."""
        if probe.meter != "current":
            return set()
        own = block_at(circuit, place)
        beside = [b.name for b in self.layout.related("neighbour-of", Place("block", own))] if own else []
        return {f"{name} feeder" for name in (own, *beside)}

    def reads(
        self, probe: Probe, place: Place, fault: Fault | None = None, at: Place | None = None, sizes: int = SIZES
    ) -> Computed | None:
        """What a meter shows at a place, healthy or with a fault at its place; None where the circuit cannot say."""
        key = (probe, place, fault, at if fault else None, sizes)
        if key not in self._known:
            self._known[key] = self._reads(probe, place, fault, at or place, sizes)
        return self._known[key]

    def _reads(self, probe: Probe, place: Place, fault: Fault | None, at: Place, sizes: int) -> Computed | None:
        circuit = self.circuit(probe)
        pair = probing.spot(probe.spot, circuit, place)
        if pair is None:
            return None
        wrong: list[tuple[Change, ...]] = [()]
        width = 0.0
        if fault is not None:
            wrong = [v for size in fault.sizes(sizes) for v in faults.changes(fault.kind, circuit, at, size)]
            width = math.log(fault.most / fault.least) / sizes / math.sqrt(12.0) if fault.most > fault.least else 0.0
        if not wrong:
            return None
        values, tripped = [], {}
        for change in wrong:
            value, acted = self.shown(probe, place, change, pair)
            values.append(value)
            tripped.update(dict.fromkeys(acted))
        data = self._data(circuit, place)
        assumed = tuple(f.said for f in data if f.assumed)
        spread = math.hypot(ASSUMED_SPREAD if assumed else OWN_SPREAD, self._meter_spread(probe))
        return Computed(tuple(values), spread, width, data, assumed, tuple(tripped), FLOORS[probe.meter])

    def shown(
        self, probe: Probe, place: Place, change: Sequence[Change] = (), pair: Pair | None = None
    ) -> tuple[float, tuple[str, ...]]:
        """What the meter shows with changes made, in SI, and which breakers and boosters have acted before."""
        from troubleshoot.circuit.solving import Meter

        circuit, solver = self.circuit(probe), self._solver(probe, place)
        pair = pair or probing.spot(probe.spot, circuit, place)
        if pair is None:
            raise ValueError(f"{place.name} has no spot {probe.spot}")
        lifted = {
            c.name for name in probe.states for c in probing.state(name, circuit, place) if isinstance(c, Becomes)
        }
        now = _latest(_possible(change, lifted))
        if probe.meter == "ohms":
            meter = Meter(*pair, probing.TEST_OHMS, probing.TEST_VOLTS)
            state = solver.solve(now, meter)
            ohms = abs(state.volts(*pair) / state.meter_amps) if state.meter_amps else math.inf
            highest = self.layout.figure(self.layout.itself, "highest-ohms")
            return (math.inf if highest is None or ohms > highest.value else ohms), ()
        shunt = probe.meter == "current"
        meter = Meter(*pair, probing.SHUNT_OHMS if shunt else probing.VOLTMETER_OHMS)
        now, acted = self._settled(circuit, solver, now)
        if shunt:
            extra = solver.charging(now, meter, waves.edges_per_second())
            return abs(solver.solve(now, meter, extra).meter_amps), acted
        factor = Ground(self.layout, place).meter().value
        return abs(solver.solve(now, meter).volts(*pair)) * factor, acted

    def _settled(
        self, circuit: Circuit, solver: "Solver", now: tuple[Change, ...]
    ) -> tuple[tuple[Change, ...], tuple[str, ...]]:
        """Changes with what acted because of them: breakers open, then boosters without a breaker shut down."""
        acted: dict[str, None] = {}
        for _ in range(1 + len(circuit.order) + len(circuit.net.sources)):
            state = solver.solve(now)
            more = self._overloaded(circuit, state, acted)
            if not more:
                break
            now = _latest([*now, *more])
        return now, tuple(acted)

    def _overloaded(self, circuit: Circuit, state: "State", acted: dict[str, None]) -> list[Change]:
        more: list[Change] = []
        for name in circuit.order:
            trip = self._trips.get(name)
            if trip is None or name in acted:
                continue
            if max(abs(state.amps(f"{name} breaker {leg}")) for leg in "PN") > trip:
                acted[name] = None
                more.extend(Becomes(f"{name} breaker {leg}", OPEN_OHMS) for leg in "PN")
        if more:
            return more
        for name, limit in self._limits.items():
            if name not in acted and abs(state.source_amps(f"{name} P")) > limit:
                acted[name] = None
                more.extend(Gives(f"{name} {leg}", 0.0) for leg in "PN")
        return more

    @cached_property
    def _trips(self) -> dict[str, float]:
        circuit = self.live
        fitted = [n for n in circuit.order if self.layout.word(Place("district", n), "breaker") != "none"]
        return {n: Ground(self.layout, Place("district", n)).trip() for n in fitted}

    @cached_property
    def _limits(self) -> dict[str, float]:
        circuit = self.live
        names = [n.removesuffix(" P") for n in circuit.net.sources if n.endswith(" P")]
        return {n: Ground(self.layout, Place("booster", n)).figure("limit", Place("booster", n)) for n in names}

    def _data(self, circuit: Circuit, place: Place) -> tuple[Figure, ...]:
        found: dict[Figure, None] = {}
        for name in (block_at(circuit, place), district_at(circuit, place), booster_at(circuit, place)):
            found.update(circuit.used.get(name or "", {}))
        return tuple(found)

    def _meter_spread(self, probe: Probe) -> float:
        if probe.meter != "volts":
            return 0.0
        factor = Ground(self.layout, self.layout.itself).meter()
        return math.log(factor.high / factor.low) / 4.0


def _possible(changes: Sequence[Change], opened: set[str]) -> list[Change]:
    """Changes but those of a wire that a state of the layout has lifted."""
    return [c for c in changes if not (isinstance(c, Becomes) and c.name in opened)]


def _latest(changes: Sequence[Change]) -> tuple[Change, ...]:
    """Where two changes speak of one resistor or source, the wider open and the later one count."""
    kept: dict[object, Change] = {}
    for k, change in enumerate(changes):
        if isinstance(change, Becomes):
            old = kept.get(change.name)
            if not (isinstance(old, Becomes) and old.ohms > change.ohms):
                kept[change.name] = change
        elif isinstance(change, Gives):
            kept["source", change.name] = change
        else:
            kept[k] = change
    return tuple(kept.values())


_MODELS: WeakKeyDictionary[Layout, Model] = WeakKeyDictionary()


def model_of(layout: Layout) -> Model | None:
    """The model of a layout, made once; None without the numeric libraries."""
    if not available():
        return None
    if layout not in _MODELS:
        _MODELS[layout] = Model(layout)
    return _MODELS[layout]


def warm(layout: Layout) -> None:
    """Load what readings on a layout will need ahead of the first, while a person still reads the first question."""
    model = model_of(layout)
    if model is not None:
        from troubleshoot.circuit import eliminating, solving  # noqa: F401  (what is wanted is that they are loaded)

        with suppress(Unsound):  # a circuit that cannot be says so when a reading asks for it
            eliminating.load(len(model.live.net.nodes()))


def available() -> bool:
    """Whether the numeric libraries are here."""
    try:
        return find_spec("numpy") is not None and find_spec("scipy") is not None
    except ImportError:
        return False

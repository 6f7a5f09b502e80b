"""Volts and amps of a circuit: nodal analysis, taken apart once, and everything else as ports on it.

A resistor that changes, a fault across two nodes, a meter and a pair of diodes are all ports: a current that
hangs on the volts between two nodes. The linear rest is taken apart once (`eliminating`); a port costs one solve, kept
for the next time, and what is left is a small dense system, by Newton's method where diodes are in it. So a change
takes nothing apart anew, and is exact, not a guess.
Source of the method: modified nodal analysis and the Sherman-Morrison-Woodbury identity (textbooks of
numerical linear algebra). What circuit a layout is, and what a meter is, are left to `building` and `probing`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from troubleshoot.circuit.eliminating import Conductance, apart
from troubleshoot.circuit.parts import (
    EARTH,
    STRAY_OHMS,
    THERMAL_VOLTS,
    Becomes,
    Between,
    Capacitor,
    Change,
    Diodes,
    Gives,
    Netlist,
    Stores,
    Unsound,
)

Numbers = NDArray[np.float64]

_TINY_SIEMENS = 1e-8
"""Keeps the two ends of a pair of diodes in one piece while the linear part is factorised; taken out again."""
CUT_RATIO = 1e5
"""A resistor that grows by more than this is taken for cut."""
MOST_CUT = 64
_STRAIGHT = 0.02
"""By this part of its own slope a diode may be moved and still be taken as straight: two parts in a thousand."""
_PROBE_AMPS = 1e-4
"""What is sent into two points to find the resistance between them: small beside what diodes carry."""
_STEPS = 200
_CLOSE = 1e-7
"""Volts within which diodes are at rest: far below what a meter shows."""


@dataclass(frozen=True)
class Meter:
    """A meter between two nodes: its resistance, and the volts behind it (none unless it reads ohms)."""

    a: str
    b: str
    ohms: float
    volts: float = 0.0


@dataclass(frozen=True)
class Port:
    """A current from a to b: `siemens` x volts + `amps`, or that of diodes."""

    a: str
    b: str
    siemens: float = 0.0
    amps: float = 0.0
    diodes: Diodes | None = None


@dataclass(frozen=True, eq=False)
class State:
    """The solved circuit: volts of every node, and the current of the meter from a to b."""

    volts_of: Numbers
    index: dict[str, int]
    meter_amps: float
    ohms_of: dict[str, float]
    netlist: Netlist
    volts_given: dict[str, float]

    def volts(self, a: str, b: str = EARTH) -> float:
        """Volts from b to a."""
        return self._at(a) - self._at(b)

    def _at(self, node: str) -> float:
        return 0.0 if node == EARTH else float(self.volts_of[self.index[node]])

    def amps(self, resistor: str) -> float:
        """Amps through a resistor from its a to its b."""
        part = self.netlist.resistors[resistor]
        return self.volts(part.a, part.b) / self.ohms_of.get(resistor, part.ohms)

    def source_amps(self, source: str) -> float:
        """Amps that a source gives out at its plus."""
        part = self.netlist.sources[source]
        return (self.volts_given.get(source, part.volts) - self.volts(part.a, part.b)) / part.ohms


class Solver:
    """One circuit, factorised once, and asked as often as one likes."""

    def __init__(self, netlist: Netlist) -> None:
        self.netlist = netlist
        names = netlist.nodes()
        if not names:
            raise Unsound("there is nothing between two points here, so there is nothing to work out")
        self.index = {name: i for i, name in enumerate(names)}
        self._cut: dict[tuple[Becomes, ...], Solver] = {}
        self._pairs = list(netlist.diodes.values())
        self._held = [(_TINY_SIEMENS, 0.0)] * len(self._pairs)
        earth = len(names)
        self._plus = np.array([self.index.get(d.a, earth) for d in self._pairs], dtype=np.intp)
        self._minus = np.array([self.index.get(d.b, earth) for d in self._pairs], dtype=np.intp)
        self._bearable = np.array([_STRAIGHT * d.emission * d.series * THERMAL_VOLTS for d in self._pairs])
        self._begin()
        if self._pairs:
            self._rest()

    def _begin(self) -> None:
        """Factorise with every pair of diodes as a conductance and a current, and solve for the sources."""
        self._columns: dict[tuple[str, str], Numbers] = {}
        self._factor()
        self._base = self._apart.solve(self._injected())

    def _rest(self) -> None:
        """Find where the diodes rest with nothing changed, and put them into the linear part as they are there."""
        state = self._solved([], None, list(range(len(self._pairs))))
        self._held = []
        for pair in self._pairs:
            volts = state.volts(pair.a, pair.b)
            amps, siemens = pair.current(volts)
            siemens = max(siemens, _TINY_SIEMENS)
            self._held.append((siemens, amps - siemens * volts))
        self._begin()

    def _moved(self, state: State) -> list[int]:
        """Pairs of diodes that a change has moved so far from rest that their curve matters."""
        if not self._pairs:
            return []
        shift = np.append(state.volts_of - self._base, 0.0)
        far = np.abs(shift[self._plus] - shift[self._minus]) > self._bearable
        return [int(k) for k in np.nonzero(far)[0]]

    def _factor(self) -> None:
        earth = len(self.index)
        found: list[Conductance] = []

        def add(a: str, b: str, siemens: float) -> None:
            i, j = self.index.get(a, earth), self.index.get(b, earth)
            if i != j:
                found.append((i, j, siemens))

        for resistor in self.netlist.resistors.values():
            add(resistor.a, resistor.b, 1.0 / resistor.ohms)
        for source in self.netlist.sources.values():
            add(source.a, source.b, 1.0 / source.ohms)
        for pair, (siemens, _) in zip(self._pairs, self._held, strict=True):
            add(pair.a, pair.b, siemens)
        for name in self.index:
            add(name, EARTH, 1.0 / STRAY_OHMS)
        if not all(math.isfinite(siemens) for _, _, siemens in found):
            raise Unsound("a figure of this circuit is no number")
        self._apart = apart(earth, found)

    def _injected(self) -> Numbers:
        rest = np.zeros(len(self.index))
        for source in self.netlist.sources.values():
            for node, sign in ((source.a, 1.0), (source.b, -1.0)):
                if node in self.index:
                    rest[self.index[node]] += sign * source.volts / source.ohms
        for pair, (_, amps) in zip(self._pairs, self._held, strict=True):
            for node, sign in ((pair.a, -1.0), (pair.b, 1.0)):
                if node in self.index:
                    rest[self.index[node]] += sign * amps
        return rest

    def _fetch(self, pairs: Sequence[tuple[str, str]]) -> None:
        """Solve for all ports that are not known yet, in one go."""
        missing = [p for p in dict.fromkeys(pairs) if p not in self._columns]
        if not missing:
            return
        right = np.zeros((len(self.index), len(missing)))
        for k, (a, b) in enumerate(missing):
            for node, sign in ((a, 1.0), (b, -1.0)):
                if node in self.index:
                    right[self.index[node], k] += sign
                elif node != EARTH:
                    raise Unsound(f"{node} is no point of this circuit")
        solved = self._apart.solve(right)
        for k, pair in enumerate(missing):
            self._columns[pair] = solved[:, k]

    def _drop(self, column: Numbers, port: Port) -> float:
        a = 0.0 if port.a == EARTH else float(column[self.index[port.a]])
        b = 0.0 if port.b == EARTH else float(column[self.index[port.b]])
        return a - b

    def ports_of(self, changes: Sequence[Change]) -> tuple[list[Port], dict[str, float]]:
        """Changes as ports, and the new values of resistors."""
        ports: list[Port] = []
        values: dict[str, float] = {}
        for change in changes:
            if isinstance(change, Between):
                ports.append(Port(change.a, change.b, 1.0 / change.ohms))
            elif isinstance(change, Becomes):
                old = self.netlist.resistors[change.name]
                ports.append(Port(old.a, old.b, 1.0 / change.ohms - 1.0 / old.ohms))
                values[change.name] = change.ohms
            elif isinstance(change, Gives):
                source = self.netlist.sources[change.name]
                ports.append(Port(source.a, source.b, 0.0, (source.volts - change.volts) / source.ohms))
        return ports, values

    def _cuts(self, change: Becomes) -> bool:
        return change.ohms > CUT_RATIO * self.netlist.resistors[change.name].ohms

    def solve(
        self,
        changes: Sequence[Change] = (),
        meter: Meter | None = None,
        extra: Sequence[Port] = (),
        exact: bool = False,
    ) -> State:
        """The circuit with changes, a meter and further ports in it. Raises Unsound where nothing can be said.

        Diodes that the changes hardly move stay a conductance and a current, as they were at rest; `exact` takes
        the curve of every one.

        A wire that is cut takes nearly all of a conductance away again, which costs digits: such a circuit is
        factorised anew, once, and kept.
        """
        cuts = tuple(c for c in changes if isinstance(c, Becomes) and self._cuts(c))
        if cuts:
            if cuts not in self._cut:
                while len(self._cut) >= MOST_CUT:
                    del self._cut[next(iter(self._cut))]
                self._cut[cuts] = Solver(self.netlist.changed(cuts))
            return self._cut[cuts].solve([c for c in changes if c not in cuts], meter, extra, exact)
        ports, values = self.ports_of(changes)
        given = {c.name: c.volts for c in changes if isinstance(c, Gives)}
        ports.extend(extra)
        if meter is not None:
            ports.append(Port(meter.a, meter.b, 1.0 / meter.ohms, -meter.volts / meter.ohms))
        curved = list(range(len(self._pairs))) if exact else []
        state = self._solved(ports, meter, curved)
        while not exact and (more := set(self._moved(state)) - set(curved)):
            curved = sorted({*curved, *more})
            state = self._solved(ports, meter, curved)
        return replace(state, ohms_of=values, volts_given=given)

    def _solved(self, ports: Sequence[Port], meter: Meter | None, curved: Sequence[int]) -> State:
        """The circuit with ports in it, and with the curves of some diodes; the others stay as they were at rest."""
        bent = [
            Port(d.a, d.b, -self._held[k][0], -self._held[k][1], d) for k, d in enumerate(self._pairs) if k in curved
        ]
        every = [*bent, *ports]
        if not every:
            return State(self._base, self.index, 0.0, {}, self.netlist, {})
        self._fetch([(p.a, p.b) for p in every])
        columns = [self._columns[p.a, p.b] for p in every]
        amps = self._currents(every, columns)
        volts = self._base - np.column_stack(columns) @ amps
        return State(volts, self.index, float(amps[-1]) if meter else 0.0, {}, self.netlist, {})

    def _currents(self, ports: Sequence[Port], columns: Sequence[Numbers]) -> Numbers:
        """Port currents, by Newton's method on the port volts: v = v0 - Z i(v), damped by what a diode can bear."""
        mutual = np.array([[self._drop(c, p) for c in columns] for p in ports])
        start = np.array([self._drop(self._base, p) for p in ports])
        siemens = np.array([p.siemens for p in ports])
        amps = np.array([p.amps for p in ports])
        curved = [(k, p.diodes) for k, p in enumerate(ports) if p.diodes]
        unit = np.eye(len(ports))
        volts = start.copy()
        for k, pair in curved:
            most = 12.0 * pair.emission * pair.series * THERMAL_VOLTS
            volts[k] = min(most, max(-most, float(start[k])))
        for _ in range(_STEPS):
            flow, slope = siemens * volts + amps, siemens.copy()
            for k, pair in curved:
                current, conductance = pair.current(float(volts[k]))
                flow[k] += current
                slope[k] += conductance
            try:
                step = np.linalg.solve(unit + mutual * slope, start - mutual @ flow - volts)
            except np.linalg.LinAlgError as error:
                raise Unsound("the changes cut every way for a current; nothing can be said") from error
            if not curved:
                settled: Numbers = siemens * (volts + step) + amps
                return settled
            worst = max(1.0, *(abs(float(step[k])) / (4.0 * d.emission * d.series * 0.026) for k, d in curved))
            volts = volts + step / worst
            if worst <= 1.0 and float(np.max(np.abs(step))) < _CLOSE * (1.0 + float(np.max(np.abs(volts)))):
                break
        else:
            raise Unsound("the diodes of this circuit come to no rest")
        final: Numbers = siemens * volts + amps
        for k, pair in curved:
            final[k] += pair.current(float(volts[k]))[0]
        return final

    def charging(self, changes: Sequence[Change], meter: Meter | None, edges: float) -> list[Port]:
        """Ports for the mean currents that capacitors take from a square wave with so many edges a second.

        At each edge a capacitor that has settled at v takes the charge 2 C v; charges divide over resistors as
        steady currents do (Kirchhoff's laws, summed over time), so the mean of the current is exact for
        a circuit that settles between edges. What has not settled by the next edge is allowed for as if each
        capacitor were alone: x tanh(h / 2RC). Units: 1/s. Source: steady answer of RC to a square wave (textbook).
        """
        held: list[Capacitor | Stores] = list(self.netlist.capacitors.values())
        held += [c for c in changes if isinstance(c, Stores)]
        if not held or not edges:
            return []
        still = self.solve(changes, meter)
        found = []
        for one in held:
            pushed = self.solve(changes, meter, (Port(one.a, one.b, 0.0, -_PROBE_AMPS),))
            source = (pushed.volts(one.a, one.b) - still.volts(one.a, one.b)) / _PROBE_AMPS
            settled = math.tanh(1.0 / (2.0 * edges * (one.ohms + source) * one.farads))
            found.append(Port(one.a, one.b, 0.0, 2.0 * one.farads * settled * edges * still.volts(one.a, one.b)))
        return found

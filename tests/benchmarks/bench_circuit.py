"""How quickly the circuit of a layout is solved, and how well it agrees with an independent simulator.

A club of 64 blocks and more than 2,000 nodes is made up for the speeds; the club layout that ships is used for
the comparison with ngspice, healthy and with faults, reading by reading (`python -m tests.benchmarks.bench_circuit`
prints that table).
"""

import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path

from tests import simulator
from tests.benchmarks.lines import Line
from troubleshoot.circuit import Fault, Model, Probe
from troubleshoot.circuit.building import circuit_of
from troubleshoot.circuit.faults import changes
from troubleshoot.circuit.parts import Becomes, Between, Netlist
from troubleshoot.circuit.probing import TEST_OHMS, TEST_VOLTS, spot, state
from troubleshoot.circuit.solving import Meter, Solver
from troubleshoot.layout import Layout, Place, load
from troubleshoot.rulebook import rules_folder

BLOCKS = 64
RUNS = 15


def big_club(kind: str) -> Layout:
    """Sixty-four blocks of long track behind eight breakers and six boosters, all watched by one kind of detector."""
    lines = ["name: big club", "track-volts: 15 V", "boosters:", *(f"  b{k}: {{limit: 5 A}}" for k in range(6))]
    lines += ["districts:", *(f"  d{k}: {{booster: b{k % 6}, breaker: electronic}}" for k in range(8)), "detectors:"]
    lines += [f"  e{k}: {{kind: {kind}, zones: 16}}" for k in range(4)]
    lines += ["blocks:"]
    lines += [
        f"  k{k}: {{district: d{k // 8}, detector: e{k // 16}, zone: {k % 16 + 1}, length: 12 m}}"
        for k in range(BLOCKS)
    ]
    lines += ["joints:", *(f"  k{k}/k{k + 1}: {{}}" for k in range(BLOCKS - 1))]
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "big.yaml"
        file.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return load(file)


def _timed(work: Callable[[], object], runs: int = RUNS) -> float:
    """Median milliseconds."""
    times = []
    for _ in range(runs):
        begun = time.perf_counter()
        work()
        times.append(1e3 * (time.perf_counter() - begun))
    return statistics.median(times)


def _whole(net: Netlist) -> None:
    Solver(net).solve()


def _next(solver: Solver, turn: Iterator[tuple[Between, ...]]) -> None:
    solver.solve(next(turn))


def _each(solver: Solver, leaks: Sequence[tuple[Between, ...]]) -> None:
    for one in leaks:
        solver.solve(one)


def measure() -> list[Line]:
    """Speeds of the circuit."""
    lines: list[Line] = []
    for kind in ("coil", "diode-drop"):
        circuit = circuit_of(big_club(kind), True)
        nodes = len(circuit.net.nodes())
        on = f"{BLOCKS} blocks, {nodes} nodes, {kind} detectors"
        lines.append(Line("circuit, factorised and solved", _timed(partial(_whole, circuit.net)), "ms", 50.0, on))
        solver = Solver(circuit.net)
        solver.solve()
        blocks = list(circuit.taps)
        leaks = [
            (Between(circuit.rail(b, "P", k % 6), circuit.rail(b, "N", k % 6), 100.0 * (k + 1)),)
            for k in range(4)
            for b in blocks[:50]
        ]
        turn = iter(leaks * 10)
        lines.append(Line("circuit, one part changed", _timed(partial(_next, solver, turn), 60), "ms", 5.0, on))
        fresh = Solver(circuit.net)
        fresh.solve()
        lines.append(Line("circuit, 200 suspects", _timed(partial(_each, fresh, leaks), 3), "ms", 100.0, on))
    return lines


PROBES: tuple[tuple[str, Probe, str], ...] = (
    ("ohms across the block, wire lifted", Probe("ohms", "block-rails", ("block-wire-lifted",)), "ohm"),
    ("ohms across a joint, wire lifted", Probe("ohms", "joint-gap", ("block-wire-lifted",)), "ohm"),
    ("ohms of the district", Probe("ohms", "bus-start", ("wires-off-breaker",)), "ohm"),
    ("loop through the block", Probe("ohms", "bus-start", ("wires-off-breaker", "rails-bridged")), "ohm"),
    ("volts on the rails", Probe("volts", "block-rails"), "V"),
    ("volts across a joint", Probe("volts", "joint-gap"), "V"),
    ("standing current of the block", Probe("current", "block-wire", ("block-wire-lifted",)), "A"),
)
FAULTS: tuple[Fault | None, ...] = (
    None, Fault("leak", 2e3, 2e3), Fault("joint-closed", 0.5, 0.5), Fault("feeder-high", 4.0, 4.0),
)  # fmt: skip


def compared(layout: Layout, block: str) -> list[tuple[str, str, float, float]]:
    """For each reading and fault: what the circuit says, and what the simulator says of the same netlist."""
    model, place, rows = Model(layout), layout.place(block), []
    for says, probe, _ in PROBES:
        circuit = model.circuit(probe)
        pair = spot(probe.spot, circuit, place)
        if pair is None:
            continue
        lifted = tuple(c for name in probe.states for c in state(name, circuit, place))
        held = {c.name for c in lifted if isinstance(c, Becomes)}
        for fault in FAULTS:
            wrong = changes(fault.kind, circuit, place, fault.least)[0] if fault else ()
            wrong = tuple(c for c in wrong if not (isinstance(c, Becomes) and c.name in held))
            ours, _ = model.shown(probe, place, wrong, pair)
            net = circuit.net.changed((*lifted, *wrong))
            rows.append((says, fault.kind if fault else "healthy", ours, _witness(layout, net, probe, pair)))
    return rows


def _witness(layout: Layout, net: Netlist, probe: Probe, pair: tuple[str, str]) -> float:
    from troubleshoot.circuit.probing import SHUNT_OHMS, VOLTMETER_OHMS
    from troubleshoot.electrics.ground import Ground

    if probe.meter == "ohms":
        volts = simulator.volts(net, Meter(*pair, TEST_OHMS, TEST_VOLTS))
        across = volts[pair[0]] - volts[pair[1]]
        return abs(across / ((TEST_VOLTS - across) / TEST_OHMS))
    if probe.meter == "current":
        own = Place("block", pair[0].split(" ")[0])
        near = {f"{b.name} feeder" for b in (own, *layout.related("neighbour-of", own))}
        net.capacitors = {n: c for n, c in net.capacitors.items() if n in near}
        return simulator.mean_amps(net, Meter(*pair, SHUNT_OHMS), 58e-6, cycles=3, steps=200, patience=300.0)
    net.capacitors = {}
    volts = simulator.volts(net, Meter(*pair, VOLTMETER_OHMS))
    return abs(volts[pair[0]] - volts[pair[1]]) * Ground(layout, layout.itself).meter().value


def table(layout: Layout, block: str) -> str:
    """The comparison as a table for documents."""
    rows = ["| reading | fault | circuit | ngspice | apart |", "|---|---|---|---|---|"]
    for says, fault, ours, theirs in compared(layout, block):
        apart = (
            ""
            if min(abs(ours), abs(theirs)) < 1e-4 and ours < 1.0 and "current" not in says
            else f"{abs(ours / theirs - 1):.2%}"
        )
        rows.append(f"| {says} | {fault} | {ours:.4g} | {theirs:.4g} | {apart} |")
    return "\n".join(rows)


HEAD = """# Expected readings against a circuit simulator

What the circuit of the bundled club layout says a meter reads at block yard-2, beside what ngspice says of the same
network (volts as the owner's 1 kHz meter shows them; readings that no meter can tell from nothing are not compared).
Made with `python -m tests.benchmarks.bench_circuit`.

"""


if __name__ == "__main__":
    if simulator.FOUND is None:
        sys.exit(simulator.ABSENT)
    drawn = HEAD + table(load(rules_folder() / "core" / "layouts" / "club.yaml"), "yard-2") + "\n"
    Path(__file__).with_name("circuit.md").write_text(drawn, encoding="utf-8")
    print(drawn)

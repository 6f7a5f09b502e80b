"""The layout as a network: solved right, by hand and by an independent simulator, and sound in its answers."""

import math
import random
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests import simulator
from troubleshoot.circuit import KINDS, SPOTS, STATES, Fault, Model, Probe, model_of
from troubleshoot.circuit.building import circuit_of
from troubleshoot.circuit.eliminating import Factors, Stars
from troubleshoot.circuit.faults import changes
from troubleshoot.circuit.parts import EARTH, OPEN_OHMS, Becomes, Between, Capacitor, Diodes, Gives, Netlist, Unsound
from troubleshoot.circuit.solving import Meter, Solver
from troubleshoot.layout import EMPTY, Layout, Place, load
from troubleshoot.rulebook import rules_folder

CLUB = load(rules_folder() / "core" / "layouts" / "club.yaml")
HOME = load(rules_folder() / "core" / "layouts" / "home.yaml")
witness = pytest.mark.skipif(simulator.FOUND is None, reason=simulator.ABSENT)
LEAK = Probe("ohms", "block-rails", ("block-wire-lifted",))
LOOP = Probe("ohms", "bus-start", ("wires-off-breaker", "rails-bridged"))
PHASE = Probe("volts", "joint-gap")
STANDING = Probe("current", "block-wire", ("block-wire-lifted",))


def record(path: Path, seed: int) -> Layout:
    """A layout made up by chance: boosters, districts, blocks in a row, wires and detectors of any kind."""
    draw = random.Random(seed)
    boosters = draw.randint(1, 3)
    lines = ["name: made up", "track-volts: 15 V", "boosters:"]
    lines += [
        f"  b{k}: {{limit: {draw.choice((3, 5, 8))} A, output: {draw.uniform(12, 18):.2f} V,"
        f" reference: {draw.choice(('common', 'isolated'))}}}"
        for k in range(boosters)
    ]
    districts = draw.randint(boosters, boosters + 2)
    lines.append("districts:")
    lines += [
        f"  d{k}: {{booster: b{k % boosters}, breaker: {draw.choice(('electronic', 'lamp'))},"
        f" bus: {{wire: {draw.choice((1.0, 1.5, 2.5))} mm2, length: {draw.uniform(1, 15):.2f} m}}}}"
        for k in range(districts)
    ]
    lines += ["detectors:", f"  e: {{kind: {draw.choice(('coil', 'diode-drop', 'optical'))}, zones: 64}}", "blocks:"]
    count = draw.randint(2, 9)
    lines += [
        f"  k{k}: {{district: d{k % districts}, detector: e, zone: {k + 1}, length: {draw.uniform(0.4, 9):.2f} m,"
        f" rail-code: {draw.choice((55, 70, 83, 100))},"
        f" feeder: {{wire: {draw.choice((0.25, 0.5, 0.75))} mm2, length: {draw.uniform(0.1, 8):.2f} m}}}}"
        for k in range(count)
    ]
    lines += ["joints:", *(f"  k{k}/k{k + 1}: {{}}" for k in range(count - 1))]
    file = path / f"made-{seed}.yaml"
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return load(file)


def border(relation: str) -> Place:
    """A joint of the club between two districts or two boosters."""

    def homes(joint: Place) -> set[Place]:
        return {CLUB.related(relation, block)[0] for block in CLUB.related("own-block", joint)}

    return next(j for j in CLUB.places_of("joint") if len(homes(j)) == 2)


def ladder(rungs: int) -> Netlist:
    """A source and rungs of 10 ohm and 100 ohm."""
    net = Netlist()
    net.source("battery", "0", EARTH, 10.0, 0.5)
    for k in range(rungs):
        net.resistor(f"rail {k}", str(k), str(k + 1), 10.0)
        net.resistor(f"rung {k}", str(k + 1), EARTH, 100.0)
    return net


def test_a_divider_divides() -> None:
    """Half of a divider of equal resistors, a source's own resistance counted, is as Ohm's law says."""
    net = Netlist()
    net.source("battery", "top", EARTH, 12.0, 1.0)
    net.resistor("upper", "top", "middle", 499.5)
    net.resistor("lower", "middle", EARTH, 499.5)

    state = Solver(net).solve()

    assert state.volts("middle") == pytest.approx(12.0 * 499.5 / 1000.0, rel=1e-6)
    assert state.amps("upper") == pytest.approx(0.012, rel=1e-6)
    assert state.source_amps("battery") == pytest.approx(0.012, rel=1e-5)


def test_a_balanced_bridge_shows_no_volts() -> None:
    """Between the arms of a balanced Wheatstone bridge a meter shows nothing, and off balance what Kirchhoff says."""
    net = Netlist()
    net.source("battery", "top", EARTH, 9.0, 1e-3)
    for name, a, b, ohms in (("p", "top", "l", 100.0), ("q", "l", EARTH, 200.0), ("r", "top", "m", 50.0)):
        net.resistor(name, a, b, ohms)
    net.resistor("s", "m", EARTH, 100.0)
    solver = Solver(net)

    assert solver.solve((), Meter("l", "m", 1e7)).volts("l", "m") == pytest.approx(0.0, abs=1e-6)
    off = solver.solve((Becomes("s", 110.0),), Meter("l", "m", 1e9)).volts("l", "m")
    assert off == pytest.approx(9.0 * (200 / 300 - 110 / 160), rel=1e-4)


def test_an_ohmmeter_reads_resistors_side_by_side() -> None:
    """n axles of 10 kohm side by side read 10 kohm / n, whatever stands behind the meter's probes."""
    for count in (1, 3, 12):
        net = Netlist()
        for k in range(count):
            net.resistor(f"axle {k}", "left", "right", 10e3)
        meter = Meter("left", "right", 1e3, 0.6)

        state = Solver(net).solve((), meter)

        assert abs(state.volts("left", "right") / state.meter_amps) == pytest.approx(10e3 / count, rel=1e-4)


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_a_change_on_the_factorised_circuit_is_the_changed_circuit(seed: int) -> None:
    """A leak, a loose joint, an open wire and other volts give what a circuit built with them gives."""
    draw = random.Random(seed)
    net = ladder(draw.randint(3, 12))
    if draw.random() < 0.5:
        net.diodes["drop"] = Diodes("1", "branch", draw.randint(1, 3), 6e-7, 1.9)
        net.resistor("load", "branch", EARTH, draw.uniform(5.0, 500.0))
    spots = [n for n in net.nodes() if n != "branch"]
    changed = (
        Between(spots[0], draw.choice(spots[1:]), 10 ** draw.uniform(-1, 5)),
        Becomes(draw.choice(list(net.resistors)), draw.choice((0.05, 33.0, 4700.0))),
        Gives("battery", draw.uniform(-20.0, 20.0)),
    )

    quick, slow = Solver(net).solve(changed), Solver(net.changed(changed)).solve()

    for node in net.nodes():
        assert quick.volts(node) == pytest.approx(slow.volts(node), rel=1e-5, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**6), columns=st.sampled_from((0, 1, 3, 12)))
def test_small_and_large_circuits_are_taken_apart_to_the_same_volts(seed: int, columns: int) -> None:
    """The plain way of small circuits and the library's way of large ones agree, for one case and for many."""
    draw = random.Random(seed)
    count = draw.randint(1, 40)
    ties = [(node, count, 10 ** draw.uniform(-6, 1)) for node in range(count)]
    wires = [
        (draw.randrange(count), draw.randrange(count + 1), 10 ** draw.uniform(-4, 3))
        for _ in range(draw.randint(0, 3 * count))
    ]
    parts = [*ties, *((a, b, siemens) for a, b, siemens in wires if a != b)]
    right = np.random.default_rng(seed).uniform(-1.0, 1.0, (count, columns) if columns else count)

    plain, library = Stars(count, parts).solve(right), Factors(count, parts).solve(right)

    assert plain.shape == library.shape
    assert plain == pytest.approx(library, rel=1e-6, abs=1e-6 * float(np.max(np.abs(library))))


def test_a_part_that_hangs_on_next_to_nothing_keeps_its_digits() -> None:
    """Two ohms-sized pieces on a billionth of a siemens: the amps put in come out over it, to the last digits."""
    parts = [(0, 1, 1e3), (1, 2, 1e3), (2, 3, 1e-9)]

    volts = Stars(3, parts).solve(np.array([1e-9, 0.0, 0.0]))

    assert volts[2] == pytest.approx(1.0, rel=1e-14)
    assert volts[0] == pytest.approx(1.0 + 2e-12, rel=1e-14)


def test_readings_on_a_club_load_no_library_for_large_circuits() -> None:
    """The memory of an ordinary inquiry goes without scipy; only records far larger than a club load it."""
    code = (
        "import sys\n"
        "from troubleshoot.circuit import Fault, Probe, model_of, warm\n"
        "from troubleshoot.layout import load\n"
        "from troubleshoot.rulebook import rules_folder\n"
        "club = load(rules_folder() / 'core' / 'layouts' / 'club.yaml')\n"
        "warm(club)\n"
        "place = club.place('yard-2')\n"
        "probe = Probe('current', 'block-wire', ('block-wire-lifted',))\n"
        "print(model_of(club).reads(probe, place, Fault('leak', 1e3, 1e4), place) is not None)\n"
        "print('numpy' in sys.modules, 'scipy' in sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stdout.split() == ["True", "True", "False"]


def test_an_opened_wire_is_as_good_as_cut() -> None:
    """A wire opened on the factorised circuit agrees with one cut before, to a thousandth."""
    net = ladder(8)
    cut = (Becomes("rail 4", OPEN_OHMS),)

    quick, slow = Solver(net).solve(cut), Solver(net.changed(cut)).solve()

    assert quick.volts("8") == pytest.approx(slow.volts("8"), rel=1e-3)
    assert abs(quick.volts("8")) < 1e-3


@witness
@pytest.mark.parametrize("rungs", [1, 7, 60])
def test_a_ladder_agrees_with_the_simulator(rungs: int) -> None:
    """Every node of a ladder of resistors is within a thousandth of ngspice."""
    net = ladder(rungs)
    state = Solver(net).solve()

    for node, volts in simulator.volts(net).items():
        assert state.volts(node) == pytest.approx(volts, rel=1e-3, abs=1e-9)


@witness
def test_two_boosters_bridged_by_a_wheel_agree_with_the_simulator() -> None:
    """Two boosters out of phase, joined across a gap, drive the current that ngspice finds."""
    circuit = circuit_of(CLUB, True)
    joint = border("district-of").name
    other = CLUB.related("booster-of", CLUB.related("own-block", CLUB.place(joint))[1])[0]
    wrong = (
        *changes("booster-crossed", circuit, other, 1.0)[0],
        *changes("joint-closed", circuit, CLUB.place(joint), 0.05)[0],
        Becomes(f"{joint} joint N", 0.05),
    )
    state = Solver(circuit.net).solve(wrong)
    seen = simulator.volts(circuit.net.changed(wrong))

    spots = circuit.net.resistors[f"{joint} joint P"]
    assert state.volts(spots.a, spots.b) == pytest.approx(seen[spots.a] - seen[spots.b], rel=1e-3)
    for node in (spots.a, spots.b, f"{other.name} P", f"{other.name} N"):
        assert state.volts(node) == pytest.approx(seen[node], rel=1e-3, abs=1e-6)


@witness
@pytest.mark.parametrize(("series", "ohms"), [(1, 10.0), (2, 30.0), (2, 3e3), (3, 100e3)])
def test_diode_drops_agree_with_the_simulator(series: int, ohms: float) -> None:
    """The drop of a diode detector from milliamps to an amp is within one per cent of ngspice with the same model."""
    net = Netlist()
    net.source("booster", "in", EARTH, 15.0, 0.1)
    net.diodes["detector"] = Diodes("in", "out", series, 6.5e-7, 1.9)
    net.resistor("train", "out", EARTH, ohms)

    state, seen = Solver(net).solve(), simulator.volts(net)

    assert state.volts("in", "out") == pytest.approx(seen["in"] - seen["out"], rel=1e-2)


@witness
@pytest.mark.parametrize(("farads", "ohms", "leak"), [(1e-7, 100.0, 20e3), (5e-10, 0.0, 1e6), (1e-8, 47.0, 2e3)])
def test_the_mean_current_of_a_filter_agrees_with_the_simulator(farads: float, ohms: float, leak: float) -> None:
    """The mean current of capacitor and leak on a square wave of ones is within a thousandth of ngspice in time."""
    net = Netlist()
    net.source("booster", "in", EARTH, 15.0, 0.1)
    net.resistor("leak", "out", EARTH, leak)
    net.capacitors["filter"] = Capacitor("out", EARTH, farads, ohms)
    meter = Meter("in", "out", 10.0)
    solver = Solver(net)

    amps = solver.solve((), meter, solver.charging((), meter, 1.0 / 58e-6)).meter_amps

    assert amps == pytest.approx(simulator.mean_amps(net, meter, 58e-6), rel=1e-3)


@witness
def test_a_hundred_layouts_made_up_by_chance_agree_with_the_simulator(tmp_path: Path) -> None:
    """Each with a fault of any kind in it; rails within a thousandth, one per cent where diodes are in the way."""
    kinds = sorted(KINDS)
    compared = 0
    for seed in range(100):
        layout = record(tmp_path, seed)
        circuit = circuit_of(layout, True)
        block = layout.places_of("block")[seed % len(layout.places_of("block"))]
        kind = kinds[seed % len(kinds)]
        size = math.sqrt(KINDS[kind].least * KINDS[kind].most)
        change = next(iter(changes(kind, circuit, block, size)), ())
        state = Solver(circuit.net).solve(change)
        try:
            seen = simulator.volts(circuit.net.changed(change))
        except simulator.NoRest:
            continue
        compared += 1
        rel = 1e-2 if circuit.net.diodes else 1e-3
        for name in circuit.taps:
            end = circuit.pieces[name]
            a, b = circuit.rail(name, "P", end), circuit.rail(name, "N", end)
            assert state.volts(a, b) == pytest.approx(seen[a] - seen[b], rel=rel, abs=2e-3), (seed, kind, name)
    assert compared >= 95


def test_a_leak_reads_as_itself_with_the_block_lifted() -> None:
    """With its wire lifted, a leak of 2.9 kohm in a block reads 2.9 kohm, and a sound block far above the limit."""
    model = model_of(CLUB)
    assert model is not None
    block = CLUB.place("yard-2")

    leak = model.reads(LEAK, block, Fault("leak", 2900.0, 2900.0), block)
    sound = model.reads(LEAK, block)

    assert leak is not None and leak.values[0] == pytest.approx(2900.0, rel=0.02)
    assert sound is not None and sound.low > 100e3


def test_the_loop_is_that_of_wire_and_rail() -> None:
    """The loop through one block is the sum of bus, feeder, rail and joiners, worked out by hand."""
    layout = EMPTY
    model = Model(layout)
    circuit = model.dead
    block = Place("block", next(iter(circuit.taps)))
    parts = circuit.net.resistors
    legs = math.fsum(
        parts[name].ohms
        for leg in "PN"
        for name in (
            f"the district bus {leg} 1",
            f"{block.name} tap {leg}",
            f"{block.name} feeder {leg}",
            f"{block.name} drop {leg}",
            *(
                f"{block.name} rail {leg} {k + 1}"
                for k in range(circuit.middle(block.name), circuit.pieces[block.name])
            ),
        )
    )
    reads = model.reads(LOOP, block)

    assert reads is not None
    assert reads.low == pytest.approx(legs + parts[f"{block.name} detector"].ohms + 0.05, rel=1e-3)


def test_a_gap_between_boosters_in_phase_reads_little_and_out_of_phase_both() -> None:
    """Across a gap with one booster upside down a meter shows what both give together, scaled by the meter."""
    model = model_of(CLUB)
    assert model is not None
    joint = border("booster-of")
    booster = CLUB.related("booster-of", joint)[0]

    well, crossed = model.reads(PHASE, joint), model.reads(PHASE, joint, Fault("booster-crossed", 1.0, 1.0), booster)
    rails = model.reads(Probe("volts", "block-rails"), joint)

    assert well is not None and crossed is not None and rails is not None
    assert well.high < 0.01 * rails.low
    assert crossed.low == pytest.approx(rails.low, rel=0.02)


def test_a_short_makes_the_breaker_act_before_the_meter_is_read() -> None:
    """A solid short opens the breaker, and the rails read nothing; a leak does not."""
    model = model_of(CLUB)
    assert model is not None
    block, probe = CLUB.place("yard-2"), Probe("volts", "block-rails")

    short = model.reads(probe, block, Fault("short", 0.2, 0.2), block)
    leak = model.reads(probe, block, Fault("leak", 2e3, 2e3), block)

    assert short is not None and "yard-district" in short.tripped and short.high < 0.05
    assert leak is not None and leak.tripped == ()


def test_the_standing_current_counts_the_feeder_as_a_capacitor() -> None:
    """A sound block draws what its feeder's capacitance takes; a filter behind the detector draws far more."""
    model = model_of(CLUB)
    assert model is not None
    block = CLUB.place("yard-2")

    sound, filtered = model.reads(STANDING, block), model.reads(STANDING, block, Fault("filter", 1.0, 1.0), block)

    assert sound is not None and 2e-5 < sound.low < 1e-3
    assert filtered is not None and filtered.low > 20 * sound.high


def test_figures_name_what_they_rest_on() -> None:
    """A reading says which figures it came from and which of them the record does not give."""
    model = model_of(CLUB)
    assert model is not None
    reads = model.reads(LOOP, CLUB.place("yard-2"))

    assert reads is not None
    assert any("feeder" in f.said for f in reads.data)
    assert set(reads.assumed) == {f.said for f in reads.data if f.assumed}


@given(
    values=st.lists(st.floats(1e-3, 1e7), min_size=1, max_size=9),
    edges=st.lists(st.floats(1e-2, 1e6), min_size=1, max_size=4).map(sorted),
)
def test_shares_of_bands_total_one(values: list[float], edges: list[float]) -> None:
    """However readings lie, the parts that fall into the bands are a distribution."""
    from troubleshoot.circuit import Computed

    shares = Computed(tuple(values), 0.2, 0.3, (), ()).shares(edges)

    assert len(shares) == len(edges) + 1
    assert min(shares) >= -1e-12
    assert math.fsum(shares) == pytest.approx(1.0)


def test_the_density_of_readings_is_a_density() -> None:
    """Summed over all figures by their logarithm it makes one, and is greatest where the reading lies."""
    from troubleshoot.circuit import Computed

    one = Computed((470.0,), 0.1, 0.0, (), ())
    step = 0.01
    points = [470.0 * math.exp(step * k) for k in range(-200, 201)]

    assert math.fsum(one.density(p, 0.03) * step for p in points) == pytest.approx(1.0, rel=1e-3)
    assert max(points, key=lambda p: one.density(p, 0.03)) == pytest.approx(470.0)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda n: n.resistor("feeder", "a", "b", 0.0), "must be above 0"),
        (lambda n: n.resistor("feeder", "a", "b", -3.0), "must be above 0"),
        (lambda n: n.resistor("feeder", "a", "a", 3.0), "joins nothing"),
        (lambda n: n.source("booster", "a", "a", 15.0, 0.1), "feeds itself"),
        (Solver, "nothing to work out"),
    ],
)
def test_a_circuit_that_cannot_be_is_refused_in_words(make: object, words: str) -> None:
    """Wires without resistance, loops to themselves and empty circuits say what is wrong."""
    assert callable(make)
    with pytest.raises(Unsound, match=words):
        make(Netlist())


def test_a_meter_on_a_point_that_is_not_there_is_refused_in_words() -> None:
    """A probe needs a point of the circuit."""
    with pytest.raises(Unsound, match="no point"):
        Solver(ladder(2)).solve((), Meter("0", "elsewhere", 1e7))


def test_pieces_that_float_read_over_range_and_not_nonsense() -> None:
    """Between two pieces that nothing joins an ohmmeter reads more than any range of a hand meter."""
    net = Netlist()
    net.resistor("here", "a", "b", 10.0)
    net.resistor("there", "c", "d", 10.0)

    state = Solver(net).solve((), Meter("a", "c", 1e3, 0.6))

    assert abs(state.volts("a", "c") / state.meter_amps) > 1e8


@pytest.mark.parametrize("layout", [CLUB, HOME, EMPTY], ids=["club", "home", "no record"])
def test_every_kind_of_fault_can_be_measured_at_every_spot(layout: Layout) -> None:
    """Whatever is broken and wherever the probes go, the circuit gives a figure or says that it has no such spot."""
    model = Model(layout)
    place = layout.related("own-block", layout.itself)[0] if layout is EMPTY else layout.places_of("block")[0]
    answered = 0
    for spot in SPOTS:
        for meter in ("ohms", "volts"):
            for state in ((), *((name,) for name in STATES)):
                for kind, about in KINDS.items():
                    fault = Fault(kind, about.least, about.most)
                    reads = model.reads(Probe(meter, spot, state), place, fault, place, 1)
                    if reads is not None:
                        answered += 1
                        assert all(v >= 0.0 for v in reads.values)
    assert answered > 300


def test_a_record_of_ten_thousand_blocks_is_solved(tmp_path: Path) -> None:
    """Size alone stops nothing."""
    file = tmp_path / "vast.yaml"
    blocks = "\n".join(f"  k{k}: {{district: d{k % 40}, length: 2 m}}" for k in range(10_000))
    homes = "\n".join(f"  d{k}: {{booster: b}}" for k in range(40))
    file.write_text(f"name: vast\nboosters:\n  b: {{limit: 8 A}}\ndistricts:\n{homes}\nblocks:\n{blocks}\n")
    layout = load(file)
    model = model_of(layout)
    assert model is not None

    reads = model.reads(LEAK, layout.place("k9999"), Fault("leak", 1e3, 1e3), layout.place("k9999"))

    assert reads is not None and reads.low == pytest.approx(1e3, rel=0.05)


def test_without_the_numeric_libraries_there_is_no_model_and_no_harm() -> None:
    """Where they are absent the door says so, and whoever asks goes by the plain formulas."""
    code = (
        "import importlib.abc, sys\n"
        "class Absent(importlib.abc.MetaPathFinder):\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        "        if name.split('.')[0] in ('numpy', 'scipy'):\n"
        "            raise ModuleNotFoundError(name)\n"
        "sys.meta_path.insert(0, Absent())\n"
        "from troubleshoot.circuit import model_of\n"
        "from troubleshoot.layout import EMPTY\n"
        "print(model_of(EMPTY))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "None"


def test_the_table_in_the_documents_is_what_the_circuit_says() -> None:
    """Every figure of the circuit in tests/benchmarks/circuit.md comes out again, and none stands 1 % from ngspice."""
    from tests.benchmarks.bench_circuit import FAULTS, PROBES

    text = (Path(__file__).parent / "benchmarks" / "circuit.md").read_text(encoding="utf-8")
    rows = [[c.strip() for c in line.strip("|").split("|")] for line in text.splitlines() if line.startswith("| ")][1:]
    model, block = Model(CLUB), CLUB.place("yard-2")
    probes, faults = {says: p for says, p, _ in PROBES}, {f.kind if f else "healthy": f for f in FAULTS}

    assert len(rows) == len(probes) * len(faults)
    for says, kind, ours, theirs, apart in rows:
        now = model.reads(probes[says], block, faults[kind], block, 1)
        assert now is not None
        assert now.values[0] == pytest.approx(float(ours), rel=2e-3), (says, kind)
        if apart:
            assert float(ours) == pytest.approx(float(theirs), rel=1e-2)

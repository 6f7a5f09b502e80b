"""Published and hand-worked examples of reasoning that the tool's own functions must give to the printed digits."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import fields
from itertools import product

import numpy as np
import pytest

from tests.benchmarks.instances import Instance
from tests.benchmarks.oracle import cost, mending_only, optimum
from troubleshoot import advice
from troubleshoot.advice import Repair, Trial
from troubleshoot.belief import Field, Posterior, Rows, Suspect, both, weigh, weights
from troubleshoot.inquiry import Observation
from troubleshoot.layout import EMPTY, Place
from troubleshoot.rulebook import Cause, Finding, Rulebook
from troubleshoot.rulebook.tally import Tally

PLACE = Place("patient", "one")


def rulebook(causes: dict[str, float], outcomes: Sequence[str] = ("no", "yes")) -> Rulebook:
    """A rulebook of one symptom and one finding, its causes with their weights and no words."""
    made = {}
    for name, weight in causes.items():
        blank = {f.name: () for f in fields(Cause)}
        made[name] = Cause(**{**blank, "name": name, "relation": "itself", "weights": {"s": weight}})  # type: ignore[arg-type]
    found = Finding("f", tuple(outcomes), 0, (), (), "itself")
    return Rulebook((), {}, {}, {"f": found}, made, {}, {}, {}, {})


class Stated(Rows):
    """Rows that an example states as figures, where the tool takes them from words."""

    def __init__(self, prior: Sequence[float], table: Sequence[Sequence[float]]) -> None:
        self.table = tuple(tuple(r) for r in table)
        suspects = tuple(Suspect(str(i), "one") for i in range(len(prior)))
        none: tuple[Cause | None, ...] = (None,) * len(prior)
        field = Field("s", suspects, tuple(prior), ("",) * len(prior), none)
        super().__init__(rulebook({}, [str(i) for i in range(len(table[0]))]), EMPTY, field)

    def of(self, finding: str, place: Place) -> tuple[tuple[float, ...], ...]:
        """The stated rows, whatever is asked."""
        del finding, place
        return self.table


def told(prior: Sequence[float], table: Sequence[Sequence[float]], outcome: int) -> Posterior:
    """The belief after one outcome that was reported without error."""
    count = len(table[0])
    shown = tuple(float(i == outcome) for i in range(count))
    return weigh(Stated(prior, table), [Observation("c", "f", PLACE, str(outcome), shown, 0.0, 0, "")])


@pytest.mark.parametrize(
    ("prevalence", "sensitivity", "false_alarms", "shown"),
    [
        pytest.param(0.01, 0.90, 0.09, "0.09174", id="Gigerenzer et al. 2007, by later accounts"),
        pytest.param(0.008, 0.90, 0.07, "0.09395", id="Gigerenzer, by later accounts"),
        pytest.param(0.005, 0.95, 0.01, "0.32313", id="a magazine piece quoted by an education site"),
        pytest.param(0.01, 0.80, 0.096, "0.07764", id="Eddy 1982, from memory"),
    ],
)
def test_how_much_a_positive_test_means(prevalence: float, sensitivity: float, false_alarms: float, shown: str) -> None:
    """A positive test for something rare leaves it unlikely, to the digits of the published examples."""
    prior, table = (prevalence, 1 - prevalence), ((1 - sensitivity, sensitivity), (1 - false_alarms, false_alarms))
    left = advice.after(prior, Trial("test", 1, table, (0, 1)), 1)

    assert f"{told(prior, table, 1).chances[0]:.5f}" == shown
    assert f"{left[0] / sum(left):.5f}" == shown


def decibans(for_: float, against: float) -> float:
    """The weight of evidence of an outcome with these two chances, as the tool shows it."""
    (_, parts), *_ = told((0.5, 0.5), ((1 - for_, for_), (1 - against, against)), 1).evidence
    return parts[0] - parts[1]


@pytest.mark.parametrize(("ratio", "weight"), [(10.0, 10.0), (100.0, 20.0), (2.0, 3.0103), (0.1, -10.0)])
def test_ten_to_one_is_ten_decibans(ratio: float, weight: float) -> None:
    """A likelihood ratio of ten is one ban, ten decibans (source: accounts of Good 1994)."""
    assert decibans(0.005 * ratio, 0.005) == pytest.approx(weight, abs=5e-5)


def test_the_loaded_die() -> None:
    """A die that shows six in a third of throws: +3.010 dB for a six, -0.969 dB for any other (after Good)."""
    assert f"{decibans(1 / 3, 1 / 6):.3f}" == "3.010"
    assert f"{decibans(2 / 3, 5 / 6):.3f}" == "-0.969"


# -- the polybox: three multipliers feed two adders ------------------------------------------------------------

PARTS = ("M1", "M2", "M3", "A1", "A2")
RANGE = range(41)


def _products(faulty: frozenset[str]) -> Iterator[tuple[tuple[int, int, int], float]]:
    """Every triple of products X, Y, Z with its chance; each should be 6, a faulty multiplier gives anything."""
    for triple in product(*(RANGE if m in faulty else (6,) for m in ("M1", "M2", "M3"))):
        chance = (1 / len(RANGE)) ** sum(m in faulty for m in ("M1", "M2", "M3"))
        yield (triple[0], triple[1], triple[2]), chance


def _shown(adder: str, total: int, seen: int, faulty: frozenset[str]) -> float:
    return 1 / len(RANGE) if adder in faulty else float(total == seen)


def polybox() -> tuple[list[frozenset[str]], list[float], dict[str, Trial]]:
    """Fault sets, their masses once F = 10 and G = 12 are seen, and the probes of X, Y and Z as trials."""
    sets, masses, rows = [], [], dict[str, list[tuple[float, ...]]](X=[], Y=[], Z=[])
    for bits in product((False, True), repeat=len(PARTS)):
        faulty = frozenset(p for p, bad in zip(PARTS, bits, strict=True) if bad)
        if {"M1", "M2", "M3"} <= faulty:
            continue  # 41 to the third and a chance of one in a million: it shows in no printed digit
        prior = math.prod(0.01 if p in faulty else 0.99 for p in PARTS)
        spread = np.zeros((3, len(RANGE)))
        for (x, y, z), chance in _products(faulty):
            both_ = _shown("A1", x + y, 10, faulty) * _shown("A2", y + z, 12, faulty)
            for row, value in zip(spread, (x, y, z), strict=True):
                row[value] += chance * both_
        mass = float(spread[0].sum())
        if mass > 0.0:
            sets.append(faulty)
            masses.append(prior * mass)
            for name, row in zip("XYZ", spread, strict=True):
                rows[name].append(tuple(float(p) / mass for p in row))
    numbers = tuple(range(len(sets)))
    return sets, masses, {n: Trial(n, 1, tuple(r), numbers) for n, r in rows.items()}


def test_the_polybox_is_probed_at_x() -> None:
    """Posterior over fault sets and gain of each probe, computed for the example of de Kleer and Williams 1987."""
    sets, masses, trials = polybox()
    total = sum(masses)
    chance = dict(zip(sets, (m / total for m in masses), strict=True))

    assert f"{advice.entropy(masses):.4f}" == "1.0539"
    assert [f"{chance[frozenset(s)]:.3f}" for s in ({"A1"}, {"M1"}, {"A1", "M1"})] == ["0.497", "0.497", "0.005"]
    assert [f"{advice.bits(masses, trials[n]):.4f}" for n in "XYZ"] == ["1.0373", "0.0033", "0.0018"]


@pytest.mark.parametrize(
    ("prior", "gains"),
    [((1, 1, 1, 1), ["0.8113", "1.0000", "0.8113"]), ((0.025, 0.01, 0.01, 0.01), ["0.9940", "0.9457", "0.6840"])],
)
def test_a_chain_is_halved_by_chance_and_not_by_length(prior: Sequence[float], gains: list[str]) -> None:
    """Probing a chain of four after its first, second or third stage: half-split, moving to a weak stage (computed)."""
    trials = [Trial(str(k), 1, ((1.0, 0.0), (0.0, 1.0)), tuple(int(s < k) for s in range(4))) for k in (1, 2, 3)]
    mends = [Repair(str(s), 60, (s,)) for s in range(4)]

    assert [f"{advice.bits(prior, t):.4f}" for t in trials] == gains
    assert advice.next_step(prior, trials, mends).ranked[0].index == gains.index(max(gains))


# -- mending in order ------------------------------------------------------------------------------------------


def test_overlapping_mends_are_counted_afresh() -> None:
    """Three overlapping mends: 1.50 by chance per minute counted afresh, and no better than 1.45 is possible.

    Source: an example of the Jensen group, rebuilt from memory; arithmetic computed.
    """
    chances, covers = (0.20, 0.25, 0.40, 0.15), ((0, 1), (1, 2), (2, 3))
    mends = [Repair(str(i), 1, c) for i, c in enumerate(covers)]
    nothing = np.empty((0, 4))
    instance = Instance(np.array(chances), nothing, np.empty(0), np.ones(3), covers, ())

    assert advice.plan(chances, mends) == (pytest.approx(1.50), 1)  # type: ignore[comparison-overlap]
    assert cost(instance, mending_only) == pytest.approx(1.50)
    assert optimum(instance) == pytest.approx(1.45)


def test_independent_mends_go_by_chance_per_minute() -> None:
    """Chances .5 .3 .2 at 10, 4 and 1 minutes: the last first, 9.2 minutes where the likeliest first takes 12.2."""
    chances, minutes = (0.5, 0.3, 0.2), (10.0, 4.0, 1.0)
    expected, first = advice.plan(chances, [Repair(str(i), m, (i,)) for i, m in enumerate(minutes)])
    in_turn = sum(m * sum(chances[i:]) for i, m in enumerate(minutes))

    assert first == 2
    assert expected == pytest.approx(9.2)
    assert in_turn == pytest.approx(12.2)


@pytest.mark.parametrize(("first", "second", "fever"), [(0.2, 0.1, "0.98"), (0.6, 0.1, "0.94"), (0.6, 0.2, "0.88")])
def test_two_causes_of_a_fever(first: float, second: float, fever: str) -> None:
    """Cold, flu and malaria inhibit a fever with .6, .2, .1; two together (Russell and Norvig, from memory)."""
    assert f"{both((first, 1 - first), (second, 1 - second), 0)[1]:.2f}" == fever


def test_counting_closed_cases() -> None:
    """Prior (2, 1, 1) and counts in the ratio (0, 3, 0) give .2857 .5714 .1429 (Dirichlet mean, computed).

    The tool's prior is worth twenty cases, five times that of the example, so the counts are five times as many.
    """
    found = weights(rulebook({"a": 2.0, "b": 1.0, "c": 1.0}), "s", Tally({"s": {"b": 15.0}}))
    known = 1.0 - 0.05

    assert [f"{found[c] / known:.4f}" for c in "abc"] == ["0.2857", "0.5714", "0.1429"]

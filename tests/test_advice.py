"""What to do next: the arithmetic of advice against brute force, and its worth against the exact optimum."""

import itertools
import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.benchmarks.instances import SET_UP_MINUTES, Instance, generate, with_set_up
from tests.benchmarks.oracle import advised, cost, mending_only, optimum
from troubleshoot import advice
from troubleshoot.advice import HAND_OVER, Repair, Trial

# Seed, regime, tmax, causes, tests: minutes of the optimum, of the advice and of mending only.
# Source: rebuild checks of the seeded generator, worked out by another programme.
REBUILT = [
    (1000, "mixed", 10, 5, 4, "26.45312", "26.63970", "28.78886"),
    (1000, "mixed", 3, 5, 4, "25.52978", "25.54855", "28.78886"),
    (1000, "crisp", 3, 5, 4, "29.67140", "30.15403", "35.35375"),
    (1000, "noisy", 3, 5, 4, "35.35375", "35.35375", "35.35375"),
    (1001, "mixed", 10, 8, 5, "35.41212", "36.32960", "39.50330"),
    (1001, "mixed", 3, 8, 5, "32.69824", "34.44459", "39.50330"),
    (1001, "crisp", 3, 8, 5, "50.83698", "51.53092", "80.85834"),
    (1001, "noisy", 3, 8, 5, "66.87909", "67.93499", "80.85834"),
]

YES, NO = (0.0, 1.0), (1.0, 0.0)
EVEN = (0.5, 0.5)


def two_way(name: str, minutes: float, rows: Sequence[tuple[float, float]]) -> Trial:
    """A trial with a row of its own for every suspect."""
    return Trial(name, minutes, tuple(rows), tuple(range(len(rows))))


@pytest.mark.parametrize(("seed", "regime", "tmax", "causes", "tests", "best", "ours", "mends"), REBUILT)
def test_rebuild_checks_to_all_digits(
    seed: int, regime: str, tmax: float, causes: int, tests: int, best: str, ours: str, mends: str
) -> None:
    """Optimum, advice and mending only cost what another programme found, to all its digits."""
    instance = generate(seed, regime, tmax)

    assert (len(instance.prior), len(instance.test_minutes)) == (causes, tests)
    assert f"{optimum(instance):.5f}" == best
    assert f"{cost(instance, advised):.5f}" == ours
    assert f"{cost(instance, mending_only):.5f}" == mends


def test_the_generator_draws_in_the_fixed_order() -> None:
    """Seed 1000 gives the prior, minutes and rows that are printed for it."""
    instance = generate(1000, "mixed", 3)

    assert [f"{p:.4f}" for p in instance.prior] == ["0.1833", "0.3704", "0.0606", "0.3356", "0.0500"]
    assert [f"{m:.4f}" for m in instance.test_minutes] == ["1.6421", "2.8851", "2.4053", "1.2729"]
    assert [f"{m:.3f}" for m in instance.mend_minutes] == ["8.388", "34.163", "4.681", "3.583", "120.000", "28.339"]
    assert instance.covers[-1] == (0, 1, 2)
    assert instance.positive.tolist() == [
        [0.95, 0.95, 0.4, 0.4, 0.5],
        [0.95, 0.95, 0.4, 0.4, 0.5],
        [0.95, 0.4, 0.4, 0.4, 0.5],
        [0.02, 0.98, 0.98, 0.98, 0.5],
    ]


def _least(instance: Instance, masses: list[float], tests: frozenset[int], done: frozenset[int], up: bool) -> float:
    """The optimum by plain recursion over every move: slow, and hard to get wrong."""
    left = sum(masses)
    if left < 1e-15:
        return 0.0
    moves = []
    for mend in set(range(len(instance.mend_minutes))) - done:
        rest = [0.0 if c in instance.covers[mend] else m for c, m in enumerate(masses)]
        if sum(rest) < left:
            moves.append(instance.mend_minutes[mend] * left + _least(instance, rest, tests, done | {mend}, up))
    for test in tests:
        entered = instance.needs_set_up[test] and not up
        minutes = instance.test_minutes[test] + (SET_UP_MINUTES if entered else 0.0)
        rates = instance.positive[test]
        later = [
            _least(
                instance,
                [m * p for m, p in zip(masses, row, strict=True)],
                tests - {test},
                done,
                up or instance.needs_set_up[test],
            )
            for row in (rates, 1 - rates)
        ]
        moves.append(minutes * left + sum(later))
    return float(min(moves))


@pytest.mark.parametrize("seed", [5, 27, 1013])
@pytest.mark.parametrize("shared", [False, True])
def test_the_oracle_against_plain_recursion(seed: int, shared: bool) -> None:
    """The dynamic programme finds what trying every order of moves finds, with and without a shared set-up."""
    whole = generate(seed, "mixed", 3)
    causes = len(whole.prior)
    small = Instance(
        whole.prior,
        whole.positive[:2],
        whole.test_minutes[:2],
        whole.mend_minutes[[0, 1, causes - 1, causes]],
        ((0,), (1,), tuple(range(2, causes)), whole.covers[-1]),
        (False, False),
    )
    if shared:
        small = with_set_up(small)

    found = _least(small, [float(p) for p in small.prior], frozenset({0, 1}), frozenset(), False)

    assert optimum(small) == pytest.approx(found, rel=1e-12)


def test_a_set_up_costs_once() -> None:
    """The optimum with a shared set-up lies above the one without, by no more than its minutes."""
    for seed in range(1000, 1012):
        instance = generate(seed, "crisp", 3)
        extra = optimum(with_set_up(instance)) - optimum(instance)
        assert 0.0 <= extra <= SET_UP_MINUTES + 1e-9


@pytest.mark.parametrize("shared", [False, True])
def test_advice_stays_near_the_optimum(shared: bool) -> None:
    """On forty seeded instances: never below the optimum, near it in the mean, better than mending at once."""
    ratios, at_once = [], []
    for seed, regime in itertools.product(range(1000, 1020), ("mixed", "crisp")):
        instance = generate(seed, regime, 3)
        if shared:
            instance = with_set_up(instance)
        least = optimum(instance)
        ratios.append(cost(instance, advised) / least)
        at_once.append(cost(instance, mending_only) / least)

    assert min(ratios) >= 1.0 - 1e-12
    assert float(np.mean(ratios)) <= 1.015
    assert max(ratios) <= 1.10
    assert float(np.mean(at_once)) > float(np.mean(ratios)) + 0.1


# -- information ------------------------------------------------------------------------------------------------

masses_of = st.lists(st.floats(0.001, 1.0), min_size=2, max_size=7)


@st.composite
def questions(draw: st.DrawFn) -> tuple[list[float], Trial]:
    """Masses, and a trial of two to four outcomes whose rows some suspects share."""
    masses = draw(masses_of)
    outcomes = draw(st.integers(2, 4))
    rows = []
    for _ in range(draw(st.integers(1, 4))):
        rough = draw(st.lists(st.floats(0.02, 1.0), min_size=outcomes, max_size=outcomes))
        rows.append(tuple(p / sum(rough) for p in rough))
    row_of = draw(st.lists(st.integers(0, len(rows) - 1), min_size=len(masses), max_size=len(masses)))
    return masses, Trial("asked", draw(st.floats(0.5, 30.0)), tuple(rows), tuple(row_of))


def _uncertain(masses: Sequence[float]) -> float:
    total = sum(masses)
    return -sum(m / total * math.log2(m / total) for m in masses if m > 0)


@given(questions())
def test_bits_are_what_the_uncertainty_falls_by(question: tuple[list[float], Trial]) -> None:
    """Expected information equals entropy before less mean entropy after, worked out the long way."""
    masses, trial = question
    total, later = sum(masses), 0.0
    for outcome in range(len(trial.rows[0])):
        left = [m * trial.rows[r][outcome] for m, r in zip(masses, trial.row_of, strict=True)]
        later += sum(left) / total * _uncertain(left)

    assert advice.bits(masses, trial) == pytest.approx(max(0.0, _uncertain(masses) - later), abs=1e-9)


@given(questions())
def test_no_information_is_less_than_none(question: tuple[list[float], Trial]) -> None:
    """Information is never negative, and never more than there is to learn."""
    masses, trial = question

    assert 0.0 <= advice.bits(masses, trial) <= _uncertain(masses) + 1e-9


def test_a_clean_split_is_one_bit_and_a_flat_row_none() -> None:
    """Halving two equal suspects is one bit; a trial that shows the same for both is none."""
    assert advice.bits([1, 1], two_way("halves", 1, [YES, NO])) == pytest.approx(1.0)
    assert advice.bits([1, 1], two_way("flat", 1, [EVEN, EVEN])) == 0.0
    assert advice.bits([0, 0], two_way("nothing left", 1, [YES, NO])) == 0.0


# -- mending in order of chance per minute ---------------------------------------------------------------------


def _greedy(masses: Sequence[float], repairs: Sequence[Repair]) -> tuple[float, int | None]:
    """The same order, chosen afresh among all mends each time; of equals the first."""
    left, open_, minutes, order = list(masses), set(range(len(repairs))), 0.0, []
    while open_ and sum(left) > 1e-15:
        worth = {i: repairs[i].works * sum(left[s] for s in repairs[i].covers) / repairs[i].minutes for i in open_}
        chosen = min(open_, key=lambda i: (-worth[i], i))
        if worth[chosen] <= 0.0:
            break
        minutes += repairs[chosen].minutes * sum(left)
        for s in repairs[chosen].covers:
            left[s] *= 1.0 - repairs[chosen].works
        open_.remove(chosen)
        order.append(chosen)
    return minutes + HAND_OVER * sum(left), order[0] if order else None


@st.composite
def mendings(draw: st.DrawFn) -> tuple[list[float], list[Repair]]:
    """Masses and overlapping mends in round numbers, so that many are equally worth while."""
    count = draw(st.integers(1, 6))
    masses = [draw(st.sampled_from([0.0, 0.125, 0.25, 0.5])) for _ in range(count)]
    repairs = []
    for number in range(draw(st.integers(0, 7))):
        covers = draw(st.sets(st.integers(0, count - 1), min_size=1, max_size=3))
        works = draw(st.sampled_from([0.5, 1.0]))
        repairs.append(Repair(str(number), draw(st.sampled_from([1.0, 2.0, 4.0])), tuple(sorted(covers)), works))
    return masses, repairs


@given(mendings())
def test_the_queue_of_mends_is_the_plain_greedy_order(case: tuple[list[float], list[Repair]]) -> None:
    """The plan's minutes and first mend are those of choosing afresh each time, ties to the first."""
    masses, repairs = case
    minutes, first = advice.plan(masses, repairs)
    plain, plain_first = _greedy(masses, repairs)

    assert first == plain_first
    assert minutes == pytest.approx(plain, abs=1e-9)


@given(mendings(), st.floats(0.01, 100.0))
def test_minutes_scale_with_the_masses(case: tuple[list[float], list[Repair]], factor: float) -> None:
    """Masses that do not total one give minutes scaled by their total."""
    masses, repairs = [m + 0.001 for m in case[0]], case[1]

    scaled, _ = advice.plan([m * factor for m in masses], repairs)

    assert scaled == pytest.approx(factor * advice.plan(masses, repairs)[0], rel=1e-6)


def test_what_no_mend_takes_away_is_handed_over() -> None:
    """Half the chance lies where no mend reaches: half of the minutes of handing over are added."""
    minutes, first = advice.plan([0.5, 0.5], [Repair("one", 10, (0,), 1.0)])

    assert first == 0
    assert minutes == pytest.approx(10 + 0.5 * HAND_OVER)


def test_a_mend_that_may_fail_leaves_its_share() -> None:
    """A mend that works nine times in ten leaves a tenth to be handed over."""
    assert advice.plan([1.0], [Repair("one", 10, (0,), 0.9)])[0] == pytest.approx(10 + 0.1 * HAND_OVER)


# -- the step --------------------------------------------------------------------------------------------------


def test_a_test_is_advised_where_it_saves_more_than_it_costs() -> None:
    """A quick clean split comes before two long mends; a slow one does not; minutes are as worked out by hand."""
    mends = [Repair("a", 30, (0,)), Repair("b", 30, (1,))]
    quick = advice.next_step([0.5, 0.5], [two_way("quick", 2, [YES, NO])], mends)
    slow = advice.next_step([0.5, 0.5], [two_way("slow", 16, [YES, NO])], mends)

    assert (quick.kind, quick.index, quick.expected, quick.repair_now) == ("trial", 0, 32.0, 45.0)
    assert (slow.kind, slow.index, slow.expected) == ("repair", 0, 45.0)


def test_a_test_that_only_breaks_even_is_not_advised() -> None:
    """Minutes saved must exceed minutes spent."""
    mends = [Repair("a", 30, (0,)), Repair("b", 30, (1,))]

    assert advice.next_step([0.5, 0.5], [two_way("even", 15, [YES, NO])], mends).kind == "repair"


def test_equal_tests_are_taken_in_the_given_order() -> None:
    """Of two tests alike in all, the first is advised, whichever that is."""
    mends = [Repair("a", 30, (0,)), Repair("b", 30, (1,))]
    alike = [two_way("x", 2, [YES, NO]), two_way("y", 2, [YES, NO])]

    step = advice.next_step([0.5, 0.5], alike, mends)

    assert step.index == 0
    assert [r.index for r in step.ranked] == [0, 1]


def test_equal_mends_are_taken_in_the_given_order() -> None:
    """Of two mends alike in chance and minutes, the first is advised."""
    mends = [Repair("x", 30, (1,)), Repair("y", 30, (0,))]

    assert advice.next_step([0.5, 0.5], [], mends).index == 0


def test_only_five_tests_are_judged_by_minutes() -> None:
    """The best five by information per minute carry expected minutes, the others none; order is by that worth."""
    rows = [((0.5 + d, 0.5 - d), (0.5 - d, 0.5 + d)) for d in (0.45, 0.4, 0.35, 0.3, 0.25, 0.2, 0.15)]
    trials = [two_way(str(i), 1, r) for i, r in enumerate(reversed(rows))]
    mends = [Repair("a", 30, (0,)), Repair("b", 30, (1,))]

    step = advice.next_step([0.5, 0.5], trials, mends)

    assert [r.index for r in step.ranked] == [6, 5, 4, 3, 2, 1, 0]
    assert [r.expected is None for r in step.ranked] == [False] * 5 + [True] * 2


def test_tests_are_ranked_by_information_per_minute() -> None:
    """A clean split that takes long comes after a poor one that takes a minute, and ranks by bits over minutes."""
    slow, quick = two_way("slow", 20, [YES, NO]), two_way("quick", 1, [(0.3, 0.7), (0.7, 0.3)])
    step = advice.next_step([0.5, 0.5], [slow, quick], [Repair("a", 60, (0,)), Repair("b", 60, (1,))])

    assert [r.index for r in step.ranked] == [1, 0]
    assert [r.per_minute for r in step.ranked] == [
        pytest.approx(advice.bits([0.5, 0.5], t) / t.minutes) for t in (quick, slow)
    ]


def test_a_useless_test_is_not_even_ranked() -> None:
    """A test that shows the same for every suspect is left out."""
    step = advice.next_step([0.5, 0.5], [two_way("flat", 0.1, [EVEN, EVEN])], [Repair("a", 30, (0, 1))])

    assert (step.kind, step.ranked) == ("repair", ())


def test_a_likely_mend_is_tried_before_handing_over_however_long_it_takes() -> None:
    """Whoever takes over has to mend it too: a known cause of five hours is mended, not handed over."""
    assert not advice.gives_up([0.98, 0.02], [Repair("dear", 300, (0,), 0.9)])


def test_many_unlikely_mends_are_dearer_than_fresh_eyes() -> None:
    """Thirty mends of half an hour at three in a hundred: seven hours and a half are expected, fresh eyes need less."""
    masses = [1 / 30] * 30
    mends = [Repair(str(i), 30, (i,), 0.9) for i in range(30)]

    assert advice.plan(masses, mends)[0] > HAND_OVER + 30
    assert advice.gives_up(masses, mends)
    assert not advice.gives_up(masses[:4], mends[:4])


@given(mendings())
def test_giving_up_is_no_better_than_any_number_of_mends_first(found: tuple[list[float], list[Repair]]) -> None:
    """Giving up costs no more than stopping after any number of mends in their order, worked out step by step."""
    masses, repairs = found
    costs = [HAND_OVER + min((r.minutes for r in repairs if i in r.covers), default=0.0) for i in range(len(masses))]
    left, minutes, stops = list(masses), 0.0, [sum(m * c for m, c in zip(masses, costs, strict=True))]
    open_ = set(range(len(repairs)))
    while open_:
        worth = {i: repairs[i].works * sum(left[s] for s in repairs[i].covers) / repairs[i].minutes for i in open_}
        chosen = min(open_, key=lambda i: (-worth[i], i))
        if worth[chosen] <= 0.0:
            break
        minutes += repairs[chosen].minutes * sum(left)
        for s in repairs[chosen].covers:
            left[s] *= 1.0 - repairs[chosen].works
        open_.remove(chosen)
        stops.append(minutes + sum(m * c for m, c in zip(left, costs, strict=True)))

    if min(stops[1:], default=math.inf) > stops[0] * (1 + 1e-9):
        assert advice.gives_up(masses, repairs)
    elif min(stops[1:], default=math.inf) < stops[0] * (1 - 1e-9):
        assert not advice.gives_up(masses, repairs)


def test_with_nothing_left_to_mend_the_case_is_handed_over() -> None:
    """No mend and no telling test: hand over, at its minutes."""
    step = advice.next_step([0.5, 0.5], [], [])

    assert (step.kind, step.first_repair) == ("hand-over", None)
    assert step.expected == pytest.approx(HAND_OVER)


def test_a_mend_of_nothing_in_play_is_not_advised() -> None:
    """Mends whose suspects have no chance left are no reason to go on."""
    assert advice.next_step([1.0, 0.0], [], [Repair("b", 5, (1,))]).kind == "hand-over"


@given(questions(), st.lists(st.floats(1, 60), min_size=1, max_size=5))
def test_the_expected_minutes_of_a_test(question: tuple[list[float], Trial], minutes: list[float]) -> None:
    """A test's expected minutes are its own and those of mending after each outcome, by its chance."""
    masses, trial = question
    mends = [Repair(str(i), m, (i % len(masses),)) for i, m in enumerate(minutes)]
    total, later = sum(masses), 0.0
    for outcome in range(len(trial.rows[0])):
        left = [m * trial.rows[r][outcome] for m, r in zip(masses, trial.row_of, strict=True)]
        later += _greedy(left, mends)[0]

    assert advice.expected(masses, trial, mends) == pytest.approx(trial.minutes + later / total, rel=1e-6)


@given(questions(), st.lists(st.floats(1, 60), min_size=1, max_size=5))
def test_the_step_advised_is_the_cheapest_of_those_judged(
    question: tuple[list[float], Trial], minutes: list[float]
) -> None:
    """No judged test and no mending at once is expected to take less than the step advised."""
    masses, trial = question
    mends = [Repair(str(i), m, (i % len(masses),)) for i, m in enumerate(minutes)]
    step = advice.next_step(masses, [trial], mends)
    others = [step.repair_now, *(r.expected for r in step.ranked if r.expected is not None)]

    assert step.expected <= min(others) + 1e-9


# -- steps that cost more than minutes -------------------------------------------------------------------------

SWAP = Repair("swap the board", 30, (0,))
SETTLING = [(0.05, 0.95), (0.9, 0.1)]
LOOK = two_way("look", 3, SETTLING)


def test_a_dear_mend_waits_for_a_cheaper_test() -> None:
    """A quick test that would settle whether the swap is right is named before the swap."""
    found = advice.separates([0.6, 0.4], [LOOK], SWAP, SWAP.minutes)

    assert found is not None
    assert found.index == 0
    assert found.per_minute == pytest.approx(found.bits / 3)


def test_a_dear_mend_does_not_wait_for_a_dearer_test() -> None:
    """A test as long as the mend is no reason to wait."""
    assert advice.separates([0.6, 0.4], [two_way("look", 30, SETTLING)], SWAP, SWAP.minutes) is None


def test_a_dear_mend_does_not_wait_once_it_is_sure() -> None:
    """When next to nothing else can be to blame, no test would settle anything."""
    assert advice.separates([0.995, 0.005], [LOOK], SWAP, SWAP.minutes) is None


def test_a_test_that_tells_only_the_others_apart_holds_nothing_back() -> None:
    """What matters is whether the mend is right, not which of the other suspects it is."""
    other = two_way("others", 1, [EVEN, YES, NO])

    assert advice.bits([0.5, 0.25, 0.25], other) > 0.4
    assert advice.separates([0.5, 0.25, 0.25], [other], SWAP, SWAP.minutes) is None


def test_the_most_telling_minute_is_named_and_ties_go_to_the_first() -> None:
    """Among tests that settle a dear mend, the one with the most information per minute; of equals the first."""
    weak = two_way("weak", 3, [(0.3, 0.7), (0.7, 0.3)])
    found = advice.separates([0.6, 0.4], [weak, LOOK, LOOK], SWAP, SWAP.minutes)

    assert found is not None
    assert found.index == 1


@given(questions())
def test_settling_a_mend_tells_no_more_than_the_whole_test(question: tuple[list[float], Trial]) -> None:
    """Information about one thing only is part of the information about all suspects."""
    masses, trial = question
    found = advice.separates(masses, [trial], Repair("dear", 99, (0,)), 99)

    if found is not None:
        assert 0.05 <= found.bits <= advice.bits(masses, trial) + 1e-9

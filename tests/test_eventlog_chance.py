"""The arithmetic of chance against scipy and against whole-number counting."""

from fractions import Fraction
from math import comb

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy import stats

from troubleshoot.eventlog.chance import (
    benjamini_hochberg,
    binomial_tail,
    both_sides,
    drawn_tail,
    holm,
    poisson_tail,
    share_tail,
    unequal_tail,
)

CHANCES = st.lists(st.floats(0.0, 1.0), min_size=1, max_size=30)


@given(st.data(), st.integers(1, 5000), st.floats(1e-6, 1 - 1e-6))
@settings(max_examples=150, deadline=None)
def test_a_binomial_tail_is_that_of_scipy(data: st.DataObject, n: int, p: float) -> None:
    """At least k among n, from one end to the other."""
    k = data.draw(st.integers(0, n))
    expected = stats.binomtest(k, n, p, alternative="greater").pvalue

    assert binomial_tail(k, n, p) == pytest.approx(expected, rel=1e-8, abs=1e-300)


@given(st.integers(0, 400), st.floats(1e-6, 300.0))
@settings(max_examples=150, deadline=None)
def test_a_poisson_tail_is_that_of_scipy(k: int, mean: float) -> None:
    """At least k where so many are expected."""
    assert poisson_tail(k, mean) == pytest.approx(stats.poisson.sf(k - 1, mean), rel=1e-8, abs=1e-300)


@given(st.data(), st.integers(1, 2000))
@settings(max_examples=150, deadline=None)
def test_a_hypergeometric_tail_is_that_of_scipy(data: st.DataObject, total: int) -> None:
    """At least k marked among the drawn, for every mixture."""
    marked, drawn = data.draw(st.integers(0, total)), data.draw(st.integers(0, total))
    k = data.draw(st.integers(0, drawn))
    expected = stats.hypergeom.sf(k - 1, total, marked, drawn)

    assert drawn_tail(k, total, marked, drawn) == pytest.approx(expected, rel=1e-7, abs=1e-250)


@given(st.data(), st.integers(1, 120), st.sampled_from([2, 3, 5]))
@settings(max_examples=120, deadline=None)
def test_allowed_odds_are_counted_exactly(data: st.DataObject, total: int, odds: int) -> None:
    """With odds allowed, the tail is what whole numbers say to the last digit that a float holds."""
    marked, drawn = data.draw(st.integers(0, total)), data.draw(st.integers(0, total))
    k = data.draw(st.integers(0, drawn))
    ways = {
        i: comb(drawn, i) * comb(total - drawn, marked - i) * odds**i
        for i in range(max(0, drawn + marked - total), min(drawn, marked) + 1)
    }
    expected = float(Fraction(sum(w for i, w in ways.items() if i >= k), sum(ways.values())))

    assert drawn_tail(k, total, marked, drawn, odds) == pytest.approx(expected, rel=1e-9, abs=1e-300)


@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=25), st.data())
@settings(max_examples=100, deadline=None)
def test_the_bound_for_unequal_trials_is_never_too_small(chances: list[float], data: st.DataObject) -> None:
    """Against the exact chance, worked out trial by trial."""
    k = data.draw(st.integers(0, len(chances)))
    exact = np.array([1.0])
    for p in chances:
        exact = np.convolve(exact, [1.0 - p, p])

    assert unequal_tail(k, chances) >= float(exact[k:].sum()) - 1e-9


@given(CHANCES)
@example([0.05, 0.05, 1.0])
@settings(max_examples=100, deadline=None)
def test_benjamini_and_hochberg_are_those_of_scipy(chances: list[float]) -> None:
    """Adjusted chances in any order, with ties."""
    expected = stats.false_discovery_control(chances)

    assert benjamini_hochberg(chances) == pytest.approx(list(expected), abs=1e-12)


@given(CHANCES, st.integers(0, 50))
@settings(max_examples=100, deadline=None)
def test_looks_that_came_out_at_one_count_as_if_they_were_listed(chances: list[float], more: int) -> None:
    """Leaving them out and saying how many there were is the same as writing them down."""
    listed = [*chances, *[1.0] * more]
    many = len(chances)

    assert holm(chances, len(listed)) == pytest.approx(holm(listed)[:many])
    assert benjamini_hochberg(chances, len(listed)) == pytest.approx(benjamini_hochberg(listed)[:many])


def test_holm_keeps_the_rate_of_any_false_call() -> None:
    """Of many sets of even chances, at most the level has any that passes; nearly so many do, so nothing is wasted."""
    draws = np.random.default_rng(5).random((4000, 20))
    false = sum(min(holm(list(row))) <= 0.05 for row in draws) / len(draws)

    assert 0.035 < false < 0.062


@given(st.integers(0, 30), st.integers(0, 30), st.floats(0.1, 100.0), st.floats(0.1, 100.0))
def test_an_allowed_ratio_only_makes_a_share_more_ordinary(k: int, more: int, own: float, rest: float) -> None:
    """A place that may be three times worse is called less easily than one that may not."""
    total = k + more

    assert share_tail(k, total, own, rest, 3.0) >= share_tail(k, total, own, rest) - 1e-12
    assert share_tail(k, total, own, 0.0) == 1.0


def test_both_sides_count_twice() -> None:
    """A chance that would have been called on either side is charged for both."""
    assert both_sides(0.01, 0.995) == 0.02
    assert both_sides(0.7, 0.6) == 1.0

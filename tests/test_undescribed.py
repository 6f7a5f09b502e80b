"""A fault that no rule describes is not taken for the nearest one that a rule does describe."""

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.belief import ODD_LIKE_KNOWN, odd_row
from troubleshoot.quality import world
from troubleshoot.quality.trial import play_strange
from troubleshoot.rulebook import Finding, load

chances = st.floats(0.01, 1.0)


def _finding(count: int) -> Finding:
    outcomes = tuple(f"o{i}" for i in range(count))
    even = tuple(1.0 / count for _ in outcomes)
    return Finding("core/a", outcomes, 0, even, even, "itself")


def _row(rough: list[float]) -> tuple[float, ...]:
    return tuple(p / math.fsum(rough) for p in rough)


@given(st.integers(2, 6).flatmap(lambda n: st.lists(st.lists(chances, min_size=n, max_size=n), min_size=1, max_size=8)))
def test_the_odd_fault_lies_between_anything_and_the_known_ones(rough: list[list[float]]) -> None:
    """Its row totals one, is never below half of even chance, and never beyond the boldest known row."""
    rows = [_row(r) for r in rough]
    count = len(rows[0])
    odd = odd_row(_finding(count), [(1.0 / len(rows), r) for r in rows])

    assert math.fsum(odd) == pytest.approx(1.0)
    assert min(odd) >= (1.0 - ODD_LIKE_KNOWN) / count - 1e-12
    for outcome, chance in enumerate(odd):
        assert chance <= max(1.0 / count, *(r[outcome] for r in rows)) + 1e-12


def test_without_known_causes_the_odd_fault_may_do_anything() -> None:
    """With every cause ruled out nothing is expected, and each outcome is as likely."""
    assert odd_row(_finding(4), []) == (0.25, 0.25, 0.25, 0.25)


def test_something_else_shows_after_one_failed_remedy() -> None:
    """With the true cause left out of the rules, something else is among the first three, mostly after one remedy."""
    rulebook = load()
    seen = []
    for symptom in sorted(rulebook.symptoms):
        true, dice = world(rulebook, symptom, noisy=True, seed=2), random.Random(symptom)
        seen.append(play_strange(rulebook, true, "left out", 0.05, dice).other_in_three)

    assert sum(seen) >= 0.7 * len(seen)

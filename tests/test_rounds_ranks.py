"""Medians, slopes by pairs and their intervals, held against published examples and an independent library."""

import itertools
import math
import random

import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from troubleshoot.rounds.ranks import (
    Slope,
    every_pair,
    median,
    pairs_of,
    polish,
    slope,
    spread,
    sum_of_signs_variance,
    z_of,
)

NORRIS = """
0.1 0.2   338.8 337.4   118.1 118.2   888.0 884.6   9.2 10.1   228.1 226.5   668.5 666.3   998.5 996.3   449.1 448.6
778.9 777.0   559.2 558.2   0.3 0.4   0.1 0.6   778.1 775.5   668.8 666.9   339.3 338.0   448.9 447.5   10.8 11.6
557.7 556.0   228.3 228.1   998.0 995.8   888.8 887.6   119.6 120.2   0.3 0.3   0.6 0.3   557.6 556.8   339.3 339.1
888.0 887.2   998.5 999.0   778.9 779.0   10.2 11.1   117.6 118.3   228.9 229.2   668.4 669.1   449.2 448.9   0.2 0.5
"""
"""y and x of 36 ozone monitors: NIST statistical reference data set Norris (public domain), typed from memory and
proven right by the certified least-squares line below."""
NORRIS_SLOPE, NORRIS_START = 1.00211681802045, -0.262323073774029
SEN_X, SEN_Y = (1, 2, 3, 4, 10, 12, 18), (9, 15, 19, 20, 45, 55, 78)
"""The worked example of Sen 1968 (J. Amer. Statist. Assoc. 63), typed from memory."""
EIGHTHS = st.integers(-4000, 4000).map(lambda n: n / 8.0)
"""Figures whose sums are exact, so that rounding makes no two of them alike or unlike."""


def norris() -> tuple[list[float], list[float]]:
    """x and y of the reference data."""
    figures = [float(f) for f in NORRIS.split()]
    return figures[1::2], figures[0::2]


def slope_of(x: list[float], y: list[float], confidence: float = 0.95) -> Slope:
    """The slope over all pairs, which there is."""
    found = slope(x, y, confidence=confidence)
    assert found is not None
    return found


def test_the_example_of_sen_gives_his_slope_and_his_interval() -> None:
    """Slope 4, and 26/7 to 35/8 at 93 in 100, as printed in the paper."""
    found = slope_of(list(SEN_X), list(SEN_Y), 0.93)

    assert found.value == 4.0
    assert found.low == pytest.approx(26 / 7)
    assert found.high == pytest.approx(35 / 8)


def test_the_reference_data_are_typed_right_and_the_slope_lies_at_the_certified_one() -> None:
    """The certified line proves the typing; the slope by pairs and its interval hold the certified slope."""
    x, y = norris()

    line = scipy.stats.linregress(x, y)
    assert line.slope == pytest.approx(NORRIS_SLOPE, abs=1e-12)
    assert line.intercept == pytest.approx(NORRIS_START, abs=1e-9)
    found = slope_of(x, y)
    assert found.value == pytest.approx(NORRIS_SLOPE, abs=2e-4)
    assert found.low <= NORRIS_SLOPE <= found.high


@pytest.mark.parametrize("confidence", [0.90, 0.95, 0.99])
def test_slopes_and_intervals_equal_those_of_an_independent_library(confidence: float) -> None:
    """Also with equal values and equal days, on the reference data and on 60 random sets."""
    dice = random.Random(7)
    sets = [norris(), (list(map(float, SEN_X)), list(map(float, SEN_Y)))]
    for count in range(5, 35):
        sets.append(([dice.uniform(0, 2) for _ in range(count)], [dice.gauss(0, 1) for _ in range(count)]))
        days = [float(dice.randrange(10)) for _ in range(count - 1)]
        sets.append(([*days, 10.0], [float(dice.randrange(4)) for _ in range(count)]))
    for x, y in sets:
        ours, theirs = slope_of(x, y, confidence), scipy.stats.theilslopes(y, x, confidence)
        assert (ours.value, ours.low, ours.high) == pytest.approx((theirs[0], theirs[2], theirs[3]), abs=1e-12)


def test_agreement_and_chance_equal_kendalls() -> None:
    """Where no two values are alike, tau and its chance are those of an independent library."""
    dice = random.Random(11)
    for count in range(5, 40):
        x, y = [float(i) for i in range(count)], [dice.gauss(0.02 * i, 1) for i in range(count)]
        ours, theirs = slope_of(x, y), scipy.stats.kendalltau(x, y, method="asymptotic")
        assert ours.agree == pytest.approx(theirs[0])
        assert ours.chance == pytest.approx(theirs[1])


def test_the_variance_over_a_part_of_the_pairs_is_that_of_all_orders() -> None:
    """For any choice of pairs, worked out by trying all 720 orders of six values."""
    dice = random.Random(3)
    for _ in range(12):
        pairs = [p for p in itertools.combinations(range(6), 2) if dice.random() < 0.5]
        sums = [sum(1 if order[j] > order[i] else -1 for i, j in pairs) for order in itertools.permutations(range(6))]
        true = sum(s * s for s in sums) / len(sums)

        assert sum_of_signs_variance(6, pairs) == pytest.approx(true)


def test_the_variance_over_all_pairs_is_kendalls_formula() -> None:
    """n(n-1)(2n+5)/18 for all pairs of n points."""
    for count in range(2, 30):
        pairs = every_pair([float(i) for i in range(count)])

        assert sum_of_signs_variance(count, pairs) == pytest.approx(count * (count - 1) * (2 * count + 5) / 18)


@given(st.lists(EIGHTHS, min_size=5, max_size=14), EIGHTHS, EIGHTHS)
@settings(max_examples=60, deadline=None)
def test_a_slope_added_to_the_readings_is_added_to_the_slope(y: list[float], rise: float, start: float) -> None:
    """Adding a line to the values adds its slope to the slope, and to both ends of the interval where no two values
    are alike before or after."""
    x = [float(i) for i in range(len(y))]
    moved = [v + start + rise * t for t, v in zip(x, y, strict=True)]

    plain, tilted = slope_of(x, y), slope_of(x, moved)

    assert tilted.value == pytest.approx(plain.value + rise)
    if len(set(y)) == len(set(moved)) == len(y):
        assert tilted.low == pytest.approx(plain.low + rise)
        assert tilted.high == pytest.approx(plain.high + rise)


def test_a_quarter_of_wild_readings_does_not_turn_the_slope() -> None:
    """Five of twenty readings a thousand times too large leave the slope where it was."""
    x = [float(i) for i in range(20)]
    y = [2.0 * v + (1e3 if i in (0, 3, 8, 13, 18) else 0.0) for i, v in enumerate(x)]

    assert slope_of(x, y).value == pytest.approx(2.0)


def test_without_pairs_there_is_no_slope() -> None:
    """One day alone, or no pair that is wanted, gives nothing rather than a guess."""
    assert slope([1.0, 1.0], [2.0, 3.0]) is None
    assert slope([1.0, 2.0], [2.0, 3.0], pairs_of([1.0, 2.0], lambda i, j: i > j)) is None


def test_the_interval_holds_the_true_slope_as_often_as_it_says() -> None:
    """Of 400 simulated series with a known slope, 95 in 100 intervals hold it, within three standard errors."""
    dice, held = random.Random(5), 0
    for _ in range(400):
        x = sorted(dice.uniform(0, 2) for _ in range(15))
        found = slope_of(x, [0.7 * t + dice.gauss(0, 0.3) for t in x])
        held += found.low <= 0.7 <= found.high

    assert held / 400 == pytest.approx(0.95, abs=3 * math.sqrt(0.95 * 0.05 / 400))


def test_a_spread_of_normal_errors_is_their_standard_deviation() -> None:
    """The median deviation times 1.4826 is a standard deviation, and one wild value does not move it much."""
    dice = random.Random(2)
    values = [dice.gauss(10, 2) for _ in range(4001)]

    assert spread(values) == pytest.approx(2.0, rel=0.05)
    assert spread([*values, 1e9]) == pytest.approx(2.0, rel=0.05)


def test_what_rows_and_columns_share_is_swept_out() -> None:
    """Row and column effects of a table with gaps and a few wild cells are found again."""
    rows, columns = [3.0, 5.0, 9.0, 1.0, 4.0, 7.0], [0.0, 0.5, -0.5, 1.0, -1.0]
    table: list[list[float | None]] = [[r + c for c in columns] for r in rows]
    table[0][1], table[2][3], table[5][0] = 1e3, None, None

    found_rows, found_columns = polish(table)

    assert found_columns == pytest.approx(columns)
    assert found_rows == pytest.approx(rows)


def test_the_deviates_are_those_of_the_normal_law() -> None:
    """1.96 for 95 in 100 and 2.576 for 99, as in every table."""
    assert z_of(0.95) == pytest.approx(1.959964, abs=1e-6)
    assert z_of(0.99) == pytest.approx(2.575829, abs=1e-6)


def test_no_values_have_no_median() -> None:
    """An empty list is refused, not answered with zero."""
    assert median([3.0, 1.0, 2.0]) == 2.0
    assert median([4.0, 1.0, 2.0, 3.0]) == 2.5
    with pytest.raises(ValueError, match="no values"):
        median([])

"""The door to the physics: limits, expected ranges, comparisons and meter errors."""

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.electrics import (
    QUANTITIES,
    ReadingSpec,
    compare,
    expected,
    limits,
    meter_error,
    quantity,
)
from troubleshoot.layout import EMPTY, Layout, Place, unnamed

BLOCK = unnamed("block")
LEAK = ReadingSpec(
    "ohm",
    (
        ("below-limit", 1.0, "leak-limit", None),
        ("marginal", 3.0, "leak-limit", None),
        ("sound", 1.0, None, None),
    ),
    ("sound",),
)


@pytest.fixture(scope="module")
def yard(club: Layout) -> Place:
    """A yard block of the club."""
    return club.place("yard-2")


def test_the_limits_of_a_leak(club: Layout, yard: Place) -> None:
    """5 and 15 kohm at the yard, from the record alone, with the formula in words."""
    found = limits(club, yard, LEAK)

    assert found.edges == pytest.approx((5e3, 15e3))
    assert found.assumed == ()
    assert found.formulas == (
        "leak limit = track volts (less the drop of diodes) / threshold",
        "3 x leak limit = 3 x (track volts (less the drop of diodes) / threshold)",
    )


def test_limits_from_bare_bands_are_the_same(club: Layout, yard: Place) -> None:
    """A check's bands do as well as a whole reading."""
    assert limits(club, yard, LEAK.bands) == limits(club, yard, LEAK)


@pytest.mark.parametrize(
    ("who", "low", "high"),
    [
        ("healthy", 15e3, math.inf),
        ("below-limit", 0.0, 5e3),
        ("marginal", 5e3, 15e3),
        ("sound", 15e3, math.inf),
    ],
)
def test_what_healthy_and_faulty_read(club: Layout, yard: Place, *, who: str, low: float, high: float) -> None:
    """Each outcome has its range."""
    found = expected(club, yard, LEAK, who)

    assert (found.low, found.high) == pytest.approx((low, high))
    assert found.unit == "ohm"
    assert found.formula
    assert found.data


def test_several_healthy_outcomes_make_one_range(club: Layout, yard: Place) -> None:
    """From the lowest healthy band to the highest."""
    reading = ReadingSpec(LEAK.unit, LEAK.bands, ("sound", "marginal"))

    assert expected(club, yard, reading).low == pytest.approx(5e3)


def test_an_outcome_the_reading_does_not_have(club: Layout, yard: Place) -> None:
    """The text names those that it has."""
    with pytest.raises(ValueError, match="below-limit, marginal, sound"):
        expected(club, yard, LEAK, "purple")


def test_a_reading_just_outside_still_holds(club: Layout, yard: Place) -> None:
    """The meter's tolerance counts, a real difference does not."""
    healthy = expected(club, yard, LEAK)

    assert healthy.holds(14.6e3)
    assert not healthy.holds(12e3)


def test_plain_limits_and_quantities_mix(club: Layout, yard: Place) -> None:
    """A plain limit is taken as it stands."""
    bands = (("low", 1.0, "leak-limit", None), ("leaky", 1.0, None, 1e5), ("sound", 1.0, None, None))

    assert limits(club, yard, bands).edges == pytest.approx((5e3, 1e5))


def test_limits_never_fall(club: Layout, yard: Place) -> None:
    """Where a later limit would lie below an earlier one, its band is empty."""
    bands = (("a", 1.0, "leak-limit", None), ("b", 1.0, None, 1e3), ("c", 1.0, None, None))

    assert limits(club, yard, bands).edges == pytest.approx((5e3, 5e3))


def test_drops_in_true_volts_are_shown_as_the_ac_range_does(club: Layout, yard: Place) -> None:
    """On a 1 kHz average meter 0.75 V of drop shows as 75 mV on AC, and as 0.75 V behind a bridge on DC."""
    bands = (("fine", 1.0, "drop-limit", None), ("too-much", 1.0, None, None))

    assert limits(club, yard, bands, "V DC").edges == pytest.approx((0.75,))
    assert limits(club, yard, bands, "V AC").edges == pytest.approx((0.0755,), abs=1e-3)


def test_a_rough_quantity_makes_a_soft_limit(club: Layout) -> None:
    """A joint's limit hangs on a train's current and is known by a factor of two."""
    bands = (("below", 1.0, "joint-leak-limit", None), ("sound", 1.0, None, None))
    found = limits(club, club.place("yard-2/yard-3"), bands)

    assert 0.2 < found.spread[0] < 1.0
    assert "current of a train" in found.assumed


def test_without_a_record_everything_is_assumed() -> None:
    """The empty layout still gives limits, marked as assumed."""
    found = limits(EMPTY, BLOCK, LEAK)

    assert found.edges[0] > 0.0
    assert "track volts" in found.assumed


@given(st.sampled_from(sorted(QUANTITIES)), st.floats(0.1, 10.0), st.floats(0.1, 10.0))
def test_edges_rise_for_any_bands(name: str, first: float, second: float) -> None:
    """Whatever the factors, limits come in rising order and are one fewer than the bands."""
    bands = (("a", first, name, None), ("b", second, name, None), ("c", 1.0, None, None))
    edges = limits(EMPTY, BLOCK, bands).edges

    assert len(edges) == 2
    assert edges[0] <= edges[1]


@pytest.mark.parametrize(
    ("ohms", "count", "within"),
    [(10.2e3, 1, True), (5.1e3, 2, True), (3.3e3, 3, True), (7.5e3, 1, False), (40e3, 1, False)],
)
def test_forgotten_axles(club: Layout, yard: Place, *, ohms: float, count: int, within: bool) -> None:
    """A leak reading is held against whole numbers of 10 kohm axles."""
    found = compare("resistor-axles", club, yard, ohms)

    assert found
    assert (found.count, found.within) == (count, within)
    assert found.value == pytest.approx(10e3 / count)


def test_many_axles_prove_nothing(club: Layout, yard: Place) -> None:
    """Any low reading is near some number of axles, and the text says so."""
    found = compare("resistor-axles", club, yard, 1030.0)

    assert found
    assert "any reading this low" in found.says


def test_a_filter_is_told_by_its_current(club: Layout, yard: Place) -> None:
    """80 mA is what a filter draws, 4 mA is a leak."""
    filtered, leak = (compare("filter-current", club, yard, amps) for amps in (0.080, 0.004))

    assert filtered
    assert leak
    assert filtered.within
    assert not leak.within


@pytest.mark.parametrize("value", [0.0, math.inf, -1.0, 1.0])
def test_comparisons_that_say_nothing(club: Layout, yard: Place, value: float) -> None:
    """Zero, over range and a dead short are no number of axles."""
    assert compare("resistor-axles", club, yard, value) is None


def test_meters_err_more_on_ac(club: Layout) -> None:
    """Ohms and DC by 3 %, AC on the track signal by 10 %, and AC amps more without a true-RMS meter."""
    assert meter_error(club, "ohm") == meter_error(club, "V DC") == pytest.approx(0.03)
    assert meter_error(club, "V AC") == pytest.approx(0.10)
    assert meter_error(club, "mA AC") > 0.10
    assert all(meter_error(EMPTY, unit) > 0.0 for unit in ("mm", "s", "nF", "count", "%", "C", "min"))


def test_working_it_out_twice_is_free(club: Layout, yard: Place) -> None:
    """A quantity of a layout is worked out once."""
    assert quantity("leak-limit", club, yard) is quantity("leak-limit", club, yard)


def test_the_physics_imports_no_heavy_library() -> None:
    """Importing the electrics brings in no pydantic, numpy or scipy."""
    code = (
        "import sys, troubleshoot.electrics;"
        "print([m for m in ('pydantic', 'numpy', 'scipy', 'experta', 'rich') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "[]"

"""Leaks, joints and axles: the trade's own figures, and formulas that hold together."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.electrics import leaks

ohms = st.floats(1.0, 1e7)
volts = st.floats(8.5, 22.0)
thresholds = st.floats(2e-4, 2e-2)


@pytest.mark.parametrize(("milliamps", "kilohms"), [(0.5, 30.0), (1.0, 15.0), (2.0, 7.5), (5.0, 3.0), (10.0, 1.5)])
def test_the_leak_that_a_coil_detector_reports_at_15_volts(milliamps: float, kilohms: float) -> None:
    """At 15 V the leak limit is 15 V divided by the threshold."""
    assert leaks.leak_limit(leaks.volts_seen(15.0), milliamps * 1e-3) == pytest.approx(kilohms * 1e3)


def test_a_diode_drop_detector_sees_its_own_drop_less() -> None:
    """Behind diodes only 14.3 of 15 V drive the leak."""
    seen = leaks.volts_seen(15.0, leaks.DIODE_VOLTS)

    assert leaks.leak_limit(seen, 1e-3) == pytest.approx(14.3e3)


def test_two_passes_halve_the_threshold_and_double_the_limit() -> None:
    """A wire twice through the coil makes the detector twice as sensitive."""
    once = leaks.leak_limit(15.0, leaks.threshold_with_passes(0.003, 1))

    assert leaks.leak_limit(15.0, leaks.threshold_with_passes(0.003, 2)) == pytest.approx(2.0 * once)


@pytest.mark.parametrize(("length", "milliamps"), [(1.0, 0.5), (3.0, 1.5), (10.0, 5.0)])
def test_the_same_ballast_leaks_more_in_a_long_block(length: float, milliamps: float) -> None:
    """Ballast of 30 kohm metres passes in a short block and fails in a long one."""
    assert leaks.leak_current(15.0, leaks.ballast_leak(30e3, length)) == pytest.approx(milliamps * 1e-3)


@pytest.mark.parametrize(
    ("across", "milliamps", "limit"),
    [(0.7, 2.0, 350.0), (0.7, 1.0, 700.0), (0.05, 2.0, 25.0), (1.0, 2.0, 500.0), (15.0, 2.0, 7500.0)],
)
def test_a_joint_matters_by_the_volts_across_it(across: float, milliamps: float, limit: float) -> None:
    """Diode drop, feeder drop, unequal boosters and opposite phase each have their own limit."""
    assert leaks.joint_limit(across, milliamps * 1e-3) == pytest.approx(limit)


def test_a_half_amp_train_drops_50_millivolts_on_a_tenth_of_an_ohm() -> None:
    """The feeder drop of the train next door is what a leaking joint feels."""
    assert leaks.feeder_drop(0.5, 0.1) == pytest.approx(0.05)


def test_a_leaky_joint_of_20_kilohm_between_neighbours_in_phase_is_left_alone() -> None:
    """In phase a joint far above its limit cannot show a train next door, so nobody should cut it."""
    assert not leaks.safe_to_cut(20e3, 25.0, in_phase=True)
    assert leaks.safe_to_cut(20e3, 7.5e3, in_phase=False)


def test_a_joint_of_no_resistance_passes_half_of_the_train_next_door() -> None:
    """Equal feeders share a train evenly over a closed joint."""
    assert leaks.share_of_neighbours_train(0.1, 0.0, 0.1) == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("axle", "milliamps", "milliwatts"), [(10e3, 1.4, 19.6), (4.7e3, 2.98, 41.7), (1e3, 14.0, 196.0)]
)
def test_axles_at_14_volts(axle: float, milliamps: float, milliwatts: float) -> None:
    """Current and heat of the usual axle resistors."""
    assert leaks.axle_current(14.0, axle) == pytest.approx(milliamps * 1e-3, rel=0.01)
    assert leaks.axle_power(14.0, axle) == pytest.approx(milliwatts * 1e-3, rel=0.01)


def test_axle_resistors_have_a_least_and_a_most() -> None:
    """Heat sets the least resistance, the threshold the most; where they cross two axles are needed."""
    assert leaks.least_axle_ohms(15.0, 0.0625) == pytest.approx(7200.0)
    assert leaks.most_axle_ohms(15.0, 0.003) == pytest.approx(3333.3, rel=1e-4)


def test_test_resistors_straddle_the_threshold() -> None:
    """The load that must be seen draws three times that of the load that must not."""
    assert leaks.load_unseen(15.0, 0.003) == pytest.approx(10e3)
    assert leaks.load_seen(15.0, 0.003) == pytest.approx(10e3 / 3.0)


def test_sixty_cars() -> None:
    """Sixty cars with one 10 kohm axle take 90 mA of a district."""
    assert leaks.cars_current(60, 1, 15.0, 10e3) == pytest.approx(0.090)


def test_a_sneak_feed_takes_the_train_from_the_detector() -> None:
    """A solid second feed leaves the detector nearly nothing."""
    assert leaks.share_past_sneak_path(0.001, 0.1) < 0.01


def test_both_bus_wires_through_one_coil_cancel() -> None:
    """Out and back through the same coil adds to nothing."""
    assert leaks.net_through_coil((0.5, -0.5)) == 0.0


def test_undetected_rail_beside_diodes_hides_a_train_up_to_the_knee() -> None:
    """With 0.1 ohm of undetected rail up to 6 A go round the diodes."""
    assert leaks.knee_current(0.1) == pytest.approx(6.0)
    assert leaks.detector_drop(2) == pytest.approx(1.4)


@given(volts, thresholds)
def test_a_leak_at_its_limit_draws_just_the_threshold(track: float, threshold: float) -> None:
    """Limit and current are one formula read both ways."""
    assert leaks.leak_current(track, leaks.leak_limit(track, threshold)) == pytest.approx(threshold)


@given(st.lists(ohms, min_size=1, max_size=6))
def test_side_by_side_is_below_the_smallest(many: list[float]) -> None:
    """Leaks in parallel read lower than any of them."""
    assert leaks.in_parallel(many) <= min(many) * (1.0 + 1e-12)


@given(ohms, st.integers(1, 30))
def test_a_reading_of_n_axles_is_told_as_n(axle: float, count: int) -> None:
    """The nearest whole number of axles is the one that was put there."""
    assert leaks.axles_for(leaks.equal_in_parallel(axle, count), axle) == count


def test_no_axles_read_nothing() -> None:
    """Zero ohms are no number of axles."""
    with pytest.raises(ValueError, match="above 0"):
        leaks.axles_for(0.0, 10e3)

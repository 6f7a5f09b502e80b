"""Trips, drops, gaps, bridging, sections and charging against the trade's figures."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.electrics import cables, meters, power

# ohm per metre of gauges 14, 16, 18, 22, one metre each; 0.3 m of gauge 22 as drop, 0.5 m of code 100 rail
BUS = (14, 16, 18, 22)


def _loop(gauge: int, length: float, contact: float = 0.15) -> float:
    return power.loop_resistance(
        bus=cables.loop_ohms(length, cables.awg_ohms_per_metre(gauge)),
        feeder=cables.loop_ohms(0.3, cables.awg_ohms_per_metre(22)),
        rail=cables.loop_ohms(0.5, 0.057),
        contact=contact,
    )


@pytest.mark.parametrize(("length", "ohms"), [(10.0, (0.40, 0.50, 0.66, 1.30)), (20.0, (0.57, 0.77, 1.08, 2.36))])
def test_loops_by_gauge_and_length(length: float, ohms: tuple[float, ...]) -> None:
    """The loop of bus, drop and rail, with 0.15 ohm of source and contact."""
    assert [_loop(g, length) for g in BUS] == pytest.approx(ohms, abs=0.02)


@pytest.mark.parametrize(("trip", "ohms"), [(5.0, 2.0), (2.5, 4.0)])
def test_the_loop_that_still_trips(trip: float, ohms: float) -> None:
    """At 15 V a 5 A breaker needs 2 ohm or less, a 2.5 A breaker 4 ohm."""
    assert power.loop_limit(15.0, trip) == pytest.approx(ohms)
    assert power.short_margin(15.0, ohms, trip) == pytest.approx(power.TRIP_MARGIN)


def test_a_five_amp_trip_at_the_plain_reach_rule() -> None:
    """With a margin of 1.25 at 14.5 V a 5 A trip reaches 2.3 ohm."""
    assert power.loop_limit(14.5, 5.0, margin=1.25) == pytest.approx(2.32)
    assert power.short_current(14.5, 2.0) == pytest.approx(7.25)


def test_thermal_links_are_slow() -> None:
    """At twice the hold current a thermal link takes a quarter of its time at the hold current."""
    assert power.thermal_trip_time(8.0, 10.0, 5.0) == pytest.approx(2.0)


def test_a_breaker_acts_before_its_booster() -> None:
    """Trip and delay must both lie below the booster's."""
    assert power.ordered(3.5, 0.012, 5.0, 0.2) == (True, True)
    assert power.ordered(4.5, 0.120, 5.0, 0.2) == (False, False)


@pytest.mark.parametrize(("gauge", "volts"), [(14, 1.56), (16, 2.15), (18, 3.1), (22, 6.9)])
def test_three_amps_over_twenty_metres(gauge: int, volts: float) -> None:
    """Drop at the end of a 20 m bus."""
    assert power.drop(3.0, _loop(gauge, 20.0, 0.1)) == pytest.approx(volts, rel=0.04)


def test_drop_rules() -> None:
    """Five per cent at full load, half for a spread load, I r s/2 between two feeds, dV/I for a joint."""
    assert power.drop_limit(14.0) == pytest.approx(0.7)
    assert power.spread_load_drop(3.0, 0.4) == pytest.approx(0.6)
    assert power.rail_drop_between_feeds(3.0, 0.1, 2.0) == pytest.approx(0.3)
    assert power.contact_ohms(3.0, 0.3) == pytest.approx(10.0)


@pytest.mark.parametrize(("current", "watts"), [(5.0, 62.5), (2.5, 34.4)])
def test_heat_below_the_trip(current: float, watts: float) -> None:
    """A fault just under the trip draws tens of watts."""
    assert power.fault_heat(15.0, current, 0.5) == pytest.approx(watts, abs=0.1)


@given(st.floats(8.0, 22.0), st.floats(0.05, 5.0), st.floats(0.0, 1.0))
def test_no_fault_is_hotter_than_the_matched_one(volts: float, loop: float, share: float) -> None:
    """V^2/4R is the greatest heat at any current."""
    assert power.fault_heat(volts, share * volts / loop, loop) <= power.most_fault_heat(volts, loop) * (1 + 1e-9)


def test_gap_volts_in_phase() -> None:
    """In phase only the difference of settings and one detector's drop stand across a gap."""
    assert power.gap_volts_in_phase(15.0, 15.0) == 0.0
    assert power.gap_volts_in_phase(15.0, 14.5, 0.7) == pytest.approx(1.2)


def test_gap_volts_out_of_phase() -> None:
    """Common reference splits 2V over both gaps; a common rail puts it all on one."""
    assert power.gap_volts_out_of_phase(15.0, 15.0, "common") == pytest.approx(15.0)
    assert power.gap_volts_out_of_phase(15.0, 15.0, "common", common_rail=True) == pytest.approx(30.0)
    assert power.gap_volts_out_of_phase(15.0, 15.0, "isolated") == pytest.approx(30.0)


def test_bridging_wheels() -> None:
    """Half a volt over 0.3 ohm drives 1.7 A, opposed boosters 2V/R; a 2 us skew is 3.4 % of the time."""
    assert power.circulating_current(15.0, 14.5, 0.3) == pytest.approx(1.67, abs=0.01)
    assert power.skew_share(2e-6, 1.0 / 58e-6) == pytest.approx(0.034, abs=0.001)
    assert power.opposed_bridge_current(15.0, 0.5, two_boosters=True) == pytest.approx(60.0)
    assert power.opposed_bridge_current(15.0, 0.5, two_boosters=False) == pytest.approx(30.0)


def test_sections_and_bridging_time() -> None:
    """A section outreaches its longest train; a bogie bridges for 100 ms, a single wheel for a few."""
    assert power.least_section(2.0, 0.04, 0.001) == pytest.approx(2.041)
    assert power.bridging_time(0.030, 0.3) == pytest.approx(0.1)
    assert power.bridging_time(0.0005, 0.3) == pytest.approx(0.0017, abs=1e-4)


@pytest.mark.parametrize(("count", "each", "milliseconds"), [(10, 220e-6, 6.6), (20, 470e-6, 28.2), (40, 470e-6, 56.4)])
def test_charging_at_switch_on(count: int, each: float, milliseconds: float) -> None:
    """Storage holds the district at its limit for C V/I."""
    assert power.charge_time(count * each, 15.0, 5.0) == pytest.approx(milliseconds * 1e-3)


def test_charging_that_never_ends() -> None:
    """With nothing to spare the capacitors never fill."""
    assert power.charge_time(1e-3, 15.0, 2.0, 2.0) == math.inf


def test_charge_resistors_and_starting_sound() -> None:
    """Twelve locos with 100 ohm take 1.6 A more; ten that start together some amps."""
    assert power.limited_charge_current(12, 15.0, 100.0) == pytest.approx(1.6, abs=0.05)
    assert power.limited_charge_time(100.0, 470e-6) == pytest.approx(0.141)
    assert power.starting_current(10, 0.3) == pytest.approx(3.0)


def test_low_ohms_by_two_loads() -> None:
    """Two loads cancel the source's sag; the ratio of one load cancels the meter's factor."""
    far = meters.ohms_by_loads(14.8, 14.2, 0.5, 1.5)
    near = meters.ohms_by_loads(14.9, 14.7, 0.5, 1.5)

    assert meters.line_ohms(far, near) == pytest.approx(0.4)
    assert meters.ohms_by_ratio(10.0, 16.7, 15.9) == pytest.approx(10.0 * (16.7 / 15.9 - 1.0))


def test_the_feeder_ladder() -> None:
    """Three loads along a bus, as a circuit simulator finds them."""
    taps = power.ladder(15.0, 0.05, [(0.0829, 10.0)] * 3)

    assert taps == pytest.approx((14.4324, 14.1979, 14.0812), abs=1e-4)

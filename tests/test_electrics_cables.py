"""Wire, rail, capacitance, filters and ringing against tables and the trade's figures."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.electrics import cables, waves

MM2 = 1e-6
ONES = waves.edges_per_second()
MIXED = waves.edges_per_second(waves.MIXED_HALF_BIT)


@pytest.mark.parametrize(("gauge", "milliohms"), [(10, 3.28), (14, 8.28), (18, 20.9), (22, 52.9), (26, 134.0)])
def test_wire_by_gauge(gauge: int, milliohms: float) -> None:
    """Handbook resistance per metre."""
    assert cables.awg_ohms_per_metre(gauge) == pytest.approx(milliohms * 1e-3, rel=5e-3)


@pytest.mark.parametrize(("mm2", "milliohms"), [(0.5, 34.5), (1.5, 11.5), (2.5, 6.9), (4.0, 4.3)])
def test_wire_by_area(mm2: float, milliohms: float) -> None:
    """Plain copper by cross-section."""
    assert cables.ohms_per_metre(mm2 * MM2) == pytest.approx(milliohms * 1e-3, rel=5e-3)


@pytest.mark.parametrize("kind", list(cables.IEC_60228))
def test_the_standard_table_allows_more_than_ideal_copper(kind: str) -> None:
    """Every size of the table is a maximum above plain copper."""
    for size in cables.IEC_60228[kind]:
        assert cables.most_ohms_per_metre(size * MM2, kind) > cables.ohms_per_metre(size * MM2) * 0.999


def test_a_size_between_the_table_follows_the_nearest() -> None:
    """2 mm2 lies between 1.5 and 2.5 mm2."""
    assert 7.98e-3 < cables.most_ohms_per_metre(2.0 * MM2) < 13.3e-3


def test_rail_is_taken_in_the_middle_of_its_band() -> None:
    """Code 100 rail is near 0.09 ohm a metre, finer rail more."""
    by_code = [cables.rail_ohms_per_metre(code) for code in (100, 83, 70, 55)]

    assert by_code == sorted(by_code)
    assert by_code[0] == pytest.approx(math.sqrt(0.05 * 0.15))


@pytest.mark.parametrize(("length", "kelvin", "millimetres"), [(3.0, 15.0, 0.765), (5.0, 25.0, 2.125)])
def test_warm_rail_closes_gaps(length: float, kelvin: float, millimetres: float) -> None:
    """Free rail grows by its length and warmth."""
    assert cables.gap_closing(length, kelvin, 0.0) == pytest.approx(millimetres * 1e-3)


def test_a_dry_base_closes_gaps_too() -> None:
    """Three metres of plywood shrink by 2.4 mm when the air dries by 40 %."""
    assert cables.base_shrinkage(3.0, 40.0) == pytest.approx(2.4e-3)


def test_a_bus_with_wires_apart_has_more_reactance_than_resistance() -> None:
    """Ten metres of gauge 14 at 10 mm have 0.54 ohm of reactance and 0.166 ohm of resistance."""
    inductance = cables.line_inductance(10e-3, cables.awg_diameter(14)) * 10.0

    assert cables.reactance(inductance, waves.ALL_ONES) == pytest.approx(0.54, abs=0.01)
    assert cables.loop_ohms(10.0, cables.awg_ohms_per_metre(14)) == pytest.approx(0.166, abs=0.001)


def test_wires_a_hand_apart_have_little_capacitance() -> None:
    """In free air 5 to 8 pF a metre."""
    assert 5e-12 < cables.open_pair_capacitance(0.1, 0.5e-3) < 8e-12


@pytest.mark.parametrize(("edges", "milliamps"), [(ONES, 0.52), (MIXED, 0.38)])
def test_a_nanofarad_before_an_averaging_detector(edges: float, milliamps: float) -> None:
    """0.52 mA per nF at all ones, 0.38 mA at mixed bits, at 15 V."""
    current = waves.average_capacitance_current(15.0, 1e-9, edges)

    assert current == pytest.approx(milliamps * 1e-3, rel=0.01)


def test_the_same_feeder_by_kind_of_detector() -> None:
    """Twenty metres of 100 pF a metre: 1 mA averaged, 30 mA peak, 5.6 mA true RMS."""
    farads = waves.cable_capacitance(100e-12, 20.0)

    assert waves.capacitance_current("averaging", 15.0, farads, ONES) == pytest.approx(1.03e-3, rel=0.01)
    assert waves.capacitance_current("peak", 15.0, farads, ONES) == pytest.approx(30e-3, rel=0.01)
    assert waves.capacitance_current("rms", 15.0, farads, ONES) == pytest.approx(5.6e-3, rel=0.01)
    assert waves.peak_capacitance_current(1e-9) == pytest.approx(2.5e-3)


def test_the_usual_filter_before_a_detector() -> None:
    """100 ohm and 0.1 uF at 15 V: 52 mA averaged, 0.3 A peak, 88 mA RMS."""
    assert waves.filter_average_current(15.0, 100.0, 1e-7) == pytest.approx(52e-3, rel=0.02)
    assert waves.filter_peak_current(15.0, 100.0, 1e-7) == pytest.approx(0.30, rel=0.01)
    assert waves.filter_rms_current(15.0, 100.0, 1e-7, waves.ZERO_HALF_BIT) == pytest.approx(67e-3, rel=0.01)
    assert waves.filter_heat(15.0, 100.0, 1e-8) == pytest.approx(0.078, rel=0.01)


@pytest.mark.parametrize(("track", "watts"), [(12.0, 0.50), (15.0, 0.78), (18.0, 1.1), (22.0, 1.7)])
def test_filter_heat_by_track_volts(track: float, watts: float) -> None:
    """The short-time estimate grows with the square of the volts."""
    assert waves.filter_heat_estimate(track, 1e-7, ONES) == pytest.approx(watts, rel=0.03)


def _stepped(volts: float, ohms: float, farads: float, half: float) -> tuple[float, float]:
    """Mean of |I| and RMS of I by time steps over many half-bits: an independent reckoning."""
    steps, charge, square = 4000, 0.0, 0.0
    across, step = 0.0, half / 4000
    for n in range(20):
        side = volts if n % 2 == 0 else -volts
        charge = square = 0.0
        for _ in range(steps):
            current = (side - across) / ohms
            across += current * step / farads
            charge += abs(current) * step
            square += current * current * step
    return charge / half, math.sqrt(square / half)


@pytest.mark.parametrize(("ohms", "farads"), [(100.0, 1e-7), (1000.0, 1e-7), (220.0, 4.7e-8)])
def test_the_exact_filter_agrees_with_time_steps(ohms: float, farads: float) -> None:
    """The closed steady response equals a step-by-step simulation."""
    average, rms = _stepped(15.0, ohms, farads, waves.ONE_HALF_BIT)

    assert waves.filter_average_current(15.0, ohms, farads) == pytest.approx(average, rel=5e-3)
    assert waves.filter_rms_current(15.0, ohms, farads) == pytest.approx(rms, rel=5e-3)


@given(st.floats(8.0, 22.0), st.floats(10.0, 1e4), st.floats(1e-9, 1e-6))
def test_filter_heat_stays_below_its_estimate(volts: float, ohms: float, farads: float) -> None:
    """C (2V)^2 f is an upper estimate whatever the parts."""
    assert waves.filter_heat(volts, ohms, farads) <= waves.filter_heat_estimate(volts, farads, ONES) * (1 + 1e-9)


@given(st.floats(8.0, 22.0), st.floats(10.0, 1e4), st.floats(1e-9, 1e-6))
def test_average_rms_and_peak_come_in_this_order(volts: float, ohms: float, farads: float) -> None:
    """The mean of a current is never above its RMS, nor the RMS above its peak."""
    average = waves.filter_average_current(volts, ohms, farads)
    rms = waves.filter_rms_current(volts, ohms, farads)

    assert average <= rms * (1 + 1e-9)
    assert rms <= waves.filter_peak_current(volts, ohms, farads) * (1 + 1e-9)


def test_a_twenty_metre_bus_rings_at_two_and_a_half_megahertz() -> None:
    """First ringing and the spike of an opening breaker."""
    assert waves.ringing_frequency(20.0) == pytest.approx(2.5e6)
    assert waves.stored_in_inductance(14e-6, 5.0) == pytest.approx(175e-6)
    assert waves.opening_spike(5.0, 14e-6, 2e-9) == pytest.approx(418.0, rel=0.01)


def test_an_end_of_bus_filter_turns_every_edge_into_heat() -> None:
    """0.1 uF at 14.5 V: 42 uJ an edge, up to 0.72 W."""
    energy = waves.edge_energy(14.5, 1e-7)

    assert energy == pytest.approx(42e-6, rel=0.01)
    assert energy * ONES == pytest.approx(0.72, abs=0.01)

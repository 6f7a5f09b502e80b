"""Coils, capacitor units, inputs, cables, lamps and programming against the trade's tables."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.electrics import accessories as acc
from troubleshoot.electrics import power


@pytest.mark.parametrize(
    ("farads", "volts", "joules", "recovery"),
    [
        (2200e-6, 16.0, 0.28, (3.1, 0.66, 0.35)),
        (4700e-6, 22.0, 1.14, (6.6, 1.4, 1.03)),
        (10000e-6, 22.0, 2.42, (14.1, 3.0, 2.2)),
        (10000e-6, 30.0, 4.50, (14.1, 3.0, 3.0)),
    ],
)
def test_capacitor_units(farads: float, volts: float, joules: float, recovery: tuple[float, ...]) -> None:
    """Energy, and recovery through 470 ohm, 100 ohm and 0.1 A."""
    times = (
        acc.recovery_time(470.0, farads),
        acc.recovery_time(100.0, farads),
        acc.recovery_time_at_current(farads, volts, 0.1),
    )

    assert power.capacitor_energy(farads, volts) == pytest.approx(joules, rel=0.01)
    assert times == pytest.approx(recovery, rel=0.02)


def test_routes_of_coils() -> None:
    """The next coil a second later has 78 % of the energy; coils go one after another or few at once."""
    assert acc.recovered_energy_share(1.0, 100.0, 4700e-6) == pytest.approx(0.78, abs=0.01)
    assert acc.route_time(4, 100.0, 4700e-6) == pytest.approx(3 * 1.41)
    assert acc.route_time(1, 100.0, 4700e-6) == 0.0
    assert acc.coils_at_once(2.42, 0.5) == 3


@given(st.floats(0.0, 60.0), st.floats(0.0, 60.0))
def test_a_capacitor_unit_only_ever_gains(first: float, more: float) -> None:
    """Waiting longer never leaves less energy, and never more than all."""
    before = acc.recovered_energy_share(first, 100.0, 4700e-6)

    assert before <= acc.recovered_energy_share(first + more, 100.0, 4700e-6) <= 1.0


@pytest.mark.parametrize(
    ("ohms", "amps", "watts", "milliseconds"),
    [
        (4, 4.0, 64, 19),
        (6, 2.7, 43, 28),
        (8, 2.0, 32, 38),
        (10, 1.6, 26, 47),
        (18, 0.89, 14, 85),
        (36, 0.44, 7, 169),
    ],
)
def test_coils_at_16_volts(ohms: float, amps: float, watts: float, milliseconds: float) -> None:
    """Current, heat and pulse length of the usual coils."""
    assert acc.coil_current(16.0, ohms) == pytest.approx(amps, rel=0.02)
    assert acc.coil_power(16.0, ohms) == pytest.approx(watts, rel=0.02)
    assert acc.time_constant(ohms, 4700e-6) == pytest.approx(milliseconds * 1e-3, rel=0.02)


def test_a_held_coil_burns_and_a_pulse_does_not() -> None:
    """Eight grams of copper warm 100 K in 9.6 s at 32 W, and a third of a kelvin by one capacitor pulse."""
    assert 100.0 / acc.heating_rate(32.0, 8e-3) == pytest.approx(9.6, abs=0.1)
    assert acc.heating_rate(1.14, 8e-3) == pytest.approx(0.37, abs=0.01)


def test_stall_motors() -> None:
    """18.5 mA stalled, 15.2 mA with a lamp in series, 0.37 A for twenty."""
    assert acc.stall_current(12.0, 650.0) == pytest.approx(18.5e-3, abs=1e-4)
    assert acc.stall_current(12.0, 650.0, 2.1) == pytest.approx(15.2e-3, abs=1e-4)
    assert 20 * acc.stall_current(12.0, 650.0) == pytest.approx(0.37, abs=0.01)


@pytest.mark.parametrize(
    ("pull_up", "contact", "leak", "milliamps"),
    [
        (2.2e3, 943, 5.1e3, 2.3),
        (4.7e3, 2.0e3, 11e3, 1.06),
        (10e3, 4.3e3, 23e3, 0.5),
        (47e3, 20e3, 110e3, 0.11),
    ],
)
def test_feedback_inputs(pull_up: float, contact: float, leak: float, milliamps: float) -> None:
    """Contact and leak limits and wetting current of a 5 V input by its pull-up."""
    low, high = acc.input_low_limit(5.0), acc.input_high_limit(5.0)

    assert acc.contact_limit(pull_up, low, 5.0) == pytest.approx(contact, rel=0.02)
    assert acc.wire_leak_limit(pull_up, high, 5.0) == pytest.approx(leak, rel=0.02)
    assert acc.wetting_current(5.0, pull_up) == pytest.approx(milliamps * 1e-3, rel=0.04)


def test_inputs_of_other_levels() -> None:
    """3.3 V with 0.8 and 2.0 V limits; a kilohm in series with 2.2 kohm is no sure low."""
    assert acc.contact_limit(10e3, 0.8, 3.3) == pytest.approx(3.2e3)
    assert acc.wire_leak_limit(10e3, 2.0, 3.3) == pytest.approx(15.4e3, rel=0.01)
    assert acc.input_volts(5.0, 2.2e3, 1e3) == pytest.approx(1.56, abs=0.01)
    assert acc.time_constant(10e3, 100e-9) == pytest.approx(1e-3)


@given(st.floats(1.0, 30.0), st.floats(100.0, 1e6))
def test_at_its_limit_a_contact_stands_at_the_low_level(supply: float, pull_up: float) -> None:
    """Contact limit and input volts are one formula read both ways."""
    low = acc.input_low_limit(supply)

    assert acc.input_volts(supply, pull_up, acc.contact_limit(pull_up, low, supply)) == pytest.approx(low)


@pytest.mark.parametrize(
    ("per_metre", "count", "volts"),
    [
        (0.134, 4, 0.50),
        (0.134, 8, 0.90),
        (0.134, 12, 1.31),
        (0.213, 4, 0.80),
        (0.213, 8, 1.44),
        (0.213, 12, 2.08),
    ],
)
def test_thirty_metres_of_bus_cable(per_metre: float, count: int, volts: float) -> None:
    """Evenly spaced devices of 25 mA each."""
    assert acc.cable_drop(per_metre, 30.0, count, 0.025) == pytest.approx(volts, abs=0.01)


def test_the_common_is_lifted_by_half_the_drop() -> None:
    """Twelve devices on thin cable lift the far common above a logic low; one radio base drops 1.9 V."""
    assert acc.common_shift(acc.cable_drop(0.213, 30.0, 12, 0.025)) == pytest.approx(1.04, abs=0.01)
    assert acc.cable_drop(0.213, 30.0, 1, 0.150, evenly=False) == pytest.approx(1.92, abs=0.01)


def test_feeding_a_bus_in_its_middle() -> None:
    """Half the length and half the devices leave about a quarter of the drop."""
    whole, half = (acc.cable_drop(0.134, length, n, 0.025) for length, n in ((30.0, 8), (15.0, 4)))

    assert half / whole == pytest.approx(0.28, abs=0.01)


def test_lamp_resistors() -> None:
    """LED resistors by supply, colour and current, up to the next preferred value."""
    assert acc.lamp_resistor(5.0, 2.0, 0.005) == pytest.approx(600.0)
    assert acc.next_preferred(600.0) == pytest.approx(620.0)
    assert acc.next_preferred(1160.0) == pytest.approx(1200.0)
    assert acc.next_preferred(9500.0) == pytest.approx(10000.0)
    assert acc.resistor_heat(10.0, 1000.0) == pytest.approx(0.1)
    assert acc.bleed_resistor(1.8, 1e-4) == pytest.approx(18e3)


@given(st.floats(1.0, 1e6))
def test_the_next_preferred_value_is_never_below(ohms: float) -> None:
    """The next value of the series is at or above the wanted one, by at most a step."""
    assert ohms * (1 - 1e-9) <= acc.next_preferred(ohms) <= ohms * 1.16


def test_programming() -> None:
    """Above 200 ohm at 12 V a motor cannot acknowledge; a 100 ohm helper takes 0.12 A and 1.4 W."""
    assert acc.most_ack_load(12.0) == pytest.approx(200.0)
    assert acc.ack_helper(12.0, 100.0) == pytest.approx((0.12, 1.44))


def test_axles_and_capacitors() -> None:
    """Ten 5.6 kohm axles draw 26 mA; a bleeder empties a unit in seconds."""
    assert acc.detected_current(14.5, 5.6e3, 10) == pytest.approx(26e-3, rel=0.01)
    assert acc.bleed_time(1e3, 4700e-6, math.e, 1.0) == pytest.approx(4.7)

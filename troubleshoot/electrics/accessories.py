"""Turnout motors, capacitor units, feedback inputs, bus cables, lamps and the programming track.

Rules: plain functions, SI arguments (V, A, ohm, F, s, kg, W). Addresses and packets are in `packets`,
wheels in `wheels`; what is fitted at a turnout is left to `values`.
"""

import math

COPPER_HEAT = 385.0
"""Heat capacity of copper, J/(kg K). Source: textbook."""

COPPER_K = 234.5
"""Constant of copper for temperature by resistance, C. Source: EN 61558-1 clause 14.2."""

LOW_SHARE = 0.3
"""Part of the logic supply up to which an input is surely low. Source: common practice for CMOS."""

HIGH_SHARE = 0.7
"""Part of the logic supply from which an input is surely high. Source: common practice for CMOS."""

E24 = (
    1.0,
    1.1,
    1.2,
    1.3,
    1.5,
    1.6,
    1.8,
    2.0,
    2.2,
    2.4,
    2.7,
    3.0,
    3.3,
    3.6,
    3.9,
    4.3,
    4.7,
    5.1,
    5.6,
    6.2,
    6.8,
    7.5,
    8.2,
    9.1,
)
"""Preferred values of a decade. Source: IEC 60063."""

ACK_CURRENT = 0.060
"""Extra current of a programming acknowledge, A, for 6 ms. Source: NMRA S-9.2.3."""


def coil_current(volts: float, ohms: float) -> float:
    """Current of a coil or a stalled motor. Formula: V/R. Units: V, ohm -> A. Source: Ohm's law."""
    return volts / ohms


def stall_current(volts: float, ohms: float, lamp_volts: float = 0.0) -> float:
    """Current of a stalled motor, with a lamp in series if any.

    Formula: (V - V_lamp)/R. Units: V, ohm -> A. Source: Ohm's law; 650 ohm is common practice.
    """
    return (volts - lamp_volts) / ohms


def power(volts: float, current: float) -> float:
    """Power of a device. Formula: V I. Units: V, A -> W. Source: arithmetic."""
    return volts * current


def coil_power(volts: float, ohms: float) -> float:
    """Heat of a coil that is held energised. Formula: V^2/R. Units: V, ohm -> W. Source: arithmetic."""
    return volts * volts / ohms


def pulse_energy(volts: float, ohms: float, seconds: float) -> float:
    """Energy of one coil pulse. Formula: V^2/R t. Units: V, ohm, s -> J. Source: arithmetic."""
    return coil_power(volts, ohms) * seconds


def heating_rate(watts: float, kilograms: float) -> float:
    """Warming of a coil without any cooling. Formula: P/(m c). Units: W, kg -> K/s. Source: textbook."""
    return watts / (kilograms * COPPER_HEAT)


def pulse_warming(volts: float, ohms: float, seconds: float, kilograms: float) -> float:
    """How much one pulse warms a coil that has no time to cool.

    Formula: V^2/R t/(m c). Units: V, ohm, s, kg -> K. Source: textbook.
    """
    return heating_rate(coil_power(volts, ohms), kilograms) * seconds


def coil_temperature(cold_ohms: float, hot_ohms: float, cold_celsius: float) -> float:
    """Temperature of a copper coil by its resistance.

    Formula: R2/R1 (234.5 + t1) - 234.5. Units: ohm, C -> C. Source: EN 61558-1 clause 14.2.
    """
    return hot_ohms / cold_ohms * (COPPER_K + cold_celsius) - COPPER_K


def time_constant(ohms: float, capacitance: float) -> float:
    """Time constant of charging or discharging. Formula: R C. Units: ohm, F -> s. Source: textbook."""
    return ohms * capacitance


def recovery_time(charge_ohms: float, capacitance: float) -> float:
    """Time until a capacitor unit holds 95 % of its volts again.

    Formula: 3 R C. Units: s. Source: textbook.
    """
    return 3.0 * charge_ohms * capacitance


def recovery_time_at_current(capacitance: float, volts: float, current: float) -> float:
    """Recovery of a unit with constant charge current.

    Formula: C V/I. Units: F, V, A -> s. Source: textbook.
    """
    return capacitance * volts / current


def recovered_energy_share(seconds: float, charge_ohms: float, capacitance: float) -> float:
    """Part of a unit's energy that is back some seconds after a full discharge.

    Formula: (1 - exp(-t/RC))^2. Units: s, ohm, F -> ratio. Source: textbook.
    """
    return (1.0 - math.exp(-seconds / (charge_ohms * capacitance))) ** 2


def route_time(coils: int, charge_ohms: float, capacitance: float) -> float:
    """Time to throw a route of coils one after another from a full unit.

    Formula: (n - 1) 3 R C. Units: s. Source: arithmetic.
    """
    return max(coils - 1, 0) * recovery_time(charge_ohms, capacitance)


def coils_at_once(stored: float, each: float) -> int:
    """How many coils a unit throws together.

    Formula: whole part of 0.8 E_stored/E_coil. Units: J. Source: common practice.
    """
    return int(0.8 * stored / each)


def bleed_time(ohms: float, capacitance: float, start: float, end: float) -> float:
    """Time to bleed a capacitor down. Formula: R C ln(V1/V2). Units: ohm, F, V -> s. Source: textbook."""
    return ohms * capacitance * math.log(start / end)


def hold_up_time(capacitance: float, drop: float, current: float) -> float:
    """How long a capacitor carries a load. Formula: C dV/I. Units: F, V, A -> s. Source: textbook."""
    return capacitance * drop / current


def input_low_limit(supply: float) -> float:
    """Volts up to which an input is surely low.

    Formula: 0.3 V. Units: V. Source: common practice for CMOS.
    """
    return LOW_SHARE * supply


def input_high_limit(supply: float) -> float:
    """Volts from which an input is surely high.

    Formula: 0.7 V. Units: V. Source: common practice for CMOS.
    """
    return HIGH_SHARE * supply


def contact_limit(pull_up: float, low: float, supply: float) -> float:
    """Greatest resistance of a closed contact that still pulls its input surely low.

    Formula: R_pu low/(V - low); 0.43 R_pu at 0.3 V. Units: ohm, V -> ohm. Source: Ohm's law.
    """
    return pull_up * low / (supply - low)


def wire_leak_limit(pull_up: float, high: float, supply: float) -> float:
    """Least leak of a field wire at which an open input is still surely high.

    Formula: R_pu high/(V - high); 2.33 R_pu at 0.7 V. Units: ohm, V -> ohm. Source: Ohm's law.
    """
    return pull_up * high / (supply - high)


def input_volts(supply: float, pull_up: float, to_common: float) -> float:
    """Volts of an input behind its pull-up.

    Formula: V R/(R + R_pu). Units: V, ohm -> V. Source: Ohm's law.
    """
    return supply * to_common / (to_common + pull_up)


def wetting_current(supply: float, pull_up: float) -> float:
    """Current through a closed contact; about 1 mA breaks film on silver.

    Formula: V/R_pu. Units: V, ohm -> A. Source: Ohm's law; the 1 mA is common practice.
    """
    return supply / pull_up


def cable_drop(per_metre: float, length: float, devices: float, each: float, evenly: bool = True) -> float:
    """Volts that a bus cable loses to its devices; half of it lifts the common at the far end.

    Formula: 2 r L n I with all at the end, 2 r L I (n + 1)/2 when evenly spaced. Units: ohm/m, m, A -> V.
    Source: arithmetic (sum over the sections).
    """
    share = (devices + 1.0) / 2.0 if evenly else devices
    return 2.0 * per_metre * length * each * share


def common_shift(total_drop: float) -> float:
    """How far the common of the last device stands above the first.

    Formula: dV/2. Units: V. Source: arithmetic.
    """
    return 0.5 * total_drop


def lamp_resistor(supply: float, lamp_volts: float, current: float, bridge_volts: float = 0.0) -> float:
    """Series resistor of an LED. Formula: (V - V_bridge - Vf)/I. Units: V, A -> ohm. Source: textbook."""
    return (supply - bridge_volts - lamp_volts) / current


def next_preferred(ohms: float) -> float:
    """Next preferred value not below a resistance. Formula: E24 series. Units: ohm. Source: IEC 60063."""
    decade = 10.0 ** math.floor(math.log10(ohms))
    return next((v * decade for v in E24 if v * decade >= ohms * (1.0 - 1e-9)), 10.0 * decade)


def resistor_heat(volts_across: float, ohms: float) -> float:
    """Heat of a resistor while it conducts. Formula: V^2/R. Units: V, ohm -> W. Source: arithmetic."""
    return volts_across * volts_across / ohms


def bleed_resistor(lamp_volts: float, leak: float) -> float:
    """Largest resistor beside an LED that swallows a leak which makes it glow.

    Formula: Vf/I_leak. Units: V, A -> ohm. Source: Ohm's law.
    """
    return lamp_volts / leak


def most_ack_load(volts: float, current: float = ACK_CURRENT) -> float:
    """Greatest motor resistance that can still acknowledge on a programming track.

    Formula: V/0.06. Units: V, A -> ohm. Source: NMRA S-9.2.3; Ohm's law.
    """
    return volts / current


def ack_helper(volts: float, ohms: float) -> tuple[float, float]:
    """Current and heat of a helper resistor at the motor output: take it off again after programming.

    Formula: V/R and V^2/R. Units: V, ohm -> A, W. Source: Ohm's law.
    """
    return volts / ohms, volts * volts / ohms


def detected_current(volts: float, axle_ohms: float, axles: float = 1.0) -> float:
    """Current of resistor axles as a detector sees them.

    Formula: n V/R. Units: V, ohm -> A. Source: Ohm's law.
    """
    return axles * volts / axle_ohms

"""What the track signal does by its edges: its timing, the current of cable capacitance and filters, ringing.

Rules: plain functions, SI arguments. The signal is a square wave of +-V; every half-bit ends in an edge that
swings 2 V. Filters are reckoned with their exact steady response, not with the short-time approximation.
What a meter makes of such a wave is left to `meters`.
"""

import math

ONE_HALF_BIT = 58e-6
"""Nominal half of a one bit, s. Source: NMRA S-9.1 (2020) Table 1."""

ZERO_HALF_BIT = 100e-6
"""Nominal half of a zero bit, s. Source: NMRA S-9.1 (2020) Table 1."""

EDGE_SLOPE = 2.5e6
"""Slope of a typical edge near its crossing, V/s. Source: NMRA S-9.1 asks for at least 2.4 V/us."""

WAVE_SPEED = 2e8
"""Speed of an edge along a wire pair, m/s. Source: textbook (two thirds of light)."""


def bit_frequency(half_bit: float) -> float:
    """Repetition of one kind of bit. Formula: 1/(2 t). Units: s -> Hz. Source: NMRA S-9.1; arithmetic."""
    return 1.0 / (2.0 * half_bit)


def edges_per_second(mean_half_bit: float = ONE_HALF_BIT) -> float:
    """Edges that the rails make. Formula: 1 / mean half-bit. Units: s -> 1/s. Source: arithmetic."""
    return 1.0 / mean_half_bit


ALL_ONES = bit_frequency(ONE_HALF_BIT)
"""Highest repetition of the signal, all ones: 8621 Hz. Source: arithmetic on NMRA S-9.1."""

ALL_ZEROS = bit_frequency(ZERO_HALF_BIT)
"""Repetition of nominal zeros: 5000 Hz. Source: arithmetic on NMRA S-9.1."""

MIXED_HALF_BIT = (ONE_HALF_BIT + ZERO_HALF_BIT) / 2.0
"""Mean half-bit of ones and zeros in equal number, s. Source: arithmetic."""


def crossing_time(volts_swing: float, slope: float) -> float:
    """Time of an edge across a span of volts.

    Formula: dV / slope. Units: V, V/s -> s. Source: NMRA S-9.1 Table 2.
    """
    return volts_swing / slope


def cable_capacitance(per_metre: float, length: float) -> float:
    """Capacitance of a cable run. Formula: c L. Units: F/m, m -> F. Source: arithmetic."""
    return per_metre * length


def average_capacitance_current(volts: float, capacitance: float, edges: float) -> float:
    """What an averaging detector takes cable capacitance for.

    Formula: 2 V C N, N edges per second. Units: V, F, 1/s -> A. Source: arithmetic (charge per edge).
    """
    return 2.0 * volts * capacitance * edges


def peak_capacitance_current(capacitance: float, slope: float = EDGE_SLOPE) -> float:
    """What a peak-reading detector takes it for. Formula: C dV/dt. Units: F, V/s -> A. Source: textbook."""
    return capacitance * slope


def rms_capacitance_current(volts: float, capacitance: float, edges: float, rise_time: float) -> float:
    """What a true-RMS meter or detector takes it for: brief tall spikes weigh more than their average.

    Formula: 2 V C sqrt(N / t_rise). Units: V, F, 1/s, s -> A. Source: arithmetic.
    """
    return 2.0 * volts * capacitance * math.sqrt(edges / rise_time)


def capacitance_current(sensing: str, volts: float, capacitance: float, edges: float, rise_time: float = 2e-6) -> float:
    """Current of cable capacitance as a kind of detector takes it.

    Formula: by `sensing` 'averaging' 2VCN, 'peak' C 2V/t_rise, 'rms' 2VC sqrt(N/t_rise). Units: SI -> A.
    Source: arithmetic. The three differ by up to thirty times.
    """
    if sensing == "peak":
        return peak_capacitance_current(capacitance, 2.0 * volts / rise_time)
    if sensing == "rms":
        return rms_capacitance_current(volts, capacitance, edges, rise_time)
    return average_capacitance_current(volts, capacitance, edges)


def _decay(ohms: float, capacitance: float, half_bit: float) -> float:
    """(tau / h) tanh(h / 2 tau): the one shape that all steady RC answers to a square wave share."""
    tau = ohms * capacitance
    return tau / half_bit * math.tanh(half_bit / (2.0 * tau))


def filter_average_current(volts: float, ohms: float, capacitance: float, half_bit: float = ONE_HALF_BIT) -> float:
    """Mean of the absolute current through R and C in series across the rails.

    Formula: 2V/R (RC/h) tanh(h/2RC); about 2 V C N when RC is short. Units: V, ohm, F, s -> A. Source:
    textbook (steady RC response).
    """
    return 2.0 * volts / ohms * _decay(ohms, capacitance, half_bit)


def filter_peak_current(volts: float, ohms: float, capacitance: float, half_bit: float = ONE_HALF_BIT) -> float:
    """Greatest current through R and C in series, at an edge.

    Formula: 2V/R / (1 + exp(-h/RC)); 2V/R when RC is short. Units: V, ohm, F, s -> A. Source: textbook.
    """
    return 2.0 * volts / ohms / (1.0 + math.exp(-half_bit / (ohms * capacitance)))


def filter_rms_current(volts: float, ohms: float, capacitance: float, half_bit: float = ONE_HALF_BIT) -> float:
    """RMS current through R and C in series.

    Formula: V/R sqrt(2 (RC/h) tanh(h/2RC)). Units: V, ohm, F, s -> A. Source: textbook (steady RC response).
    """
    return volts / ohms * math.sqrt(2.0 * _decay(ohms, capacitance, half_bit))


def filter_heat(volts: float, ohms: float, capacitance: float, half_bit: float = ONE_HALF_BIT) -> float:
    """Heat in the resistor of a filter across the rails. A resistor rated at least twice this is needed.

    Formula: I_rms^2 R = 2V^2/R (RC/h) tanh(h/2RC); C (2V)^2 f is its upper estimate. Units: W. Source:
    textbook.
    """
    return filter_rms_current(volts, ohms, capacitance, half_bit) ** 2 * ohms


def filter_heat_estimate(volts: float, capacitance: float, edges: float) -> float:
    """Upper estimate of a filter's heat, when RC is much shorter than a half-bit.

    Formula: half of C (2V)^2 an edge, N edges per second = 2 C V^2 N. Units: V, F, 1/s -> W. Source:
    arithmetic.
    """
    return 2.0 * capacitance * volts * volts * edges


def edge_energy(volts: float, capacitance: float) -> float:
    """Heat that one edge leaves in the resistor of a filter.

    Formula: 0.5 C (2V)^2. Units: V, F -> J. Source: arithmetic.
    """
    return 0.5 * capacitance * (2.0 * volts) ** 2


def ringing_frequency(length: float, speed: float = WAVE_SPEED) -> float:
    """First ringing of a bus open at its end. Formula: v/(4 l). Units: m, m/s -> Hz. Source: textbook."""
    return speed / (4.0 * length)


def stored_in_inductance(inductance: float, current: float) -> float:
    """Energy that a breaker lets loose as it opens. Formula: L I^2/2. Units: H, A -> J. Source: textbook."""
    return 0.5 * inductance * current * current


def opening_spike(current: float, inductance: float, capacitance: float) -> float:
    """Volts of the spike as a breaker opens, unless something clamps it.

    Formula: I sqrt(L/C). Units: A, H, F -> V. Source: textbook.
    """
    return current * math.sqrt(inductance / capacitance)

"""What a meter shows of the track signal, by its kind and its bandwidth.

Rules: plain functions, SI arguments; a factor is shown / true. Kinds are 'average' (average-responding,
scaled for a sine), 'true-rms', 'dc' and 'bridge' (a DC meter behind four diodes). Bandwidth is modelled as
one pole, which is a model and no measurement. Which meter the owner has is left to `values`.
"""

import math
from dataclasses import dataclass

from troubleshoot.electrics.waves import ALL_ONES, ALL_ZEROS

FORM_FACTOR = math.pi / (2.0 * math.sqrt(2.0))
"""RMS over average of a sine: what an average-responding meter multiplies by. Source: textbook (1.1107)."""

DIODE_VOLTS = 0.7
"""Forward volts of a silicon diode. Source: common practice."""

LEAST_BANDWIDTH = 400.0
"""Narrowest band of a hand meter's AC range, Hz. Source: common practice (400 to 1000 Hz)."""

METER_OHMS = 10e6
"""Input resistance of a hand meter on volts. Source: common practice."""


@dataclass(frozen=True, slots=True)
class Factor:
    """Shown / true of a meter on the track signal: the likely value and the range within which it lies."""

    value: float
    low: float
    high: float


def square_factor(kind: str) -> float:
    """Shown / true RMS of a meter of unlimited bandwidth on a square wave.

    Formula: pi/(2 sqrt 2) for 'average', 1 otherwise. Units: ratio. Source: textbook.
    """
    return FORM_FACTOR if kind == "average" else 1.0


def _x(frequency: float, bandwidth: float) -> tuple[float, float]:
    """Half period and time constant of a one-pole meter."""
    return 1.0 / (2.0 * frequency), 1.0 / (2.0 * math.pi * bandwidth)


def rms_factor(frequency: float, bandwidth: float) -> float:
    """Shown / true of a true-RMS meter with one pole on a square wave.

    Formula: sqrt(1 - (2 tau/h) tanh(h/2 tau)), the closed form of sqrt(sum over odd n of Vn^2/(1+(n
    f/fc)^2)). Units: Hz -> ratio. Source: textbook model.
    """
    half, tau = _x(frequency, bandwidth)
    return math.sqrt(max(0.0, 1.0 - 2.0 * tau / half * math.tanh(half / (2.0 * tau))))


def average_factor(frequency: float, bandwidth: float) -> float:
    """Shown / true of an average-responding meter with one pole on a square wave.

    Formula: 1.1107 x mean of |steady one-pole response|. Units: Hz -> ratio. Source: textbook model.
    """
    half, tau = _x(frequency, bandwidth)
    left = math.exp(-half / tau)
    start = 2.0 / (1.0 + left)
    crossing = tau * math.log(start)
    area = half - start * tau * (1.0 - left) - 2.0 * crossing + 2.0 * tau * (start - 1.0)
    return FORM_FACTOR * area / half


def factor_at(kind: str, bandwidth: float, frequency: float = ALL_ONES) -> float:
    """Shown / true of an AC meter of a kind and bandwidth on a square wave.

    Formula: as `average_factor` or `rms_factor`. Units: Hz -> ratio. Source: textbook model.
    """
    return average_factor(frequency, bandwidth) if kind == "average" else rms_factor(frequency, bandwidth)


def shown_factor(kind: str | None, bandwidth: float | None) -> Factor:
    """What the owner's meter shows of the true AC volts on the rails, and how far that may be out.

    The likely value is taken at all ones; the range goes to nominal zeros. An unknown kind or bandwidth
    takes in everything from a 400 Hz meter to one without limit, and the value is the middle of that range
    by ratio. A 1 kHz average meter shows about a tenth. Units: Hz -> ratio. Source: textbook model.
    """
    if kind in ("average", "true-rms") and bandwidth:
        value = factor_at(kind, bandwidth)
        other = factor_at(kind, bandwidth, ALL_ZEROS)
        return Factor(value, min(value, other), max(value, other))
    kinds = (kind,) if kind in ("average", "true-rms") else ("average", "true-rms")
    widths = (bandwidth, bandwidth) if bandwidth else (LEAST_BANDWIDTH, None)
    low = min(factor_at(k, widths[0] or LEAST_BANDWIDTH) for k in kinds)
    high = max(square_factor(k) if widths[1] is None else factor_at(k, widths[1], ALL_ZEROS) for k in kinds)
    return Factor(math.sqrt(low * high), low, high)


def reading(kind: str, volts: float) -> float:
    """What a meter of unlimited bandwidth shows of a clean square wave of +-V.

    Formula: average 1.1107 V; true RMS V; DC 0; bridge V - 2 x 0.7. Units: V. Source: textbook.
    """
    if kind == "dc":
        return 0.0
    return bridge_reading(volts) if kind == "bridge" else volts * square_factor(kind)


def dc_reading(volts: float, positive_time: float, negative_time: float) -> float:
    """What a DC meter shows of a signal with unequal halves, as from stretched zeros or a half-dead output.

    Formula: V (tp - tn)/(tp + tn). Units: V, s -> V. Source: arithmetic.
    """
    return volts * (positive_time - negative_time) / (positive_time + negative_time)


def bridge_reading(volts: float, diode: float = DIODE_VOLTS) -> float:
    """What a DC meter shows behind four diodes: true volts without any bandwidth, the best home method.

    Formula: V - 2 Vf. Units: V. Source: textbook.
    """
    return volts - 2.0 * diode


def loading_error(source_ohms: float, meter_ohms: float = METER_OHMS) -> float:
    """Part by which a meter's own resistance makes a reading too low.

    Formula: Rs/(Rs + Rm). Units: ohm -> ratio. Source: textbook.
    """
    return source_ohms / (source_ohms + meter_ohms)


def ohms_by_loads(first_volts: float, second_volts: float, first_amps: float, second_amps: float) -> float:
    """Low resistance of a line by two loads; take the same at the booster off to leave the line alone.

    Formula: (V1 - V2)/(I2 - I1). Units: V, A -> ohm. Source: arithmetic (Ohm's law).
    """
    return (first_volts - second_volts) / (second_amps - first_amps)


def line_ohms(far_ohms: float, near_ohms: float) -> float:
    """Line alone, from two-load readings at both of its ends.

    Formula: R_far - R_near. Units: ohm. Source: arithmetic.
    """
    return far_ohms - near_ohms


def ohms_by_ratio(load_ohms: float, open_volts: float, loaded_volts: float) -> float:
    """Loop resistance from one known load; the ratio needs no knowledge of the meter's factor.

    Formula: R_load (V0/V1 - 1). Units: ohm, V -> ohm. Source: arithmetic (Ohm's law).
    """
    return load_ohms * (open_volts / loaded_volts - 1.0)


def true_volts(shown: float, factor: Factor) -> tuple[float, float]:
    """The range of true volts behind a reading. Formula: shown / factor. Units: V. Source: arithmetic."""
    return shown / factor.high, shown / factor.low

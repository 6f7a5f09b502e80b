"""Wire, rail and their high-frequency sides: resistance, permitted length, skin, inductance, expansion.

Rules: plain functions, SI arguments (m, m2, ohm, K, Hz); resistances are of ONE conductor unless a name
says loop. What capacitance and filters draw is in `waves`; what resistance does to trips and volts is in
`power`.
"""

import math
from collections.abc import Mapping

COPPER = 1.7241e-8
"""Resistivity of annealed standard copper at 20 C, ohm m.

Source: power-engineering handbooks (58 m/(ohm mm2)).
"""

COPPER_PER_KELVIN = 0.00393
"""Temperature coefficient of copper at 20 C, per K. Source: power-engineering handbooks."""

NEM_604_COPPER = 1.78e-8
"""Resistivity that NEM 604 (2013) reckons with, ohm m."""

MU_0 = 4e-7 * math.pi
"""Permeability of free space, H/m. Source: textbook."""

EPSILON_0 = 8.854e-12
"""Permittivity of free space, F/m. Source: textbook."""

NICKEL_SILVER_EXPANSION = 17e-6
"""Expansion of nickel-silver rail, per K (16e-6 to 19e-6 by alloy). Source: materials handbooks."""

PLYWOOD_PER_HUMIDITY = 2e-5
"""Shrinkage of plywood in its plane per % of relative humidity.

Source: panel-industry figure, common practice.
"""

MILLI2 = 1e-6
"""One mm2 in m2."""

STILL_AIR = 12.0
"""Heat that a warm wire gives off to still air, W/(m2 K). Source: textbook (10 to 25 for thin cylinders), low side."""

INSULATION = 0.6e-3
"""Thickness of the insulation of a hook-up wire, m. Source: common practice."""

BUNDLED_SHARE = 0.6
"""Part of its current that a wire still carries in a full loom. Source: common practice for ten wires together."""

IEC_60228: Mapping[str, Mapping[float, float]] = {
    "solid": {0.5: 36.0, 0.75: 24.5, 1.0: 18.1, 1.5: 12.1, 2.5: 7.41, 4.0: 4.61},
    "flexible": {
        0.14: 134.0,
        0.25: 76.0,
        0.34: 53.0,
        0.5: 39.0,
        0.75: 26.0,
        1.0: 19.5,
        1.5: 13.3,
        2.5: 7.98,
        4.0: 4.95,
    },
    "tinned-solid": {0.5: 36.7, 0.75: 24.8, 1.0: 18.2, 1.5: 12.2, 2.5: 7.56, 4.0: 4.70},
    "tinned-flexible": {0.5: 40.1, 0.75: 26.7, 1.0: 20.0, 1.5: 13.7, 2.5: 8.21, 4.0: 5.09},
}
"""Greatest ohm/km at 20 C by mm2. Source: IEC 60228 (2004) classes 1/2 and 5; below 0.5 mm2 DIN VDE 0295."""

RAIL_OHM_PER_METRE: Mapping[int, tuple[float, float]] = {
    100: (0.05, 0.15),
    83: (0.08, 0.20),
    70: (0.12, 0.26),
    55: (0.20, 0.42),
}
"""Nickel-silver rail by code, least and most ohm/m of one rail.

Source: estimate from geometry and weak measurements.
"""


def awg_diameter(gauge: float) -> float:
    """Diameter of solid wire by gauge number.

    Formula: 0.127 mm x 92^((36 - n)/39). Units: m. Source: ASTM B258.
    """
    return 0.127e-3 * math.pow(92.0, (36.0 - gauge) / 39.0)


def round_area(diameter: float) -> float:
    """Cross-section of a round wire. Formula: pi d^2 / 4. Units: m -> m2. Source: arithmetic."""
    return math.pi * diameter * diameter / 4.0


def awg_area(gauge: float) -> float:
    """Cross-section by gauge number.

    Formula: pi d^2 / 4 of the gauge's diameter. Units: m2. Source: ASTM B258.
    """
    return round_area(awg_diameter(gauge))


def ohms_per_metre(area: float, resistivity: float = COPPER) -> float:
    """Resistance of one metre of one conductor at 20 C.

    Formula: rho / A. Units: m2, ohm m -> ohm/m. Source: arithmetic; rho as `COPPER`.
    """
    return resistivity / area


def awg_ohms_per_metre(gauge: float) -> float:
    """Resistance of one metre of copper by gauge at 20 C.

    Formula: rho / A. Units: ohm/m. Source: ASTM B258.
    """
    return ohms_per_metre(awg_area(gauge))


def warm_factor(kelvin_above_20: float) -> float:
    """Growth of copper's resistance with temperature.

    Formula: 1 + 0.00393 dT. Units: K -> ratio. Source: power-engineering handbooks.
    """
    return 1.0 + COPPER_PER_KELVIN * kelvin_above_20


def most_ohms_per_metre(area: float, kind: str = "flexible") -> float:
    """Greatest resistance that a metre of good copper wire of a standard size may have at 20 C.

    Sizes between the table's are taken from its ratio to plain copper at the nearest size.
    Formula: table value. Units: m2 -> ohm/m. Source: IEC 60228 (2004).
    """
    table = IEC_60228[kind]
    wanted = area / MILLI2
    nearest = min(table, key=lambda size: abs(math.log(size / wanted)))
    return table[nearest] / 1000.0 * nearest / wanted


def loop_ohms(length: float, per_metre: float) -> float:
    """Out and back along a pair. Formula: 2 L r. Units: m, ohm/m -> ohm. Source: arithmetic."""
    return 2.0 * length * per_metre


def carried(area: float, warming: float = 30.0, share: float = 1.0) -> float:
    """Current that an insulated copper wire carries for good in still air without warming by more than so much.

    Lies between the fixture-wire table of NFPA 70 (402.5) and a free-air table (DIN VDE 0298-4).
    Formula: share x sqrt(h pi D dT A / (rho (1 + alpha dT))), D with insulation. Units: m2, K -> A. Source: textbook
    (heat balance); h, insulation and shares are common practice.
    """
    outer = math.sqrt(4.0 * area / math.pi) + 2.0 * INSULATION
    per_metre = ohms_per_metre(area) * warm_factor(warming)
    return share * math.sqrt(STILL_AIR * math.pi * outer * warming / per_metre)


def permitted_length(drop: float, current: float, area: float, resistivity: float = NEM_604_COPPER) -> float:
    """Length of conductor that keeps within a drop. The standard leaves open whether it counts out and back.

    Formula: dU/I x A/rho. Units: V, A, m2, ohm m -> m. Source: NEM 604 (2013) clause 2.4.
    """
    return drop / current * area / resistivity


def resistivity_from_conductivity(iacs_percent: float) -> float:
    """Resistivity of an alloy from its conductivity in % of annealed copper.

    Formula: 1.7241e-8 / (IACS/100). Units: % -> ohm m. Source: arithmetic.
    """
    return COPPER / (iacs_percent / 100.0)


def rail_ohms_per_metre(code: int) -> float:
    """Middle of the plausible resistance of one rail by its code; a rough figure, better measured.

    Formula: geometric mean of the band of the nearest code. Units: ohm/m. Source: `RAIL_OHM_PER_METRE`.
    """
    least, most = RAIL_OHM_PER_METRE[min(RAIL_OHM_PER_METRE, key=lambda c: abs(c - code))]
    return math.sqrt(least * most)


def rail_growth(length: float, kelvin: float, per_kelvin: float = NICKEL_SILVER_EXPANSION) -> float:
    """How much free rail grows when it warms.

    Formula: alpha L dT. Units: m, K -> m. Source: materials handbooks.
    """
    return per_kelvin * length * kelvin


def base_shrinkage(length: float, humidity_fall: float, per_percent: float = PLYWOOD_PER_HUMIDITY) -> float:
    """How much the base shrinks as the air dries; it closes gaps as heat does.

    Formula: e L dRH. Units: m, % of relative humidity -> m. Source: common practice for plywood.
    """
    return per_percent * length * humidity_fall


def gap_closing(length: float, kelvin: float, humidity_fall: float) -> float:
    """How much a gap closes by warm rail and a dry base together.

    Formula: alpha L dT + e L dRH. Units: m, K, % -> m. Source: arithmetic on the two above.
    """
    return rail_growth(length, kelvin) + base_shrinkage(length, humidity_fall)


def skin_depth(frequency: float, resistivity: float = COPPER, relative_permeability: float = 1.0) -> float:
    """Depth to which alternating current goes into a conductor.

    Formula: sqrt(rho / (pi f mu0 mu_r)). Units: Hz, ohm m -> m. Source: textbook.
    """
    return math.sqrt(resistivity / (math.pi * frequency * MU_0 * relative_permeability))


def line_inductance(spacing: float, diameter: float) -> float:
    """Inductance of one metre of a wire pair, out and back.

    Formula: mu0/pi x acosh(s/d), s from centre to centre. Units: m -> H/m. Source: textbook.
    """
    return MU_0 / math.pi * math.acosh(spacing / diameter)


def reactance(inductance: float, frequency: float) -> float:
    """Opposition of an inductance. Formula: 2 pi f L. Units: H, Hz -> ohm. Source: textbook."""
    return 2.0 * math.pi * frequency * inductance


def capacitive_reactance(capacitance: float, frequency: float) -> float:
    """Opposition of a capacitance. Formula: 1/(2 pi f C). Units: F, Hz -> ohm. Source: textbook."""
    return 1.0 / (2.0 * math.pi * frequency * capacitance)


def series_impedance(ohms: float, capacitance: float, frequency: float) -> float:
    """Opposition of a resistor and capacitor in series to a sine.

    Formula: sqrt(R^2 + Xc^2). Units: ohm, F, Hz -> ohm. Source: textbook.
    """
    return math.hypot(ohms, capacitive_reactance(capacitance, frequency))


def open_pair_capacitance(spacing: float, radius: float) -> float:
    """Capacitance of a metre of two wires far apart in air; wood and insulation raise it.

    Formula: pi e0 / ln(D/r). Units: m -> F/m. Source: textbook.
    """
    return math.pi * EPSILON_0 / math.log(spacing / radius)

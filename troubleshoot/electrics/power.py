"""Track power: whether a short trips, how far volts fall, what stands across gaps, what charging takes.

Rules: plain functions, SI arguments. A loop counts both wires. A booster limits long before the currents that
`short_current` gives: they judge the wiring, they do not predict an ammeter. Which booster and breaker feed a
place is left to `values`.
"""

from collections.abc import Iterable

TRIP_MARGIN = 1.5
"""A short must draw this many trip currents to trip for sure; 2 is better. Source: common practice."""

DROP_SHARE = 0.05
"""Part of the track volts that may be lost at the full current of a district. Source: common practice."""

TRIP_BELOW_BOOSTER = 0.8
"""A breaker's trip stays below this part of its booster's limit. Source: common practice."""

JOINT_DROP_PER_AMP = 0.02
"""Volts per amp that one good joint or terminal may cost. Source: common practice."""


def short_current(volts: float, loop: float) -> float:
    """Current of a short that nothing but the wiring limits.

    Formula: V/R. Units: V, ohm -> A. Source: Ohm's law.
    """
    return volts / loop


def loop_resistance(
    *,
    source: float = 0.0,
    bus: float = 0.0,
    feeder: float = 0.0,
    rail: float = 0.0,
    joints: float = 0.0,
    contact: float = 0.0,
) -> float:
    """The way from a booster to the wheels and back.

    Formula: sum of source, bus, feeder, rail, joints and contact. Units: ohm. Source: arithmetic.
    """
    return source + bus + feeder + rail + joints + contact


def short_margin(volts: float, loop: float, trip: float) -> float:
    """How many trip currents a short draws; 2 is wanted, 1.5 the least.

    Formula: V/(R I_trip). Units: V, ohm, A -> ratio. Source: arithmetic.
    """
    return volts / loop / trip


def loop_limit(volts: float, trip: float, margin: float = TRIP_MARGIN) -> float:
    """Greatest loop resistance at which a short still trips for sure.

    Formula: V/(1.5 I_trip). Units: V, A -> ohm. Source: arithmetic; the 1.5 is common practice.
    """
    return volts / (margin * trip)


def thermal_trip_time(at_hold: float, current: float, hold: float) -> float:
    """Rough time of a thermal link or resettable polymer.

    Formula: k/(I/I_hold)^2. Units: s, A -> s. Source: common practice (seconds at twice the hold current).
    """
    return at_hold / (current / hold) ** 2


def ordered(trip: float, trip_delay: float, limit: float, booster_delay: float) -> tuple[bool, bool]:
    """Whether a district's breaker acts before its booster: by current, and by time.

    Formula: I_trip < 0.8 I_booster; t_breaker < t_booster/2. Units: A, s. Source: common practice.
    """
    return trip < TRIP_BELOW_BOOSTER * limit, trip_delay < booster_delay / 2.0


def drop(current: float, loop: float) -> float:
    """Volts lost on the way at a current. Formula: I R. Units: A, ohm -> V. Source: Ohm's law."""
    return current * loop


def drop_limit(volts: float, share: float = DROP_SHARE) -> float:
    """Volts that may be lost at the full current of a district.

    Formula: 0.05 V. Units: V. Source: common practice.
    """
    return share * volts


def spread_load_drop(current: float, loop: float) -> float:
    """Volts lost at the far end when the load stands evenly along the run.

    Formula: I R/2. Units: V. Source: textbook.
    """
    return 0.5 * current * loop


def rail_drop_between_feeds(current: float, per_metre: float, spacing: float) -> float:
    """Volts lost in both rails midway between two feeds.

    Formula: I r s/2. Units: A, ohm/m of one rail, m -> V. Source: textbook (four half-spans, two by two).
    """
    return current * per_metre * spacing / 2.0


def contact_ohms(volts_across: float, current: float) -> float:
    """Resistance of a joint from its drop under a known current.

    Formula: dV/I. Units: V, A -> ohm. Source: Ohm's law.
    """
    return volts_across / current


def fault_heat(volts: float, current: float, loop: float) -> float:
    """Heat in a fault that draws just under the trip: 1 W warms, 5 W melts sleepers, 30 W starts fires.

    Formula: I (V - I R), R the way without the fault. Units: V, A, ohm -> W. Source: arithmetic.
    """
    return current * (volts - current * loop)


def most_fault_heat(volts: float, loop: float) -> float:
    """Greatest heat that any fault can draw. Formula: V^2/(4 R). Units: V, ohm -> W. Source: textbook."""
    return volts * volts / (4.0 * loop)


def joint_heat(current: float, ohms: float) -> float:
    """Heat of a bad joint. Formula: I^2 R. Units: A, ohm -> W. Source: arithmetic."""
    return current * current * ohms


def gap_volts_in_phase(first: float, second: float, detector_drop: float = 0.0) -> float:
    """Volts across a gap, same rail, between two sections in phase.

    Formula: |V1 - V2|, plus the drop of a diode detector on one side alone. Units: V. Source: arithmetic.
    """
    return abs(first - second) + detector_drop


def gap_volts_out_of_phase(first: float, second: float, reference: str, common_rail: bool = False) -> float:
    """Volts across one gap between two sections out of phase, when the other gap is open.

    Both gaps together stand at V1 + V2. Full bridges with a common reference split it evenly; one common rail
    puts it all on the gap in the other; without any reference a meter reads a ghost up to the whole.
    Formula: (V1 + V2)/2 for 'common', V1 + V2 with a common rail or 'isolated'. Units: V. Source: arithmetic.
    """
    both = first + second
    return both if common_rail or reference == "isolated" else both / 2.0


def circulating_current(first: float, second: float, ohms: float) -> float:
    """Current through a wheel that bridges two boosters in phase but unequal.

    Formula: |V1 - V2|/R. Units: V, ohm -> A. Source: Ohm's law.
    """
    return abs(first - second) / ohms


def skew_share(skew: float, edges: float) -> float:
    """Part of the time in which two boosters in phase stand opposite, because one is late.

    Formula: dt N. Units: s, 1/s -> ratio. Source: arithmetic.
    """
    return skew * edges


def opposed_bridge_current(volts: float, ohms: float, two_boosters: bool) -> float:
    """Current of a wheel that bridges sections out of phase.

    Formula: 2V/R between two boosters, V/R behind one booster and a reverser. Units: V, ohm -> A. Source:
    Ohm's law.
    """
    return (2.0 if two_boosters else 1.0) * volts / ohms


def least_section(conducting: float, wheelbase: float, gap: float) -> float:
    """Least length of a reversing section.

    Formula: longest conducting length of a train + longest tied pickups + gap. Units: m. Source: common
    practice.
    """
    return conducting + wheelbase + gap


def bridging_time(distance: float, speed: float) -> float:
    """How long a wheel or a tied pickup bridges a gap.

    Formula: b/v. Units: m, m/s -> s. Source: arithmetic.
    """
    return distance / speed


def charge_time(capacitance: float, volts: float, limit: float, running: float = 0.0) -> float:
    """How long storage capacitors hold a district at its limit when it is switched on.

    Formula: C V/(I_limit - I_running); without end when nothing is left over. Units: F, V, A -> s. Source:
    textbook.
    """
    spare = limit - running
    return capacitance * volts / spare if spare > 0.0 else float("inf")


def limited_charge_current(count: float, volts: float, ohms: float) -> float:
    """What storage packs with charge resistors draw together at switch-on.

    Formula: n (V - 1.4)/R, falling over 3 R C. Units: V, ohm -> A. Source: arithmetic.
    """
    return count * max(volts - 1.4, 0.0) / ohms


def limited_charge_time(ohms: float, capacitance: float) -> float:
    """How long a charge resistor draws noticeably. Formula: 3 R C. Units: ohm, F -> s. Source: textbook."""
    return 3.0 * ohms * capacitance


def time_above_trip(
    count: float, capacitance: float, volts: float, charge_ohms: float, limit: float, trip: float
) -> float:
    """How long empty storage capacitors ask for more than a breaker's trip current when it is switched on.

    Nothing where charging resistors keep the whole rush below the trip; else the booster gives its limit until
    all are full. Formula: 0 if n (V - 1.4)/R <= I_trip, else n C V/I_limit. Units: F, V, ohm, A -> s. Source:
    textbook.
    """
    if limited_charge_current(count, volts, charge_ohms) <= trip:
        return 0.0
    return charge_time(count * capacitance, volts, limit)


def starting_current(count: float, each: float) -> float:
    """Extra current of sound locos as they start together.

    Formula: n I. Units: A. Source: common practice.
    """
    return count * each


def capacitor_energy(capacitance: float, volts: float) -> float:
    """Energy in a capacitor. Formula: C V^2/2. Units: F, V -> J. Source: textbook."""
    return 0.5 * capacitance * volts * volts


def capacitance_for_energy(energy: float, volts: float) -> float:
    """Capacitance that holds an energy. Formula: 2 E/V^2. Units: J, V -> F. Source: textbook."""
    return 2.0 * energy / (volts * volts)


def touch_current(volts: float, body_ohms: float = 2000.0) -> float:
    """Current through a body.

    Formula: V/R. Units: V, ohm -> A. Source: Ohm's law; 2 kohm test resistor (school rules).
    """
    return volts / body_ohms


def ladder(volts: float, source: float, sections: Iterable[tuple[float, float]]) -> tuple[float, ...]:
    """Volts at the taps of a bus with a load at the end of each section, by working back from its end.

    `sections` are (ohms of the section's loop, ohms of the load), nearest first. Formula: reduction to
    series and parallel from the far end, then division from the near end. Units: V, ohm -> V. Source:
    textbook.
    """
    parts = list(sections)
    seen: list[float] = []
    beyond = float("inf")
    for wire, load in reversed(parts):
        here = load if beyond == float("inf") else 1.0 / (1.0 / load + 1.0 / beyond)
        seen.append(here)
        beyond = here + wire
    taps = []
    at, before = volts, source
    for (wire, _), here in zip(parts, reversed(seen), strict=True):
        at *= here / (here + wire + before)
        taps.append(at)
        before = 0.0
    return tuple(taps)

"""What a block detector sees: leaks, joints between blocks, axle resistors and stray feeds.

Rules: plain functions, SI arguments (volts, amps, ohms, metres, watts); a limit is the value at which a
healthy detector just begins to report. Which detector is fitted where, and which figures are assumed, is
left to `values`; currents of cables and filters, which need no resistance between the rails, are left to
`cables`.
"""

from collections.abc import Iterable

DIODE_VOLTS = 0.7
"""Forward volts of one silicon junction at detector currents. Source: common practice (0.7 to 1.0 V)."""

SEEN_MARGIN = 1.5
"""A load must draw this many thresholds before it counts as surely seen. Source: common practice."""


def volts_seen(volts: float, drop: float = 0.0) -> float:
    """Volts that drive current through a leak behind a detector.

    Formula: V, less the 0.7 V that a detector takes that works by the drop of diodes. Units: V.
    Source: arithmetic.
    """
    return max(volts - drop, 0.0)


def threshold_with_passes(threshold: float, passes: float = 1.0) -> float:
    """Threshold of a coil detector whose wire goes through it several times.

    Formula: threshold / passes. Units: A. Source: arithmetic.
    """
    return threshold / passes


def leak_limit(volts: float, threshold: float) -> float:
    """Leak from rail to rail below which the detector reports a train that is not there.

    Formula: volts seen / threshold. Units: V, A -> ohm. Source: arithmetic (Ohm's law).
    """
    return volts / threshold


def leak_current(volts: float, ohms: float) -> float:
    """Current of a leak. Formula: V / R. Units: V, ohm -> A. Source: arithmetic (Ohm's law)."""
    return volts / ohms


def in_parallel(ohms: Iterable[float]) -> float:
    """Resistances side by side. Formula: 1 / sum(1 / R). Units: ohm. Source: arithmetic (Ohm's law)."""
    return 1.0 / sum(1.0 / r for r in ohms)


def equal_in_parallel(ohms: float, count: float) -> float:
    """Equal resistances side by side, such as axles or joints.

    Formula: R / n. Units: ohm. Source: arithmetic.
    """
    return ohms / count


def ballast_leak(ohm_metres: float, length: float) -> float:
    """Leak of ballast along a block: long blocks leak more through the same ballast.

    Formula: ballast resistance in ohm metres / length. Units: ohm m, m -> ohm. Source: arithmetic.
    """
    return ohm_metres / length


def share_of_neighbours_train(this_path: float, joint: float, neighbour_path: float) -> float:
    """Part of the current of a train next door that a leaking joint draws through this block's detector.

    Formula: R_neighbour / (R_neighbour + R_joint + R_this). Units: ohm -> ratio. Source: arithmetic.
    """
    return neighbour_path / (neighbour_path + joint + this_path)


def feeder_drop(train_current: float, feeder_ohms: float) -> float:
    """Volts that a train makes along its feeder, and so across the joint to the next block.

    Formula: I R. Units: A, ohm -> V. Source: arithmetic (Ohm's law).
    """
    return train_current * feeder_ohms


def joint_limit(volts_across: float, threshold: float) -> float:
    """Leak of an insulated joint below which the neighbour's train shows here too.

    In phase the only volts across the joint are the drop of detector or feeder under the train next door, so
    tens to hundreds of ohms matter; out of phase it is the track volts, and kilohms matter.
    Formula: volts across the joint / threshold. Units: V, A -> ohm. Source: arithmetic (Ohm's law).
    """
    return volts_across / threshold


def axle_current(volts: float, axle_ohms: float) -> float:
    """Current of one resistor axle. Formula: V / R. Units: V, ohm -> A. Source: arithmetic (Ohm's law)."""
    return volts / axle_ohms


def axle_power(volts: float, axle_ohms: float) -> float:
    """Heat of one resistor axle; keep it below half of the resistor's rating.

    Formula: V^2 / R. Units: V, ohm -> W. Source: arithmetic.
    """
    return volts * volts / axle_ohms


def least_axle_ohms(volts: float, rated_power: float) -> float:
    """Smallest axle resistor that stays within half of its rating.

    Formula: V^2 / (0.5 P). Units: V, W -> ohm. Source: arithmetic; the half is common practice.
    """
    return volts * volts / (0.5 * rated_power)


def most_axle_ohms(volts: float, threshold: float) -> float:
    """Largest axle resistor of which one axle alone holds the block.

    Formula: V / (1.5 threshold). Units: V, A -> ohm. Source: arithmetic; the 1.5 is common practice.
    """
    return load_seen(volts, threshold)


def load_seen(volts: float, threshold: float) -> float:
    """Test resistor that a healthy detector must report.

    Formula: V / (1.5 threshold). Units: ohm. Source: as above.
    """
    return volts / (SEEN_MARGIN * threshold)


def load_unseen(volts: float, threshold: float) -> float:
    """Test resistor that a healthy detector must ignore.

    Formula: V / (0.5 threshold). Units: V, A -> ohm. Source: arithmetic; the half is common practice.
    """
    return volts / (0.5 * threshold)


def axles_for(ohms: float, axle_ohms: float) -> int:
    """Whole number of equal axles in parallel that reads nearest to a resistance.

    Formula: the n >= 1 for which axle / n is nearest by ratio to the reading. Units: ohm. Source: arithmetic.
    """
    if ohms <= 0.0:
        raise ValueError("ohms must be above 0")
    below = max(int(axle_ohms / ohms), 1)
    return min((below, below + 1), key=lambda n: abs(_octaves(axle_ohms / n, ohms)))


def _octaves(a: float, b: float) -> float:
    """How far two values are apart by ratio: 0 when equal, the same for a/b and b/a up to its sign."""
    return a / b - b / a


def cars_current(cars: float, axles_per_car: float, volts: float, axle_ohms: float) -> float:
    """What all resistor axles draw together; keep it below a tenth of the trip current.

    Formula: cars x axles x V / R. Units: count, V, ohm -> A. Source: arithmetic; the tenth is common
    practice.
    """
    return cars * axles_per_car * volts / axle_ohms


def share_past_sneak_path(sneak_ohms: float, detector_ohms: float) -> float:
    """Part of a train's current that still goes through the detector when a second feed goes round it.

    Formula: R_sneak / (R_sneak + R_detector). Units: ohm -> ratio. Source: arithmetic.
    """
    return sneak_ohms / (sneak_ohms + detector_ohms)


def net_through_coil(wires: Iterable[float]) -> float:
    """Current that a coil feels: wires through it add with their direction, so a pair out and back cancels.

    Formula: |sum of signed currents|. Units: A. Source: arithmetic (Ampere's law).
    """
    return abs(sum(wires))


def knee_current(rail_ohms: float, knee_volts: float = 0.6) -> float:
    """Current that undetected rail carries before the diodes beside it begin to conduct and report.

    A vehicle over a joint between detected and undetected rail is missed below this current.
    Formula: knee volts / resistance of the undetected path. Units: ohm, V -> A. Source: arithmetic;
    the 0.6 V knee is common practice.
    """
    return knee_volts / rail_ohms


def detector_drop(junctions_in_series: float, volts_each: float = DIODE_VOLTS) -> float:
    """Volts that a diode-drop detector takes from its block: one junction as a rule, two in a shorted bridge.

    Formula: junctions x 0.7 V. Units: V. Source: common practice (0.7 to 1.0 V a junction).
    """
    return junctions_in_series * volts_each


def safe_to_cut(joint_ohms: float, limit: float, in_phase: bool) -> bool:
    """Whether a leaking joint is worth cutting: in phase only one that leaks below its limit can show itself.

    Formula: R < limit, or out of phase R < 3 x limit. Units: ohm. Source: arithmetic; the factor 3 of margin
    is common practice.
    """
    return joint_ohms < (limit if in_phase else 3.0 * limit)

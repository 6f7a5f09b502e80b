"""How each named quantity is worked out at a place: which figures go into which formula, from where.

Rules: one function a quantity; a function that returns three numbers gives value, low and high, where it is
known only roughly. True volts become what the owner's meter shows only through `shown`. Names, units,
formulas as text and sources are in `values`; the physics is in the modules by theme.
"""

from troubleshoot.electrics import accessories, cables, leaks, power, waves
from troubleshoot.electrics.ground import Ground
from troubleshoot.layout import Figure, Place

Range = tuple[float, float, float]
"""Value, low and high."""

_FINEST_VOLTS = 0.1
"""Least volts that a hand meter's AC range shows apart from nothing. Source: common practice."""


def leak_limit(g: Ground) -> float:
    """Of the place's detector: its volts and threshold."""
    return leaks.leak_limit(leaks.volts_seen(g.volts(), g.detector_drop()), g.threshold())


def _sides(g: Ground) -> tuple[Place, Place]:
    """The two blocks that a joint parts (the same one twice where the record does not know the other)."""
    blocks = g.layout.related("own-block", g.first("joint-of"))
    return blocks[0], blocks[-1]


def _turning(g: Ground, a: Place, b: Place) -> bool:
    """Whether one side alone is a reversing section, so that the two may stand out of phase."""
    return (g.layout.word(a, "reversing") == "yes") != (g.layout.word(b, "reversing") == "yes")


def _two_boosters(g: Ground, a: Place, b: Place) -> bool:
    return g.first("booster-of", a) != g.first("booster-of", b)


def _train_drop(g: Ground, block: Place) -> float:
    """Volts that a train at the joint makes there: in its detector's diodes, or in feeder wire and rail."""
    if g.detector_kind(block) == "diode-drop":
        return g.detector_drop(block)
    wire = g.figure("feeder-length", block) * cables.ohms_per_metre(g.figure("feeder-area", block))
    rail = g.figure("block-length", block) / 2.0 * g.figure("rail-ohms", block)
    return leaks.feeder_drop(g.trade("train-current"), wire + rail)


def joint_leak_limit(g: Ground) -> Range:
    """The larger of both directions; rough where it hangs on the current of a train next door."""
    a, b = _sides(g)
    if _turning(g, a, b):
        value = max(leaks.joint_limit(_opposed_at(g, a, b)[0], g.threshold(side)) for side in (a, b))
        return value, value, value
    if _two_boosters(g, a, b):
        across = g.trade("booster-difference")
        value = max(leaks.joint_limit(across, g.threshold(side)) for side in (a, b))
        return value, value / 2.0, value * 2.0
    value = max(leaks.joint_limit(_train_drop(g, other), g.threshold(own)) for own, other in ((a, b), (b, a)))
    known = "diode-drop" in (g.detector_kind(a), g.detector_kind(b))
    return (value, value, value) if known else (value, value * 0.4, value * 2.0)


def feeder_current(g: Ground) -> Range:
    """As the kind of detector takes it; mixed bits give less, a true-RMS meter shows more."""
    farads = waves.cable_capacitance(g.figure("feeder-capacitance"), g.figure("feeder-length"))
    volts, ones = g.volts(), waves.edges_per_second()
    sensing = g.word("detector-of", "sensing") or "averaging"
    value = waves.capacitance_current(sensing, volts, farads, ones)
    mixed = waves.average_capacitance_current(volts, farads, waves.edges_per_second(waves.MIXED_HALF_BIT))
    return value, min(value, mixed), max(value, waves.capacitance_current("rms", volts, farads, ones))


def filter_current(g: Ground) -> Range:
    """As a true-RMS meter shows it at all ones; nominal zeros give less."""
    volts, ohms, farads = g.volts(), g.trade("filter-ohms"), g.trade("filter-farads")
    value = waves.filter_rms_current(volts, ohms, farads)
    return value, waves.filter_rms_current(volts, ohms, farads, waves.ZERO_HALF_BIT), value


def shown(g: Ground, value: Range) -> Range:
    """True AC volts or amps of the track signal, as the owner's meter shows them."""
    factor = g.meter()
    return value[0] * factor.value, value[1] * factor.low, value[2] * factor.high


def track_volts(g: Ground) -> Range:
    """At the place, as shown."""
    volts = g.volts()
    return shown(g, (volts, volts, volts))


def in_phase(g: Ground) -> Range:
    """Two boosters differ by more than two points of one."""
    a, b = _sides(g)
    apart = "booster-difference" if _two_boosters(g, a, b) else "set-difference"
    volts = power.gap_volts_in_phase(g.trade(apart), 0.0, max(g.detector_drop(a), g.detector_drop(b)))
    value, low, high = shown(g, (volts, volts, volts))
    return max(value, _FINEST_VOLTS), max(low, _FINEST_VOLTS), max(high, _FINEST_VOLTS)


def _opposed_at(g: Ground, a: Place, b: Place) -> Range:
    """True volts across one gap between sides out of phase, by how their boosters are referenced."""
    first, second = g.volts(a), g.volts(b)
    half = power.gap_volts_out_of_phase(first, second, "common")
    both = power.gap_volts_out_of_phase(first, second, "common", common_rail=True)
    if not _two_boosters(g, a, b) and _turning(g, a, b):
        return half, half, half
    facts = g.layout.facts(a)
    if facts["common-rail"] == "yes":
        return both, both, both
    if g.word("booster-of", "reference", a) == "common" and facts["common-rail"] == "no":
        return half, half, half
    return half, half / 2.0, both


def out_of_phase(g: Ground) -> Range:
    """As shown."""
    a, b = _sides(g)
    return shown(g, _opposed_at(g, a, b))


def common_rail(g: Ground) -> Range:
    """As shown, if one rail is common to both sides."""
    a, b = _sides(g)
    volts = power.gap_volts_out_of_phase(g.volts(a), g.volts(b), "common", common_rail=True)
    return shown(g, (volts, volts, volts))


def _loop_of(g: Ground, block: Place) -> Range:
    """Likely with the feed in the middle of the block, least at the feed itself, most with it at one end."""
    bus = cables.loop_ohms(g.figure("bus-length", block), cables.ohms_per_metre(g.figure("bus-area", block)))
    per_metre = cables.ohms_per_metre(g.figure("feeder-area", block))
    feeder = cables.loop_ohms(g.figure("feeder-length", block), per_metre)
    rail = cables.loop_ohms(g.figure("block-length", block), g.figure("rail-ohms", block))
    wires, clip = bus + feeder, g.trade("clip")
    half, whole = (power.loop_resistance(bus=wires, rail=r, contact=clip) for r in (rail / 2.0, rail))
    return half, wires + clip, whole


def loop_expected(g: Ground) -> Range:
    """The loop of the block that is hardest to reach, of those that the place has to do with."""
    worst: Range = (0.0, 0.0, 0.0)
    used: dict[Figure, None] = {}
    for block in g.layout.related("own-block", g.place):
        trial = Ground(g.layout, block)
        loop = _loop_of(trial, block)
        if loop > worst:
            worst, used = loop, trial.used
    g.used.update(used)
    return worst


def joint_drop_limit(g: Ground) -> float:
    """At the current of the usual dummy load."""
    return power.JOINT_DROP_PER_AMP * g.volts() / g.trade("dummy-load")


def inrush_time(g: Ground) -> float:
    """With every vehicle of the record empty and nothing running."""
    farads = g.figure("storage", g.layout.itself) * g.of_stock("storage-vehicles")
    return power.charge_time(farads, g.volts(), g.figure("booster-limit"))


def district_load(g: Ground) -> Range:
    """Rough: by the vehicles of the record, each as hungry as a train."""
    value = g.of_stock("storage-vehicles") * g.trade("train-current")
    return value, value / 2.0, value * 1.5


def input_low(g: Ground) -> float:
    """Of the logic supply of the place's input."""
    return accessories.input_low_limit(g.figure("input-volts"))


def input_high(g: Ground) -> float:
    """Of the logic supply of the place's input."""
    return accessories.input_high_limit(g.figure("input-volts"))


def contact_limit(g: Ground) -> float:
    """Of a closed contact."""
    return accessories.contact_limit(g.figure("pull-up"), input_low(g), g.figure("input-volts"))


def wire_leak_limit(g: Ground) -> float:
    """Of an open field wire."""
    return accessories.wire_leak_limit(g.figure("pull-up"), input_high(g), g.figure("input-volts"))


def least_section(g: Ground) -> float:
    """For the longest train of the record."""
    train, gap = g.of_stock("longest-train"), g.figure("gap", g.first("joint-of"))
    return power.least_section(train, g.trade("bogie"), gap)


def charge_time(g: Ground) -> float:
    """Of one vehicle behind its charging resistor."""
    return power.limited_charge_time(g.of_stock("storage-charge-ohms"), g.of_stock("storage"))

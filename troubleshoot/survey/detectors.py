"""Detectors: whether one axle is seen, whether wire, damp ballast or a filter alone looks like a train."""

from collections.abc import Iterator, Mapping

from troubleshoot.electrics import leaks, waves
from troubleshoot.layout import Part
from troubleshoot.survey.feeding import place
from troubleshoot.survey.site import Data, Site
from troubleshoot.survey.spots import Datum, Kind, Look

SENSING: Mapping[str, float] = {"averaging": 0.0, "rms": 1.0, "peak": 2.0}
"""Ways of sensing in rising order of what the edges of the signal make of a wire's capacitance."""

KINDS: Mapping[str, Kind] = {
    "axle-unseen": Kind(
        sentence="One resistor axle draws less than a detector needs to see it surely",
        says="One axle of {axle-ohms} draws {value}; to be sure of it {place} wants {limit}. "
        "A last car with one such axle may stand unseen",
        formula="(track volts - drop of diodes) / resistance of an axle >= 1.5 x threshold / passes",
        unit="A",
        source="Ohm's law; the 1.5 is common practice",
        cure="Lead the block wires through the coils once more, lower the threshold, or fit two such axles a car",
        minutes=30,
        fails="below",
        serious=1.5,
    ),
    "vehicle-unseen": Kind(
        sentence="An axle of a certain vehicle draws less than a detector needs to see it surely",
        says="One axle of {place} draws {value}; to be sure of it {detector} wants {limit}",
        formula="(track volts - drop of diodes) / resistance of an axle >= 1.5 x threshold / passes",
        unit="A",
        source="Ohm's law; the 1.5 is common practice",
        cure="Fit an axle of lower resistance, or a second one",
        minutes=15,
        fails="below",
        serious=1.5,
    ),
    "cars-without-axles": Kind(
        sentence="Detectors look for current, and no car has an axle that draws any",
        says="The cars of {place} have no resistor axles, and {detectors} detectors look for current. "
        "Cars left behind stand unseen",
        formula="detectors that look for current, where no car draws any <= 0",
        unit="count",
        source="common practice",
        cure="Fit one resistor axle to the last car of each train",
        minutes=20,
        gravest="weak",
    ),
    "axle-resistor-hot": Kind(
        sentence="The resistor of an axle gets too hot",
        says="An axle of {axle-ohms} on {place} makes {value} while the track is on; a common one may have {limit}",
        formula="track volts^2 / resistance of an axle <= half of its rating",
        unit="W",
        source="arithmetic; the half is common practice",
        cure="Fit axles of higher resistance where the detectors allow it",
        minutes=15,
        gravest="weak",
    ),
    "feeder-looks-occupied": Kind(
        sentence="A long feeder alone takes so much current that its block may show occupied",
        says="{place} alone takes {value}; from {limit} on a little damp makes a train of it",
        formula="current of the feeder's capacitance <= threshold / passes / 3",
        unit="A",
        source="arithmetic (charge per edge); the third is common practice",
        cure="Untie the feeder from other wires and lead its two wires a finger apart, or move the detector nearer",
        minutes=30,
        serious=3.0,
    ),
    "ballast-looks-occupied": Kind(
        sentence="A block is so long that damp ballast alone may show it occupied",
        says="On a damp day the ballast of {place} takes {value} over {length}; {detector} reports from {limit} on",
        formula="(track volts - drop of diodes) x length / damp ballast <= threshold / passes",
        unit="A",
        source="arithmetic; 30 kohm m of damp ballast is common practice",
        cure="Raise the threshold as far as one axle allows, or make two blocks of it",
        minutes=15,
        serious=2.0,
    ),
    "filter-behind-detector": Kind(
        sentence="A filter on the track side of a detector shows its block occupied for good",
        says="The filter in {place} takes {value}, and {detector} reports from {limit} on",
        formula="2 x track volts x capacitor of the filter x edges per second <= threshold / passes / 3",
        unit="A",
        source="arithmetic (charge per edge)",
        cure="Move the filter to the bus, before the detector",
        minutes=15,
        serious=3.0,
    ),
    "detector-joins-boosters": Kind(
        sentence="One detector joins the boosters of its blocks",
        says="{place} watches blocks of {count} boosters, and its diodes lie on one common wire. It joins them",
        formula="boosters behind a detector with a common wire <= 1",
        unit="count",
        source="common practice",
        cure="Move the blocks of one booster to a detector of their own",
        minutes=40,
        gravest="weak",
    ),
    "undetected-beside-diodes": Kind(
        sentence="A length without a detector lies beside one with diodes",
        says="At {place} {watched} has diodes in its feed and {bare} has none. "
        "What stands over the joint draws its current from {bare} and is not seen",
        formula="sides of a joint without the drop of the other <= 0",
        unit="count",
        source="arithmetic; the 0.6 V knee is common practice",
        cure="Put a pair of diodes into the feed of {bare} too",
        minutes=20,
        gravest="remark",
    ),
}


def _axle(f: Mapping[str, float]) -> tuple[float, float]:
    volts = leaks.volts_seen(f["volts"], f["drop"])
    return leaks.axle_current(volts, f["axle-ohms"]), leaks.SEEN_MARGIN * f["threshold"] / f["passes"]


def _some(f: Mapping[str, float]) -> tuple[float, float]:
    return f["count"], 0.0


def _several(f: Mapping[str, float]) -> tuple[float, float]:
    return f["count"], 1.0


def _axle_heat(f: Mapping[str, float]) -> tuple[float, float]:
    return leaks.axle_power(f["volts"], f["axle-ohms"]), f["axle-watts"] / 2.0


def _feeder(f: Mapping[str, float]) -> tuple[float, float]:
    farads = waves.cable_capacitance(f["capacitance"], f["feeder-length"])
    sensing = next(word for word, number in SENSING.items() if number >= f["sensing"])
    current = waves.capacitance_current(sensing, f["volts"], farads, waves.edges_per_second())
    return current, f["threshold"] / f["passes"] / 3.0


def _ballast(f: Mapping[str, float]) -> tuple[float, float]:
    leak = leaks.ballast_leak(f["damp-ballast"], f["length"])
    return leaks.leak_current(leaks.volts_seen(f["volts"], f["drop"]), leak), f["threshold"] / f["passes"]


def _filter(f: Mapping[str, float]) -> tuple[float, float]:
    edges = waves.edges_per_second(waves.ZERO_HALF_BIT)  # the least: all zeros
    current = waves.average_capacitance_current(f["volts"], f["filter-capacitance"], edges)
    return current, f["threshold"] / f["passes"] / 3.0


def looks(site: Site) -> Iterator[Look]:
    """Every look at detectors."""
    watching = [d for d in site.all("detector") if site.word(d, "kind") in ("coil", "diode-drop")]
    yield from _stock(site, watching)
    for detector in site.all("detector"):
        blocks = site.users("block", "detector", detector.name)
        if site.word(detector, "kind") in ("coil", "diode-drop"):
            for block in blocks:
                yield from _block(site, detector, block)
        boosters = {b.name for x in blocks if (b := site.booster(site.district(x)))}
        if len(boosters) > 1:
            yield from _joining(site, detector, len(boosters))
    for joint in site.all("joint"):
        yield from _beside(site, joint)


def _volts(site: Site, block: Part | None) -> Datum:
    booster = site.booster(site.district(block)) if block else None
    return site.datum(booster, "output") if booster else site.stock("track-volts")


def _seen(site: Site, detector: Part, volts: Datum) -> Data:
    """What decides whether a detector sees a current: its threshold, passes and drop, and the volts."""
    diodes = site.word(detector, "kind") == "diode-drop"
    return {
        "volts": volts,
        "drop": site.datum(detector, "drop") if diodes else site.count(0, "drop of a coil"),
        "threshold": site.datum(detector, "threshold"),
        "passes": site.count(1, "passes of a detector with diodes") if diodes else site.datum(detector, "passes"),
    }


def _stock(site: Site, watching: list[Part]) -> Iterator[Look]:
    if not watching or site.top is None:
        return
    if site.said("resistor-axles") == "no":
        count = {"count": site.count(len(watching), "detectors that look for current")}
        yield Look("cars-without-axles", place(site.top), _some, count, {"detectors": str(len(watching))})
        return
    axle = site.stock("axle-ohms")
    if site.said("resistor-axles") == "yes" or site.given(site.top, "axle-ohms"):
        heat = {"volts": site.stock("track-volts"), "axle-ohms": axle, "axle-watts": site.trade("axle-watts")}
        yield Look("axle-resistor-hot", place(site.top), _axle_heat, heat)
        for detector in watching:
            yield Look("axle-unseen", place(detector), _axle, {**_least_volts(site, detector), "axle-ohms": axle})
    dullest = max(watching, key=lambda d: (site.datum(d, "threshold").value / site.datum(d, "passes").value, d.name))
    for vehicle in site.all("vehicle"):
        if site.given(vehicle, "axle-ohms"):
            data = {**_least_volts(site, dullest), "axle-ohms": site.datum(vehicle, "axle-ohms")}
            yield Look("vehicle-unseen", place(vehicle), _axle, data, {"detector": dullest.name})


def _least_volts(site: Site, detector: Part) -> Data:
    """As `_seen`, at the block of the detector with the fewest volts."""
    volts = [_volts(site, b) for b in site.users("block", "detector", detector.name)]
    return _seen(site, detector, min(volts or [_volts(site, None)], key=lambda d: d.value))


def _block(site: Site, detector: Part, block: Part) -> Iterator[Look]:
    seen, feeder = _seen(site, detector, _volts(site, block)), site.own(block.name, "feeder")
    if feeder is not None:
        data = {
            "volts": seen["volts"],
            "capacitance": site.datum(feeder, "capacitance"),
            "feeder-length": site.datum(feeder, "length"),
            "sensing": site.choice(detector, "sensing", SENSING, "averaging", "way of sensing"),
            "threshold": seen["threshold"],
            "passes": seen["passes"],
        }
        yield Look("feeder-looks-occupied", place(feeder), _feeder, data)
    ballast = {**seen, "length": site.datum(block, "length"), "damp-ballast": site.trade("damp-ballast")}
    tell = {"detector": detector.name}
    yield Look("ballast-looks-occupied", place(block), _ballast, ballast, tell)
    district = site.district(block)
    if site.word(block, "filter") == "yes" and district is not None:
        current = {n: seen[n] for n in ("volts", "threshold", "passes")}
        current["filter-capacitance"] = site.datum(district, "filter-capacitance")
        yield Look("filter-behind-detector", place(block), _filter, current, tell)


def _joining(site: Site, detector: Part, boosters: int) -> Iterator[Look]:
    kinds = {"coil": 0.0, "optical": 0.0, "contact": 0.0, "diode-drop": 1.0}
    count = site.count(boosters, f"boosters behind {detector.name}")
    kind = site.choice(detector, "kind", kinds, "coil", "kind")
    yield Look("detector-joins-boosters", place(detector), _joined, {"count": count, "kind": kind})


def _joined(f: Mapping[str, float]) -> tuple[float, float]:
    # 1 for diodes on one common wire, 0 for kinds that keep each block apart
    return f["count"] * f["kind"], 1.0


def _beside(site: Site, joint: Part) -> Iterator[Look]:
    sides = site.sides(joint)
    if sides is None:
        return
    for watched, bare in (sides, sides[::-1]):
        detector = site.detector(watched)
        if detector is None or site.word(detector, "kind") != "diode-drop" or "detector" in bare.words:
            continue
        if site.district(watched) is site.district(bare):
            data = {"count": site.count(1, f"side of {joint.name} without a detector")}
            yield Look(
                "undetected-beside-diodes", place(joint), _some, data, {"watched": watched.name, "bare": bare.name}
            )

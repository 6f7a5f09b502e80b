"""Boosters and their supplies: whether each gives what hangs on it, and how boosters stand to each other."""

from collections.abc import Iterator, Mapping

from troubleshoot.electrics import power
from troubleshoot.layout import Part
from troubleshoot.survey.feeding import place
from troubleshoot.survey.site import Site
from troubleshoot.survey.spots import Datum, Kind, Look

TOGETHER = 1.5
"""Trips of all districts of a booster together, in its limits, that are still common practice (estimate)."""

HEADROOM = 2.0
"""Volts that a booster wants above its output. Source: common practice (2 to 3 V)."""

KINDS: Mapping[str, Kind] = {
    "districts-outweigh-booster": Kind(
        sentence="The districts of a booster can together draw far more than it gives",
        says="The districts of {place} trip at {value} together, and it gives {booster-limit}. "
        "Well before that it shuts down although no breaker has tripped",
        formula="sum of the trip currents <= 1.5 x limit of the booster",
        unit="A",
        source="common practice; the 1.5 is an estimate",
        cure="Move a district to another booster, or lower the trips to {limit} together",
        minutes=30,
        serious=2.0,
    ),
    "supply-below-booster": Kind(
        sentence="A supply gives less current than the boosters on it may ask for",
        says="{place} gives {limit}, and the boosters on it may ask for {value}. It sags before they limit",
        formula="limits of all boosters on the supply <= limit of the supply",
        unit="A",
        source="arithmetic",
        cure="Lower the booster's limit to what the supply gives, and the trips behind it too",
        minutes=10,
        serious=1.5,
    ),
    "supply-volts-low": Kind(
        sentence="A supply leaves its booster too few volts",
        says="{place} gives {supply-volts} for track volts of {volts}. That leaves {value}, and {limit} are wanted",
        formula="volts of the supply - output of the booster >= 2 V",
        unit="V",
        source="common practice",
        cure="Set the booster to fewer track volts, or the supply to more if it can be set",
        minutes=10,
        fails="below",
        serious=4.0,
    ),
    "boosters-share-supply": Kind(
        sentence="Boosters that should be isolated from each other share a supply",
        says="{value} boosters share {place}, and {booster} is isolated. Through the supply they are joined after all",
        formula="boosters on one supply, where one is isolated <= 1",
        unit="count",
        source="common practice",
        cure="Give each isolated booster a supply of its own",
        minutes=30,
        gravest="weak",
    ),
    "reference-missing": Kind(
        sentence="Wheels pass between boosters that have no reference in common",
        says="At {place} wheels join {boosters}; one of these is isolated, and the other is not",
        formula="boosters that meet at a joint without a reference in common <= 1",
        unit="count",
        source="common practice",
        cure="Join the reference terminals of both boosters, if their instructions ask for it",
        minutes=20,
        gravest="weak",
    ),
    "boosters-unequal": Kind(
        sentence="Two boosters that meet at a joint are set to different volts",
        says="At {place} {first} meet {second}. Wheels over the joint carry a current from one booster to the other",
        formula="difference of the outputs <= 0.5 V",
        unit="V",
        source="arithmetic; the limit is common practice",
        cure="Set both boosters to the same track volts",
        minutes=5,
        serious=3.0,
    ),
    "track-volts-high": Kind(
        sentence="The track volts are above what the standard allows",
        says="{place} gives {value}. {limit} is the most at the track",
        formula="track volts <= 22 V",
        unit="V",
        source="NMRA S-9.1 (2020) Table 3",
        cure="Set the scale or volts switch of the booster lower",
        minutes=5,
        serious=1.09,
    ),
    "track-volts-low": Kind(
        sentence="The track volts are below what the standard allows",
        says="{place} gives {value}. At least {limit} are wanted at the track",
        formula="track volts >= 8.5 V",
        unit="V",
        source="NMRA S-9.1 (2020) Table 3",
        cure="Set the scale or volts switch of the booster higher",
        minutes=5,
        fails="below",
        gravest="weak",
    ),
}


def _trips(f: Mapping[str, float]) -> tuple[float, float]:
    return sum(v for n, v in f.items() if n != "booster-limit"), TOGETHER * f["booster-limit"]


def _limits(f: Mapping[str, float]) -> tuple[float, float]:
    return sum(v for n, v in f.items() if n != "supply-limit"), f["supply-limit"]


def _headroom(f: Mapping[str, float]) -> tuple[float, float]:
    return f["supply-volts"] * f["alternating"] - f["volts"], HEADROOM


def _several(f: Mapping[str, float]) -> tuple[float, float]:
    return f["count"], 1.0


def _reference(f: Mapping[str, float]) -> tuple[float, float]:
    # 0 common, 1 isolated: unlike ones have no reference between them
    return 1.0 + abs(f["one"] - f["other"]), 1.0


def _unequal(f: Mapping[str, float]) -> tuple[float, float]:
    return power.gap_volts_in_phase(f["first"], f["second"]), 0.5


def _high(f: Mapping[str, float]) -> tuple[float, float]:
    return f["volts"], 22.0


def _low(f: Mapping[str, float]) -> tuple[float, float]:
    return f["volts"], 8.5


def looks(site: Site) -> Iterator[Look]:
    """Every look at boosters and their supplies."""
    for booster in site.all("booster"):
        yield from _booster(site, booster)
    for supply in site.all("supply"):
        boosters = site.users("booster", "supply", supply.name)
        if boosters:
            yield from _supply(site, supply, boosters)
    for joint in site.all("joint"):
        sides = site.sides(joint)
        ends = [b for s in sides or () if (b := site.booster(site.district(s)))]
        if len(ends) == 2 and ends[0] is not ends[1]:
            yield from _meeting(site, joint, ends[0], ends[1])


def _booster(site: Site, booster: Part) -> Iterator[Look]:
    volts = {"volts": site.datum(booster, "output")}
    yield Look("track-volts-high", place(booster), _high, volts)
    yield Look("track-volts-low", place(booster), _low, volts)
    breakers = [
        b for d in site.users("district", "booster", booster.name) if (b := site.own(d.name, "breaker")) is not None
    ]
    if len(breakers) > 1:
        data: dict[str, Datum] = {f"trip of {b.name}": site.datum(b, "trip") for b in breakers}
        data["booster-limit"] = site.datum(booster, "limit")
        yield Look("districts-outweigh-booster", place(booster), _trips, data)


def _supply(site: Site, supply: Part, boosters: list[Part]) -> Iterator[Look]:
    data: dict[str, Datum] = {f"limit of {b.name}": site.datum(b, "limit") for b in boosters}
    data["supply-limit"] = site.datum(supply, "limit")
    yield Look("supply-below-booster", place(supply), _limits, data)
    hungriest = max(boosters, key=lambda b: (site.datum(b, "output").value, b.name))
    volts = {
        "supply-volts": site.datum(supply, "volts"),
        "volts": site.datum(hungriest, "output"),
        "alternating": site.trade("alternating"),
    }
    yield Look("supply-volts-low", place(supply), _headroom, volts)
    isolated = next((b for b in boosters if site.word(b, "reference") == "isolated"), None)
    if isolated is not None:
        count = {"count": site.count(len(boosters), f"boosters on {supply.name}")}
        yield Look("boosters-share-supply", place(supply), _several, count, {"booster": isolated.name})


def _meeting(site: Site, joint: Part, first: Part, second: Part) -> Iterator[Look]:
    words = {"common": 0.0, "isolated": 1.0}
    reference = {
        n: site.choice(b, "reference", words, "common", "reference") for n, b in (("one", first), ("other", second))
    }
    names = {"boosters": f"{first.name} and {second.name}"}
    yield Look("reference-missing", place(joint), _reference, reference, names)
    volts = {"first": site.datum(first, "output"), "second": site.datum(second, "output")}
    yield Look("boosters-unequal", place(joint), _unequal, volts)

"""Bus, feeders, plugs and rail: whether a short far out still trips, whether volts arrive, what the wires carry."""

from collections.abc import Iterator, Mapping

from troubleshoot.electrics import cables, power, waves
from troubleshoot.layout import Part
from troubleshoot.survey.feeding import bus_ohms, feeder_ohms, feeding, place, rail_ohms, tail
from troubleshoot.survey.site import Data, Site
from troubleshoot.survey.spots import Kind, Look

RAIL_SHARE = 0.25
"""Part of the way that a short may take which the rail alone may use up. Source: estimate."""

BARE_BUS = 10.0
"""Length of a bus from which a filter at its end is worth while, m. Source: common practice (some thirty feet)."""

KINDS: Mapping[str, Kind] = {
    "short-may-not-trip": Kind(
        sentence="A short at the far rail of a block may heat instead of tripping its breaker",
        says="A short at the far end of {place} draws {value} times the trip of {trip}. "
        "At least {limit} times is wanted, and twice is better",
        formula="track volts / (way to the far rail and back) / trip current >= 1.5",
        unit="",
        source="Ohm's law; the 1.5 is common practice",
        cure="Lay a second wire beside each wire of the feeder, or feed the far end of the block from the bus",
        minutes=30,
        fails="below",
        serious=1.5,
        remark=0.75,
    ),
    "volts-sag-on-bus": Kind(
        sentence="A bus loses too many volts at the full current of its district",
        says="At full load {place} loses {value} on its way. {limit} is the most that trains do not show",
        formula="half the trip current x ohms of the bus, out and back <= 5 % of the track volts",
        unit="V",
        source="Ohm's law (load spread evenly); the 5 % is common practice",
        cure="Feed the bus in its middle, or lay a second bus beside the first",
        minutes=60,
        serious=2.0,
    ),
    "volts-sag-in-block": Kind(
        sentence="A train in a block gets too few volts when the district is busy",
        says="A train at the far end of {place} gets {value} less than the booster gives. {limit} is the most wanted",
        formula="drop of the busy bus + current of a train x (feeder + rail) <= 5 % of the track volts",
        unit="V",
        source="Ohm's law; the 5 % is common practice",
        cure="Lay a second wire beside each wire of the feeder, or add a feed at the far end",
        minutes=30,
        serious=2.0,
    ),
    "feeder-lighter-than-trip": Kind(
        sentence="A feeder gets hot before its breaker trips",
        says="{place}, {feeder-area}, carries {limit} for good, and its breaker lets {value} pass",
        formula="trip current <= current that warms the wire by 30 C (0.6 of it in a loom)",
        unit="A",
        source="textbook (heat balance of a wire in still air); the share in a loom is common practice",
        cure="Lay a second wire beside each wire of the feeder, or lower the trip",
        minutes=30,
        serious=1.5,
    ),
    "bus-lighter-than-trip": Kind(
        sentence="A bus gets hot before its breaker trips",
        says="{place}, {area}, carries {limit} for good, and its breaker lets {value} pass",
        formula="trip current <= current that warms the wire by 30 C",
        unit="A",
        source="textbook (heat balance of a wire in still air)",
        cure="Lower the trip until the thicker wire is laid",
        minutes=5,
        serious=1.5,
    ),
    "long-block-on-one-feed": Kind(
        sentence="A block is too long for its feeds: the rail itself chokes a short",
        says="In {place} the rail from its feed to the far end makes {value}, of the {limit} that a quarter of the way "
        "may have",
        formula="both rails from the feed to the far end <= track volts / (1.5 x trip current) / 4",
        unit="ohm",
        source="arithmetic; the quarter is an estimate",
        cure="Add a feed at the far end of the block",
        minutes=30,
        serious=3.0,
    ),
    "bus-without-filter": Kind(
        sentence="A long bus has no filter at its end",
        says="{place} is {value} long and has no filter at its end. It rings at about {ringing} at every edge",
        formula="length of a bus without a filter <= 10 m",
        unit="m",
        source="common practice",
        cure="Put 100 ohm 2 W and 0.1 uF in series across the far end of the bus, before any detector",
        minutes=20,
        gravest="weak",
    ),
    "filter-runs-hot": Kind(
        sentence="The resistor of a filter gets too hot",
        says="The filter of {place} makes {value} for as long as the track is on. Its resistor may have {limit}",
        formula="heat of the resistor <= half of its rating",
        unit="W",
        source="textbook (steady RC response); the half is common practice",
        cure="Change the resistor for one of at least twice the heat, with air round it",
        minutes=15,
        serious=2.0,
    ),
    "plug-short-of-ways": Kind(
        sentence="A plug has too few ways for the feeders that go through it",
        says="{value} wires of {blocks} blocks have to go through {place}, which has {ways} ways. "
        "Returns that share a way tie blocks together",
        formula="two wires for each block through the plug <= ways",
        unit="count",
        source="arithmetic; common practice",
        cure="Add a second plug, or lead the returns through several ways side by side",
        minutes=60,
        gravest="weak",
    ),
}


def _way(f: Mapping[str, float]) -> float:
    parts = {"source": f["source"], "bus": bus_ohms(f), "feeder": feeder_ohms(f), "rail": rail_ohms(f)}
    return power.loop_resistance(**parts, contact=f["clip"])


def _margin(f: Mapping[str, float]) -> tuple[float, float]:
    return power.short_margin(f["volts"], _way(f), f["trip"]), power.TRIP_MARGIN


def _bus_drop(f: Mapping[str, float]) -> tuple[float, float]:
    return power.spread_load_drop(f["trip"], bus_ohms(f)), power.drop_limit(f["volts"])


def _block_drop(f: Mapping[str, float]) -> tuple[float, float]:
    own = power.drop(f["train-current"], feeder_ohms(f) + rail_ohms(f))
    return power.spread_load_drop(f["trip"], bus_ohms(f)) + own, power.drop_limit(f["volts"])


def _feeder_heat(f: Mapping[str, float]) -> tuple[float, float]:
    return f["trip"], cables.carried(f["feeder-area"]) * f["feeds"]


def _loom_heat(f: Mapping[str, float]) -> tuple[float, float]:
    return f["trip"], cables.carried(f["feeder-area"], share=cables.BUNDLED_SHARE) * f["feeds"]


def _bus_heat(f: Mapping[str, float]) -> tuple[float, float]:
    return f["trip"], cables.carried(f["area"])


def _rail(f: Mapping[str, float]) -> tuple[float, float]:
    return rail_ohms(f), RAIL_SHARE * power.loop_limit(f["volts"], f["trip"])


def _bare(f: Mapping[str, float]) -> tuple[float, float]:
    # 1 without a filter, 0 with one
    return f["length"] * f["filter"], BARE_BUS


def _hot(f: Mapping[str, float]) -> tuple[float, float]:
    return waves.filter_heat(f["volts"], f["filter-ohms"], f["filter-capacitance"]), f["filter-watts"] / 2.0


def _ways(f: Mapping[str, float]) -> tuple[float, float]:
    # a pair each; one wire each and one shared return is the least
    return f["blocks"] * f["wires"] + (2.0 - f["wires"]), f["ways"]


def looks(site: Site) -> Iterator[Look]:
    """Every look at the wiring of track power."""
    for district in site.all("district"):
        way = feeding(site, district)
        if way is not None:
            yield from _bus(site, district, way)
            for block in site.users("block", "district", district.name):
                yield from _block(site, block, way)
    for plug in site.all("plug"):
        yield from _plug(site, plug)


def _bus(site: Site, district: Part, way: Data) -> Iterator[Look]:
    bus = site.layout.parts[f"{district.name} bus"]
    yield Look("volts-sag-on-bus", place(bus), _bus_drop, _but_source(way))
    stretches = site.all_own(district.name, "bus-segment") or [bus]
    for stretch in stretches:
        data = {"trip": way["trip"], "area": site.datum(stretch, "area")}
        yield Look("bus-lighter-than-trip", place(stretch), _bus_heat, data)
    word = site.word(district, "filter") or site.said("filter")
    fitted = site.choice(district, "filter", {"yes": 0.0, "no": 1.0}, "yes", "filter at the end of the bus")
    if site.word(district, "filter") is None and word in ("yes", "no"):
        fitted = site.count(float(word == "no"), "buses without a filter")
    length = way["bus-length"]
    ringing = f"{waves.ringing_frequency(length.value) / 1e6:.2g} MHz"
    yield Look("bus-without-filter", place(bus), _bare, {"length": length, "filter": fitted}, {"ringing": ringing})
    if word == "yes":
        names = ("filter-ohms", "filter-capacitance", "filter-watts")
        yield Look(
            "filter-runs-hot", place(bus), _hot, {"volts": way["volts"], **{n: site.datum(district, n) for n in names}}
        )


def _but_source(way: Data) -> Data:
    """A way without its booster's own resistance: a drop is reckoned from the booster's terminals."""
    return {name: datum for name, datum in way.items() if name != "source"}


def _block(site: Site, block: Part, way: Data) -> Iterator[Look]:
    own = tail(site, block)
    if own is None:
        return
    at, both = place(block), {**way, **own}
    yield Look("short-may-not-trip", at, _margin, {**both, "clip": site.trade("clip")})
    busy = {**_but_source(both), "train-current": site.trade("train-current")}
    yield Look("volts-sag-in-block", at, _block_drop, busy)
    rail = {n: both[n] for n in ("volts", "trip", "block-length", "rail", "feeds", "feed-point")}
    yield Look("long-block-on-one-feed", at, _rail, rail)
    feeder = site.layout.parts[f"{block.name} feeder"]
    heat = {n: both[n] for n in ("trip", "feeder-area", "feeds")}
    loom = site.word(feeder, "spacing") == "bundled"
    yield Look("feeder-lighter-than-trip", place(feeder), _loom_heat if loom else _feeder_heat, heat)


def _plug(site: Site, plug: Part) -> Iterator[Look]:
    through = site.users("feeder", "plug", plug.name)
    if not through or not site.given(plug, "ways"):
        return
    data = {
        "blocks": site.count(len(through), f"blocks through {plug.name}"),
        "wires": site.trade("wires-a-block"),
        "ways": site.datum(plug, "ways"),
    }
    yield Look("plug-short-of-ways", place(plug), _ways, data)

"""How a district is fed: the figures from its booster to the end of its bus, and which of its blocks hang on it.

A district without a breaker trips at its booster's limit, after the booster's delay. What may be weak about it is
left to the looks.
"""

from collections.abc import Mapping

from troubleshoot.electrics import cables
from troubleshoot.layout import Part, Place
from troubleshoot.survey.site import Data, Site


def place(part: Part) -> Place:
    """The place that a part is."""
    return Place(part.kind, part.name)


def feeding(site: Site, district: Part | None) -> Data | None:
    """Volts, trip, source and bus of a district, by name; None where the record names no booster for it."""
    booster = site.booster(district)
    bus = site.own(district.name, "bus") if district else None
    if district is None or booster is None or bus is None:
        return None
    breaker = site.own(district.name, "breaker")
    return {
        "volts": site.datum(booster, "output"),
        "trip": site.datum(breaker, "trip") if breaker else site.datum(booster, "limit"),
        "source": site.datum(booster, "source-ohms"),
        "bus-length": site.datum(bus, "length"),
        "bus-area": site.datum(bus, "area"),
    }


def bus_ohms(f: Mapping[str, float]) -> float:
    """Out and back along the bus of a district, from the figures of `feeding`. Units: ohm. Source: as `cables`."""
    return cables.loop_ohms(f["bus-length"], cables.ohms_per_metre(f["bus-area"]))


def tail(site: Site, block: Part) -> Data | None:
    """Feeder and rail of a block, by name."""
    feeder = site.own(block.name, "feeder")
    if feeder is None:
        return None
    return {
        "feeder-length": site.datum(feeder, "length"),
        "feeder-area": site.datum(feeder, "area"),
        "block-length": site.datum(block, "length"),
        "rail": site.datum(block, "rail-ohms"),
        "feeds": site.datum(block, "feeds") if site.given(block, "feeds") else site.count(1, f"feed of {block.name}"),
        "feed-point": site.trade("feed-point"),
    }


def feeder_ohms(f: Mapping[str, float]) -> float:
    """Out and back along the feeder of a block. Units: ohm. Source: as `cables`."""
    return cables.loop_ohms(f["feeder-length"], cables.ohms_per_metre(f["feeder-area"])) / f["feeds"]


def rail_ohms(f: Mapping[str, float]) -> float:
    """Both rails from a feed to the farthest wheel: half the block with one feed in its middle, all with it at an end.

    Formula: 2 r L x share / feeds. Units: ohm. Source: arithmetic.
    """
    return cables.loop_ohms(f["block-length"], f["rail"]) * f["feed-point"] / f["feeds"]

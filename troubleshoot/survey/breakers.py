"""Breakers: whether they act before their boosters, and what a fault, the trains or a switch-on ask of them."""

from collections.abc import Iterator, Mapping

from troubleshoot.electrics import power
from troubleshoot.layout import Part
from troubleshoot.survey.feeding import bus_ohms, feeding, place
from troubleshoot.survey.site import Site
from troubleshoot.survey.spots import Datum, Kind, Look

BUSY_WATTS = 60.0
"""Heat of a fault just under the trip from which a fire is likely before anybody notices, W.

Source: estimate (30 W starts fires, and every district of 2 A or more can give that).
"""

KINDS: Mapping[str, Kind] = {
    "breaker-above-booster": Kind(
        sentence="A breaker trips at no less than its booster can give",
        says="{place} trips at {trip}, but its booster gives no more than {booster-limit}. "
        "Up to {limit} the breaker is sure to act before the booster",
        formula="trip current <= 0.8 x limit of the booster",
        unit="A",
        source="common practice",
        cure="Set the breaker to {limit} or less",
        minutes=5,
        serious=1.25,
    ),
    "breaker-after-booster": Kind(
        sentence="A booster shuts down before the breaker behind it has acted",
        says="{place} waits {value}, and its booster only {booster-delay}. Up to {limit} the breaker is surely first",
        formula="trip delay <= half the delay of the booster",
        unit="s",
        source="common practice",
        cure="Set the breaker's delay to {limit} or less, or the booster's to more",
        minutes=5,
        serious=2.0,
    ),
    "thermal-link-too-slow": Kind(
        sentence="A thermal link is slower than the booster before it",
        says="The thermal link of {place} takes about {value} even at twice its current. "
        "Its booster gives up after {booster-delay}, and all its districts with it",
        formula="time of the link at twice its current <= half the delay of the booster",
        unit="s",
        source="common practice",
        cure="Fit an electronic breaker that trips within {limit}",
        minutes=40,
        gravest="weak",
    ),
    "no-breaker": Kind(
        sentence="Several districts hang on one booster, and one has no breaker",
        says="{place} has no breaker, so a short there stops all {value} districts of {booster}",
        formula="districts of a booster, where one has no breaker <= 1",
        unit="count",
        source="common practice",
        cure="Fit a breaker before {place}, set below the booster's limit",
        minutes=40,
        gravest="weak",
    ),
    "breaker-outruns-reverser": Kind(
        sentence="A breaker acts before a reverser behind it can turn",
        says="{place} trips after {value}, and a reverser in its district needs about {limit}",
        formula="trip delay >= time that a reverser takes to turn",
        unit="s",
        source="common practice",
        cure="Lengthen the breaker's delay, but keep it below half of the booster's",
        minutes=5,
        fails="below",
        gravest="weak",
    ),
    "fault-can-burn": Kind(
        sentence="A fault just under the trip makes enough heat for a fire",
        says="A weak short in {place} can turn {value} into heat until somebody sees it, for the trip is at {trip}",
        formula="trip x (track volts - trip x way without the fault) <= 60 W",
        unit="W",
        source="arithmetic; the limit is an estimate",
        cure="Lower the trip, or split the district and give each half a breaker of its own",
        minutes=15,
        serious=2.0,
    ),
    "district-overloaded": Kind(
        sentence="The trains of a district draw more than its breaker lets pass",
        says="With every second of its {blocks} blocks busy, {place} draws {value}. Its breaker trips at {limit}",
        formula="trains at work x current of a train + accessories on the track <= trip current",
        unit="A",
        source="common practice; the share of busy blocks is an estimate",
        cure="Split the district, and give the other half a breaker of its own",
        minutes=60,
        serious=1.5,
    ),
    "inrush-trips": Kind(
        sentence="Empty storage capacitors hold a breaker over its trip at switch-on",
        says="At switch-on {count} vehicles charge for {value}, and {place} trips after {limit}",
        formula="storage x track volts / limit of the booster <= trip delay, where no resistor keeps it below the trip",
        unit="s",
        source="textbook (charge at constant current)",
        cure="Fit charging resistors of 100 ohm to the storage packs, or lengthen the breaker's start-up time",
        minutes=20,
        serious=3.0,
    ),
}


def _trip(f: Mapping[str, float]) -> tuple[float, float]:
    return f["trip"], power.TRIP_BELOW_BOOSTER * f["booster-limit"]


def _delay(f: Mapping[str, float]) -> tuple[float, float]:
    return f["delay"], f["booster-delay"] / 2.0


def _several(f: Mapping[str, float]) -> tuple[float, float]:
    return f["count"], 1.0


def _reverser(f: Mapping[str, float]) -> tuple[float, float]:
    return f["delay"], f["reverser"]


def _burn(f: Mapping[str, float]) -> tuple[float, float]:
    # half the bus: a fault may sit anywhere along it
    return power.fault_heat(f["volts"], f["trip"], f["source"] + bus_ohms(f) / 2.0), BUSY_WATTS


def _load(f: Mapping[str, float]) -> tuple[float, float]:
    trains = min(f["vehicles"], f["blocks"] * f["busy-share"]) * f["train-current"]
    return trains + f["boards"] * f["board-current"] + f["motors"] * f["stall-current"], f["trip"]


def _inrush(f: Mapping[str, float]) -> tuple[float, float]:
    time = power.time_above_trip(
        f["count"] * f["gathered"], f["storage"], f["volts"], f["charge"], f["booster-limit"], f["trip"]
    )
    return time, f["delay"]


def looks(site: Site) -> Iterator[Look]:
    """Every look at breakers."""
    fed = _fed_from_track(site)
    for district in site.all("district"):
        booster, breaker = site.booster(district), site.own(district.name, "breaker")
        if booster is None:
            continue
        if breaker is None:
            others = len(site.users("district", "booster", booster.name))
            data = {"count": site.count(others, f"districts of {booster.name}")}
            yield Look("no-breaker", place(district), _several, data, {"booster": booster.name})
        else:
            yield from _order(site, district, breaker, booster)
        yield from _strain(site, district, breaker, booster, fed.get(district.name, (0, 0)))


def _order(site: Site, district: Part, breaker: Part, booster: Part) -> Iterator[Look]:
    at, late = place(breaker), site.datum(booster, "delay")
    trip = {"trip": site.datum(breaker, "trip"), "booster-limit": site.datum(booster, "limit")}
    yield Look("breaker-above-booster", at, _trip, trip)
    if site.word(district, "breaker") == "thermal":
        yield Look("thermal-link-too-slow", at, _delay, {"delay": site.trade("thermal-link"), "booster-delay": late})
        return
    own = site.datum(breaker, "delay")
    yield Look("breaker-after-booster", at, _delay, {"delay": own, "booster-delay": late})
    if _turns(site, district):
        yield Look("breaker-outruns-reverser", at, _reverser, {"delay": own, "reverser": site.trade("reverser")})


def _turns(site: Site, district: Part) -> bool:
    """Whether a reverser works in a district, for a section or for a frog."""
    blocks = site.users("block", "district", district.name)
    if any(site.word(b, "reverser") == "yes" for b in blocks):
        return True
    return any(site.word(t, "frog") == "by-reverser" for b in blocks for t in site.users("turnout", "block", b.name))


def _fed_from_track(site: Site) -> dict[str, tuple[int, int]]:
    """For each district the decoders that take their power from its track, and their slow motors."""
    found: dict[str, tuple[int, int]] = {}
    for decoder in site.users("decoder", "supply", "track"):
        turnouts = site.users("turnout", "decoder", decoder.name)
        homes = [b.words.get("district") for t in turnouts if (b := site.named(t.words.get("block"), "block"))]
        home = next((h for h in homes if h), None)
        if home:
            boards, motors = found.get(home, (0, 0))
            slow = sum(site.word(t, "motor") == "stall" for t in turnouts)
            found[home] = boards + 1, motors + slow
    return found


def _strain(site: Site, district: Part, breaker: Part | None, booster: Part, fed: tuple[int, int]) -> Iterator[Look]:
    way = feeding(site, district)
    if way is None:
        return
    yield Look("fault-can-burn", place(district), _burn, way)
    blocks, vehicles = site.users("block", "district", district.name), site.stock("storage-vehicles")
    if blocks and not vehicles.figure.assumed:
        load: dict[str, Datum] = {
            "vehicles": vehicles,
            "blocks": site.count(len(blocks), f"blocks of {district.name}"),
            "busy-share": site.trade("busy-share"),
            "train-current": site.trade("train-current"),
            "boards": site.count(fed[0], f"decoders on the track of {district.name}"),
            "board-current": site.trade("board-current"),
            "motors": site.count(fed[1], f"slow motors on the track of {district.name}"),
            "stall-current": site.trade("stall-current"),
            "trip": way["trip"],
        }
        yield Look("district-overloaded", place(district), _load, load)
    if breaker is not None and site.said("storage-capacitors") != "no":
        rush: dict[str, Datum] = {
            "count": vehicles,
            "gathered": site.trade("gathered") if len(site.of_kind["district"]) > 1 else site.count(1, "one district"),
            "storage": site.stock("storage"),
            "charge": site.stock("storage-charge-ohms"),
            "volts": way["volts"],
            "booster-limit": site.datum(booster, "limit"),
            "trip": way["trip"],
            "delay": site.datum(breaker, "delay"),
        }
        yield Look("inrush-trips", place(breaker), _inrush, rush)

"""The survey finds what is planted, at the place where it is planted, and nothing new elsewhere.

Each plant alters the record of the bundled club in a line or two. What the survey says of the altered record beyond
what it says of the club is exactly what the plant means: mostly one weak spot; where one altered figure makes several
things weak, each of them is listed.
"""

from collections.abc import Callable, Mapping
from copy import deepcopy
from functools import cache
from typing import Any

import pytest

from tests.conftest import LAYOUTS
from troubleshoot.documents import Document, read
from troubleshoot.layout import Layout, check
from troubleshoot.survey import KINDS, WeakSpot, survey

Record = dict[str, Any]
Found = set[tuple[str, str]]


@cache
def club_data() -> Record:
    """The record of the bundled club as plain data."""
    data = read(LAYOUTS / "club.yaml").data
    assert isinstance(data, dict)
    return data


def built(data: Record) -> Layout:
    """A checked layout from plain data."""
    return check(Document("planted.yaml", data, {}))


def found(layout: Layout) -> dict[tuple[str, str], WeakSpot]:
    """The weak spots of a layout by kind and place."""
    return {(s.kind, s.place.name): s for s in survey(layout)}


def put(**sections: Mapping[str, Mapping[str, Any]]) -> Callable[[Record], None]:
    """An alteration: keys of parts set anew; None takes a key out. A part called `self` is the section itself."""

    def alter(data: Record) -> None:
        for section, parts in sections.items():
            for name, keys in parts.items():
                part = data[section.replace("_", "-")]
                part = part if name == "self" else part[name]
                for key, value in keys.items():
                    home, last = part, key
                    if "." in key:  # feeder.length, feedback.pull-up
                        outer, last = key.split(".")
                        home = part.setdefault(outer, {})
                    if value is None:
                        home.pop(last, None)
                    else:
                        home[last] = value

    return alter


def each(kind: str, *places: str) -> Found:
    """A kind of weak spot at several places."""
    return {(kind, place) for place in places}


def numbered(stem: str, count: int) -> list[str]:
    """Blocks of a stem."""
    return [f"{stem}-{n}" for n in range(1, count + 1)]


DISTRICTS = ("yard", "harbour", "station", "ridge", "loop", "mill", "tunnel", "staging")
COILS_OF_DEC_6 = {f"t-{n}": {"motor-ohms": "4 ohm"} for n in range(321, 325)}
COILS_OF_DEC_9 = {f"t-{n}": {"motor-ohms": "4 ohm"} for n in range(333, 337)}

PLANTS: dict[str, tuple[Callable[[Record], None], Found]] = {
    "trip near the booster's limit": (
        put(districts={"station-district": {"trip": "4.1 A"}}),
        {("breaker-above-booster", "station-district breaker")},
    ),
    "slow breaker": (
        put(districts={"station-district": {"delay": "150 ms"}}),
        {("breaker-after-booster", "station-district breaker")},
    ),
    "thermal link": (
        put(districts={"station-district": {"breaker": "thermal"}}),
        {("thermal-link-too-slow", "station-district breaker")},
    ),
    "district without a breaker": (
        put(districts={"harbour-district": {"breaker": "none", "trip": None, "delay": None}}),
        {("no-breaker", "harbour-district"), ("fault-can-burn", "harbour-district")},
    ),
    "breaker faster than a reverser": (
        put(districts={"loop-district": {"delay": "3 ms"}}),
        {("breaker-outruns-reverser", "loop-district breaker")},
    ),
    "high trip behind a large booster": (
        put(
            boosters={"booster-f": {"limit": "8 A"}},
            supplies={"supply-f": {"limit": "10 A"}},
            districts={"staging-district": {"trip": "6 A"}},
        ),
        {("fault-can-burn", "staging-district")},
    ),
    "low trip for many blocks": (
        put(districts={"yard-district": {"trip": "2.5 A"}}),
        {("district-overloaded", "yard-district")},
    ),
    "large storage without charging resistors": (
        put(stock={"self": {"storage": "4700 uF", "storage-charge-ohms": "1 ohm"}}),
        each("inrush-trips", *(f"{d}-district breaker" for d in DISTRICTS)),
    ),
    "two districts on a small booster": (
        put(boosters={"booster-e": {"limit": "4.4 A"}}),
        {("districts-outweigh-booster", "booster-e")},
    ),
    "small supply of a booster": (
        put(supplies={"supply-c": {"limit": "4 A"}}),
        {("supply-below-booster", "supply-c")},
    ),
    "low volts of a supply": (
        put(supplies={"supply-d": {"volts": "12 V"}}),
        {("supply-volts-low", "supply-d")},
    ),
    "isolated booster on a shared supply": (
        put(
            boosters={"booster-b": {"supply": "supply-a", "reference": "isolated"}},
            supplies={"supply-a": {"limit": "12 A"}},
        ),
        {("boosters-share-supply", "supply-a")} | each("reference-missing", "harbour-8/station-1", "station-8/ridge-1"),
    ),
    "isolated booster among common ones": (
        put(boosters={"booster-c": {"reference": "isolated"}}),
        each("reference-missing", "station-8/ridge-1", "ridge-8/loop-1"),
    ),
    "booster set a volt higher": (
        put(boosters={"booster-d": {"output": "16 V"}}),
        each("boosters-unequal", "ridge-8/loop-1", "loop-8/mill-1"),
    ),
    "booster on garden volts": (
        put(boosters={"booster-f": {"output": "23 V"}}, supplies={"supply-f": {"volts": "26 V"}}),
        {
            ("track-volts-high", "booster-f"),
            ("boosters-unequal", "tunnel-6/staging-1"),
            ("fault-can-burn", "staging-district"),
        },
    ),
    "booster on too few volts": (
        put(boosters={"booster-f": {"output": "8 V"}}),
        {("track-volts-low", "booster-f"), ("boosters-unequal", "tunnel-6/staging-1")}
        | each("volts-sag-in-block", *numbered("staging", 4), "staging-6"),  # staging-5 has two feeds
    ),
    "thin feeder": (
        put(blocks={"station-3": {"feeder.wire": "0.14 mm2", "feeder.length": "12 m"}}),
        each("short-may-not-trip", "station-3") | each("volts-sag-in-block", "station-3"),
    ),
    "thin bus": (
        put(districts={"station-district": {"bus": {"wire": "0.5 mm2", "length": "20 m"}, "filter": "yes"}}),
        {("volts-sag-on-bus", "station-district bus")} | each("volts-sag-in-block", *numbered("station", 8)),
    ),
    "feeder of a hair": (
        put(blocks={"station-3": {"feeder.wire": "0.05 mm2", "feeder.length": "1 m"}}),
        {("feeder-lighter-than-trip", "station-3 feeder")},
    ),
    "bus with a thin stretch": (
        put(
            districts={
                "yard-district": {
                    "bus": [{"wire": "2.5 mm2", "length": "6 m"}, {"wire": "0.05 mm2", "length": "0.1 m"}],
                }
            }
        ),
        {("bus-lighter-than-trip", "yard-district bus 2")},
    ),
    "very long block": (
        put(blocks={"mill-8": {"length": "15 m"}}),
        {
            ("long-block-on-one-feed", "mill-8"),
            ("volts-sag-in-block", "mill-8"),
            ("ballast-looks-occupied", "mill-8"),
            ("gap-closes-in-summer", "mill-7/mill-8"),
            ("gap-closes-in-summer", "mill-8/tunnel-1"),
        },
    ),
    "long bus without a filter": (
        put(districts={"loop-district": {"filter": "no"}}),
        {("bus-without-filter", "loop-district bus")},
    ),
    "filter with a small resistor": (
        put(
            districts={
                "station-district": {
                    "filter": "yes",
                    "filter-ohms": "100 ohm",
                    "filter-capacitance": "0.22 uF",
                    "filter-watts": "0.5 W",
                }
            }
        ),
        {("filter-runs-hot", "station-district bus")},
    ),
    "plug with few ways": (
        put(plugs={"plug-harbour-station": {"ways": 10}}),
        {("plug-short-of-ways", "plug-harbour-station")},
    ),
    "gap on plywood": (
        put(joints={"mill-1/mill-2": {"gap": "0.45 mm"}}, blocks={"mill-2": {"material": "plywood"}}),
        {("gap-closes-in-summer", "mill-1/mill-2")},
    ),
    "gap of a razor cut": (
        put(joints={"yard-3/yard-4": {"gap": "0.25 mm"}}),
        each("gap-too-narrow", "yard-3/yard-4") | each("gap-closes-in-summer", "yard-3/yard-4"),
    ),
    "gaps apart": (
        put(joints={"yard-3/yard-4": {"offset": "4 mm"}}),
        {("gaps-not-opposite", "yard-3/yard-4")},
    ),
    "joint that is not insulated": (
        put(joints={"mill-8/tunnel-1": {"insulated": "no"}}),
        {("joint-not-insulated", "mill-8/tunnel-1")},
    ),
    "longer trains": (
        put(stock={"self": {"longest-train": "3 m"}}),
        {("section-too-short", "loop-7")},
    ),
    "section turned by hand": (
        put(blocks={"loop-7": {"reverser": "no"}}),
        {("section-without-reverser", "loop-7")},
    ),
    "two reversers side by side": (
        put(blocks={"loop-8": {"reversing": "yes", "reverser": "yes"}}),
        {("reversers-meet", "loop-7/loop-8")},
    ),
    "vehicle with a weak axle": (
        put(stock={"vehicles": {"coach-rake": {"says": "five lit coaches", "axle-ohms": "22 kohm"}}}),
        {("vehicle-unseen", "coach-rake")},
    ),
    "cars without resistor axles": (
        put(stock={"self": {"resistor-axles": "no"}}),
        {("cars-without-axles", "Fennick Valley Railway")},
    ),
    "axles of one kilohm": (
        put(stock={"self": {"axle-ohms": "1 kohm"}}),
        {("axle-resistor-hot", "Fennick Valley Railway")},
    ),
    "very long feeder in a loom": (
        put(blocks={"station-3": {"feeder.wire": "2.5 mm2", "feeder.length": "35 m", "feeder.spacing": "bundled"}}),
        {("feeder-looks-occupied", "station-3 feeder")},
    ),
    "filter at the rails": (
        put(blocks={"station-2": {"filter": "yes"}}),
        {("filter-behind-detector", "station-2")},
    ),
    "diodes for three boosters": (
        put(detectors={"det-mid": {"kind": "diode-drop"}}),
        {("detector-joins-boosters", "det-mid")},
    ),
    "bare block beside diodes": (
        put(detectors={"det-west": {"kind": "diode-drop"}}, blocks={"harbour-1": {"detector": None, "zone": None}}),
        {("undetected-beside-diodes", "harbour-1/harbour-2")},
    ),
    "coils without a discharge unit": (
        put(decoders={"dec-6": {"discharge-unit": "no"}}, turnouts=COILS_OF_DEC_6),
        {("coil-outweighs-supply", "supply-turnouts-east")},
    ),
    "tiny supply of many motors": (
        put(supplies={"supply-turnouts-west": {"limit": "0.3 A"}}),
        {("supply-overloaded", "supply-turnouts-west")},
    ),
    "five volts for slow motors": (
        put(supplies={"supply-turnouts-west": {"volts": "5 V"}}),
        {("motor-volts-low", "supply-turnouts-west")},
    ),
    "signals on the supply of coils": (
        put(
            drivers={"driver-1": {"supply": "supply-turnouts-east"}},
            supplies={"supply-turnouts-east": {"limit": "5 A"}},
        ),
        {("motors-share-supply", "supply-turnouts-east")},
    ),
    "decoder on track power": (
        put(decoders={"dec-3": {"supply": "track"}}),
        {("decoder-on-track-power", "dec-3")},
    ),
    "endless pulse": (
        put(
            decoders={"dec-9": {"discharge-unit": "no", "pulse": "5 s"}},
            supplies={"supply-turnouts-east": {"limit": "6 A"}},
            turnouts=COILS_OF_DEC_9,
        ),
        {("coil-pulse-long", "dec-9")},
    ),
    "slow discharge unit": (
        put(decoders={"dec-7": {"storage": "10000 uF", "charge-ohms": "470 ohm"}}),
        {("route-outruns-unit", "loop-round")},
    ),
    "high pull-up": (
        put(turnouts={"t-310": {"feedback.pull-up": "47 kohm"}}),
        {("contact-too-dry", "t-310 input")},
    ),
    "very long contact wire": (
        put(turnouts={"t-310": {"feedback.pull-up": "20 kohm", "feedback.length": "120 m"}}),
        {("contact-wire-picks-up", "t-310 field wire")},
    ),
    "long dead frog": (
        put(turnouts={"t-301": {"frog": "insulated", "frog-length": "40 mm"}}),
        {("frog-dead-too-long", "t-301 frog")},
    ),
    "turnout that proves nothing": (
        put(turnouts={"t-305": {"feedback": "none"}}),
        {("signal-trusts-command", "t-305")},
    ),
    "thin control bus": (
        put(control_bus={"self": {"wire": "0.05 mm2", "device-current": "50 mA"}}),
        {("control-bus-drop", "control bus")},
    ),
    "wide decoder among narrow ones": (
        put(decoders={"dec-4": {"outputs": 8}}),
        {("decoder-numbers-clash", "dec-5")},
    ),
    "detectors on the same numbers": (
        put(detectors={"det-mid": {"address": 20}}),
        {("detector-numbers-clash", "det-mid")},
    ),
    "signal on a turnout's number": (
        put(signals={"sig-5": {"address": 318}}),
        {("signal-number-clash", "sig-5")},
    ),
    "one number on two decoders": (
        put(
            decoders={"dec-9": {"address": None}, "dec-10": {"address": None}},
            turnouts={"t-337": {"number": 333, "output": None}},
        ),
        {("turnout-numbers-shared", "t-337")},
    ),
    "number that all decoders hear": (
        put(decoders={"dec-10": {"address": None}}, turnouts={"t-340": {"number": 2045, "output": None}}),
        {("number-out-of-reach", "t-340")},
    ),
    "decoder counted from nought": (
        put(decoders={"dec-10": {"address": 84, "base": 0}}),
        {("numbering-bases-mixed", "dec-10")},
    ),
}


@pytest.fixture(scope="module")
def before() -> Found:
    """What the survey says of the bundled club as it is."""
    return set(found(built(deepcopy(club_data()))))


@pytest.mark.parametrize("name", PLANTS)
def test_a_planted_weak_spot_is_found_where_it_is_and_nowhere_else(name: str, before: Found) -> None:
    """One altered line shows exactly the weak spots that it makes, at their places, with a figure beyond its limit."""
    alter, expected = PLANTS[name]
    data = deepcopy(club_data())
    alter(data)

    after = found(built(data))

    assert set(after) - before == expected
    for key in expected:
        assert after[key].says
        assert after[key].cure
        assert after[key].value != after[key].limit


def test_one_dull_detector_among_sharp_ones_is_found(before: Found) -> None:
    """With three passes through every coil one axle is seen; the one board with a single pass is named alone."""
    sharp, dull = deepcopy(club_data()), deepcopy(club_data())
    for data in (sharp, dull):
        for detector in data["detectors"].values():
            detector["passes"] = 3
    dull["detectors"]["det-mid"]["passes"] = 1

    assert not any(kind == "axle-unseen" for kind, _ in found(built(sharp)))
    assert {p for k, p in found(built(dull)) if k == "axle-unseen"} == {"det-mid"}
    assert ("axle-unseen", "det-mid") in before


def test_every_kind_is_planted_once() -> None:
    """No kind of weak spot is without its plant."""
    planted = {kind for _, expected in PLANTS.values() for kind, _ in expected} | {"axle-unseen"}

    assert planted == set(KINDS)


def test_the_bundled_club_has_its_known_weak_spots(club: Layout) -> None:
    """The demo club is mostly sound; these are the weak spots that are in it on purpose, and no others."""
    assert {(s.severity, s.kind, s.place.name) for s in survey(club)} == {
        ("serious", "axle-unseen", "det-west"),
        ("serious", "axle-unseen", "det-harbour"),
        ("serious", "axle-unseen", "det-mid"),
        ("serious", "axle-unseen", "det-east"),
        ("serious", "feeder-lighter-than-trip", "ridge-8 feeder"),
        ("serious", "signal-number-clash", "sig-30"),
        ("weak", "short-may-not-trip", "ridge-8"),
        ("weak", "bus-without-filter", "tunnel-district bus"),
        ("weak", "gaps-not-opposite", "loop-7/loop-8"),
        ("weak", "gap-too-narrow", "staging-5/staging-6"),
        ("weak", "gap-closes-in-summer", "staging-5/staging-6"),
        ("weak", "contact-too-dry", "t-319 input"),
        ("weak", "contact-wire-picks-up", "t-319 field wire"),
        ("weak", "frog-dead-too-long", "t-336 frog"),
        ("remark", "volts-sag-in-block", "ridge-8"),
        ("remark", "volts-sag-in-block", "tunnel-6"),
        ("remark", "plug-short-of-ways", "plug-tunnel-staging"),
        ("remark", "feeder-looks-occupied", "tunnel-6 feeder"),
    }


def test_the_bundled_home_layout_is_sound(home: Layout) -> None:
    """Nothing is reported of a layout that is wired as it should be."""
    assert survey(home) == ()

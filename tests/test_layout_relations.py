"""Relations between places of a layout, with and without a record."""

from collections.abc import Mapping

import pytest

from tests.conftest import KINDS_COMPLAINED_ABOUT, made, names
from troubleshoot.layout import (
    EMPTY,
    KIND_OF_RELATION,
    RELATIONS,
    Layout,
    Place,
)

RELATED: Mapping[str, Mapping[str, list[str]]] = {
    "yard-2": {
        "itself": ["yard-2"],
        "own-block": ["yard-2"],
        "joint-of": ["yard-1/yard-2", "yard-2/yard-3"],
        "neighbour-of": ["yard-1", "yard-3"],
        "feeder-of": ["yard-2 feeder"],
        "zone-of": ["yard-2 zone"],
        "detector-of": ["det-west"],
        "board-of": ["board-yard"],
        "plug-of": ["plug-yard-harbour"],
        "duct-of": ["duct-west"],
        "district-of": ["yard-district"],
        "breaker-of": ["yard-district breaker"],
        "booster-of": ["booster-a"],
        "bus-of": ["yard-district bus"],
        "supply-of": ["supply-detectors-west"],
        "turnout-in": ["t-302"],
        "decoder-of": ["dec-1"],
        "signal-of": ["sig-1"],
        "settings-of": ["det-west settings"],
        "interface": ["computer interface"],
        "control-bus": ["control bus"],
        "route-of": ["yard-road-2", "yard-road-3"],
        "vehicle-in": ["the vehicle"],
        "accessory-in": ["the accessory"],
    },
    "tunnel-6": {"duct-of": ["duct-east"], "neighbour-of": ["tunnel-5", "staging-1"]},
    "loop-district": {
        "joint-of": ["ridge-8/loop-1", "loop-6/loop-7", "loop-7/loop-8", "loop-8/mill-1"],
        "own-block": [f"loop-{n}" for n in range(1, 9)],
        "neighbour-of": ["ridge-8", "mill-1"],
        "detector-of": ["det-mid"],
        "supply-of": ["supply-d"],
        "settings-of": ["loop-district settings"],
        "turnout-in": ["t-325", "t-326", "t-327", "t-328"],
    },
    "harbour-district": {"detector-of": ["det-west", "det-harbour"]},
    "yard-12/harbour-1": {
        "joint-of": ["yard-12/harbour-1"],
        "own-block": ["yard-12", "harbour-1"],
        "neighbour-of": ["yard-11", "harbour-2"],
        "district-of": ["yard-district", "harbour-district"],
        "breaker-of": ["yard-district breaker", "harbour-district breaker"],
        "supply-of": ["supply-a"],
    },
    "det-east": {
        "district-of": ["mill-district", "tunnel-district", "staging-district"],
        "booster-of": ["booster-e", "booster-f"],
        "supply-of": ["supply-detectors-east"],
        "board-of": ["board-mill"],
        "neighbour-of": ["mill-4"],
        "settings-of": ["det-east settings"],
    },
    "t-301": {
        "turnout-in": ["t-301"],
        "motor-of": ["t-301 motor"],
        "contact-of": ["t-301 contact"],
        "input-of": ["t-301 input"],
        "field-wire-of": ["t-301 field wire"],
        "frog-of": ["t-301 frog"],
        "decoder-of": ["dec-1"],
        "supply-of": ["supply-turnouts-west"],
        "settings-of": ["dec-1 settings"],
        "own-block": ["yard-1"],
        "signal-of": ["sig-1"],
        "district-of": ["yard-district"],
    },
    "sig-1": {
        "signal-of": ["sig-1"],
        "driver-of": ["driver-1"],
        "supply-of": ["supply-signals"],
        "turnout-in": ["t-301"],
        "own-block": ["yard-2", "yard-1"],
        "settings-of": ["driver-1 settings"],
    },
    "coach-rake": {"vehicle-in": ["coach-rake"], "settings-of": ["coach-rake settings"], "own-block": ["the block"]},
    "panel-yard": {"panel-of": ["panel-yard"], "supply-of": ["supply-control"], "district-of": ["the district"]},
    "yard-2 feeder": {"own-block": ["yard-2"], "detector-of": ["det-west"], "district-of": ["yard-district"]},
    "yard-district breaker": {"district-of": ["yard-district"], "booster-of": ["booster-a"]},
    "booster-e": {"district-of": ["mill-district", "tunnel-district"], "supply-of": ["supply-e"]},
    "supply-detectors-west": {"detector-of": ["det-west", "det-harbour"]},
    "supply-e": {"district-of": ["mill-district", "tunnel-district"], "booster-of": ["booster-e"]},
    "dec-6": {"turnout-in": ["t-321", "t-322", "t-323", "t-324"], "own-block": [f"ridge-{n}" for n in range(1, 5)]},
    "t-301 input": {"turnout-in": ["t-301"], "field-wire-of": ["t-301 field wire"], "decoder-of": ["dec-1"]},
    "yard-road-1": {"turnout-in": ["t-301"], "own-block": ["yard-1", "yard-9"]},
    "plug-yard-harbour": {"board-of": ["board-yard", "board-harbour"]},
    "driver-1": {"signal-of": [f"sig-{n}" for n in range(1, 7)]},
    "Fennick Valley Railway": {
        "booster-of": [f"booster-{letter}" for letter in "abcdef"],
        "throttle-of": [f"throttle-{n}" for n in range(1, 5)],
        "program": ["computer program"],
        "building": ["building"],
    },
}  # fmt: skip


@pytest.mark.parametrize(("about", "relation"), [(a, r) for a, table in RELATED.items() for r in table])
def test_relations_of_the_club(club: Layout, about: str, relation: str) -> None:
    """Relations lead from each kind of place to the right ones, in the record's order; a signal to its block ahead."""
    assert names(club, relation, about) == RELATED[about][relation]


@pytest.mark.parametrize("relation", RELATIONS)
def test_no_relation_is_empty_or_endless(club: Layout, home: Layout, relation: str) -> None:
    """From every place of both layouts a relation gives 1 to 80 places, each once, of places that exist or none."""
    for layout in (club, home):
        for place in layout.all_places():
            found = layout.related(relation, place)
            assert 1 <= len(found) <= 80
            assert len(set(found)) == len(found)
            assert all(p.name in layout.parts or p.name.startswith("the ") for p in found)


@pytest.mark.parametrize("kind", KINDS_COMPLAINED_ABOUT)
@pytest.mark.parametrize("relation", RELATIONS)
def test_without_a_record_each_relation_gives_one_unnamed_place(kind: str, relation: str) -> None:
    """The empty layout answers every relation with one place of the right kind."""
    about = Place(kind, f"the {kind}")

    (found,) = EMPTY.related(relation, about)

    wanted = kind if relation == "itself" else KIND_OF_RELATION[relation]
    assert (found.kind, found.name) == (wanted, f"the {wanted.replace('-', ' ')}")


def test_a_place_the_record_does_not_know_has_unnamed_relations(club: Layout) -> None:
    """About a block that is not in the record nothing is guessed, but the whole layout's things are still known."""
    stranger = Place("block", "siding")

    assert club.related("own-block", stranger) == (stranger,)
    assert club.related("district-of", stranger) == (Place("district", "the district"),)
    assert club.related("interface", stranger) == (Place("interface", "computer interface"),)


def test_a_relation_out_of_the_list_is_an_error() -> None:
    """A relation that is not in the closed list is refused."""
    with pytest.raises(ValueError, match="is no relation"):
        EMPTY.related("next-door", Place("block", "the block"))


def test_devices_without_a_named_supply_have_one_to_look_at() -> None:
    """A detector whose supply is not recorded has its own, and a track-powered decoder takes the booster's."""
    layout = made(
        "name: a\nboosters: {boo-1: }\ndistricts: {north: {booster: boo-1}}\ndetectors: {d-1: {kind: coil}}\n"
        "decoders: {dec-1: {supply: track}}\nblocks: {b-1: {district: north, detector: d-1}}\n"
        "turnouts: {t-1: {decoder: dec-1, block: b-1}}\n"
    )

    assert names(layout, "supply-of", "d-1") == ["d-1 supply"]
    assert names(layout, "supply-of", "t-1") == ["boo-1 supply"]
    assert layout.traits(layout.place("t-1"))["track-powered-decoder"] == "yes"
    volts = layout.figure(layout.place("boo-1 supply"), "volts")
    assert volts is not None
    assert (volts.value, volts.assumed) == (18.0, True)


def test_feeders_may_name_their_plug_and_duct() -> None:
    """A feeder's own plug and duct go before those of its baseboard, and accessories belong to their block."""
    layout = made(
        "name: a\nboards: {left: , right: }\nplugs: {p-1: {between: [left, right]}, p-2: {between: [left, right]}}\n"
        "ducts: {roof: {boards: [left]}, floor: }\nblocks:\n"
        "  b-1: {board: left, accessories: [buffer-lamp], feeder: {plug: p-2, duct: [floor]}}\n"
        "  b-2: {board: left, accessories: []}\n"
    )

    assert names(layout, "plug-of", "b-1") == ["p-2"]
    assert names(layout, "duct-of", "b-1") == ["floor"]
    assert names(layout, "plug-of", "b-2") == ["p-1", "p-2"]
    assert names(layout, "duct-of", "b-2") == ["roof"]
    assert names(layout, "accessory-in", "b-1") == ["buffer-lamp"]
    assert names(layout, "own-block", "buffer-lamp") == ["b-1"]
    assert layout.traits(layout.place("b-1"))["accessory-in-block"] == "yes"
    assert layout.traits(layout.place("b-2"))["accessory-in-block"] == "no"


def test_joints_may_stand_at_their_blocks_or_have_names() -> None:
    """A joint listed by both its blocks is one; a named joint says what it lies between."""
    layout = made(
        "name: a\nblocks:\n  b-1: {joints: [b-1/b-2], gap: 2 mm}\n  b-2: {joints: [b-1/b-2]}\n"
        "joints:\n  crossing-gap: {between: [b-1, b-2], gap: 1 mm}\n"
    )

    assert names(layout, "joint-of", "b-1") == ["b-1/b-2", "crossing-gap"]
    gap = layout.figure(layout.place("b-1/b-2"), "gap")
    assert gap is not None
    assert gap.value == pytest.approx(2e-3)

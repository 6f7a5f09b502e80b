"""Where it is: the tree that feeds a district, what the sick share, and what answers prove about each part."""

import math
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.conftest import made
from troubleshoot.layout import EMPTY, Layout, Place
from troubleshoot.locating import (
    WRONG,
    Lift,
    Tree,
    candidates,
    chances,
    clean,
    contradicted,
    counted,
    hunt,
    prior,
    scope_of,
    shares,
    tree_of,
)

MANY_BOARDS = """
name: Long Shelf
boosters: {b1: }
districts: {main: {booster: b1, breaker: electronic, bus: {wire: 2.5 mm2, length: 6 m}}}
boards: {west: , mid: , east: }
plugs:
  p-wm: {between: [west, mid]}
  p-me: {between: [mid, east]}
blocks:
  a: {district: main, board: west}
  b: {district: main, board: mid, reach: hard}
  c: {district: main, board: east, accessories: [lamp-c]}
turnouts:
  t-1: {block: b, frog: by-relay}
  t-2: {block: c, frog: insulated}
"""


def tree(layout: Layout, name: str) -> Tree:
    """The tree of a place that has one."""
    found = tree_of(layout, layout.place(name))
    assert found is not None
    return found


def places(layout: Layout, *names: str) -> list[Place]:
    """Places by name."""
    return [layout.place(n) for n in names]


# --- the tree -----------------------------------------------------------------------------------------


def test_every_district_of_the_club_has_a_tree_with_all_its_blocks(club: Layout) -> None:
    """The tree of a district holds each of its blocks once, behind its feeder, behind the breaker."""
    for district in club.places_of("district"):
        grown = tree(club, district.name)
        blocks = [limb.name for limb in grown.limbs if limb.kind == "block"]

        assert blocks == [b.name for b in club.places_of("block") if club.word(b, "district") == district.name]
        assert grown.limbs[0].kind == "breaker"
        assert all(limb.fed_by < i for i, limb in enumerate(grown.limbs))


def test_a_plug_cuts_off_all_feeders_that_go_through_it(club: Layout) -> None:
    """Lifting one plug takes four blocks of the harbour at once, with their feeders and turnouts."""
    grown = tree(club, "harbour-district")
    plug = grown.point("plug-yard-harbour")

    assert plug is not None
    cut = grown.names(plug.cuts)
    assert [n for n in cut if club.place(n).kind == "block"] == ["harbour-1", "harbour-2", "harbour-3", "harbour-4"]
    assert "t-309" in cut
    assert "harbour-5 feeder" not in cut


def test_feeders_through_two_plugs_hang_behind_both(club: Layout) -> None:
    """The ridge's first blocks go through two plugs, and lifting either takes them off."""
    grown = tree(club, "ridge-district")
    one, two = (grown.point(n) for n in ("plug-harbour-station", "plug-station-ridge"))

    assert one is not None and two is not None
    assert two.cuts & ~one.cuts == 0
    assert "ridge-1 feeder" in grown.names(two.cuts)


def test_blocks_are_spread_along_the_stretches_of_a_bus_and_the_tree_says_so(club: Layout) -> None:
    """Six metres and three metres of bus carry eight and four of twelve blocks, as an assumption."""
    grown = tree(club, "yard-district")
    second = grown.point("yard-district bus 2")

    assert second is not None
    assert sum(n.endswith(" feeder") for n in grown.names(second.cuts)) == 4
    assert "assumed" in grown.notes[0]


def test_a_detector_board_with_one_input_is_a_point_of_its_own(home: Layout) -> None:
    """Behind a board whose zones hang on one track feed, all its feeders go with that feed."""
    point = tree(home, "main-district").point("det-1")

    assert point is not None
    assert {"front-1 feeder", "back-3 feeder"} <= set(tree(home, "main-district").names(point.cuts))


def test_a_bus_across_baseboards_can_be_pulled_at_each_plug() -> None:
    """A district on three boards has a stretch of bus on each, with the plug between as the point; reach costs."""
    layout = made(MANY_BOARDS)
    grown = tree(layout, "main")
    cuts = {p.name: set(grown.names(p.cuts)) for p in grown.points}

    assert cuts["p-me"] == {"main bus on east", "c feeder", "c", "t-2", "lamp-c"}
    assert {"main bus on mid", "b", "t-1"} | cuts["p-me"] <= cuts["p-wm"]
    assert "t-2 frog" not in cuts, "an insulated frog has no wire to lift"
    minutes = {p.name: p.minutes for p in grown.points}
    assert minutes["b rails"] == minutes["c rails"] + 5
    assert grown.walk("west", "east") == 2 * grown.walk("west", "mid")


def test_a_booster_has_all_its_districts(club: Layout) -> None:
    """The tree of a booster takes in each of its districts behind its own breaker."""
    grown = tree(club, "booster-a")

    assert {limb.name for limb in grown.limbs if limb.kind == "breaker"} == {
        "yard-district breaker",
        "harbour-district breaker",
    }


def test_without_a_record_there_is_no_tree(club: Layout) -> None:
    """Nothing is made up where nothing is known."""
    assert tree_of(EMPTY, Place("district", "the district")) is None
    assert tree_of(club, Place("district", "nowhere")) is None
    assert scope_of(club, club.place("supply-control")) is None


@pytest.mark.parametrize(
    ("said", "means"),
    [
        ("yard-3", "yard-3 feeder"),
        ("yard-3 rails", "yard-3 rails"),
        ("yard-district bus 1", "yard-district breaker"),
        ("t-303", "t-303 frog"),
        ("yard-district breaker", "yard-district breaker"),
        ("harbour-1", None),
    ],
)
def test_names_are_taken_as_people_mean_them(club: Layout, said: str, means: str | None) -> None:
    """A block is lifted at its feeder, a turnout at its frog wire; what is elsewhere is not lifted here."""
    point = tree(club, "yard-district").point(said)

    assert (point.name if point else None) == means


# --- what answers prove ----------------------------------------------------------------------------------


def test_an_answer_moves_the_chances_by_its_error(club: Layout) -> None:
    """After `gone` the parts beyond the point have 98 of 100 parts of what fits, the others 2: Bayes by hand."""
    grown = tree(club, "harbour-district")
    before = prior(grown)
    cut = grown.point("plug-yard-harbour")
    assert cut is not None
    inside = math.fsum(p for i, p in enumerate(before) if cut.cuts >> i & 1)

    after = chances(grown, [Lift("plug-yard-harbour", True)])

    by_hand = inside * (1 - WRONG) / (inside * (1 - WRONG) + (1 - inside) * WRONG)
    assert math.fsum(p for i, p in enumerate(after) if cut.cuts >> i & 1) == pytest.approx(by_hand)


def test_one_answer_proves_clean_and_a_contradiction_proves_nothing(club: Layout) -> None:
    """`gone` at the plug proves the other ten parts clean; `stays` at the same plug's four feeders leaves the plug."""
    grown = tree(club, "harbour-district")
    gone = [Lift("plug-yard-harbour", True)]
    none = [*gone, *(Lift(f"harbour-{i}", False) for i in (1, 2, 3, 4))]

    assert bin(clean(grown, gone)).count("1") == 10
    assert grown.names(grown.whole & ~clean(grown, none)) == ("plug-yard-harbour",)
    assert not contradicted(grown, none)
    against = [Lift("plug-yard-harbour", False), Lift("harbour-1", True)]
    assert contradicted(grown, against)
    assert "harbour-1 feeder" in grown.names(grown.whole & ~clean(grown, against))
    assert "harbour-district bus" in grown.names(grown.whole & ~clean(grown, against))


def test_a_wrong_answer_is_overcome_by_the_others(club: Layout) -> None:
    """One answer in five was wrong; the others still point to the true feeder, and the wrong one is doubted."""
    grown = tree(club, "harbour-district")
    lifts = [
        Lift("plug-yard-harbour", True),
        Lift("harbour-district breaker", True),
        Lift("harbour-2", False),  # wrong: it is there
        Lift("harbour-2 rails", True),
        Lift("t-310 frog", True),
    ]

    found = hunt(grown, lifts)

    assert found.contradiction
    assert found.doubtful == Lift("harbour-2 feeder", False)
    assert found.likeliest(1)[0][0] == "t-310"


def test_a_repeat_at_a_point_replaces_the_answer_before(club: Layout) -> None:
    """Looking again counts instead of the first look, by whatever name the point was called."""
    grown = tree(club, "yard-district")

    last = counted(grown, [Lift("yard-3", True), Lift("yard-9", False), Lift("yard-3 feeder", False), Lift("x", True)])
    same = counted(grown, [Lift("yard-3", True), Lift("yard-3 feeder", True)])

    assert last == (Lift("yard-9 feeder", False), Lift("yard-3 feeder", False))
    assert same == (Lift("yard-3 feeder", True, twice=True),)
    assert max(chances(grown, same)) > max(chances(grown, [Lift("yard-3", True)]))


def test_a_part_that_is_pinned_by_thin_evidence_is_made_sure_of(club: Layout) -> None:
    """Four feeders cleared one by one leave the plug, but not surely: a lift that makes sure is offered, then none."""
    grown = tree(club, "harbour-district")
    lifts = [Lift("plug-yard-harbour", True), *(Lift(f"harbour-{i}", False) for i in (1, 2, 3, 4))]

    first = hunt(grown, lifts)
    while (found := hunt(grown, lifts)).next is not None:
        assert found.next.to_be_sure
        assert found.pinned == ("plug-yard-harbour",)
        lifts.append(Lift(found.next.point.name, bool(found.next.point.cuts >> grown.index["plug-yard-harbour"] & 1)))

    assert first.next is not None
    assert first.likeliest(1)[0][1] < 0.9 <= found.likeliest(1)[0][1]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 21), st.booleans()), max_size=8), st.randoms())
def test_the_order_of_answers_does_not_matter(club: Layout, said: list[tuple[int, bool]], chance: Random) -> None:
    """The same answers in any order give the same chances to the bit, and they total one."""
    grown = tree(club, "harbour-district")
    lifts = list({n: Lift(grown.points[n].name, gone) for n, gone in said}.values())
    shuffled = chance.sample(lifts, len(lifts))

    assert chances(grown, shuffled) == chances(grown, lifts)
    assert math.fsum(chances(grown, lifts)) == pytest.approx(1.0)
    assert clean(grown, shuffled) == clean(grown, lifts)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 22))
def test_true_answers_lead_to_the_part_that_is_at_fault(club: Layout, fault: int) -> None:
    """Whichever part it is, following the plan with true answers ends at it, and what is clean only grows."""
    grown = tree(club, "harbour-district")
    lifts: list[Lift] = []
    proven = -1
    while (found := hunt(grown, lifts, most=0)).next is not None:
        assert found.proven > proven or found.next.to_be_sure
        proven = found.proven
        lifts.append(Lift(found.next.point.name, bool(found.next.point.cuts >> fault & 1)))

    assert grown.limbs[fault].name in found.pinned
    assert not found.contradiction


def test_a_suspect_counts_where_it_may_sit(club: Layout) -> None:
    """A feeder is one part; a bus its stretches; a breaker's supply the feed; a vehicle any rails of the district."""
    grown = tree(club, "yard-district")

    def kinds(name: str) -> set[str]:
        return {grown.limbs[i].kind for i in shares(club, grown, name)}

    assert shares(club, grown, "yard-2 feeder") == {grown.index["yard-2 feeder"]: 1.0}
    assert shares(club, grown, "supply-a") == {0: 1.0}
    assert [grown.limbs[i].name for i in shares(club, grown, "yard-district bus")] == [
        "yard-district bus 1",
        "yard-district bus 2",
    ]
    assert shares(club, grown, "yard-2 zone") == shares(club, grown, "yard-2 feeder")
    assert shares(club, grown, "t-302 frog") == shares(club, grown, "t-302")
    assert kinds("yard-1/yard-2") == {"block"}
    assert kinds("yard-district") == {"block"}
    assert kinds("the vehicle") == {"block"}, "a vehicle that nobody named may stand on any of the rails"
    assert len(shares(club, grown, "nothing the record knows")) == len(grown.limbs)
    for name in ("yard-district", "supply-a", "yard-1/yard-2", "panel-yard"):
        assert math.fsum(shares(club, grown, name).values()) == pytest.approx(1.0)


# --- what the sick share -----------------------------------------------------------------------------------


def test_healthy_places_turn_the_ranking(club: Layout) -> None:
    """Three sick blocks share their detector best, until half of its other blocks are said to be healthy."""
    sick = places(club, "yard-1", "yard-3", "harbour-2")

    alone, beside = candidates(club, sick), candidates(club, sick, places(club, "yard-5", "yard-7", "harbour-3"))

    assert alone[0].place.name == "det-west"
    assert (alone[0].explained, alone[0].contradicted, alone[0].exceptions) == (3, 0, 0)
    told = next(c for c in beside if c.place.name == "det-west")
    assert (told.contradicted, told.healthy, told.against) == (3, 3, ("yard-5", "yard-7", "harbour-3"))
    assert "harbour-3" in told.reason


def test_a_stretch_of_bus_is_found_where_the_blocks_before_it_are_healthy(club: Layout) -> None:
    """The last blocks of the yard are sick and the first healthy: the second stretch of bus, which is assumed."""
    found = candidates(club, places(club, "yard-10", "yard-12"), places(club, "yard-1", "yard-4"))

    assert found[0].place.name == "yard-district bus 2"
    assert found[0].exceptions == 0
    assert "assumed" in found[0].reason


def test_a_plug_is_found_by_the_blocks_behind_it(club: Layout) -> None:
    """Sick in both districts beyond a plug, healthy before it: the plug is what they share."""
    found = candidates(club, places(club, "station-2", "ridge-1"), places(club, "harbour-5", "ridge-6"))

    assert found[0].place.name == "plug-harbour-station"
    assert found[0].exceptions == 0


@settings(max_examples=80, deadline=None)
@given(st.sets(st.integers(0, 63), min_size=2, max_size=5), st.sets(st.integers(0, 63), max_size=4))
def test_the_first_candidate_agrees_with_the_fact_of_what_is_shared(
    club: Layout, ill: set[int], well: set[int]
) -> None:
    """Where the layout's own fact names a shared thing, it is a candidate without exceptions, and none is smaller."""
    blocks = club.places_of("block")
    sick, healthy = [blocks[i] for i in sorted(ill)], [blocks[i] for i in sorted(well - ill)]
    shared = club.shared(sick, healthy)
    whole = [c for c in candidates(club, sick, healthy) if c.exceptions == 0 and c.place.kind != "bus-segment"]

    if shared is None:
        assert all(c.behind == len(blocks) for c in whole)
    else:
        assert whole[0].place == shared


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.integers(0, 63), min_size=1, max_size=6, unique=True),
    st.lists(st.integers(0, 63), max_size=6, unique=True),
)
def test_counts_of_a_candidate_are_what_the_relations_say(club: Layout, ill: list[int], well: list[int]) -> None:
    """Explained and contradicted are counted from the relations themselves, and the ranking is by exceptions."""
    blocks = club.places_of("block")
    sick, healthy = [blocks[i] for i in ill], [blocks[i] for i in well if i not in ill]
    found = candidates(club, sick, healthy)

    for one in [c for c in found if c.place.kind == "detector"]:
        assert one.explained == sum(club.word(b, "detector") == one.place.name for b in sick)
        assert one.contradicted == sum(club.word(b, "detector") == one.place.name for b in healthy)
    assert [c.exceptions for c in found] == sorted(c.exceptions for c in found)


def test_a_shared_thing_that_a_healthy_place_has_too_is_no_fact(club: Layout) -> None:
    """What all the sick share and no healthy one has: one healthy block on the board takes the fact away."""
    sick = places(club, "yard-1", "harbour-2")

    assert club.shared(sick) == club.place("det-west")
    assert club.shared(sick, places(club, "yard-5")) is None
    assert club.facts(sick[0], sick, places(club, "yard-5"))["shared-by-all-sick"] == "nothing"

"""The layout as a tree: what carries the track stands in it once, every mark somewhere, folding loses nothing."""

import json
from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from troubleshoot.cli.session import open_layout
from troubleshoot.layout import EMPTY, Layout, Part
from troubleshoot.sketch import ORDER, Mark, Node, as_data, fold, lines_of, picture_of

CLUB = open_layout("club")
PLACES = [p.name for p in CLUB.all_places()]
MARKS = st.lists(
    st.builds(
        Mark,
        st.one_of(st.sampled_from(PLACES), st.text(min_size=1, max_size=8)),
        st.sampled_from(ORDER),
        st.text(max_size=10),
        st.floats(0, 1),
    ),
    max_size=12,
)


def nodes(node: Node) -> Iterator[Node]:
    """Every part of a tree."""
    yield node
    for child in node.children:
        yield from nodes(child)


def at(tree: Node, name: str) -> Node:
    """The first part of a name."""
    return next(n for n in nodes(tree) if n.name == name)


def path_to(tree: Node, name: str) -> list[str]:
    """The names from the root to a part."""
    if tree.name == name:
        return [tree.name]
    for child in tree.children:
        below = path_to(child, name)
        if below:
            return [tree.name, *below]
    return []


def shown(tree: Node) -> set[Mark]:
    """The marks that are drawn."""
    return {m for n in nodes(tree) for m in n.marks}


def big(blocks: int) -> Layout:
    """A layout with so many blocks, sixteen to a detector and ten detectors to a district."""
    parts = {"big": Part("layout", "big")}
    for n in range(-(-blocks // 160)):
        parts[f"booster-{n}"] = Part("booster", f"booster-{n}")
        parts[f"d-{n}"] = Part("district", f"d-{n}", words={"booster": f"booster-{n}"})
    for n in range(-(-blocks // 16)):
        parts[f"det-{n}"] = Part("detector", f"det-{n}", words={"kind": "coil"})
    for n in range(blocks):
        words = {"district": f"d-{n // 160}", "detector": f"det-{n // 16}", "zone": str(n % 16 + 1)}
        parts[f"b-{n}"] = Part("block", f"b-{n}", words=words)
    return Layout("big", parts=parts)


def test_every_block_and_turnout_of_a_record_stands_in_the_tree_once() -> None:
    """Nothing that carries the track is missing, and nothing is drawn twice."""
    drawn = [n.name for n in nodes(picture_of(CLUB)) if n.kind in ("booster", "district", "block", "turnout")]

    expected = [p.name for k in ("booster", "district", "block", "turnout") for p in CLUB.places_of(k)]
    assert sorted(drawn) == sorted(expected)


def test_power_goes_from_the_booster_over_the_district_and_the_detector_to_the_block() -> None:
    """A turnout is found on the way that its power takes."""
    way = path_to(picture_of(CLUB), "t-302")

    assert way == ["Fennick Valley Railway", "booster-a", "yard-district", "det-west", "yard-2", "t-302"]


def test_a_district_says_at_how_many_amps_its_breaker_trips_and_marks_what_is_assumed() -> None:
    """A given figure stands plain, one that the record does not give is marked."""
    given_, bare = picture_of(CLUB), picture_of(Layout("x", parts={"d": Part("district", "d")}))

    assert at(given_, "yard-district").says == "breaker trips at 3.5 A, bus 9 m"
    assert at(bare, "d").says.count("assumed") == 2


def test_a_detector_that_watches_two_districts_stands_in_both_with_its_own_zones() -> None:
    """A board across a boundary is seen from either side."""
    says = [n.says for n in nodes(picture_of(CLUB)) if n.name == "det-west"]

    assert says == ["coil, 3 mA, zones 1 to 12", "coil, 3 mA, zones 13 to 16"]


@pytest.mark.parametrize(
    ("place", "parent"),
    [
        ("yard-2 feeder", "yard-2"),
        ("yard-district breaker", "yard-district"),
        ("yard-district bus 1", "yard-district"),
        ("t-301 motor", "t-301"),
        ("supply-a", "booster-a"),
        ("det-west settings", "det-west"),
        ("yard-1/yard-2", "yard-1/yard-2"),
        ("sig-3", "sig-3"),
    ],
)
def test_what_is_not_drawn_by_itself_shows_its_mark_where_it_belongs(place: str, parent: str) -> None:
    """A feeder is marked at its block, a breaker at its district, a joint beside the block that it ends."""
    mark = Mark(place, "suspect", "loose", 0.5)
    tree = picture_of(CLUB, [mark])

    assert mark in at(tree, parent).marks
    assert "elsewhere" not in {n.name for n in nodes(tree)}


@pytest.mark.parametrize("place", ["dec-1", "railcar", "supply-control", "control bus", "no such place"])
def test_what_has_no_place_on_the_way_of_the_power_hangs_on_a_limb_of_its_own(place: str) -> None:
    """A mark at a decoder, a vehicle or an unknown place is not lost."""
    tree = picture_of(CLUB, [Mark(place, "suspect", "odd", 0.5)])

    assert path_to(tree, place)[1] == "elsewhere"


@given(MARKS, st.sets(st.sampled_from(["signals", "decoders"])))
def test_every_mark_stands_somewhere_in_the_tree(marks: list[Mark], more: set[str]) -> None:
    """Whatever is marked, wherever it is: it is in the picture."""
    assert shown(picture_of(CLUB, marks, sorted(more))) == set(marks)


def test_signals_and_decoders_are_drawn_when_they_are_asked_for() -> None:
    """They are left out of the usual picture, which is about the track."""
    kinds = {n.kind for n in nodes(picture_of(CLUB))}
    asked = list(nodes(picture_of(CLUB, more=["signals", "decoders"])))

    assert {"signal", "decoder"} & kinds == set()
    assert sum(n.kind == "signal" for n in asked) == 30
    assert sum(n.kind == "decoder" for n in asked) == 10
    assert at(picture_of(CLUB, more=["signals"]), "sig-3") in at(picture_of(CLUB, more=["signals"]), "yard-3").children


def test_without_a_record_the_places_that_were_named_are_shown_and_said_to_be_all() -> None:
    """A newcomer's picture holds what the case speaks of, and says why there is no more."""
    tree = picture_of(EMPTY, [Mark("the block", "sick", "occupied")])

    assert "no layout record" in tree.says
    assert at(tree, "the block").marks[0].text == "occupied"


# --- folding ----------------------------------------------------------------------------------------


def test_a_sound_club_fits_a_screen_with_every_district_named() -> None:
    """Sixty-four blocks without a mark become a line for each detector."""
    folded = fold(picture_of(CLUB), 44)

    assert lines_of(folded) <= 44
    assert {p.name for p in CLUB.places_of("district")} <= {n.name for n in nodes(folded)}
    assert at(folded, "yard-1 to yard-12").hidden == (("block", 12), ("turnout", 8))


def test_what_fits_is_not_folded() -> None:
    """Given room enough, the whole tree is drawn."""
    tree = picture_of(CLUB)

    assert fold(tree, lines_of(tree)) == tree


def test_a_marked_branch_is_drawn_down_to_its_mark() -> None:
    """The way to a suspect stays open, its neighbours are counted."""
    mark = Mark("t-302 motor", "suspect", "stalls", 0.6)
    folded = fold(picture_of(CLUB, [mark]), 20)

    assert path_to(folded, "t-302")[-2:] == ["yard-2", "t-302"]
    assert at(folded, "yard-3 to yard-12").hidden == (("block", 10), ("turnout", 6))


@settings(max_examples=40)
@given(MARKS, st.integers(1, 200), st.integers(1, 60))
def test_folding_loses_no_block_and_no_mark_however_often_it_is_done(marks: list[Mark], most: int, less: int) -> None:
    """Drawn and counted together are always all blocks and all marks, also of a tree that was folded before."""
    whole = picture_of(CLUB, marks)
    for folded in (fold(whole, most), fold(fold(whole, most), less)):
        everything = list(nodes(folded))
        blocks = sum(n.kind == "block" for n in everything) + sum(dict(n.hidden).get("block", 0) for n in everything)
        unseen = sum(count for n in everything for _, count in n.unseen)
        assert blocks == 64
        assert len(shown(folded)) + unseen >= len(set(marks))
        assert shown(folded) <= set(marks)


def test_where_there_is_no_room_the_most_telling_marks_stay() -> None:
    """Of forty suspects in little room the likeliest are drawn, the others counted."""
    blocks = [p.name for p in CLUB.places_of("block")][:40]
    marks = [Mark(b, "suspect", "s", 1 - i / 100) for i, b in enumerate(blocks)]
    folded = fold(picture_of(CLUB, marks), 30)

    kept = sorted(shown(folded), key=lambda m: -m.weight)
    assert lines_of(folded) <= 30
    assert 0 < len(kept) < 40
    assert kept == marks[: len(kept)]


def test_ten_thousand_blocks_are_summarised() -> None:
    """A layout far beyond any club still gives a picture of a screen, and all its blocks are counted."""
    marks = [Mark("b-7777", "suspect", "leaks", 0.4)]
    folded = fold(picture_of(big(10_000), marks), 44)

    counted = sum(dict(n.hidden).get("block", 0) for n in nodes(folded))
    drawn = sum(n.kind == "block" for n in nodes(folded))
    assert lines_of(folded) <= 44
    assert counted + drawn == 10_000
    assert shown(folded) == set(marks)


def test_a_tree_goes_out_as_plain_data() -> None:
    """Scripts get every part with its marks, and what is only counted."""
    data = json.loads(json.dumps(as_data(fold(picture_of(CLUB, [Mark("yard-2", "sick", "lit", 1.0)]), 20))))

    _, block, others = data["parts"][0]["parts"][0]["parts"][0]["parts"]
    assert block["name"] == "yard-2"
    assert block["marks"] == [{"at": "yard-2", "kind": "sick", "says": "lit", "weight": 1.0}]
    assert others["hidden"] == {"block": 10, "turnout": 6}

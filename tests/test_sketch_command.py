"""The command that draws a layout: on the screen, as a page, as data; with what a case and the survey say about it."""

from pathlib import Path
from xml.etree import ElementTree

import pytest

from tests.running import ran, spawned
from troubleshoot.cli.session import open_layout
from troubleshoot.sketch.weak import weak_marks
from troubleshoot.survey import survey


def test_the_demo_railway_is_drawn_when_no_record_is_named() -> None:
    """A newcomer sees a picture at once, and is told on standard error whose it is."""
    done = ran("layout", "draw")

    assert done.code == 0
    assert "Fennick Valley Railway" in done.out
    assert "demo railway" in done.err


def test_sound_branches_of_a_club_are_counted_and_drawn_when_asked_for() -> None:
    """The usual picture names every district; `--all` names every block and turnout."""
    folded, whole = ran("layout", "draw", "club").out, ran("layout", "draw", "club", "--all").out

    assert "12 blocks, 8 turnouts" in folded
    assert "--all draws every part" in folded
    assert "yard-7" not in folded
    assert [p.name for k in ("block", "turnout") for p in open_layout("club").places_of(k) if p.name not in whole] == []
    assert "--all" not in whole


def test_suspects_readings_and_what_is_sick_are_marked_in_words() -> None:
    """The picture of a case says at the place what is suspected, how likely, what was read and what shows."""
    done = ran("layout", "draw", "--case", "2026-09-12-yard-2", "--width", "300")

    assert "? suspect: 99 in 100, almost certain: Damp" in done.out
    assert "= read: Ohms from rail to rail in yard-2: 2.9k, below limit" in done.out
    assert "x shows the fault: A block shows occupied" in done.out
    assert "case 2026-09-12-yard-2" in done.out


def test_a_sound_reading_is_a_mark_of_its_own() -> None:
    """The open line of the demo case read over range between the rails, which is sound."""
    done = ran("layout", "draw", "--case", "2026-10-17-station-4", "--width", "300")

    assert "+ sound: Ohms from rail to rail in station-4: OL, sound" in done.out


def test_every_weak_spot_of_the_survey_is_in_the_picture() -> None:
    """What the record alone shows to be weak is marked at its place, the gravest first."""
    club = open_layout("club")
    marks, spots = weak_marks(club), survey(club)
    done = ran("layout", "draw", "club", "--width", "400")

    assert [m.place for m in marks] == [s.place.name for s in spots]
    assert [s.says for s in spots if s.says not in done.out] == []
    assert len(marks) > 3


def test_weak_spots_near_a_place_are_those_on_the_way_of_its_power() -> None:
    """The hand-over of a case shows the weak detector of its block, not the weak joint at the other end of the hall."""
    club = open_layout("club")
    near = {m.place for m in weak_marks(club, club.place("yard-2"))}

    assert near <= {p.name for r in ("detector-of", "joint-of", "district-of", "booster-of", "bus-of", "breaker-of",
                                     "feeder-of", "turnout-in", "decoder-of", "zone-of", "supply-of", "motor-of",
                                     "driver-of", "own-block")
                    for p in club.related(r, club.place("yard-2"))}  # fmt: skip
    assert len(near) < len({m.place for m in weak_marks(club)})


@pytest.mark.parametrize("width", [60, 100])
def test_no_line_is_wider_than_the_screen(width: int) -> None:
    """From sixty columns on nothing runs over, with all marks drawn."""
    done = ran("layout", "draw", "--case", "2026-09-12-yard-2", "--all", "--width", str(width))

    assert max(len(line) for line in done.out.splitlines()) <= width


def test_a_name_is_never_taken_as_markup_or_as_a_sign_to_the_terminal(tmp_path: Path) -> None:
    """What an owner writes into a record is shown as it is; no colour is used where none is wanted."""
    path = tmp_path / "own.yaml"
    path.write_text('name: "[bold red]X[/]"\nsays: "a [link=http://b]b[/link]"\nblocks: {b-1: }\n', encoding="utf-8")
    done = spawned("layout", "draw", str(path), "--svg", str(tmp_path / "own.svg"), env={"NO_COLOR": "1"})
    screen = spawned("layout", "draw", str(path), env={"NO_COLOR": "1"})

    assert done.code == screen.code == 0
    assert "[bold red]X[/]" in screen.out
    assert "[link=http://b]b[/link]" in screen.out
    assert "\x1b" not in screen.out
    assert "[bold red]X[/]" in (tmp_path / "own.svg").read_text(encoding="utf-8")


def test_a_picture_is_written_as_a_page(tmp_path: Path) -> None:
    """With --svg the picture goes into the file, and only the message goes to standard error."""
    path = tmp_path / "club.svg"
    done = ran("layout", "draw", "club", "--svg", str(path))

    assert done.code == 0
    assert done.out == ""
    assert str(path) in done.err
    assert ElementTree.parse(path).getroot().get("width") in ("210mm", "297mm")


def test_a_picture_that_cannot_be_written_is_said_in_words(tmp_path: Path) -> None:
    """A folder that is not there is a failure with a next step, not a traceback."""
    done = ran("layout", "draw", "club", "--svg", str(tmp_path / "none" / "x.svg"))

    assert done.code == 1
    assert "no such folder" in done.err


def test_a_tree_is_printed_as_data() -> None:
    """Scripts get the whole tree, unfolded, with signals where they ask for them."""
    data = ran("layout", "draw", "club", "--signals", "--json").data

    yard_1 = data["parts"][0]["parts"][0]["parts"][0]["parts"][0]
    assert data["kind"] == "layout"
    assert [p["name"] for p in yard_1["parts"]] == ["t-301", "sig-1"]
    assert yard_1["hidden"] == {}

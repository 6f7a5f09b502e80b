"""The command that surveys a layout: what it prints, on which screens, in JSON, and with which exit codes."""

from pathlib import Path

import pytest

from tests.running import ran, spawned
from troubleshoot.survey import KINDS, SEVERITIES

BARE = "name: Attic\n"
WRONG = "name: a\ntrack-volts: 900 V\nblocks: {b-1: {district: nowhere}}\n"


def test_weak_spots_are_found_and_the_code_is_nought() -> None:
    """A survey that finds something is done all the same."""
    done = ran("layout", "survey", "club", "--width", "100")

    assert done.code == 0
    assert done.err == ""
    titles = ("Serious", "Weak", "Remarks", "Could be judged")
    assert [done.out.index(t) for t in titles] == sorted(done.out.index(t) for t in titles)


@pytest.mark.parametrize("width", [60, 80, 100, 140])
def test_figure_limit_formula_cure_and_place_are_on_every_screen(width: int) -> None:
    """Nothing is cut off, however narrow the screen: each word of the widest is on each."""
    done = ran("layout", "survey", "club", "--width", str(width))

    assert max(map(len, done.out.splitlines())) <= width
    words = ("ridge-8", "2.19", "most", "trip", "<=", "warms", "second", "wire", "(30", "det-harbour", "assumed")
    assert [w for w in words if w not in done.out] == []
    if width < 90:  # under each other, so that phrases stand together
        flat = " ".join(done.out.split())
        assert "formula trip current <= current that warms the wire by 30 C (0.6 of it in a loom)" in flat
        assert "cure Lay a second wire beside each wire of the feeder, or lower the trip (30 min)" in flat


def test_spots_of_one_kind_with_one_figure_are_told_once() -> None:
    """Four detectors that miss the same axle are one paragraph with four places."""
    done = ran("layout", "survey", "club", "--width", "80")

    assert done.out.count("One axle of 10 kohm draws 1.5 mA") == 1
    assert "det-west, det-harbour, det-mid, det-east" in " ".join(done.out.split())


def test_it_ends_with_the_one_figure_that_would_decide_most() -> None:
    """The last lines say what to write into the record, and what that would decide."""
    done = ran("layout", "survey", "club", "--width", "100")

    end = " ".join(" ".join(done.out.split()).split("The one figure")[1:])
    assert "way of sensing of det-west, det-harbour, det-mid and 1 more: 63 looks" in end
    assert "Give it in the record as: sensing, under detectors." in end


def test_a_sound_layout_says_so() -> None:
    """The home layout has no weak spot."""
    done = ran("layout", "survey", "home", "--width", "80")

    assert done.code == 0
    assert "no weak spot" in done.out
    assert "Serious" not in done.out


def test_json_holds_everything() -> None:
    """Each spot with SI figures, unit, formula, cure, minutes, place, data and what was assumed."""
    data = ran("layout", "survey", "club", "--json").data

    assert data["layout"] == "Fennick Valley Railway"
    assert data["looks"] > 500
    assert data["would_decide_most"] == data["missing"][0]
    for spot in data["weak_spots"]:
        assert spot["kind"] in KINDS
        assert spot["severity"] in SEVERITIES
        assert spot["sentence"] == KINDS[spot["kind"]]
        assert {"value", "limit", "unit", "formula", "source", "cure", "cure_minutes", "at"} <= set(spot)
        assert {"value", "unit", "assumed", "said"} <= set(spot["data"][0])


def test_the_kinds_are_listed_for_those_who_write_rules() -> None:
    """Every kind with its sentence, as lines or as JSON."""
    told, data = ran("layout", "survey", "--kinds"), ran("layout", "survey", "--kinds", "--json")

    assert [line.split()[0] for line in told.out.splitlines()] == sorted(KINDS)
    assert data.data == KINDS


def test_a_record_without_figures_is_surveyed(tmp_path: Path) -> None:
    """A record of one line has nothing weak, and nothing is asked for that would not decide anything."""
    file = tmp_path / "attic.yaml"
    file.write_text(BARE)

    done = ran("layout", "survey", str(file))

    assert done.code == 0
    assert "no weak spot" in done.out


def test_a_wrong_record_is_refused_with_all_its_problems(tmp_path: Path) -> None:
    """Exit code 4, every problem with its line, on standard error or as JSON."""
    file = tmp_path / "wrong.yaml"
    file.write_text(WRONG)

    told, data = ran("layout", "survey", str(file)), ran("layout", "survey", str(file), "--json")

    assert (told.code, data.code) == (4, 4)
    assert f"{file}:2: track-volts: 900 V cannot be" in told.err
    assert "Traceback" not in told.err
    assert {p["line"] for p in data.data["problems"]} == {2, 3}


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    """A name that is no file is a problem of that file."""
    done = ran("layout", "survey", str(tmp_path / "gone.yaml"))

    assert done.code == 4
    assert "gone.yaml" in done.err


def test_names_of_the_owner_never_become_markup(tmp_path: Path) -> None:
    """Whatever a layout is called is shown as it is written, brackets and all."""
    file = tmp_path / "mine.yaml"
    file.write_text("name: '[bold]Attic[/bold] {place}'\nboosters: {boo: {output: 23 V}}\n")

    done = ran("layout", "survey", str(file), "--width", "80")

    assert "[bold]Attic[/bold] {place}" in done.out
    assert "boo gives 23 V" in done.out


def test_without_colour_there_are_no_steering_signs() -> None:
    """NO_COLOR and a pipe give plain text."""
    done = spawned("layout", "survey", "home", env={"NO_COLOR": "1", "COLUMNS": "60"})

    assert done.code == 0
    assert "\x1b" not in done.out
    assert max(map(len, done.out.splitlines())) <= 60

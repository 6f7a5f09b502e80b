"""`troubleshoot log look`: its screen, its JSON, its drawing, and answers that it gives to a case."""

import importlib.util
import os
import pty
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tests.railway import Faults, Hour, as_csv
from tests.running import ROOT, opened, ran
from troubleshoot import casebook
from troubleshoot.documents import write
from troubleshoot.layout import Layout
from troubleshoot.rulebook import load
from troubleshoot.screen import happenings
from troubleshoot.sketch.strips import Row, Strips, draw

SAMPLE = ROOT / "cases" / "logs" / "around-midnight.csv"


@pytest.fixture(scope="module")
def hour(tmp_path_factory: pytest.TempPathFactory, club: Layout) -> Path:
    """The log of an hour with a joint and a surge, as the layout's computer would write it."""
    faults = Faults(joints={("harbour-4", "harbour-5"): 0.8}, surges={("t-325", "loop-4"): 0.8})
    path = tmp_path_factory.mktemp("logs") / "hour.csv"
    path.write_text(as_csv(Hour(club, 4, faults).rows()), encoding="utf-8")
    return path


def test_the_sample_log_shows_what_was_planted() -> None:
    """The log of the README: the joint and the surge, with the cause that the rules put first, and how to go on."""
    done = ran("log", "look", str(SAMPLE), "--layout", "club", "--width", "100")

    assert done.code == 0, done.err
    assert "harbour-4 and harbour-5 flicker at the same moment" in done.out
    assert "loop-4 flickers as t-325 is thrown" in done.out
    assert "speaks for: The occupancy of a block flickers" in done.out
    assert "troubleshoot open --layout club --symptom flickering-occupancy" in done.out


def test_the_sample_log_is_what_its_script_makes() -> None:
    """The script and its seed give the file to the byte; it is small, and crosses midnight."""
    spec = importlib.util.spec_from_file_location("make_log", SAMPLE.parent / "make.py")
    assert spec is not None
    assert spec.loader is not None
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)

    made = script.text()

    assert made == SAMPLE.read_text(encoding="utf-8")
    assert len(made) < 60_000
    assert "\n23:59:" in made
    assert "\n00:00:" in made


@pytest.mark.parametrize("width", [60, 100])
def test_the_screen_fits_its_width(hour: Path, width: int) -> None:
    """No line is longer than the screen, but for the commands to copy."""
    done = ran("log", "look", str(hour), "--layout", "club", "--width", str(width))
    drawn = done.out.split("\nGo on with:", maxsplit=1)[0]

    assert max(map(len, drawn.splitlines())) <= width
    assert "▒" in drawn
    assert "\x1b" not in drawn


def test_json_holds_all_of_it(hour: Path) -> None:
    """The account, the findings with chance and symptoms, the tables, and no screen between."""
    data = ran("log", "look", str(hour), "--layout", "club", "--json").data

    assert data["lines"] == data["heads"] + data["blank"] + data["read"] + data["refused"]
    assert {(f["kind"], f["about"]) for f in data["found"]} == {("joint", "harbour-4"), ("throw", "loop-4")}
    assert all(f["speaks_for"][0] == "core/flickering-occupancy" for f in data["found"])
    assert all(0 <= f["chance"] <= f["corrected"] <= 0.05 for f in data["found"])
    assert data["blocks"][0].keys() == {"block", "stays", "flickers", "an_hour", "dwell_s"}
    assert any(t["turnout"] == "t-325" for t in data["turnouts"])
    assert data["case"] is None


def test_a_case_is_answered_from_the_log(hour: Path, shelf: Path) -> None:
    """With --yes each answer is saved with where it comes from; the ranking leans on it, nothing is asked twice."""
    path = opened(shelf, symptom="flickering-occupancy", about="harbour-4")
    before = ran("ranking", path, "--json").data["ranking"][0]["cause"]

    done = ran("log", "look", str(hour), "--case", path, "--yes", "--json")
    again = ran("log", "look", str(hour), "--case", path, "--yes", "--json")

    events = [e for e in casebook.read(Path(path)).events if "answer" in e]
    assert {e["answer"]: e["outcome"] for e in events}["core/when-it-flickers"] == "at-the-joint"
    assert all(e["how"] == "from the log" for e in events)
    assert all(e["log"].startswith("hour.csv: harbour-4 and harbour-5") for e in events)
    assert len(done.data["answers"]) == len(events) >= 2
    assert again.data["answers"] == []
    assert "answers nothing" in again.err
    after = ran("ranking", path, "--json").data["ranking"][0]
    assert after["cause"] != before
    assert "joint" in after["says"]


def test_an_answer_of_a_person_is_left_alone(hour: Path, shelf: Path) -> None:
    """What somebody has answered already is not offered."""
    path = opened(shelf, symptom="flickering-occupancy", about="harbour-4")
    ran("answer", path, "when-it-flickers", "empty-too")

    taken = ran("log", "look", str(hour), "--case", path, "--yes", "--json").data["answers"]

    assert "core/when-it-flickers" not in {a["answer"] for a in taken}


def test_each_answer_is_asked_for_and_none_is_taken_silently(hour: Path, shelf: Path) -> None:
    """Yes takes one, no leaves one, and the end of input saves what was taken and says so."""
    path = opened(shelf, symptom="flickering-occupancy", about="harbour-4")

    done = ran("log", "look", str(hour), "--case", path, said="1\n2\n")

    events = [e for e in casebook.read(Path(path)).events if "answer" in e]
    assert done.code == 5
    assert len(events) == 1
    assert "harbour-4 and harbour-5 flicker at the same moment" in done.out.split("^")[0].split("▒")[0]
    assert "Take as the answer" in done.out
    assert "answers saved: 1" in done.err


def test_a_finding_about_another_place_answers_nothing(hour: Path, shelf: Path) -> None:
    """A case about a block that is quiet in the log learns nothing from it."""
    path = opened(shelf, symptom="flickering-occupancy", about="yard-2")

    done = ran("log", "look", str(hour), "--case", path, "--yes")

    assert done.code == 0
    assert "answers nothing" in done.err


def test_the_drawing_is_a_whole_picture_without_markup_of_others(tmp_path: Path, hour: Path) -> None:
    """The finding chosen by number is drawn, with its rows, and can be read as XML."""
    svg = tmp_path / "strip.svg"
    done = ran("log", "look", str(hour), "--layout", "club", "--finding", "2", "--window", "20 s", "--svg", str(svg))
    words = "".join(ElementTree.fromstring(svg.read_text(encoding="utf-8")).itertext())

    assert done.code == 0, done.err
    assert "loop-4" in words or "harbour-4" in words
    assert "occupied" in words


def test_names_of_a_log_become_no_markup() -> None:
    """A block called like a tag is drawn as its name."""
    strips = Strips("<script>&", 0.0, 10.0, (Row("<b>[red]", ((1.0, 2.0),), ((5.0, "c"),)),), ((0.0, "<i>"),), 5.0)
    text = draw(strips)

    assert "<script>" not in text
    assert "<b>" not in text
    assert "<b>[red]" in "".join(ElementTree.fromstring(text).itertext())


def test_a_strip_of_characters_shows_what_was_taken_and_what_changed() -> None:
    """Taken, changed within the column, free, and a letter for a command."""
    row = Row("a", ((0.0, 2.0), (3.1, 3.3), (5.0, 9.0)), ((4.5, "c"),))

    assert happenings.cells_of(row, Strips("t", 0.0, 10.0, (row,)), 10) == "█▒·▒c███▒·"


def test_a_mapping_is_saved_and_used_again(tmp_path: Path, shelf: Path) -> None:
    """What was said once about columns and words need not be said again."""
    log, mapping = tmp_path / "log.txt", tmp_path / "ours.yaml"
    log.write_text("Zeit;Gleis;Stand\n10:00:00;G1;belegt\n10:00:30;G1;frei\n", encoding="latin-1")
    said = ("--columns", "time=Zeit,name=Gleis,state=Stand", "--words", "belegt=occupied,frei=clear")

    first = ran("log", "look", str(log), *said, "--kind", "block", "--save-mapping", str(mapping), "--json")
    second = ran("log", "look", str(log), "--mapping", str(mapping), "--json")

    assert first.code == second.code == 0
    assert first.data == second.data
    assert first.data["read"] == 2


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (("missing.csv",), 4, "no such file"),
        (("{log}", "--columns", "tim=0"), 2, "did you mean 'time'"),
        (("{log}", "--words", "a=b"), 2, "occupied"),
        (("{log}", "--delimiter", "tabs"), 2, "delimiter"),
        (("{log}", "--window", "soon"), 2, "--window"),
        (("{log}", "--short", "0 s"), 2, "--short"),
        (("{log}", "--yes"), 2, "--case"),
        (("{log}", "--finding", "99", "--layout", "club"), 2, "no finding 99"),
        (("{log}", "--zone", "Moon"), 4, "no time zone"),
        (("{log}", "--mapping", "{log}"), 4, "log"),
        (("{log}", "--layout", "club", "--svg", "/nowhere/at/all.svg"), 1, "not saved"),
        (("{log}", "--layout", "club", "--save-mapping", "/nowhere/at/all.yaml"), 1, "not saved"),
        (("{bad}",), 4, "no row of it could be read"),
    ],
)
def test_what_is_wrong_is_said_in_words(
    hour: Path, tmp_path: Path, arguments: tuple[str, ...], code: int, says: str
) -> None:
    """Wrong usage, a file with problems, and a place where nothing can be written, each with its exit code."""
    bad = tmp_path / "bad.csv"
    bad.write_text("time,name,state\n10:00:00,a,lukewarm\n", encoding="utf-8")

    done = ran("log", "look", *(a.format(log=hour, bad=bad) for a in arguments))

    assert done.code == code
    assert says in done.err
    assert "Traceback" not in done.err


def test_a_log_without_any_fault_says_so(tmp_path: Path, club: Layout) -> None:
    """Nothing found is no proof, and the screen says that too."""
    path = tmp_path / "quiet.csv"
    path.write_text(as_csv(Hour(club, 77, None, 900.0).rows()), encoding="utf-8")

    done = ran("log", "look", str(path), "--layout", "club", "--svg", str(tmp_path / "none.svg"))

    assert done.code == 0
    assert "clears no single place" in done.out
    assert "nothing to draw" in done.err


def test_refused_rows_and_strange_names_are_told(tmp_path: Path) -> None:
    """How many rows could not be read and why, and which names the record does not have."""
    path = tmp_path / "odd.csv"
    rows = "".join(f"10:00:{i:02d},teapot,{'occupied' if i % 2 else 'clear'}\n" for i in range(10, 40))
    path.write_text(rows + "10:01:00,teapot,lukewarm\n", encoding="utf-8")

    out = ran("log", "look", str(path), "--layout", "club", "--width", "100").out

    assert "1 row," in out
    assert "lukewarm" in out
    assert "teapot" in out.split("note", 1)[1]


def test_a_bar_is_drawn_on_a_terminal_only(hour: Path) -> None:
    """Standard error that is a terminal shows the reading; a file gets nothing."""
    ours, theirs = pty.openpty()
    call = [sys.executable, "-m", "troubleshoot", "log", "look", str(hour), "--json"]
    env = {**os.environ, "TERM": "xterm"}
    subprocess.run(call, stdout=subprocess.DEVNULL, stderr=theirs, check=True, cwd=ROOT, env=env, timeout=60)
    os.close(theirs)
    drawn = b""
    try:
        while part := os.read(ours, 4096):
            drawn += part
    except OSError:  # the other end is closed: all has been read
        pass
    finally:
        os.close(ours)

    assert b"reading" in drawn
    assert ran("log", "look", str(hour), "--json").err == ""


def test_a_pack_may_say_what_a_finding_means(tmp_path: Path) -> None:
    """A club adds a sign of its own, and slips in one are refused with the nearest name."""
    head = {"pack": "my-club", "version": "0.1.0", "format": 1, "says": "Ours", "owner": "us", "licence": "CC0"}
    good, bad = tmp_path / "good", tmp_path / "bad"
    for folder in (good, bad):
        folder.mkdir()
        write(folder / "pack.yaml", head)
    write(good / "signs.yaml", {"log-signs": {"hour": {"speaks-for": ["trips-at-random"]}}})
    slips = {"chater": {"speaks-for": ["trips-at-random"]}, "joint": {"speaks-for": ["flickering-occupancy"]}}
    slips["joint"]["answers"] = {"when-it-flickers": "at-joint"}  # type: ignore[assignment]
    write(bad / "signs.yaml", {"log-signs": slips})

    signs = load([good]).log_signs
    told = ran("rules", "check", str(bad)).out

    assert signs["my-club/hour"].symptoms == ("core/trips-at-random",)
    assert "did you mean 'chatter'" in told
    assert "did you mean 'at-the-joint'" in told


def test_what_a_log_cannot_show_is_noted(tmp_path: Path) -> None:
    """A clock of whole seconds, turnouts without reports, and a missing record are said, not passed over."""
    path = tmp_path / "coarse.csv"
    rows = "".join(
        f"10:{i:02d}:00,block,a,occupied\n10:{i:02d}:20,block,a,clear\n10:{i:02d}:30,turnout,t,thrown\n"
        for i in range(30)
    )
    path.write_text(rows, encoding="utf-8")

    notes = " ".join(ran("log", "look", str(path), "--json").data["notes"])

    assert "steps of 1 s" in notes
    assert "No turnout reports anything" in notes
    assert "--layout" in notes

"""The history of readings: kept at once, read back as it was, safe against a second writer and against a kill."""

import os
import signal
import subprocess
import sys
import time
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot import casebook
from troubleshoot.documents import Problems, read
from troubleshoot.layout import Layout
from troubleshoot.quantities import Unreadable
from troubleshoot.rounds import history
from troubleshoot.rulebook import Rulebook
from troubleshoot.rulebook import load as load_rules

JOINT = "core/joint-ohms"
WRITER = """
import sys
from pathlib import Path
from troubleshoot.rounds.history import event_of, keep
from troubleshoot.rulebook import load
rulebook, path, who = load(), Path(sys.argv[1]), sys.argv[2]
print("ready", flush=True)
sys.stdin.readline()
for number in range(int(sys.argv[3])):
    check = rulebook.checks["core/joint-ohms"]
    keep(path, "club", "Fennick Valley Railway", rulebook, event_of(check, f"{who}-{number}", f"{number + 1}k"))
    print("kept", number, flush=True)
"""


@pytest.fixture(scope="module")
def core() -> Rulebook:
    """The core rules."""
    return load_rules()


def kept(path: Path, core: Rulebook, place: str, reading: str, **more: str) -> int:
    """Keep one reading of a joint."""
    event = history.event_of(core.checks[JOINT], place, reading, **more)
    return history.keep(path, "club", "Fennick Valley Railway", core, event)


def writer(path: Path, who: str, count: int) -> "subprocess.Popen[str]":
    """A process of its own that will add readings as soon as it is told to."""
    command = [sys.executable, "-c", WRITER, str(path), who, str(count)]
    process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    return process


def test_a_reading_is_read_back_as_it_was_typed(tmp_path: Path, club: Layout, core: Rulebook) -> None:
    """Words, day, meter and climate come back; the value is in SI."""
    path = tmp_path / "mine.readings.yaml"
    kept(path, core, "yard-1/yard-2", "9,8 Mohm", when="2026-03-14", meter="pocket", temperature="66 F", humidity="48")

    (one,) = history.read(path, club, core).taken

    assert (one.check, one.place, one.day, one.meter) == (JOINT, "yard-1/yard-2", date(2026, 3, 14), "pocket")
    assert one.reading.value == pytest.approx(9.8e6)
    assert one.reading.said == "9,8 Mohm"
    assert one.temperature == pytest.approx(18.9, abs=0.05)
    assert one.humidity == 48.0


def test_readings_come_in_the_order_of_their_days(tmp_path: Path, club: Layout, core: Rulebook) -> None:
    """A reading entered late takes the place of its day."""
    path = tmp_path / "h.yaml"
    for day in ("2026-05-01", "2025-01-01", "2026-01-01"):
        kept(path, core, "yard-1/yard-2", "5M", when=day)

    assert [t.day.isoformat() for t in history.read(path, club, core).taken] == [
        "2025-01-01",
        "2026-01-01",
        "2026-05-01",
    ]


def test_no_file_is_an_empty_history(tmp_path: Path, club: Layout, core: Rulebook) -> None:
    """Before the first reading there is nothing, and nothing is made by looking."""
    path = tmp_path / "none.yaml"

    assert history.read(path, club, core).taken == ()
    assert not path.exists()


def test_the_file_is_plain_and_its_own_kind(tmp_path: Path, core: Rulebook) -> None:
    """It names its layout and its packs, and says of itself that it is a history of rounds."""
    path = tmp_path / "h.yaml"
    kept(path, core, "yard-1/yard-2", "OL", when="2026-03-14")

    data = read(path).data

    assert data["round"] == "Fennick Valley Railway"
    assert data["layout"] == "club"
    assert data["events"] == [
        {"when": "2026-03-14", "answer": JOINT, "at": "yard-1/yard-2", "reading": "OL", "how": "typed"}
    ]


def test_a_reading_taken_back_counts_no_more_but_stays_in_the_file(
    tmp_path: Path, club: Layout, core: Rulebook
) -> None:
    """The last reading, or one by its number, is undone by a further event."""
    path = tmp_path / "h.yaml"
    for reading in ("1M", "2M", "3M"):
        kept(path, core, "yard-1/yard-2", reading)

    assert (history.take_back(path) or {})["reading"] == "3M"
    assert (history.take_back(path, 1) or {})["reading"] == "1M"
    assert history.take_back(path, 1) is None
    assert [t.reading.said for t in history.read(path, club, core).taken] == ["2M"]
    assert len(casebook.read(path).events) == 5


def test_two_who_begin_and_fill_a_history_at_once_lose_nothing(tmp_path: Path, club: Layout, core: Rulebook) -> None:
    """Two processes that start with no file add twelve readings each: all are there, in one file."""
    path = tmp_path / "h.yaml"
    writers = [writer(path, who, 12) for who in ("a", "b")]
    for one in writers:
        assert one.stdin is not None
        one.stdin.write("go\n")
        one.stdin.flush()
    for one in writers:
        one.communicate(timeout=60)
        assert one.returncode == 0

    places = {t.place for t in history.read(path, club, core).taken}
    assert places == {f"{who}-{n}" for who in "ab" for n in range(12)}
    assert [p.name for p in tmp_path.glob("*.yaml")] == ["h.yaml"]


def test_a_kill_loses_no_reading_that_was_kept(tmp_path: Path, club: Layout, core: Rulebook) -> None:
    """A writer killed in the midst leaves a whole file with all that it said was kept, and no lock that holds."""
    path = tmp_path / "h.yaml"
    one = writer(path, "a", 500)
    assert one.stdin is not None
    assert one.stdout is not None
    one.stdin.write("go\n")
    one.stdin.flush()
    told = [one.stdout.readline() for _ in range(6)]
    os.kill(one.pid, signal.SIGKILL)
    rest = one.communicate(timeout=30)[0].splitlines()
    said = len(told) + len(rest)

    began = time.monotonic()
    kept(path, core, "after", "7M")
    assert time.monotonic() - began < 20.0
    places = [t.place for t in history.read(path, club, core).taken]
    assert {f"a-{n}" for n in range(said)} <= set(places)
    assert "after" in places


def test_every_wrong_line_is_told_with_its_place(tmp_path: Path, club: Layout, core: Rulebook) -> None:
    """Three wrong readings make three problems, each with file and line and what to do."""
    path = tmp_path / "h.yaml"
    path.write_text(
        "round: Mine\nformat: 1\nevents:\n"
        "  - {when: 2026-13-40, answer: core/joint-ohms, at: a, reading: 5M}\n"
        "  - {when: 2026-03-01, answer: core/joint-ohms, at: a, reading: 5 V}\n"
        "  - {when: 2026-03-01, answer: core/joint-ohms, at: a, reading: 5M, humidity: 140 %}\n"
        "  - {when: 2026-03-01, answer: core/joint-ohms, at: a, reading: 5M}\n",
        encoding="utf-8",
    )

    with pytest.raises(Problems) as caught:
        history.read(path, club, core)

    lines = [str(p) for p in caught.value.problems]
    assert [line.split(":")[1] for line in lines] == ["4", "5", "6"]
    assert "write it as in 2026-03-14" in lines[0]
    assert "ohms are wanted" in lines[1]
    assert "between 0 and 100" in lines[2]


def test_readings_of_checks_that_are_gone_are_kept_and_named(tmp_path: Path, club: Layout, core: Rulebook) -> None:
    """A check of a pack that is not at hand is told as strange and stays in the file."""
    path = tmp_path / "h.yaml"
    path.write_text(
        "round: Mine\nformat: 1\nevents:\n  - {when: 2026-03-01, answer: gone/thing, at: a, reading: 5}\n", "utf-8"
    )
    kept(path, core, "b", "5M")

    found = history.read(path, club, core)
    assert found.strange == ("gone/thing",)
    assert len(found.taken) == 1
    assert len(casebook.read(path).events) == 2


def test_a_case_is_no_history(tmp_path: Path, club: Layout, core: Rulebook) -> None:
    """A case file given by mistake is refused with a word, not read as readings."""
    case = casebook.new(tmp_path, "x", "club", {})
    casebook.add(case, {"symptom": "core/phantom-occupancy"})

    with pytest.raises(Problems, match="not a history"):
        history.read(case.path, club, core)


def test_a_state_entered_and_left_again_is_not_undone(tmp_path: Path, club: Layout, core: Rulebook) -> None:
    """What is still undone is what was entered and not left."""
    path = tmp_path / "h.yaml"
    for place, state in (("yard-1", "entered"), ("yard-2", "entered"), ("yard-1", "left")):
        event = {"set-up": "core/feed-lifted-at-detector", "at": place, "state": state}
        history.keep(path, "club", "Fennick Valley Railway", core, event)

    assert [c.place for c in history.read(path, club, core).in_force] == ["yard-2"]


@given(st.dates())
def test_every_date_is_read_back(day: date) -> None:
    """A date, and a time that begins with it, give that day."""
    assert history.day_of(day.isoformat()) == day
    assert history.day_of(f"{day.isoformat()}T19:42:00+00:00") == day


@given(st.text(max_size=30))
def test_any_text_is_a_date_or_refused_in_words(text: str) -> None:
    """Nothing typed for a date ends in anything but a day or a reason."""
    try:
        assert isinstance(history.day_of(text), date)
    except Unreadable as error:
        assert "write it as in" in str(error)


@given(st.text(max_size=30))
def test_any_text_is_a_humidity_or_refused_in_words(text: str) -> None:
    """Nothing typed for the humidity ends in anything but a figure from 0 to 100 or a reason."""
    try:
        assert 0.0 <= history.climate_of("humidity", text) <= 100.0
    except Unreadable as error:
        assert str(error)

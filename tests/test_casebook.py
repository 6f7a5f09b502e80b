"""Case files: nothing said is lost, nothing of somebody else's is overwritten, a bad file says what is wrong."""

import os
import random
import resource
import signal
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.running import ORDINARY, ROOT
from troubleshoot import casebook
from troubleshoot.casebook import Case, NotSaved
from troubleshoot.documents import Problems, parse, write
from troubleshoot.inquiry import Answer, AtHand, Complaint, Mend, Note, ProofSeen, PutAside, SetUpChange
from troubleshoot.learning import tally
from troubleshoot.quantities import Unreadable
from troubleshoot.rulebook import Rulebook, load

SYMPTOM = {"symptom": "core/phantom-occupancy", "about": "yard-2"}


@pytest.fixture(scope="module")
def rulebook() -> Rulebook:
    """The bundled rules."""
    return load()


def case_in(folder: Path, *events: Mapping[str, object]) -> Case:
    """A saved case with the phantom symptom and further events."""
    case = casebook.new(folder, "2026-11-24-yard-2", "club", {"core": "1.0.0"})
    casebook.add(case, SYMPTOM, *map(dict, events))
    return case


def complaint(path: Path) -> str:
    """What is said about a file that is refused."""
    with pytest.raises(Problems) as caught:
        casebook.read(path)
    return str(caught.value)


def test_events_are_replayed_into_what_was_said(tmp_path: Path, rulebook: Rulebook) -> None:
    """Every kind of event comes back from the file as the record it stands for."""
    case = case_in(
        tmp_path,
        {"answer": "core/when-worse", "at": "yard-2", "outcome": "damp", "how": "remembered"},
        {"answer": "core/block-leak-ohms", "at": "yard-2", "reading": "2.9k", "how": "typed"},
        {"answer": "core/how-steady", "at": "yard-2", "aside": "not-sure"},
        {"set-up": "core/power-off", "at": "yard-2", "state": "entered"},
        {"time": 20, "may-stop": "block"},
        {"remedy": "core/dry-and-clean-ballast", "at": "yard-2", "result": "fixed"},
        {"proof": "core/dry-and-clean-ballast", "at": "yard-2", "outcome": "passed", "quiet": "2 h"},
        {"note": "glue was dry"},
    )

    records = casebook.inquiry(casebook.read(case.path), rulebook).records

    assert records[0] == Complaint("core/phantom-occupancy", "yard-2")
    assert records[1] == Answer("core/when-worse", "yard-2", "damp", None, "remembered")
    assert isinstance(records[2], Answer)
    assert records[2].reading is not None
    assert records[2].reading.value == 2900.0
    assert records[3:] == (
        PutAside("core/how-steady", "yard-2", "not-sure"),
        SetUpChange("core/power-off", "yard-2", True),
        AtHand(20.0, "block"),
        Mend("core/dry-and-clean-ballast", "yard-2", "fixed"),
        ProofSeen("core/dry-and-clean-ballast", "yard-2", True, 7200.0),
        Note("glue was dry"),
    )


def test_a_reading_is_taken_in_the_unit_of_its_check(tmp_path: Path, rulebook: Rulebook) -> None:
    """Readings in volts and milliamps come back too, with and without their unit written."""
    live = sorted(c.name for c in rulebook.checks.values() if c.unit in ("mA AC", "V AC", "V DC"))
    said = {"mA AC": "22 mA", "V AC": "0.4 V", "V DC": "4.9"}
    events = [{"answer": n, "at": "yard-2", "reading": said[str(rulebook.checks[n].unit)]} for n in live]
    case = case_in(tmp_path, *events)

    records = casebook.inquiry(casebook.read(case.path), rulebook).records

    assert live
    assert [round(r.reading.value, 6) for r in records if isinstance(r, Answer) and r.reading] == [
        {"mA AC": 0.022, "V AC": 0.4, "V DC": 4.9}[str(rulebook.checks[n].unit)] for n in live
    ]


def test_taking_back_drops_the_answer_and_keeps_the_event(tmp_path: Path, rulebook: Rulebook) -> None:
    """What is taken back no longer counts, but stays in the file; the symptom itself is never taken back."""
    case = case_in(tmp_path, {"answer": "core/when-worse", "at": "yard-2", "outcome": "damp"}, {"note": "a"})

    taken = [casebook.take_back(case), casebook.take_back(case), casebook.take_back(case)]

    again = casebook.read(case.path)
    assert [t and next(k for k in t if k != "when") for t in taken] == ["note", "answer", None]
    assert len(again.events) == 5
    assert [e["takes-back"] for e in again.events[3:]] == [3, 2]
    assert casebook.inquiry(again, rulebook).records == (Complaint("core/phantom-occupancy", "yard-2"),)


def test_taking_back_leaves_what_has_been_lifted_on_the_list(tmp_path: Path, rulebook: Rulebook) -> None:
    """A lifted wire is still lifted after an answer is taken back, so it stays undone on every screen."""
    case = case_in(
        tmp_path,
        {"set-up": "core/power-off", "at": "yard-2", "state": "entered"},
        {"answer": "core/block-leak-ohms", "at": "yard-2", "reading": "2.9k"},
    )

    casebook.take_back(case)
    casebook.take_back(case)

    assert [c.set_up for c in casebook.inquiry(case, rulebook).in_force] == ["core/power-off"]


def test_unknown_keys_and_events_are_kept(tmp_path: Path, rulebook: Rulebook) -> None:
    """What another version or a person has written beside is there after the next answer."""
    path = tmp_path / "c.yaml"
    path.write_text(
        "case: c\nformat: 1\nlayout: club\npacks: {core: 1.0.0}\nweather: fog, 4 C\n"
        "events:\n  - {when: 2026-11-24T19:42+00:00, symptom: core/phantom-occupancy, about: yard-2, mood: bad}\n"
        "  - {when: 2026-11-24T19:43+00:00, photograph: p1.jpg, state: blurred, result: 7}\n"
    )
    case = casebook.read(path)

    casebook.add(case, {"note": "on"})

    data = parse(path.read_text(), "c").data
    assert data["weather"] == "fog, 4 C"
    assert data["events"][0]["mood"] == "bad"
    assert data["events"][1] == {
        "when": "2026-11-24T19:43+00:00", "photograph": "p1.jpg", "state": "blurred", "result": 7,
    }  # fmt: skip
    assert len(casebook.inquiry(casebook.read(path), rulebook).records) == 2


@pytest.mark.parametrize("head", ["format: 2\nevents: []\n", "format: 7\nhistory: {}\n", "format: '2b'\nevents: []\n"])
def test_a_newer_format_is_refused_and_left_alone(tmp_path: Path, head: str) -> None:
    """A case of a newer tool is not guessed at, whatever it looks like inside."""
    path = tmp_path / "c.yaml"
    path.write_text(head)

    assert "c.yaml:1: is of format" in complaint(path)
    assert path.read_text() == head


def test_a_file_that_was_moved_away_is_not_made_again(tmp_path: Path) -> None:
    """A case that was renamed meanwhile does not come back as a second one."""
    case = case_in(tmp_path)
    case.path.rename(tmp_path / "else.yaml")

    with pytest.raises(NotSaved, match="moved or deleted"):
        casebook.add(case, {"note": "on"})

    assert not case.path.exists()


def test_two_cases_of_a_day_get_names_of_their_own(tmp_path: Path) -> None:
    """A second case about the same block does not touch the first."""
    first, second = case_in(tmp_path), case_in(tmp_path)

    assert (first.name, second.name) == ("2026-11-24-yard-2", "2026-11-24-yard-2-2")


ADDING = """
import sys
from pathlib import Path
from troubleshoot import casebook
case = casebook.read(Path(sys.argv[1]))
for i in range(int(sys.argv[2]), 100000):
    casebook.add(case, {"note": f"note {i} " + "x" * 2000})
    sys.stdout.write(f"{i}\\n")
    sys.stdout.flush()
"""


def test_killed_at_any_moment_no_acknowledged_answer_is_lost(tmp_path: Path) -> None:
    """A dozen kills with -9 in the middle of saving: the file is always whole and holds all that was acknowledged.

    `test_casebook_saving` kills at every step in turn; here the moment is left to chance.
    """
    case, chance = case_in(tmp_path), random.Random(4)
    for _ in range(12):
        held = len(casebook.read(case.path).events)
        if held > 120:
            casebook.save(_shortened(case.path))
            held = len(casebook.read(case.path).events)
        child = subprocess.Popen(
            [sys.executable, "-c", ADDING, str(case.path), str(held)], cwd=ROOT, stdout=subprocess.PIPE, text=True
        )
        assert child.stdout is not None
        first = child.stdout.readline()
        time.sleep(chance.uniform(0.0, 0.04))
        child.send_signal(signal.SIGKILL)
        acknowledged = [first, *child.stdout.read().splitlines(keepends=True)]
        child.wait()
        child.stdout.close()

        notes = [str(e["note"]).split()[1] for e in casebook.read(case.path).events if "note" in e]

        assert {a.strip() for a in acknowledged if a.endswith("\n")} <= set(notes)
        assert len(notes) == len(set(notes))


def _shortened(path: Path) -> Case:
    case = casebook.read(path)
    del case.events[1:]
    return case


RACING = """
import sys
from pathlib import Path
from troubleshoot import casebook
from troubleshoot.casebook import NotSaved
done = 0
while done < 15:
    case = casebook.read(Path(sys.argv[1]))
    try:
        casebook.add(case, {"note": f"{sys.argv[2]} {done}"})
    except NotSaved:
        continue
    print(sys.argv[2], done)
    done += 1
"""


def test_two_who_write_at_once_lose_nothing(tmp_path: Path) -> None:
    """Whatever two processes were told is saved is in the file in the end."""
    case = case_in(tmp_path)
    pair = [
        subprocess.Popen([sys.executable, "-c", RACING, str(case.path), n], cwd=ROOT, stdout=subprocess.PIPE, text=True)
        for n in ("a", "b")
    ]
    told = [line for child in pair for line in child.communicate(timeout=60)[0].splitlines()]

    assert sorted(str(e["note"]) for e in casebook.read(case.path).events if "note" in e) == sorted(told)
    assert len(told) == 30


SAVING = """
import sys
from pathlib import Path
from troubleshoot import casebook
case = casebook.read(Path(sys.argv[1]))
try:
    casebook.add(case, {"note": "x" * int(sys.argv[2])})
except casebook.NotSaved as found:
    print(found)
"""


def test_a_read_only_folder_is_told_and_the_file_stays(tmp_path: Path) -> None:
    """Nothing can be saved into a write-protected folder; the case is as it was and the message says why."""
    case = case_in(tmp_path / "fixed")
    before = case.path.read_bytes()
    case.path.parent.chmod(0o555)
    try:
        done = subprocess.run(
            [sys.executable, "-c", ORDINARY + SAVING, str(case.path), "10"], cwd=ROOT, capture_output=True, text=True,
            check=True,
        )  # fmt: skip
    finally:
        case.path.parent.chmod(0o755)

    assert "you may not write here" in done.stdout
    assert case.path.read_bytes() == before


def _on_small_disk(folder: Path, script: str) -> str:
    """Run a shell script with `folder` being a disk of 32 kB of its own; empty where this system does not allow it."""
    mount = f"mount -t tmpfs -o size=32k none {folder}"
    for wrap in (["unshare", "-m"], ["unshare", "-rm"]):
        done = subprocess.run(
            [*wrap, "sh", "-c", f"{mount} && {script}"], cwd=ROOT, capture_output=True, text=True, check=False
        )
        if done.returncode == 0:
            return done.stdout
    return ""


def test_a_full_disk_is_told_and_the_file_stays(tmp_path: Path) -> None:
    """On a disk without room the case is as it was; a limit on the size of files stands in where nothing mounts."""
    case = case_in(tmp_path / "source")
    before = case.path.read_text()
    (tmp_path / "disk").mkdir()
    there = tmp_path / "disk" / "c.yaml"
    script = tmp_path / "saving.py"
    script.write_text(SAVING)
    python = f"PYTHONPATH={ROOT} {sys.executable}"
    told = _on_small_disk(
        tmp_path / "disk",
        f"cp {case.path} {there} && {python} {script} {there} 60000 && cat {there} && ls {tmp_path}/disk",
    )
    if told:
        assert "the disk is full; make room and save again" in told
        assert before in told
        assert told.endswith(f"{before}c.yaml\n")
    limit = lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (20000, 20000))  # noqa: E731
    done = subprocess.run(
        [sys.executable, "-c", SAVING, str(case.path), "60000"], cwd=ROOT, capture_output=True, text=True, check=True,
        preexec_fn=limit,
    )  # fmt: skip
    assert "not saved" in done.stdout
    assert case.path.read_text() == before
    assert [p.name for p in case.path.parent.iterdir()] == [case.path.name]


BAD = {
    "empty.yaml": (b"", "empty.yaml:1: is no case file"),
    "list.yaml": (b"- a\n", "list.yaml:1: is no case file"),
    "latin.yaml": (b"case: caf\xe9\n", "latin.yaml:1: this is not UTF-8 text"),
    "events.yaml": (b"format: 1\nevents: many\n", "events.yaml:2: `events` must be a list"),
    "twice.yaml": (b"format: 1\nformat: 1\nevents: []\n", "twice.yaml:2:"),
    "packs.yaml": (b"packs: core\nevents: []\n", "packs.yaml:1: `packs` must name each pack"),
    "quiet.yaml": (b"events:\n  - {proof: a, outcome: passed, quiet: long}\n", "quiet.yaml:2: event 1: 'long' is no"),
    "word.yaml": (b"events:\n  - {symptom: a}\n  - {remedy: a, result: yes}\n", "word.yaml:3: event 2: result 'yes'"),
    "sick.yaml": (b"events:\n  - {symptom: a, sick: yard-2}\n", "sick.yaml:2: event 1: sick 'yard-2' is no list"),
    "time.yaml": (b"events:\n  - {time: soon}\n", "time.yaml:2: event 1: time 'soon'"),
    "stop.yaml": (b"events:\n  - {time: 5, may-stop: all}\n", "stop.yaml:2: event 1: may-stop 'all'"),
    "proof.yaml": (b"events:\n  - {proof: a}\n", "proof.yaml:2: event 1: outcome None of a proof"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_file_says_what_is_wrong_and_where(tmp_path: Path, name: str) -> None:
    """Empty, foreign, wrongly coded and mistyped files are refused in words, at their line."""
    (tmp_path / name).write_bytes(BAD[name][0])

    assert BAD[name][1] in complaint(tmp_path / name)


def test_a_folder_instead_of_a_file_is_told(tmp_path: Path) -> None:
    """A folder that bears a case's name is no case."""
    (tmp_path / "c.yaml").mkdir()

    assert "this is a folder; name a file in it" in complaint(tmp_path / "c.yaml")


def test_one_bad_file_never_hides_the_others(tmp_path: Path) -> None:
    """A folder of cases is listed with all its problems beside it, newest first."""
    for name, (content, _) in BAD.items():
        (tmp_path / name).write_bytes(content)
    (tmp_path / "folder.yaml").mkdir()
    for day in ("2026-10-01", "2026-11-01"):
        write(tmp_path / f"{day}.yaml", {"format": 1, "events": [{"when": f"{day}T10:00:00+00:00", **SYMPTOM}]})

    cases, problems = casebook.cases_in(tmp_path)

    assert [c.name for c in cases] == ["2026-11-01", "2026-10-01"]
    assert len({p.file for p in problems}) == len(BAD) + 1


def test_a_file_where_the_folder_should_be_is_told(tmp_path: Path) -> None:
    """Listing and saving into something that is no folder say so."""
    (tmp_path / "file").write_text("")

    cases, problems = casebook.cases_in(tmp_path / "file")

    assert (cases, [p.text for p in problems]) == ([], ["is a file; name the folder that holds the cases"])
    with pytest.raises(NotSaved, match="not saved: this folder cannot be made"):
        case_in(tmp_path / "file" / "in")


def test_an_answer_that_its_check_cannot_have_is_told_with_its_line(tmp_path: Path, rulebook: Rulebook) -> None:
    """A typing error in a hand-edited answer is found when the rules are at hand."""
    path = tmp_path / "c.yaml"
    path.write_text(
        "events:\n  - {symptom: core/phantom-occupancy}\n  - {answer: core/when-worse, outcome: dmap}\n"
        "  - {answer: core/block-leak-ohms, reading: 3 V}\n  - {answer: core/when-worse, reading: 3}\n"
    )

    with pytest.raises(Problems) as caught:
        casebook.inquiry(casebook.read(path), rulebook)

    told = [f"{p.line}: {p.text}" for p in caught.value.problems]
    assert told[0].startswith("3: event 2: 'dmap' is no answer to core/when-worse; it has damp")
    assert told[1].startswith('4: event 3: "3 V" is volts')
    assert told[2].startswith("5: event 4: core/when-worse is a question")


def test_a_case_counts_as_closed_until_the_closing_is_taken_back(tmp_path: Path) -> None:
    """A note after the end does not open a case again; taking the closing back does."""
    case = case_in(tmp_path, {"closed": "proven"}, {"note": "still fine in spring"})

    assert casebook.read(case.path).closed
    casebook.take_back(case)
    casebook.take_back(case)
    assert not casebook.read(case.path).closed


def test_only_closed_cases_teach_and_a_bad_one_teaches_nothing(tmp_path: Path, rulebook: Rulebook) -> None:
    """A proven case counts one for its cause, an open one nothing, and one that cannot be replayed nothing."""
    mended = (
        {"remedy": "core/dry-and-clean-ballast", "at": "yard-2", "result": "fixed"},
        {"proof": "core/dry-and-clean-ballast", "at": "yard-2", "outcome": "passed", "quiet": "2 h"},
    )
    proven = case_in(tmp_path, *mended, {"closed": "proven"})
    still_open = case_in(tmp_path, *mended)
    odd = case_in(tmp_path, {"answer": "core/when-worse", "outcome": "odd"}, *mended, {"closed": "proven"})

    counts = tally([proven, still_open, odd], rulebook).counts

    assert counts == {"core/phantom-occupancy": {"core/leak-through-ballast": 1.0}}


def test_a_unproven_closed_case_counts_half(tmp_path: Path, rulebook: Rulebook) -> None:
    """Somebody who closed by hand without a proof teaches half as much."""
    case = case_in(
        tmp_path, {"remedy": "core/dry-and-clean-ballast", "at": "yard-2", "result": "fixed"}, {"closed": "by hand"}
    )

    assert tally([case], rulebook).counts == {"core/phantom-occupancy": {"core/leak-through-ballast": 0.5}}


def test_names_that_no_pack_has_are_told(tmp_path: Path, rulebook: Rulebook) -> None:
    """A case that speaks of rules which are gone names each of them once."""
    case = case_in(tmp_path, {"answer": "club/odd", "outcome": "yes"}, {"proof": "club/cure", "outcome": "passed"})

    assert casebook.unknown_names(case, rulebook) == ["club/cure", "club/odd"]


@given(st.floats(min_value=0, max_value=3e8, allow_nan=False))
def test_a_period_comes_back_as_it_was_said(seconds: float) -> None:
    """A period survives being written as days, hours, minutes or seconds, to the millisecond."""
    assert casebook.period(casebook.spell(seconds)) == pytest.approx(seconds, abs=1e-3)


@pytest.mark.parametrize("text", ["soon", "99999 d", "2", "2 fortnights", "-1 h", "1" * 5000 + " h", "٣ h"])
def test_what_is_no_period_is_told(text: str) -> None:
    """A spell without unit, or in another's figures, is asked back, never guessed."""
    with pytest.raises(Unreadable, match=r"no period|ten years"):
        casebook.period(text)


KEYS = st.text(st.characters(codec="utf-8", exclude_categories=["C"]), min_size=1, max_size=12)


@settings(max_examples=60)
@given(st.lists(st.dictionaries(KEYS, KEYS | st.integers(-9, 9), max_size=4), max_size=5))
def test_whatever_an_event_holds_comes_back(
    tmp_path_factory: pytest.TempPathFactory, events: list[dict[str, object]]
) -> None:
    """Foreign events of any content survive saving and reading."""
    folder = tmp_path_factory.mktemp("case")
    foreign = [{f"x-{k}": v for k, v in e.items()} for e in events]
    case = case_in(folder, *foreign)

    kept = casebook.read(case.path).events[1:]

    assert [{k: v for k, v in e.items() if k != "when"} for e in kept] == foreign


def test_nothing_but_the_case_is_left_in_the_folder(tmp_path: Path) -> None:
    """Saving leaves no draft and no lock behind."""
    case = case_in(tmp_path, {"note": "a"})
    casebook.add(case, {"note": "b"})

    assert os.listdir(tmp_path) == ["2026-11-24-yard-2.yaml"]  # noqa: PTH208

"""Saving: two who save at once lose nothing and are told, and a kill at any step of it leaves a whole file."""

import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.running import ROOT
from troubleshoot import casebook
from troubleshoot.casebook import Case, NotSaved
from troubleshoot.casebook.locking import Busy, alone
from troubleshoot.casebook.shelf import SMALL, Shelf, Wanted
from troubleshoot.casebook.where import index_file
from troubleshoot.documents import Problems, write
from troubleshoot.learning import forget, forgotten

SYMPTOM = {"symptom": "core/phantom-occupancy", "about": "yard-2"}


def case_in(folder: Path, *events: dict[str, object], name: str = "c") -> Case:
    """A saved case with the phantom symptom and further events."""
    case = casebook.new(folder, name, "club", {"core": "1.0.0"})
    casebook.add(case, SYMPTOM, *events)
    return case


def notes(path: Path) -> list[str]:
    """The notes of a case, in order."""
    return [str(e["note"]) for e in casebook.read(path).events if "note" in e]


# -- two at once ---------------------------------------------------------------------------------------------------


def test_events_that_two_people_add_are_both_kept_and_the_second_is_told(tmp_path: Path) -> None:
    """Whoever saves second keeps the other's events before the own ones, in memory as in the file."""
    mine = case_in(tmp_path)
    other = casebook.read(mine.path)
    casebook.add(other, {"note": "theirs"}, {"note": "theirs too"})

    casebook.add(mine, {"note": "mine"})

    assert notes(mine.path) == ["theirs", "theirs too", "mine"] == [e["note"] for e in mine.events if "note" in e]
    assert mine.told == "c.yaml: somebody else added 2 events meanwhile; theirs and yours are both kept"
    assert other.told == ""
    casebook.add(mine, {"note": "again"})
    assert mine.told == ""


def test_an_answer_taken_back_is_still_the_right_one_after_others_came_before_it(tmp_path: Path) -> None:
    """The number of an event taken back moves with it; one that both had already stays."""
    mine = case_in(tmp_path, {"note": "shared"})
    casebook.add(casebook.read(mine.path), {"note": "theirs"})
    mine.events.append({"note": "mine, a slip"})
    mine.events.append({"takes-back": 3})
    mine.events.append({"takes-back": 2})

    casebook.save(mine)

    standing = [e.get("note") for _, e in casebook.read(mine.path).standing() if "note" in e]
    assert standing == ["theirs"]


def test_a_case_that_the_other_closed_meanwhile_says_so(tmp_path: Path) -> None:
    """Whoever goes on with a case that has been closed by somebody else is told that it is."""
    mine = case_in(tmp_path)
    casebook.add(casebook.read(mine.path), {"closed": "proven"})

    casebook.add(mine, {"note": "mine"})

    assert "they closed the case" in mine.told
    assert mine.closed


def test_what_each_changed_in_the_head_is_kept(tmp_path: Path) -> None:
    """A pack folder named here and a word of weather added there both stand in the file."""
    mine = case_in(tmp_path)
    text = mine.path.read_text()
    mine.path.write_text(text.replace("events:", "weather: fog\nevents:"))
    mine.head["pack-folders"] = ["club-pack"]

    casebook.add(mine, {"note": "mine"})

    head = casebook.read(mine.path).head
    assert (head["weather"], head["pack-folders"]) == ("fog", ["club-pack"])
    assert mine.told == ""


def test_a_file_that_somebody_edited_is_left_and_what_was_said_is_kept_beside_it(tmp_path: Path) -> None:
    """An edit of what stood there is nobody's to overwrite; the new answer goes into a file of its own, and is told."""
    mine = case_in(tmp_path, {"note": "first"})
    mine.path.write_text(mine.path.read_text().replace("first", "edited by hand"))

    with pytest.raises(NotSaved, match=r"what you said is kept in c\.yaml\.kept"):
        casebook.add(mine, {"note": "mine"})

    assert notes(mine.path) == ["edited by hand"]
    assert notes(tmp_path / "c.yaml.kept") == ["first", "mine"]
    assert [c.name for c in casebook.cases_in(tmp_path)[0]] == ["c"]


@pytest.mark.parametrize("now", [b"\xff\xfe not text", b"format: 9\nevents: []\n", b"case: c\nevents:\n  - {when", b""])
def test_a_file_that_can_no_longer_be_read_is_left_as_it_is(tmp_path: Path, now: bytes) -> None:
    """Half-written, of a newer version or in another code: it is not overwritten, and the answer is kept beside it."""
    mine = case_in(tmp_path)
    mine.path.write_bytes(now)

    with pytest.raises(NotSaved, match="what you said is kept in"):
        casebook.add(mine, {"note": "mine"})

    assert mine.path.read_bytes() == now
    assert notes(tmp_path / "c.yaml.kept") == ["mine"]
    assert len(mine.events) == 1


def test_two_who_begin_a_case_of_the_same_name_get_one_each(tmp_path: Path) -> None:
    """Both chose the name while it was free; the second to save gets the next one, and neither is lost."""
    one, two = (casebook.new(tmp_path, "c", "club", {}) for _ in range(2))

    casebook.add(one, SYMPTOM, {"note": "one"})
    casebook.add(two, SYMPTOM, {"note": "two"})

    assert (one.path.name, two.path.name, two.head["case"]) == ("c.yaml", "c-2.yaml", "c-2")
    assert (notes(one.path), notes(two.path)) == (["one"], ["two"])


RACING = """
import sys
sys.modules["fcntl"] = None  # as on a network folder that knows no locks of the system
from pathlib import Path
from troubleshoot import casebook
case = casebook.read(Path(sys.argv[1]))
print("ready", flush=True)
sys.stdin.readline()
for i in range(12):
    casebook.add(case, {"note": f"{sys.argv[2]} {i}"})
    print(f"{sys.argv[2]} {i}" + (" told" if case.told else ""))
"""


def test_where_the_system_locks_nothing_two_writers_still_lose_nothing(tmp_path: Path) -> None:
    """On a folder without locks, everything that two processes were told is saved stands in the file, in order."""
    case = case_in(tmp_path)
    pair = [
        subprocess.Popen(
            [sys.executable, "-c", RACING, str(case.path), n],
            cwd=ROOT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for n in ("a", "b")
    ]
    for child in pair:
        assert child.stdout is not None
        assert child.stdout.readline() == "ready\n"
    for child in pair:
        assert child.stdin is not None
        child.stdin.write("go\n")
        child.stdin.flush()
    told = [line for child in pair for line in child.communicate(timeout=60)[0].splitlines()]
    kept = notes(case.path)

    assert sorted(kept) == sorted(line.removesuffix(" told") for line in told)
    assert [n for n in kept if n[0] == "a"] == [f"a {i}" for i in range(12)]
    between = {n for i, n in enumerate(kept) if i and kept[i - 1][0] != n[0]}
    assert {line.removesuffix(" told") for line in told if line.endswith(" told")} == between
    assert [p.name for p in tmp_path.iterdir()] == ["c.yaml"]


# -- locks left behind ---------------------------------------------------------------------------------------------


def test_the_lock_of_a_process_that_is_gone_holds_nobody_up(tmp_path: Path) -> None:
    """A lock left by a killed process of this machine is taken away at once."""
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    lock = tmp_path / ".c.yaml.lock"
    lock.symlink_to(f"{socket.gethostname()} {gone.pid} 1")

    began = time.monotonic()
    with alone(tmp_path / "c.yaml"):
        assert lock.is_symlink()

    assert time.monotonic() - began < 1.0
    assert list(tmp_path.iterdir()) == []


def test_a_lock_of_another_machine_is_waited_for_until_it_is_let_go(tmp_path: Path) -> None:
    """Somebody else's lock is respected: the block begins only after it has gone."""
    lock = tmp_path / ".c.yaml.lock"
    code = f"import os, time; p = {str(lock)!r}; os.symlink('elsewhere 1 1', p)"
    code += "; print(flush=True); time.sleep(0.4); os.unlink(p)"
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE) as child:
        assert child.stdout is not None
        child.stdout.readline()
        began = time.monotonic()
        with alone(tmp_path / "c.yaml"):
            waited = time.monotonic() - began

    assert 0.2 < waited < 5.0


def test_a_lock_left_by_another_machine_is_broken_in_time(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A lock that stands unchanged for long enough is taken for left behind, links or no links."""
    monkeypatch.setattr("troubleshoot.casebook.locking.STALE", 0.2)
    (tmp_path / ".c.yaml.lock").write_text("elsewhere 1 1")

    with alone(tmp_path / "c.yaml"):
        assert (tmp_path / ".c.yaml.lock").is_symlink()

    assert list(tmp_path.iterdir()) == []


def test_who_keeps_a_lock_for_ever_is_told_of(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When others pass the lock on without an end, the saving gives up in words, and nothing is changed."""
    monkeypatch.setattr("troubleshoot.casebook.locking.STALE", 0.2)
    case = case_in(tmp_path)
    lock, before = tmp_path / ".c.yaml.lock", case.path.read_bytes()
    code = f"""
import os, time
for i in range(200):
    os.symlink(f'elsewhere 1 {{i}}', {str(lock)!r} + '.n'); os.replace({str(lock)!r} + '.n', {str(lock)!r})
    print(flush=True); time.sleep(0.02)
"""
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE) as child:
        assert child.stdout is not None
        child.stdout.readline()
        try:
            with pytest.raises(NotSaved, match="somebody else is saving it and does not finish"):
                casebook.add(case, {"note": "mine"})
        finally:
            child.kill()

    assert case.path.read_bytes() == before
    assert issubclass(Busy, OSError)


# -- killed at every step ------------------------------------------------------------------------------------------

CHANGING = {
    "open", "symlink", "link", "unlink", "rename", "replace", "mkdir", "write", "flush", "fsync", "fchmod", "close",
    "flock", "execute", "executemany",
}  # fmt: skip
"""Calls into the system that may leave something behind; before a call that only looks, all is as after the last."""


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    """An empty folder in memory where there is one, so that hundreds of kills do not wait for the disk."""
    memory = Path("/dev/shm")
    if not os.access(memory, os.W_OK):
        yield tmp_path
        return
    with tempfile.TemporaryDirectory(dir=memory) as there:
        yield Path(there)


def _killed_at(step: int, act: Callable[[], object]) -> int | None:
    """Do something in a process of its own and kill it with -9 at its n-th step; None when it was killed.

    Every call of the interpreter into files, locks and the database that can change something is two steps, before
    and after it. A process that comes to its end tells how many steps there were.
    """
    receiver, sender = os.pipe()
    child = os.fork()
    if child == 0:
        seen = 0

        def watch(frame: object, event: str, called: object) -> None:
            nonlocal seen
            if event in ("c_call", "c_return") and getattr(called, "__name__", "") in CHANGING:
                seen += 1
                if seen == step:
                    os.kill(os.getpid(), signal.SIGKILL)

        try:
            sys.setprofile(watch)
            act()
            sys.setprofile(None)
            os.write(sender, str(seen).encode())
        finally:
            os._exit(0)
    os.close(sender)
    told = os.read(receiver, 20)
    os.close(receiver)
    os.waitpid(child, 0)
    return int(told) if told else None


def _every_step(prepare: Callable[[], Callable[[], object]], look: Callable[[bool], None]) -> int:
    """Kill an act at each of its steps in turn, made ready afresh each time, and look at what is left."""
    step = 0
    while True:
        step += 1
        ended = _killed_at(step, prepare())
        look(ended is not None)
        if ended is not None:
            return ended


def test_killed_at_every_step_of_adding_an_answer(folder: Path) -> None:
    """The file is whole and holds the answer or not yet; what was there before is there, and the next save works."""
    path = case_in(folder, {"note": "before"}).path

    def look(whole: bool) -> None:
        kept = notes(path)
        assert kept in ([*held, "new"], held)
        assert not whole or kept[-1] == "new"
        case = casebook.read(path)
        case.events = case.events[:2]
        case.base, case.digest = 0, case.digest
        write(path, {**case.head, "events": case.events})
        casebook.add(casebook.read(path), {"note": "next"})
        assert notes(path) == ["before", "next"]
        write(path, {**case.head, "events": case.events})

    held = ["before"]
    steps = _every_step(lambda: lambda: casebook.add(casebook.read(path), {"note": "new"}), look)

    assert steps > 10


def test_killed_at_every_step_of_a_whole_inquiry(folder: Path) -> None:
    """From the complaint to the closing, at all its steps: every answer acknowledged so far is in the file."""
    path, acknowledged = folder / "c.yaml", folder / "acknowledged"
    said: list[dict[str, object]] = [
        {"answer": "core/when-worse", "outcome": "damp"}, {"note": "a"}, {"takes-back": 3}, {"closed": "proven"},
    ]  # fmt: skip

    def acknowledge() -> None:
        with acknowledged.open("a") as stream:
            stream.write(".")

    def inquiry() -> None:
        case = case_in(folder)
        acknowledge()
        for event in said:
            casebook.add(case, event)
            acknowledge()

    def prepare() -> Callable[[], object]:
        for left in folder.iterdir():
            left.unlink()
        return inquiry

    def look(whole: bool) -> None:
        told = len(acknowledged.read_text()) if acknowledged.exists() else 0
        kept = len(casebook.read(path).events) if path.exists() else 0
        assert kept in ((len(said) + 1,) if whole else (told, told + 1))

    assert _every_step(prepare, look) > 150


def test_killed_at_every_step_of_putting_two_peoples_answers_together(folder: Path) -> None:
    """Whenever a merging is killed, the other's answer stays, and the own one is there or was never acknowledged."""
    path = case_in(folder).path
    bare = path.read_text()

    def prepare() -> Callable[[], object]:
        path.write_text(bare)
        mine = casebook.read(path)
        casebook.add(casebook.read(path), {"note": "theirs"})
        return lambda: casebook.add(mine, {"note": "mine"})

    def look(whole: bool) -> None:
        assert notes(path) in ([["theirs", "mine"]] if whole else [["theirs"], ["theirs", "mine"]])

    assert _every_step(prepare, look) > 10


def test_killed_at_every_step_of_beginning_a_case(folder: Path) -> None:
    """A case that is being begun is there whole or not at all, and the next one can be begun."""

    def prepare() -> Callable[[], object]:
        for path in folder.iterdir():
            path.unlink()
        return lambda: case_in(folder, {"note": "a"})

    def look(whole: bool) -> None:
        cases, problems = casebook.cases_in(folder)
        assert problems == []
        assert [len(c.events) for c in cases] in ([[2]] if whole else [[], [2]])
        case_in(folder, name="next")
        assert len(casebook.cases_in(folder)[0]) == len(cases) + 1

    assert _every_step(prepare, look) > 10


def test_killed_at_every_step_of_forgetting_a_case(folder: Path) -> None:
    """What is not to teach any more is put down whole or not at all, and can be put down again."""

    def prepare() -> Callable[[], object]:
        for path in folder.iterdir():
            path.unlink()
        return lambda: forget(folder, "c")

    def look(whole: bool) -> None:
        assert forgotten(folder).names in ([{"c"}] if whole else [set(), {"c"}])
        forget(folder, "d")
        assert "d" in forgotten(folder).names

    assert _every_step(prepare, look) > 20


def test_killed_at_every_step_beside_a_big_shelf(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A kill while the index is written leaves file and index of use: the search finds just what the files hold."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(folder / "cache"))
    first = case_in(folder, {"note": "before"})
    for number in range(SMALL + 1):
        write(folder / f"x{number}.yaml", {"format": 1, "events": [SYMPTOM]})
    with Shelf(folder) as shelf:
        shelf.refresh()
    bare = first.path.read_text()

    def prepare() -> Callable[[], object]:
        first.path.write_text(bare)
        return lambda: casebook.add(casebook.read(first.path), {"note": "quince"})

    def look(whole: bool) -> None:
        there = notes(first.path) == ["before", "quince"]
        assert there or not whole
        with Shelf(folder) as shelf:
            shelf.refresh(whole=True)
            assert [e.name for e in shelf.search(wanted("quince"))[0]] == (["c"] if there else [])
            assert shelf.count() == SMALL + 2

    assert index_file(folder).exists()
    assert _every_step(prepare, look) > 20


def wanted(*words: str) -> Wanted:
    """Words to look for."""
    return Wanted(words)


def test_the_kept_file_of_a_second_clash_does_not_replace_the_first(tmp_path: Path) -> None:
    """Whoever clashes twice finds both answers beside the case."""
    for said in ("one", "two"):
        mine = case_in(tmp_path) if said == "one" else casebook.read(tmp_path / "c.yaml")
        mine.path.write_text(mine.path.read_text().replace("yard-2", f"yard-{3 if said == 'one' else 4}"))
        mine.path.write_text(mine.path.read_text().replace("yard-3", "yard-4"))
        with pytest.raises(Problems, match="kept in"):
            casebook.add(mine, {"note": said})
        mine.path.unlink()
        write(mine.path, {"format": 1, "events": [SYMPTOM]})

    assert [notes(p) for p in sorted(tmp_path.glob("*.kept"))] == [["two"], ["one"]]

"""A shelf of very many cases: making its index, searching it, learning from it, and starting an inquiry beside it.

The cases are made up from the core pack's own names: complaints about places of the club layout, a dozen answers each,
and for nine in ten a remedy, its proof and the closing; the open ones were made on another layout, so that no start
asks whether to go on with one. A thousand are made, and written again and again with other dates, without waiting for
the disk. Figures by the clock move with what else the machine is doing; processor time hardly does.
"""

import contextlib
import os
import random
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

from tests.benchmarks.bench_answers import ROOT
from tests.benchmarks.bench_start import UNCHANGED, start
from tests.benchmarks.lines import Line
from troubleshoot import casebook
from troubleshoot.casebook.shelf import Shelf, Wanted
from troubleshoot.casebook.where import index_file
from troubleshoot.documents import dump
from troubleshoot.layout import Layout, load
from troubleshoot.learning import learn
from troubleshoot.rulebook import Rulebook, rules_folder
from troubleshoot.rulebook import load as load_rules

CASES = 100_000
SEARCH, INDEXED = 0.2, 60.0
MADE = 1000
FIRST = datetime(2000, 1, 1, 12, 0, tzinfo=timezone.utc)
WORDS = (
    "the glue was still damp", "worse since the new ballast", "only with the door open", "after the exhibition",
    "the green lead was loose", "smelt of flux", "found by the youngest member", "twice this month",
)  # fmt: skip


def made_up(rulebook: Rulebook, club: Layout, number: int, dice: random.Random) -> dict[str, Any]:
    """One case as data."""
    symptom = dice.choice(sorted(rulebook.symptoms))
    causes = rulebook.causes_of(symptom)
    cause = dice.choices(causes, [c.weights[symptom] for c in causes])[0]
    places = club.places_of(rulebook.symptoms[symptom].about)
    about = dice.choice(places).name if places else None
    when = FIRST + timedelta(days=number)
    events: list[dict[str, Any]] = [{"symptom": symptom, **({"about": about} if about else {})}]
    spoken = rulebook.spoken_of(symptom)
    for finding in dice.sample(spoken, min(len(spoken), dice.randint(4, 12))):
        check = rulebook.checks_for(finding)[0]
        event = {"answer": check.name, "at": about, "outcome": dice.choice(check.outcomes), "how": "seen"}
        shown = {"first": dice.choice(causes).name, "chance": round(dice.random(), 2)}
        events.append({k: v for k, v in event.items() if v is not None} | {"shown": shown})
    if dice.random() < 0.2:
        events.append({"note": dice.choice(WORDS)})
    closed = dice.random() < 0.9
    if closed:
        remedy = rulebook.remedies_of(cause.name)[0]
        events.append({"remedy": remedy.name, "at": about or "the layout", "result": "fixed"})
        events.append({"proof": remedy.name, "at": about or "the layout", "outcome": "passed", "quiet": "2 d"})
        events.append({"closed": "proven", "remedy-was": remedy.name, "causes": [cause.name]})
    timed = [{"when": (when + timedelta(minutes=4 * i)).isoformat(), **e} for i, e in enumerate(events)]
    on = "club" if closed else "former-club.yaml"
    return {"case": f"{when:%Y-%m-%d}-{number}", "format": 1, "layout": on, "packs": {"core": "1"}, "events": timed}


def fill(folder: Path, count: int, seed: int = 1) -> None:
    """Put so many made-up cases into a folder: the first of each kind, and the same on other days."""
    rulebook = load_rules()
    club = load(rules_folder() / "core" / "layouts" / "club.yaml")
    dice = random.Random(seed)
    made = []
    for number in range(min(MADE, count)):
        day = f"{FIRST + timedelta(days=number):%Y-%m-%d}"
        made.append((day, dump(made_up(rulebook, club, number, dice))))
    folder.mkdir(parents=True, exist_ok=True)
    for number in range(count):
        day, text = made[number % len(made)]
        other = f"{FIRST + timedelta(days=number % 9000):%Y-%m-%d}"
        (folder / f"{other}-{number}.yaml").write_text(text.replace(day, other), encoding="utf-8")


@contextlib.contextmanager
def cached_in(folder: Path) -> Iterator[None]:
    """Keep compiled forms and indexes in a folder of their own."""
    before = os.environ.get("XDG_CACHE_HOME")
    os.environ["XDG_CACHE_HOME"] = str(folder)
    try:
        yield
    finally:
        del os.environ["XDG_CACHE_HOME"]
        if before is not None:
            os.environ["XDG_CACHE_HOME"] = before


def _seconds(act: Callable[[], object], times: int = 1) -> float:
    """Seconds by the clock that something takes, the middle of several times."""
    taken = []
    for _ in range(times):
        began = time.perf_counter()
        act()
        taken.append(time.perf_counter() - began)
    return statistics.median(taken)


def _processor() -> float:
    """Seconds of processor time of this process and of those it has waited for."""
    used = os.times()
    return used.user + used.system + used.children_user + used.children_system


SEARCHES = (
    ("newest", Wanted()),
    ("a word", Wanted(("glue",))),
    ("a place and a word", Wanted(("damp",), place="yard-2")),
    ("a symptom", Wanted(symptom="phantom-occupancy")),
    ("a cause since a day", Wanted(cause="leak-through-ballast", since=FIRST.timestamp() + 4e8)),
    ("open ones", Wanted(open=True)),
    ("a word that every case has", Wanted(("core",))),
)


def measure() -> list[Line]:
    """Making the index, searching, learning, saving and starting beside a shelf of CASES cases."""
    with tempfile.TemporaryDirectory() as kept, cached_in(Path(kept) / "cache"):
        folder = Path(kept) / "cases"
        fill(folder, CASES)
        return [*_indexing(folder), *_searching(folder), *_working(folder), *_starting(folder, Path(kept) / "cache")]


def _indexing(folder: Path) -> list[Line]:
    note, before = f"{CASES} cases, strict reader, two processes", _processor()
    with Shelf(folder) as shelf:
        taken = _seconds(shelf.refresh)
    used = _processor() - before
    size = index_file(folder).stat().st_size / 1e6
    return [
        Line("casebook, making the index", taken, "s", INDEXED, note),
        Line("casebook, making the index, processor time", used, "s", None, note),
        Line("casebook, size of the index", size, "MB", None, note),
    ]


def _searching(folder: Path) -> list[Line]:
    lines = []
    with Shelf(folder) as shelf:
        note = f"{CASES} cases, none changed"
        whole = _seconds(lambda: shelf.refresh(whole=True), 3)
        for name, wanted in SEARCHES:
            shelf.search(wanted)

            def searched(wanted: Wanted = wanted) -> object:
                shelf.refresh()
                return shelf.search(wanted)

            count = shelf.search(wanted)[1]
            lines.append(Line(f"casebook, search, {name}", _seconds(searched, 5), "s", SEARCH, f"{count} found"))
        lines.append(Line("casebook, a look at every file for changes", whole, "s", None, note))
    command = [sys.executable, "-m", "troubleshoot", "cases", "glue", "--cases", str(folder)]
    taken = _seconds(lambda: subprocess.run(command, cwd=ROOT, capture_output=True, check=True), 3)
    lines.append(Line("casebook, search through the command", taken, "s", None, "whole process"))
    return lines


def _working(folder: Path) -> list[Line]:
    rulebook = load_rules()
    club = load(rules_folder() / "core" / "layouts" / "club.yaml")
    with Shelf(folder) as shelf:
        learned = _seconds(lambda: learn(shelf, rulebook, club, ["core/phantom-occupancy"], on="club"), 3)
    case = casebook.new(folder, "saved", "club", {})
    casebook.add(case, {"symptom": "core/phantom-occupancy", "about": "yard-2"})
    saved = _seconds(lambda: casebook.add(case, {"note": "on"}), 9)
    case.path.unlink()
    note = f"beside {CASES} cases"
    return [
        Line("casebook, learning for one symptom", 1000.0 * learned, "ms", None, "from 200 cases"),
        Line("casebook, saving an answer", 1000.0 * saved, "ms", 100.0, note),
    ]


def _starting(folder: Path, cache: Path) -> list[Line]:
    """From the command to the first question, each time about another place, so that no case about it is open."""
    times = [start(cache, shelf=folder, about=f"yard-{number}") for number in range(1, 8)]
    note = f"{len(times) - 1} fresh processes, club, beside {CASES} cases"
    lines = [
        Line("casebook, first question, median", statistics.median(r.first for r in times[1:]), "s", UNCHANGED, note),
        Line("casebook, first question, worst", max(r.first for r in times[1:]), "s", UNCHANGED, note),
    ]
    used = [r.processor for r in times[1:] if r.processor is not None]
    if used:
        what = "casebook, processor time to the first question, median"
        lines.append(Line(what, statistics.median(used), "s", None, note))
    return lines

"""Logs of a simulated railway: how often a healthy one shows a finding, which planted faults are found, how fast.

The railway is `tests/railway.py`: eight trains on the club's chain of 64 blocks, with ordinary noise in every log. A
fault is found when a finding of its own kind names its place; a finding that does not speak of that place is false.
Rates are chances a crossing, throw or passage, or times an hour.
"""

import random
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from tests.benchmarks.lines import Line
from tests.railway import Faults, Hour, Row, as_csv
from troubleshoot.eventlog import LEVEL, Log, Look, Track, look, namer, read
from troubleshoot.layout import Layout, load
from troubleshoot.rulebook import rules_folder

HEALTHY, PLANTED, DAY = 200, 40, 86_400.0
MOST_SECONDS = 15.0
CODES = {"occupied": 1, "clear": 0, "trip": 0, "restore": 1}
SILENT = ("never-confirmed", "unconfirmed", "one-way")
PLANTS: Sequence[tuple[str, tuple[str, ...], str, Callable[[float], Faults], tuple[float, ...]]] = (
    ("a joint that lets two neighbours flicker, a crossing", ("joint",), "harbour-4",
     lambda r: Faults(joints={("harbour-4", "harbour-5"): r}), (0.2, 0.4, 0.8)),
    ("a coil's surge, a throw", ("throw",), "loop-4",
     lambda r: Faults(surges={("t-325", "loop-4"): r}), (0.2, 0.4, 0.8)),
    ("a board's supply, times an hour", ("board",), "det-east", lambda r: Faults(glitches={"det-east": r}), (1, 2, 4)),
    ("trains not seen, a passage", ("missed",), "ridge-5", lambda r: Faults(missed={"ridge-5": r}), (0.1, 0.25, 0.5)),
    ("throws not confirmed, a throw", SILENT, "t-316", lambda r: Faults(silent={"t-316": r}), (0.3, 0.5, 0.8)),
    ("a phantom that grows with warmth, an hour at its end", ("phantom",), "yard-5",
     lambda r: Faults(warming={"yard-5": r}), (12, 25, 50)),
    ("a dirty block, more drop-outs a minute of train", ("chatter",), "ridge-3",
     lambda r: Faults(dirty={"ridge-3": r}), (2, 4, 8)),
    ("a short at a gap, an entry", ("trip-on-entry",), "loop-7",
     lambda r: Faults(shorts={("loop-7", "loop-district"): r}), (0.1, 0.2, 0.4)),
)  # fmt: skip
SIX = Faults(
    joints={("harbour-4", "harbour-5"): 0.7}, surges={("t-325", "loop-4"): 0.8}, glitches={"det-east": 4},
    missed={"ridge-5": 0.4}, silent={"t-316": 0.7}, warming={"yard-5": 45},
)  # fmt: skip
SIX_PLACES = {"harbour-4", "loop-4", "det-east", "ridge-5", "t-316", "yard-5"}


def log_of(rows: Sequence[Row]) -> Log:
    """A log from rows of the simulator, without a file between."""
    tracks: dict[str, dict[str, Track]] = {k: {} for k in ("block", "commanded", "confirmed", "power")}
    for when, kind, name, state in rows:
        verb, _, way = state.partition(" ")
        key, code = (verb, int(way == "thrown")) if kind == "turnout" else (kind, CODES[state])
        tracks[key].setdefault(name, Track()).add(when, code)
    return Log(tracks["block"], tracks["commanded"], tracks["confirmed"], tracks["power"])


def _looked(club: Layout, seed: int, faults: Faults | None, hours: float = 1.0) -> Look:
    return look(log_of(Hour(club, seed, faults, hours * 3600.0).rows()), club)


def _part(values: Sequence[bool]) -> float:
    return 100.0 * sum(values) / len(values)


def false_ones(club: Layout) -> list[Line]:
    """Healthy logs of several sorts, and how often they show anything."""
    goal, lines = 100.0 * LEVEL, []
    hours = [_looked(club, 10_000 + s, None) for s in range(HEALTHY)]
    evenings = [_looked(club, 20_000 + s, None, 3.0) for s in range(HEALTHY // 2)]
    dirty = [look(log_of(Hour(club, 60_000 + s, dirt=20.0).rows()), club) for s in range(HEALTHY // 2)]
    shaken = []
    for seed in range(HEALTHY // 2):
        r, rows = random.Random(seed), Hour(club, 30_000 + seed).rows()
        late = [(w + 0.3 * r.random(), k, n, s) for w, k, n, s in rows]
        shaken.append(look(log_of(sorted(late)), club))
    for what, seen in (
        ("healthy hours with any finding", hours),
        ("healthy evenings of 3 h with any finding", evenings),
        ("healthy hours, reports up to 0.3 s late, with any finding", shaken),
        ("healthy hours, one train 20 times as dirty, with any finding", dirty),
    ):
        kinds = sorted({f.kind for one in seen for f in one.found})
        note = f"{len(seen)} logs" + (f"; {', '.join(kinds)}" if kinds else "")
        lines.append(Line(what, _part([bool(one.found) for one in seen]), "%", goal, note))
    lines.append(Line("healthy hours with anything worth watching", _part([bool(o.watch) for o in hours]), "%"))
    return lines


def planted_ones(club: Layout) -> list[Line]:
    """Each fault at three rates: how often it is found in an hour and in an evening."""
    lines: list[Line] = []
    for what, kinds, about, made, rates in PLANTS:
        for rate in rates:
            for hours in (1.0, 3.0):
                seen = [_looked(club, 40_000 + s, made(rate), hours) for s in range(PLANTED)]
                hits = [any(f.kind in kinds and f.about == about for f in one.found) for one in seen]
                wrong = [any(about not in f.places for f in one.found) for one in seen]
                note = f"{PLANTED} logs; with a finding elsewhere too: {sum(wrong)}"
                lines.append(Line(f"{what} {rate:g}: found in {hours:g} h", _part(hits), "%", None, note))
    return lines


def six_at_once(club: Layout) -> list[Line]:
    """All six faults in one hour."""
    seen = [_looked(club, 50_000 + s, SIX) for s in range(PLANTED)]
    places = [{f.about for f in one.found if not f.of_kind} for one in seen]
    grows = [any(f.kind == "warms-up" and f.about == "yard-5" for f in one.found) for one in seen]
    return [
        Line("six faults in one hour: found of six, mean", sum(len(p & SIX_PLACES) for p in places) / PLANTED, ""),
        Line("six faults in one hour: logs with a false one too", _part([bool(p - SIX_PLACES) for p in places]), "%"),
        Line("six faults in one hour: the phantom said to grow", _part(grows), "%"),
    ]


def speed(club: Layout) -> list[Line]:
    """A million rows of evenings, a day apart: reading them, and looking through them."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "year.csv"
        with path.open("w", encoding="utf-8") as file:
            file.write("time,kind,name,state\n")
            for night in range(236):
                text = as_csv(Hour(club, night).rows(), 1_767_268_800.0 + night * DAY)
                file.write(text.split("\n", 1)[1])
        size = path.stat().st_size / 1e6
        began = time.perf_counter()
        log, account = read(path, None, namer(club))
        done = time.perf_counter() - began
        began = time.perf_counter()
        look(log, club)
        looked = time.perf_counter() - began
    note = f"{account.read:,} rows, {size:.0f} MB"
    return [
        Line("a million rows read", done * 1e6 / account.read, "s", MOST_SECONDS, note),
        Line("a million rows looked through", looked * 1e6 / account.read, "s", None, note),
    ]


def measure() -> list[Line]:
    """All of it."""
    club = load(rules_folder() / "core" / "layouts" / "club.yaml")
    return [*false_ones(club), *planted_ones(club), *six_at_once(club), *speed(club)]

"""Drifting joints in simulated clubs: which are called, how early before the limit, and how often a sound one is.

Two years of monthly rounds with season, damp, noise, wild readings, gaps and a change of meter (`tests.drifting` states
every figure). After every round all readings so far are looked at again, so a sound joint has twenty chances to be
called wrongly. Three worlds: a whole club of joints, where others show the season; four joints by themselves; and four
with a change of meter that was read side by side.
"""

import statistics
import time
from collections.abc import Sequence

from tests.benchmarks.lines import Line
from tests.drifting import Called, World, play, watched
from troubleshoot.layout import Layout, load
from troubleshoot.rounds import due_checks
from troubleshoot.rounds.choosing import choose
from troubleshoot.rounds.planning import sheet_of
from troubleshoot.rulebook import Rulebook, rules_folder
from troubleshoot.rulebook import load as load_rules

SEEDS = 200
MOST_MISSED, MOST_FALSE, MOST_OUTSIDE = 5.0, 2.0, 10.0
FEW = World(joints=4, failing=1, meter_step=0.0)
SIDE_BY_SIDE = World(joints=4, failing=1, side_by_side=True)


def _part(count: int, of: int) -> float:
    return 100.0 * count / of if of else 0.0


def lines_of(what: str, world: World, done: Sequence[Called], goals: bool) -> list[Line]:
    """What came of one world over all seeds."""
    failing, sound = world.failing * len(done), (world.joints - world.failing) * len(done)
    ahead = sorted(days for one in done for days in one.ahead)
    dates = [right for one in done for right in one.dates]
    note = f"{len(done)} clubs, {world.joints} joints, {world.failing} failing, {world.rounds} rounds"
    missed = sum(len(one.missed) for one in done)
    false = sum(len(one.false) for one in done)
    late = sum(1 for days in ahead if days < 0)
    goal = (MOST_MISSED, MOST_FALSE, MOST_OUTSIDE) if goals else (None, None, None)
    return [
        Line(f"{what}: failing, never called", _part(missed, failing), "%", goal[0], note),
        Line(f"{what}: sound, called in two years", _part(false, sound), "%", goal[1], note),
        Line(f"{what}: ahead of the limit, median", statistics.median(ahead), "days", None, note),
        Line(f"{what}: ahead of it, a tenth has less", ahead[len(ahead) // 10], "days", None, note),
        Line(f"{what}: failing, called too late", _part(late, failing), "%", None, note),
        Line(f"{what}: limit outside the dates said", _part(dates.count(False), len(dates)), "%", goal[2],
             f"{len(dates)} first calls with a date"),
    ]  # fmt: skip


def _speed(layout: Layout, rulebook: Rulebook) -> list[Line]:
    began = time.perf_counter()
    sheet = sheet_of(layout, rulebook, choose(layout, rulebook))
    planned = time.perf_counter() - began
    played = play(layout, 1)
    history = played.history(layout, rulebook)
    began = time.perf_counter()
    due_checks(history, played.days[-1])
    due = time.perf_counter() - began
    minutes = f"club, {len(sheet.visits)} readings, {sheet.minutes:.0f} min of walking and reading"
    return [
        Line("a round planned", planned, "s", None, minutes),
        Line("what is due worked out", due, "s", None, f"{len(history.taken)} readings of 40 joints"),
    ]


def measure(seeds: int = SEEDS) -> list[Line]:
    """All lines of this part."""
    layout, rulebook = load(rules_folder() / "core" / "layouts" / "club.yaml"), load_rules()
    lines = []
    for what, world, goals in (
        ("drift, club", World(), True),
        ("drift, four", FEW, False),
        ("drift, four, new meter", SIDE_BY_SIDE, False),
    ):
        done = [watched(layout, rulebook, play(layout, seed, world)) for seed in range(seeds)]
        lines += lines_of(what, world, done, goals)
    return lines + _speed(layout, rulebook)

"""A year of a pretend club, with a casebook and without: minutes per fault by quarter, and honesty of the chances."""

import math
import statistics
import tempfile
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from tests.benchmarks.club_year import Club, Ending, mean, miscalibrated, quarters, year
from tests.benchmarks.lines import Line
from troubleshoot.layout import load
from troubleshoot.rulebook import load as load_rules
from troubleshoot.rulebook import rules_folder

FAULTS = 300
SEEDS = tuple(range(1, 9))
CALIBRATED = 8.0
"""Most that stated chances may miss by, in percent (goal G7 of reasoning.md with wrong answers)."""


def played(task: tuple[int, bool]) -> list[Ending]:
    """One year in whatever process: a seed, and whether there is a casebook."""
    seed, remembers = task
    rulebook = load_rules()
    club = Club(rulebook, load(rules_folder() / "core" / "layouts" / "club.yaml"), seed)
    faults = club.faults(FAULTS)
    if not remembers:
        return year(club, faults, None)
    with tempfile.TemporaryDirectory() as folder:
        return year(club, faults, Path(folder))


def measure() -> list[Line]:
    """Minutes by quarter with a casebook and without, their difference with its error, and calibration."""
    tasks = [(seed, remembers) for seed in SEEDS for remembers in (True, False)]
    with ProcessPoolExecutor(2) as pool:
        years = list(pool.map(played, tasks))
    kept = [ending for (_, remembers), one in zip(tasks, years, strict=True) if remembers for ending in one]
    bare = [ending for (_, remembers), one in zip(tasks, years, strict=True) if not remembers for ending in one]
    note = f"{len(SEEDS)} simulated years of {FAULTS} faults, a third come back, 5 % wrong answers"
    lines = []
    for name, every in (("with casebook", kept), ("without memory", bare)):
        parts = [quarters(every[i : i + FAULTS]) for i in range(0, len(every), FAULTS)]
        for number, label in ((0, "first"), (3, "last")):
            minutes = mean([e.minutes for part in parts for e in part[number]])
            lines.append(Line(f"minutes per fault, {name}, {label} quarter", minutes, "min", None, note))
    lines += _differences(kept, bare, note)
    for name, every in (("with casebook", kept), ("without memory", bare)):
        goal = CALIBRATED if every is kept else None
        lines.append(Line(f"stated chances miss by, {name}", 100.0 * miscalibrated(every), "%", goal, note))
        right = 100.0 * mean([float(e.right) for e in every])
        lines.append(Line(f"first remedy right, {name}", right, "%", None, note))
    return lines


def _differences(kept: Sequence[Ending], bare: Sequence[Ending], note: str) -> list[Line]:
    """Minutes saved in the last quarters, fault by fault."""
    pairs = list(zip(kept, bare, strict=True))
    last = [p for i in range(0, len(pairs), FAULTS) for p in pairs[i + 3 * FAULTS // 4 : i + FAULTS]]
    lines = []
    kinds = {
        "all": last,
        "come back": [p for p in last if p[0].fault.again],
        "fresh": [p for p in last if not p[0].fault.again],
    }
    for kind, chosen in kinds.items():
        saved = [without.minutes - with_.minutes for with_, without in chosen]
        error = statistics.stdev(saved) / math.sqrt(len(saved))
        what = f"minutes saved per fault by the casebook, last quarter, {kind}"
        lines.append(Line(what, mean(saved), "min", None, f"± {error:.0f}; {len(saved)} faults; {note}"))
        lines.append(Line(f"{what}, median", statistics.median(saved), "min", None, note))
    return lines

"""Running a trial over symptoms on all cores: reproducible by seed, whatever the number of processes."""

import random
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from troubleshoot.quality.answered import Answered, of_all
from troubleshoot.quality.judging import CASES as ANSWERED_CASES
from troubleshoot.quality.judging import SELDOM_FIRST
from troubleshoot.quality.trial import Outcome, Summary, by_weight, play, play_strange, summary, with_repairs
from troubleshoot.quality.worlds import world
from troubleshoot.rulebook import Rulebook, load


@dataclass(frozen=True)
class Task:
    """One symptom's share of a trial."""

    symptom: str
    packs: tuple[str, ...]
    noisy: bool
    cases: int
    seed: int
    wrong: float
    repair_minutes: float | None
    played: bool
    strange: bool = False


@dataclass(frozen=True)
class Result:
    """One symptom's figures: with all checks answered, and as played."""

    symptom: str
    bound_first: float
    bound_three: float
    never_first: tuple[str, ...]
    outcomes: tuple[Outcome, ...]
    strange: tuple[tuple[str, Outcome], ...] = ()

    @property
    def summary(self) -> Summary:
        """Means of the played faults."""
        return summary(self.symptom, self.outcomes)


@lru_cache(maxsize=2)
def _rules(packs: tuple[str, ...]) -> Rulebook:
    return load([Path(p) for p in packs])


def run_one(task: Task) -> Result:
    """One symptom, in whatever process."""
    rulebook = _rules(task.packs)
    true = world(rulebook, task.symptom, task.noisy, task.seed)
    fares = Answered(rulebook, task.symptom).standing(true, ANSWERED_CASES, task.seed)
    first, three = of_all(fares, "first"), of_all(fares, "three")
    weak = tuple(s.cause for s in fares if s.first < SELDOM_FIRST)
    outcomes: list[Outcome] = []
    if task.played:
        dice = random.Random(f"play {task.seed} {task.symptom} {task.noisy}")
        book = with_repairs(rulebook, task.repair_minutes)
        outcomes = [play(book, true, c, task.wrong, dice) for c in by_weight(book, task.symptom, task.cases, dice)]
    strange: list[tuple[str, Outcome]] = []
    if task.strange:
        dice = random.Random(f"strange {task.seed} {task.symptom} {task.noisy}")
        kinds = ("left out", "left out", "quiet", "odd")
        for number in range(task.cases):
            kind = kinds[number % len(kinds)]
            strange.append((kind, play_strange(rulebook, true, kind, task.wrong, dice)))
    return Result(task.symptom, first, three, weak, tuple(outcomes), tuple(strange))


def run(tasks: Sequence[Task], processes: int, told: Callable[[str], object]) -> list[Result]:
    """All tasks, in the order given; `told` hears of each symptom done."""
    if processes <= 1:
        results = []
        for task in tasks:
            results.append(run_one(task))
            told(task.symptom)
        return results
    with ProcessPoolExecutor(processes) as pool:
        results = []
        for result in pool.map(run_one, tasks):
            results.append(result)
            told(result.symptom)
        return results

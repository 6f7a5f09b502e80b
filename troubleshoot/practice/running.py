"""Many exercises on all cores: reproducible by seed, whatever the number of processes."""

import random
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import lru_cache

from troubleshoot.layout import Layout, load
from troubleshoot.practice.faults import HiddenFault, load_faults
from troubleshoot.practice.playing import Played, play
from troubleshoot.practice.world import Unfit, draw
from troubleshoot.rulebook import Rulebook
from troubleshoot.rulebook import load as load_rules


@dataclass(frozen=True)
class Exercise:
    """One exercise: the layout's file, the fault, the seed, the share of wrong answers, and how it is gone about."""

    layout: str
    fault: str
    seed: int
    wrong: float
    way: str


@lru_cache(maxsize=1)
def _shared(layout: str) -> tuple[Layout, Rulebook, dict[str, HiddenFault]]:
    rulebook = load_rules()
    return load(layout), rulebook, {f.name: f for f in load_faults(rulebook)}


def exercises(layout: str, faults: Sequence[str], count: int, seed: int, wrong: float, way: str) -> list[Exercise]:
    """So many exercises, every fault about as often as any other, in an order drawn from the seed."""
    dice = random.Random(f"exercises {seed}")
    names = [faults[k % len(faults)] for k in range(count)]
    dice.shuffle(names)
    return [Exercise(layout, name, 1000 * seed + k, wrong, way) for k, name in enumerate(names)]


def run_one(exercise: Exercise) -> Played | None:
    """One exercise in whatever process; None where the layout cannot have this fault."""
    layout, rulebook, faults = _shared(exercise.layout)
    try:
        world = draw(layout, rulebook, faults[exercise.fault], exercise.seed, exercise.wrong)
    except Unfit:
        return None
    return play(world, exercise.way)


def run(tasks: Sequence[Exercise], processes: int, told: Callable[[str], object]) -> list[Played]:
    """All exercises in the order given; `told` hears of each that is done."""
    results: list[Played] = []
    if processes <= 1:
        for task in tasks:
            results.extend(p for p in [run_one(task)] if p)
            told(task.fault)
        return results
    with ProcessPoolExecutor(processes) as pool:
        for task, played in zip(tasks, pool.map(run_one, tasks, chunksize=4), strict=True):
            results.extend([played] if played else [])
            told(task.fault)
    return results

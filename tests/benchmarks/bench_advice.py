"""Advice against the exact optimum: how many minutes it loses on seeded instances, without and with a shared set-up."""

from collections.abc import Iterable, Sequence

import numpy as np

from tests.benchmarks.instances import Instance, generate, with_set_up
from tests.benchmarks.lines import Line
from tests.benchmarks.oracle import Policy, advised, cost, mending_only, optimum

SEEDS = range(1000, 1100)
REGIMES = ("mixed", "crisp")
LONGEST_TEST = 3.0
MEAN, NINETY_FIVE, WORST = 1.5, 4.0, 10.0


def instances(shared: bool) -> list[Instance]:
    """A hundred mixed and a hundred crisp instances, tests of one to three minutes."""
    made = [generate(seed, regime, LONGEST_TEST) for regime in REGIMES for seed in SEEDS]
    return [with_set_up(i) for i in made] if shared else made


def excess(chosen: Iterable[tuple[Instance, float]], policy: Policy = advised) -> list[float]:
    """How much more than the optimum a policy takes, in percent."""
    return [100.0 * (cost(i, policy) / least - 1.0) for i, least in chosen]


def _three(what: str, found: Sequence[float], note: str, goals: tuple[float | None, ...]) -> list[Line]:
    figures = (float(np.mean(found)), float(np.percentile(found, 95)), float(max(found)))
    names = ("mean", "95th percentile", "worst")
    return [Line(f"{what}, {n}", f, "%", g, note) for n, f, g in zip(names, figures, goals, strict=True)]


def measure() -> list[Line]:
    """Minutes over the optimum: in all, by regime, with set-ups, and of mending at once for comparison."""
    lines: list[Line] = []
    for shared in (False, True):
        solved = [(i, optimum(i)) for i in instances(shared)]
        found = excess(solved)
        mixed, crisp = found[: len(SEEDS)], found[len(SEEDS) :]
        what = "advice over optimum" + (", shared set-up" if shared else "")
        note = "200 instances" + (", half of the tests need a set-up of 2 min" if shared else "")
        goals = (None, None, None) if shared else (MEAN, NINETY_FIVE, WORST)
        lines += _three(what, found, note, goals)
        lines.append(Line(f"{what}, mixed mean", float(np.mean(mixed)), "%", None, "100 mixed"))
        lines.append(Line(f"{what}, crisp mean", float(np.mean(crisp)), "%", None, "100 crisp"))
        at_once = excess(solved, mending_only)
        lines.append(Line("mending only over optimum, mean", float(np.mean(at_once)), "%", None, note))
    return lines

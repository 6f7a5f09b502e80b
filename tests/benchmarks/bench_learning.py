"""What confirmed cases are worth when the authors' weights are wrong: excess minutes before and after learning.

Instances of generator S with the authors' prior moved away from the true one (each weight times exp of normal noise,
sd 1); then confirmed cases are drawn from the true prior and counted by the tool's own arithmetic (error model C7). The
advice is followed into every outcome; minutes are set against the exact optimum.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tests.benchmarks.instances import Instance, generate
from tests.benchmarks.lines import Line
from tests.benchmarks.oracle import advised, cost, optimum
from troubleshoot.rulebook.tally import moved_shares

INSTANCES = 60
CASES = (0, 10, 30, 100)
CUT = 50.0
"""At least so much of the excess is gone after thirty cases, in percent (goal G17)."""


def learned_cost(instance: Instance, prior: Sequence[float]) -> float:
    """Expected minutes of the advice when it believes a prior that is not the true one."""
    ratio = [p / float(t) for p, t in zip(prior, instance.prior, strict=True)]

    def policy(
        one: Instance, masses: Sequence[float], tests: Sequence[int], mends: Sequence[int], standing: bool
    ) -> tuple[str, int]:
        return advised(one, [m * r for m, r in zip(masses, ratio, strict=True)], tests, mends, standing)

    return cost(instance, policy)


def priors(instance: Instance, number: int) -> dict[int, list[float]]:
    """The prior believed after so many confirmed cases, by the tool's own counting."""
    rng = np.random.default_rng(77 + number)
    rough: NDArray[np.float64] = instance.prior * np.exp(rng.normal(0.0, 1.0, len(instance.prior)))
    authored = {str(i): float(w) for i, w in enumerate(rough / rough.sum())}
    believed = {}
    for cases in CASES:
        drawn = rng.multinomial(cases, instance.prior / instance.prior.sum())
        counts = {str(i): float(n) for i, n in enumerate(drawn)}
        believed[cases] = list(moved_shares(authored, counts, {}).values())
    return believed


def excess() -> dict[int, float]:
    """Mean excess over the optimum, as a share of it, after so many cases."""
    sums = dict.fromkeys(CASES, 0.0)
    for number in range(INSTANCES):
        instance = generate(1000 + number, "mixed", 3.0)
        best = optimum(instance)
        for cases, prior in priors(instance, number).items():
            sums[cases] += (learned_cost(instance, prior) / best - 1.0) / INSTANCES
    return sums


def measure() -> list[Line]:
    """Excess minutes with wrong weights, after 10, 30 and 100 cases, and how much of it thirty cases take away."""
    found, note = excess(), f"{INSTANCES} instances, authors' weights wrong by a factor of e (sd)"
    lines = [Line(f"advice over optimum, wrong weights, {n} cases", 100.0 * found[n], "%", None, note) for n in CASES]
    left = 100.0 * found[30] / found[0]
    lines.append(Line("excess left after 30 confirmed cases", left, "%", 100.0 - CUT, note))
    return lines

"""What a policy costs, and the least that any policy could: exact, by going through every outcome.

The optimum is a dynamic programme over what each test has shown (not made, negative, positive), which mends are done
and whether the set-up is in force, on masses that are not scaled to one. A policy is judged by following it into
every outcome. Minutes are expected minutes to mended.
"""

from collections.abc import Callable, Sequence
from itertools import product

import numpy as np
from numpy.typing import NDArray

from tests.benchmarks.instances import SET_UP_MINUTES, Instance
from troubleshoot import advice

NOTHING = 1e-15
"""Masses below this cost nothing: nothing is left to be mended."""

Masses = Sequence[float]
Policy = Callable[[Instance, Masses, Sequence[int], Sequence[int], bool], tuple[str, int]]


def optimum(instance: Instance) -> float:
    """The least expected minutes to mended that any policy can reach."""
    shared = any(instance.needs_set_up)
    later: dict[tuple[tuple[int, ...], bool], NDArray[np.float64]] = {}
    tests = len(instance.test_minutes)
    for asked in range(tests, -1, -1):
        states = [s for s in product((0, 1, 2), repeat=tests) if sum(x > 0 for x in s) == asked]
        left = np.array([_left(instance, s) for s in states])
        for standing in (True, False) if shared else (False,):
            best = _best_test(instance, states, left, standing, later)
            _mends(instance, left, best)
            later.update({(s, standing): best[i] for i, s in enumerate(states)})
    return float(later[(0,) * tests, False][0])


def _left(instance: Instance, state: tuple[int, ...]) -> NDArray[np.float64]:
    """The mass that still has the fault after each set of mends, given what the tests have shown."""
    mass = instance.prior.copy()
    for test, shown in enumerate(state):
        if shown:
            mass = mass * (instance.positive[test] if shown == 2 else 1.0 - instance.positive[test])
    done = np.arange(2 ** len(instance.covers))
    left = np.zeros(len(done))
    for cause, part in enumerate(mass):
        mended = np.zeros(len(done), dtype=bool)
        for number, covered in enumerate(instance.covers):
            if cause in covered:
                mended |= (done >> number) & 1 == 1
        left += np.where(mended, 0.0, part)
    return left


def _best_test(
    instance: Instance,
    states: Sequence[tuple[int, ...]],
    left: NDArray[np.float64],
    standing: bool,
    later: dict[tuple[tuple[int, ...], bool], NDArray[np.float64]],
) -> NDArray[np.float64]:
    """The least minutes if a test comes next, for each state and each set of mends."""
    best = np.full(left.shape, np.inf)
    for i, state in enumerate(states):
        for test, shown in enumerate(state):
            if shown:
                continue
            moved = instance.needs_set_up[test] and not standing
            minutes = instance.test_minutes[test] + (SET_UP_MINUTES if moved else 0.0)
            next_standing = standing or instance.needs_set_up[test]
            after = [later[(*state[:test], o, *state[test + 1 :]), next_standing] for o in (1, 2)]
            best[i] = np.minimum(best[i], minutes * left[i] + after[0] + after[1])
    return best


def _mends(instance: Instance, left: NDArray[np.float64], best: NDArray[np.float64]) -> None:
    """Let a mend come next where that is better, from all mends done down to none (in place)."""
    for done in range(best.shape[1] - 1, -1, -1):
        for number, minutes in enumerate(instance.mend_minutes):
            if not done >> number & 1:
                best[:, done] = np.minimum(best[:, done], minutes * left[:, done] + best[:, done | 1 << number])
        best[left[:, done] < NOTHING, done] = 0.0


def cost(instance: Instance, policy: Policy) -> float:
    """The exact expected minutes to mended of a policy."""
    tests = tuple(range(len(instance.test_minutes)))
    mends = tuple(range(len(instance.mend_minutes)))
    return _follow(instance, policy, [float(p) for p in instance.prior], tests, mends, False)


def _follow(
    instance: Instance,
    policy: Policy,
    masses: list[float],
    tests: tuple[int, ...],
    mends: tuple[int, ...],
    standing: bool,
) -> float:
    left = sum(masses)
    if left < NOTHING:
        return 0.0
    kind, index = policy(instance, masses, tests, mends, standing)
    if kind == "repair":
        rest = [0.0 if c in instance.covers[index] else m for c, m in enumerate(masses)]
        others = tuple(m for m in mends if m != index)
        return float(instance.mend_minutes[index]) * left + _follow(instance, policy, rest, tests, others, standing)
    needed = instance.needs_set_up[index]
    total = _minutes(instance, index, standing) * left
    others = tuple(t for t in tests if t != index)
    for rates in (1.0 - instance.positive[index], instance.positive[index]):
        rest = [m * float(p) for m, p in zip(masses, rates, strict=True)]
        total += _follow(instance, policy, rest, others, mends, standing or needed)
    return total


def _minutes(instance: Instance, test: int, standing: bool) -> float:
    moved = instance.needs_set_up[test] and not standing
    return float(instance.test_minutes[test]) + (SET_UP_MINUTES if moved else 0.0)


def advised(
    instance: Instance, masses: Masses, tests: Sequence[int], mends: Sequence[int], standing: bool
) -> tuple[str, int]:
    """What the tool advises: the step of `advice.next_step`, as everywhere else in the tool."""
    trials = [instance.trial(t, _minutes(instance, t, standing)) for t in tests]
    step = advice.next_step(masses, trials, [instance.repair(m) for m in mends])
    return ("trial", tests[step.index]) if step.kind == "trial" else ("repair", mends[step.index])


def mending_only(
    instance: Instance, masses: Masses, tests: Sequence[int], mends: Sequence[int], standing: bool
) -> tuple[str, int]:
    """No test at all: mend by chance per minute."""
    first = advice.plan(masses, [instance.repair(m) for m in mends])[1]
    return "repair", mends[0 if first is None else first]

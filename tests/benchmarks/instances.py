"""Small seeded problems of which the exact optimum can be worked out.

Exactly one cause is true. Tests are binary, independent of each other given the cause, and made once. A mend surely
removes the causes it covers, shows whether the fault is gone, and is made once. The order of draws is fixed, so that
the same seed gives the same instance everywhere; the last cause is the one that no rule describes.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from troubleshoot.advice import Repair, Trial

PAIRS = ((0.98, 0.02), (0.9, 0.1), (0.8, 0.2), (0.95, 0.4))
FIXED = {"crisp": PAIRS[0], "noisy": PAIRS[2]}
OTHER_MINUTES = 120.0
SET_UP_MINUTES = 2.0


@dataclass(frozen=True, eq=False)
class Instance:
    """A prior, P(positive) by test and cause, minutes, and what each mend covers; tests that need the set-up."""

    prior: NDArray[np.float64]
    positive: NDArray[np.float64]
    test_minutes: NDArray[np.float64]
    mend_minutes: NDArray[np.float64]
    covers: tuple[tuple[int, ...], ...]
    needs_set_up: tuple[bool, ...]

    def trial(self, index: int, minutes: float) -> Trial:
        """One test as the advice sees it: outcome 0 is negative, 1 is positive."""
        rates = [float(p) for p in self.positive[index]]
        return Trial(str(index), minutes, tuple((1.0 - p, p) for p in rates), tuple(range(len(rates))))

    def repair(self, index: int) -> Repair:
        """One mend as the advice sees it."""
        return Repair(str(index), float(self.mend_minutes[index]), self.covers[index])


def generate(seed: int, regime: str, tmax: float) -> Instance:
    """An instance of generator S: 4 to 8 causes, 2 to 6 tests of 1 to `tmax` minutes, one swap of a module."""
    rng = np.random.default_rng(seed)
    causes, tests = int(rng.integers(4, 9)), int(rng.integers(2, 7))
    prior = np.append(rng.dirichlet(np.ones(causes - 1)) * 0.95, 0.05)
    positive = np.empty((tests, causes))
    for t in range(tests):
        shifted = rng.random(causes) < 0.5
        high, low = FIXED[regime] if regime in FIXED else PAIRS[int(rng.integers(0, 4))]
        positive[t] = np.where(shifted, high, low)
    positive[:, -1] = 0.5
    test_minutes = rng.uniform(1.0, tmax, tests)
    single = np.exp(rng.uniform(np.log(3.0), np.log(60.0), causes - 1))
    swapped = rng.choice(causes - 1, size=min(3, causes - 1), replace=False)
    mend_minutes = np.concatenate([single, [OTHER_MINUTES, 0.6 * single[swapped].sum()]])
    covers = (*((c,) for c in range(causes)), tuple(sorted(int(c) for c in swapped)))
    return Instance(prior, positive, test_minutes, mend_minutes, covers, (False,) * tests)


def with_set_up(instance: Instance) -> Instance:
    """The same instance in which every second test needs one shared set-up, entered once for its minutes."""
    return replace(instance, needs_set_up=tuple(t % 2 == 0 for t in range(len(instance.test_minutes))))

"""What a person reports, look by look, of what is really there: now and then wrong, and seldom wrong alone.

Who misreads a lamp once is likely to misread it again, and two checks of one finding mislead together. So a share of
looks at one finding goes back to one common look, right or wrong: two looks at a finding are wrong together as if
their errors were correlated by that share. With no share every look errs by itself, which is what belief assumes.
"""

import math
import random
from collections.abc import Mapping

from troubleshoot.rulebook import Rulebook

TOGETHER = 0.5
"""Correlation between the errors of two looks at one finding in the moved world (estimate)."""


class Looks:
    """The looks at one fault: what shows, how often a look is wrong, and how far looks at one finding go together."""

    def __init__(
        self, rulebook: Rulebook, shown: Mapping[str, int], wrong: float, together: float, dice: random.Random
    ) -> None:
        self.rulebook, self.shown, self.wrong = rulebook, shown, wrong
        self.common = math.sqrt(together)  # two looks are both the common one with the chance `together`
        self._key = dice.random()
        self._made: dict[str, int] = {}
        self._settled: dict[str, int] = {}

    def knows(self, check: str) -> bool:
        """Whether the world says anything of what a check looks at."""
        return self.rulebook.checks[check].finding in self.shown

    def settle(self, finding: str, outcome: int) -> None:
        """From now on every look at a finding says this."""
        self._settled[finding] = outcome

    def first(self, check: str) -> str:
        """What the first look of a check says, whenever that is; the same in any order of checks."""
        return self._look(check, 0)

    def again(self, check: str) -> str:
        """What the next look of a check says."""
        number = self._made.get(check, 0)
        self._made[check] = number + 1
        return self._look(check, number)

    def _look(self, check: str, number: int) -> str:
        finding = self.rulebook.findings[self.rulebook.checks[check].finding]
        if finding.name in self._settled:
            return finding.outcomes[self._settled[finding.name]]
        dice = random.Random(f"{self._key} {check} {number}")
        if dice.random() < self.common:
            dice = random.Random(f"{self._key} {finding.name}")
        really = self.shown[finding.name]
        others = [i for i in range(len(finding.outcomes)) if i != really]
        return finding.outcomes[dice.choice(others) if others and dice.random() < self.wrong else really]

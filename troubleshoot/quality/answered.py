"""Every check answered truly: where the causes of a symptom then stand, and how many suspects are left.

What the rules could do at best, before questions, minutes and mistakes. The sums of decibans are those of `belief`
with one report a finding and no error; a test holds them against it.
"""

import math
import random
from dataclasses import dataclass

from troubleshoot.belief import Rows, field_of
from troubleshoot.layout import EMPTY, Place
from troubleshoot.quality.worlds import World
from troubleshoot.rulebook import Rulebook

STILL_OPEN = 0.05
"""A suspect above this chance is still one to think of."""
_SUBJECT = Place("block", "the block")


@dataclass(frozen=True)
class Standing:
    """How one cause fares when it is true and everything is answered: shares of its own cases."""

    cause: str
    weight: float
    first: float
    three: float
    crowded: float


def place_of(rulebook: Rulebook, finding: str) -> Place:
    """The one place at which a finding is looked at on a layout nothing is known of."""
    places = EMPTY.related(rulebook.findings[finding].relation, _SUBJECT)
    return places[0] if places else _SUBJECT


class Answered:
    """The field of suspects of a symptom, with the decibans that every outcome of every finding gives each."""

    def __init__(self, rulebook: Rulebook, symptom: str) -> None:
        self.rulebook, self.symptom = rulebook, symptom
        self.rows = Rows(rulebook, EMPTY, field_of(rulebook, EMPTY, symptom, _SUBJECT))
        suspects = self.rows.field.suspects
        self.names = ["something-else" if s.beyond else s.cause for s in suspects]
        self.prior = [10.0 * math.log10(p) for p in self.rows.field.prior]
        self.decibans: dict[str, list[list[float]]] = {}
        for finding in rulebook.spoken_of(symptom):
            table = self.rows.of(finding, place_of(rulebook, finding))
            count = len(rulebook.findings[finding].outcomes)
            self.decibans[finding] = [[10.0 * math.log10(max(r[i], 1e-12)) for r in table] for i in range(count)]

    def chances(self, shown: dict[str, int]) -> dict[str, float]:
        """Chance of each cause once all these findings are known."""
        scores = self.prior
        for finding, index in shown.items():
            scores = [a + b for a, b in zip(scores, self.decibans[finding][index], strict=True)]
        best = max(scores)
        masses = [10.0 ** ((s - best) / 10.0) for s in scores]
        total = math.fsum(masses)
        sums: dict[str, float] = {}
        for name, mass in zip(self.names, masses, strict=True):
            sums[name] = sums.get(name, 0.0) + mass / total
        return sums

    def standing(self, true: World, cases: int, seed: int) -> list[Standing]:
        """How each cause of the symptom fares in `cases` cases of its own."""
        dice = random.Random(f"answered {seed} {self.symptom}")
        found = []
        for cause in self.rulebook.causes_of(self.symptom):
            first = three = crowded = 0
            for _ in range(cases):
                chances = self.chances({f: int(i) for f, i in true.draw(cause.name, dice).items()})
                order = sorted(chances, key=lambda c: (-chances[c], c))
                first += order[0] == cause.name
                three += cause.name in order[:3]
                crowded += sum(p > STILL_OPEN for p in chances.values()) > 3
            weight = cause.weights[self.symptom]
            found.append(Standing(cause.name, weight, first / cases, three / cases, crowded / cases))
        return found


def of_all(standings: list[Standing], what: str) -> float:
    """The mean of a share over causes, each by its weight."""
    total = math.fsum(s.weight for s in standings)
    return math.fsum(s.weight * float(getattr(s, what)) for s in standings) / total if total else 0.0

"""Pretend worlds to try rules in: one drawn from the pack, and one that is not.

In the second world every stated word is moved by log-odds noise of one standard deviation, and every undecided cell
is drawn between .12 and .65; looks at one finding also go wrong together there (`looks`). Bolder words make the first
world's figures better and the second's worse, so the second decides. A world is made from a seed and is the same on
every machine.
"""

import math
import random
from collections.abc import Mapping
from dataclasses import dataclass

from troubleshoot.rulebook import Rulebook, cell, row
from troubleshoot.rulebook.words import UNDECIDED

NOISE = 1.0
LEAST, MOST = 0.12, 0.65
"""Range of an undecided cell's telling chance in the second world."""


@dataclass(frozen=True)
class World:
    """What really shows: for each cause of a symptom (or a strange fault), a row for each finding."""

    symptom: str
    rows: Mapping[str, Mapping[str, tuple[float, ...]]]
    noisy: bool

    def draw(self, cause: str, dice: random.Random) -> dict[str, str | int]:
        """The outcome of every finding under a cause, as an index into the finding's outcomes."""
        return {f: _pick(r, dice) for f, r in self.rows[cause].items()}


def _pick(chances: tuple[float, ...], dice: random.Random) -> int:
    point, total = dice.random(), 0.0
    for i, p in enumerate(chances):
        total += p
        if point < total:
            return i
    return len(chances) - 1


def _moved(chances: tuple[float, ...], dice: random.Random) -> tuple[float, ...]:
    """A row with each outcome's log-odds moved by noise, and scaled to total one."""
    rough = []
    for chance in chances:
        p = min(0.98, max(0.004, chance))
        odds = math.exp(math.log(p / (1.0 - p)) + dice.gauss(0.0, NOISE))
        rough.append(odds / (1.0 + odds))
    total = math.fsum(rough)
    return tuple(p / total for p in rough)


def _undecided(chances: tuple[float, ...], quiet: int, dice: random.Random) -> tuple[float, ...]:
    """A row whose telling chance is drawn between LEAST and MOST."""
    telling = dice.uniform(LEAST, MOST)
    rest = math.fsum(p for i, p in enumerate(chances) if i != quiet) or 1.0
    return tuple(1.0 - telling if i == quiet else telling * p / rest for i, p in enumerate(chances))


def world(rulebook: Rulebook, symptom: str, noisy: bool, seed: int) -> World:
    """The world of a symptom: true rows of all its causes, and of the quiet and the odd strange fault."""
    dice = random.Random(f"{seed} {symptom} {noisy}")
    findings = rulebook.spoken_of(symptom)
    rows: dict[str, dict[str, tuple[float, ...]]] = {}
    for cause in rulebook.causes_of(symptom):
        rows[cause.name] = {}
        for finding in findings:
            here = row(rulebook, finding, cause, symptom)
            said = cell(cause, finding, symptom)
            if noisy and said in (UNDECIDED, ""):
                here = _undecided(here, rulebook.findings[finding].quiet, dice)
            elif noisy:
                here = _moved(here, dice)
            rows[cause.name][finding] = here
    rows["strange/quiet"] = {f: rulebook.findings[f].sound for f in findings}
    rows["strange/odd"] = {
        f: tuple(1.0 / len(rulebook.findings[f].outcomes) for _ in rulebook.findings[f].outcomes) for f in findings
    }
    return World(symptom, rows, noisy)

"""From words to rows of probabilities: P(outcome of a finding, given a cause under a symptom).

Stated words are probabilities; the rest of the row is shared over the unstated outcomes in proportion to the
finding's `elsewhere` row, each at least .02/(k-1); a row is then scaled to total one. Nothing is ever 0 or 1.
"""

from collections.abc import Mapping
from functools import lru_cache
from math import fsum

from troubleshoot.rulebook.kinds import Cause, Finding, Rulebook
from troubleshoot.rulebook.words import (
    AS_SOUND,
    LIKELIHOOD,
    LOWEST,
    QUESTION_ELSEWHERE,
    READING_ELSEWHERE,
    UNDECIDED,
)


def floor(count: int) -> float:
    """The least chance of an unstated outcome among `count` outcomes."""
    return LOWEST / max(count - 1, 1)


def share(outcomes: tuple[str, ...], stated: Mapping[str, str], rest_like: tuple[float, ...]) -> tuple[float, ...]:
    """A row with `stated` words, the remainder shared in proportion to `rest_like`.

    >>> share(("yes", "no"), {"yes": "usually"}, (0.25, 0.75))
    (0.85, 0.15)
    """
    least = floor(len(outcomes))
    given = {o: LIKELIHOOD[w] for o, w in stated.items()}
    left = max(0.0, 1.0 - fsum(given.values()))
    weight = fsum(p for o, p in zip(outcomes, rest_like, strict=True) if o not in given)
    row = [
        given[o] if o in given else max(least, left * p / weight if weight else 0.0)
        for o, p in zip(outcomes, rest_like, strict=True)
    ]
    total = fsum(row)
    return tuple(round(p / total, 12) for p in row)


def default_elsewhere(outcomes: tuple[str, ...], quiet: int, reading: bool) -> tuple[float, ...]:
    """The row of an unjudged cause: telling outcomes together .25 (question) or .08 (reading)."""
    telling = READING_ELSEWHERE if reading else QUESTION_ELSEWHERE
    others = max(len(outcomes) - 1, 1)
    return tuple(1.0 - telling if i == quiet else telling / others for i in range(len(outcomes)))


def default_sound(outcomes: tuple[str, ...], quiet: int) -> tuple[float, ...]:
    """The row of a place where nothing the finding looks at is wrong."""
    least = floor(len(outcomes))
    return tuple(1.0 - LOWEST if i == quiet else least for i in range(len(outcomes)))


def cell(cause: Cause, finding: str, symptom: str) -> Mapping[str, str] | str:
    """What a cause says of a finding under a symptom: words, or `as-sound`, `as-elsewhere`, or '' for nothing."""
    stated = cause.under.get(symptom, {}).get(finding) or cause.shows.get(finding)
    if stated:
        return stated
    if finding in cause.as_sound:
        return AS_SOUND
    return UNDECIDED if finding in cause.undecided else ""


@lru_cache(maxsize=65536)
def _row(finding: Finding, stated: tuple[tuple[str, str], ...]) -> tuple[float, ...]:
    return share(finding.outcomes, dict(stated), finding.elsewhere)


def row(rulebook: Rulebook, finding: str, cause: Cause, symptom: str) -> tuple[float, ...]:
    """P(outcome | cause) for every outcome of the finding, in its order."""
    found = rulebook.findings[finding]
    said = cell(cause, finding, symptom)
    if said == AS_SOUND:
        return found.sound
    if isinstance(said, str):
        return found.elsewhere
    return _row(found, tuple(sorted(said.items())))

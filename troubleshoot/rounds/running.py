"""How steeply a reading runs, and since when: slopes by pairs, over all readings, over the last, or from a beginning.

Rules: whether it runs at all is asked of all readings and, where there are enough, of the last RECENT ones too, for a
fault may begin late. Since when it runs is a guess, so the interval takes in what the last readings alone would say.
When limits come is left to `ahead`.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from troubleshoot.rounds.ranks import Slope, median, slope
from troubleshoot.rounds.series import YEAR
from troubleshoot.rounds.weather import LEAST_PAIRS, Cleaned

LEAST_READINGS = 5
"""Four readings in order come by chance in 8 of 100 (2/4!), five in 2 of 100 (2/5!): five are the fewest that can tell
anything at 5 in 100. Source: arithmetic of orders."""
LEAST_BEFORE = 3
"""So many readings at least stand for the level before a reading began to run (estimate)."""
RECENT = 6
"""So many last readings are looked at by themselves: the fewest whose order alone comes by chance in less than 1 of 100
(2/6!, 0.3 in 100). Source: arithmetic of orders."""
STEEPER = 1.1
"""So much steeper a shorter past must run to be taken for the longer one (estimate)."""
CHANCE = 0.01
"""A drift is called when chance brings so much order no more often than this."""


class Run(NamedTuple):
    """A slope a year, the widest interval it may have, and the first reading and the day from which on it holds."""

    found: Slope
    low: float
    high: float
    begun: int = 0
    since: float | None = None


def running(clean: Cleaned, confidence: float) -> Run | None:
    """The slope of all readings, or since the reading began to run; None where there is nothing to compare."""
    years, y = [v / YEAR for v in clean.x], list(clean.y)
    whole = slope(years, y, clean.pairs, confidence)
    if whole is None:
        return None
    if clean.how == "peers":
        return _beside_others(years, y, whole, confidence)
    return _by_itself(clean, whole, confidence) if clean.how == "season" else Run(whole, whole.low, whole.high)


def _beside_others(years: list[float], y: list[float], whole: Slope, confidence: float) -> Run:
    """Where others show the season: since the reading from which a line fits best."""
    late = slope(years[-RECENT:], y[-RECENT:], None, confidence) if len(y) >= RECENT + LEAST_BEFORE else None
    if late is None or min(whole.chance, late.chance) >= CHANCE:
        return Run(whole, whole.low, whole.high)
    begun = _begun(years, y)
    found = slope(years[begun:], y[begun:], None, confidence) or whole
    found = replace(found, chance=min(whole.chance, late.chance))
    return Run(
        found, min(found.low, late.low), max(found.high, late.high), begun, years[begun] * YEAR if begun else None
    )


def _by_itself(clean: Cleaned, whole: Slope, confidence: float) -> Run:
    """Where only other years show the season: all along, over the last year, or since a day within it.

    A shorter one is taken where it is clearly steeper and no chance, for an even fall looks the same in all of them and
    a young one is hidden in the longer ones.
    """
    years, y, last = [v / YEAR for v in clean.x], list(clean.y), clean.x[-1]
    pairs = [(i, j) for i, j in clean.pairs if j >= len(y) - RECENT and years[j] - years[i] < 1.5]
    late = slope(years, y, pairs, confidence) if len(pairs) >= LEAST_PAIRS else None
    young, since = _against_last_year(clean, confidence)
    known: list[tuple[Slope, float | None]] = [(whole, None)]
    known += [(late, last - YEAR)] if late else []
    known += [(young, since)] if young else []
    sure = [(s, d) for s, d in known if s.chance < CHANCE]
    if not sure:
        return Run(whole, whole.low, whole.high)
    found, day = sure[0]
    for shorter, its_day in sure[1:]:
        if abs(shorter.value) > STEEPER * abs(found.value):
            found, day = shorter, its_day
    low, high = min([found.low, *(s.low for s, _ in sure)]), max([found.high, *(s.high for s, _ in sure)])
    if young is not None and found.value < 0.0:
        low = min(low, young.low)
    elif young is not None:
        high = max(high, young.high)
    begun = next(i for i, x in enumerate(clean.x) if day is None or x >= day)
    return Run(found, low, high, begun, day)


def _against_last_year(clean: Cleaned, confidence: float) -> tuple[Slope | None, float]:
    """How fast readings move away from those of the same season a year before, and since which day."""
    apart = []
    for j, x in enumerate(clean.x):
        before = [clean.y[i] for i, k in clean.pairs if k == j and x - clean.x[i] < 1.5 * YEAR]
        if before:
            apart.append((x / YEAR, clean.y[j] - median(before)))
    years, y = [x for x, _ in apart], [v for _, v in apart]
    if len(apart) < LEAST_PAIRS:
        return None, clean.x[0]
    begun = _begun(years, y)
    return slope(years[begun:], y[begun:], None, confidence), years[begun] * YEAR


def _begun(x: Sequence[float], y: Sequence[float]) -> int:
    """The reading from which a line fits best, with a level before it; 0 where one line for all fits as well.

    By the sum of absolute errors; a begin of its own and a level must pay for themselves as in the Bayesian criterion
    of Schwarz 1978, with errors that have long tails.
    """
    best, at = math.inf, 0
    for begin in (0, *range(LEAST_BEFORE, len(y) - LEAST_READINGS)):
        found = slope(x[begin:], y[begin:])
        if found is None:
            continue
        rest = [v - found.value * t for t, v in zip(x[begin:], y[begin:], strict=True)]
        level, middle = median(y[:begin] or [0.0]), median(rest)
        errors = math.fsum(abs(v - level) for v in y[:begin]) + math.fsum(abs(r - middle) for r in rest)
        cost = len(y) * math.log(max(errors, 1e-12)) + (2.0 * math.log(len(y)) if begin else 0.0)
        if cost < best:
            best, at = cost, begin
    return at

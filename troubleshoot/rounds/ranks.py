"""Statistics that a few wild figures cannot upset: medians, and slopes by pairs with the interval of their ranks.

Rules: plain Python, plain numbers, no dates and no units of readings. A slope is the median of the slopes of pairs
of points (Theil 1950, Sen 1968); its interval comes from the variance of Kendall's S, the count of rising less
falling pairs, under no trend at all. The pairs may be all there are, or a part: those of the same season, those of
one meter. The variance is exact for any part as long as no two values are alike, and on the safe side where some
are. What a slope means is left to `trend`.
"""

import math
from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

Pairs = Sequence[tuple[int, int]]
"""Positions of two points each, the earlier one first."""

TO_SIGMA = 1.4826
"""Standard deviation over median absolute deviation of normal errors. Source: textbook, 1/0.6745."""


@dataclass(frozen=True)
class Slope:
    """A slope with its interval, in units of y for one of x.

    `count` pairs gave it; `agree` is the rising less the falling ones over all, -1 to 1; `chance` is how often so much
    agreement comes without any trend, on both sides, by the normal approximation.
    """

    value: float
    low: float
    high: float
    count: int
    agree: float
    chance: float


def median(values: Iterable[float]) -> float:
    """The middle value, or the mean of the two in the middle. Raises ValueError for none."""
    ordered = sorted(values)
    if not ordered:
        raise ValueError("no values have no median")
    half = len(ordered) // 2
    return ordered[half] if len(ordered) % 2 else 0.5 * (ordered[half - 1] + ordered[half])


def spread(values: Sequence[float]) -> float:
    """Standard deviation judged by the median absolute deviation. Formula: 1.4826 median |y - median y|."""
    centre = median(values)
    return TO_SIGMA * median(abs(v - centre) for v in values)


def z_of(confidence: float) -> float:
    """The normal deviate within which a part `confidence` of all lies, on both sides: 1.96 for 0.95."""
    from statistics import NormalDist

    return NormalDist().inv_cdf(0.5 + confidence / 2.0)


def every_pair(x: Sequence[float]) -> Pairs:
    """All pairs of points that differ in x, the smaller first."""
    order = sorted(range(len(x)), key=lambda i: (x[i], i))
    return [(i, j) for a, i in enumerate(order) for j in order[a + 1 :] if x[j] > x[i]]


def pairs_of(x: Sequence[float], wanted: Callable[[int, int], bool]) -> Pairs:
    """All pairs of points that differ in x and are wanted."""
    return [(i, j) for i, j in every_pair(x) if wanted(i, j)]


def sum_of_signs_variance(count: int, pairs: Pairs) -> float:
    """Variance of Kendall's S over these pairs when there is no trend and no two values are alike.

    Two pairs that share their earlier or their later point go together (covariance 1/3), a pair that ends where
    another begins goes against it (-1/3). For all pairs of n points this is n(n-1)(2n+5)/18 (Kendall 1938).
    """
    starts, ends = [0] * count, [0] * count
    for i, j in pairs:
        starts[i] += 1
        ends[j] += 1
    shared = math.fsum(
        (s * (s - 1) / 2.0 + e * (e - 1) / 2.0 - s * e) * 2.0 / 3.0 for s, e in zip(starts, ends, strict=True)
    )
    return len(pairs) + shared


def _ties(values: Sequence[float]) -> float:
    """What equal values take off the variance of S over all pairs (Sen 1968)."""
    return math.fsum(k * (k - 1) * (2 * k + 5) / 18.0 for k in Counter(values).values())


def slope(x: Sequence[float], y: Sequence[float], pairs: Pairs | None = None, confidence: float = 0.95) -> Slope | None:
    """The slope of y on x by all pairs, or by these; None where there is no pair.

    The interval takes the slopes whose ranks lie z standard deviations of S from the middle; where these run out,
    the outermost slopes. Source: Sen 1968, for parts of the pairs after Hirsch, Slack and Smith 1982.
    """
    chosen = every_pair(x) if pairs is None else pairs
    if not chosen:
        return None
    variance = sum_of_signs_variance(len(x), chosen)
    if pairs is None:
        variance -= _ties(y)
    slopes = sorted((y[j] - y[i]) / (x[j] - x[i]) for i, j in chosen)
    sigma, count = math.sqrt(max(variance, 0.0)), len(slopes)
    away = z_of(confidence) * sigma
    low = slopes[max(min(round((count - away) / 2.0) - 1, count - 1), 0)]
    high = slopes[min(round((count + away) / 2.0), count - 1)]
    falling, rising = bisect_left(slopes, 0.0), count - bisect_left(slopes, math.nextafter(0.0, 1.0))
    score = rising - falling
    chance = math.erfc(abs(score) / sigma / math.sqrt(2.0)) if sigma else 1.0
    return Slope(median(slopes), low, high, count, score / count, chance)


def polish(table: Sequence[Sequence[float | None]], sweeps: int = 4) -> tuple[list[float], list[float]]:
    """What each row and each column of a table with gaps adds: medians swept out by turns (Tukey 1977).

    The column effects are scaled to have the median 0; a row or column without values has the effect 0.
    """
    rows, columns = [0.0] * len(table), [0.0] * (len(table[0]) if table else 0)
    for _ in range(sweeps):
        for r, cells in enumerate(table):
            rest = [v - columns[c] for c, v in enumerate(cells) if v is not None]
            rows[r] = median(rest) if rest else 0.0
        for c in range(len(columns)):
            rest = [v - rows[r] for r, cells in enumerate(table) if (v := cells[c]) is not None]
            columns[c] = median(rest) if rest else 0.0
        middle = median(columns) if columns else 0.0
        columns = [c - middle for c in columns]
    rows = [
        median([v - columns[c] for c, v in enumerate(cells) if v is not None] or [rows[r]])
        for r, cells in enumerate(table)
    ]
    return rows, columns

"""Exact tests of counts, and their correction for many looks. Plain arithmetic; knows nothing of railways.

Every tail is the chance of at least so many, summed term by term (no normal approximation). `odds` and `ratio` make a
test ask for more than an ordinary difference: with `odds=3` a place counts as healthy while what happens there is up
to three times as likely as elsewhere, and the chance given is the largest under any such healthy place.

Sources: the binomial, Poisson and hypergeometric distributions as in any textbook; the non-central hypergeometric
distribution of Fisher (1935); Hoeffding (1956) for trials of unequal chance; Holm (1979); Benjamini and Hochberg
(1995). All but Hoeffding's bound are held against scipy in the tests.
"""

import bisect
import math
from collections.abc import Callable, Sequence

_SMALL = 1e-18


def _climb(first: float, step: Callable[[int], float], start: int, stop: int, way: int) -> float:
    """The sum of terms that shrink away from `start`, by their ratio; what no longer counts is left out."""
    total, term, at = first, first, start
    while at != stop:
        term *= step(at)
        at += way
        total += term
        if term <= total * _SMALL:
            break
    return total


def _tail(
    k: int, low: int, high: int, peak: float, log_at: Callable[[int], float], up: Callable[[int], float]
) -> float:
    """The chance of at least k, for a distribution on low..high whose terms fall on both sides of its peak."""
    if k <= low:
        return 1.0
    if k > high:
        return 0.0
    if k >= peak:
        return min(1.0, _climb(math.exp(log_at(k)), up, k, high, 1))
    below = _climb(math.exp(log_at(k - 1)), lambda i: 1.0 / up(i - 1), k - 1, low, -1)
    return min(1.0, max(0.0, 1.0 - below))


def _log_choose(n: int, k: int) -> float:
    return math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)


def binomial_tail(k: int, n: int, p: float) -> float:
    """The chance of at least k among n trials of chance p each.

    >>> round(binomial_tail(9, 10, 0.5), 6)
    0.010742
    """
    if p <= 0.0:
        return 1.0 if k <= 0 else 0.0
    if p >= 1.0:
        return 1.0 if k <= n else 0.0
    odds = p / (1.0 - p)
    return _tail(
        k,
        0,
        n,
        (n + 1) * p,
        lambda i: _log_choose(n, i) + i * math.log(p) + (n - i) * math.log1p(-p),
        lambda i: (n - i) / (i + 1) * odds,
    )


def unequal_tail(k: int, chances: Sequence[float]) -> float:
    """A bound on the chance of at least k among trials of unequal chance.

    By Hoeffding it is at most that of as many trials of the mean chance, once k is at least one above the mean number;
    below that nothing is claimed and 1 is returned.
    """
    n, mean = len(chances), math.fsum(chances)
    if k < mean + 1.0:
        return 1.0
    return binomial_tail(k, n, mean / n)


def poisson_tail(k: int, mean: float) -> float:
    """The chance of at least k where `mean` are expected.

    >>> round(poisson_tail(3, 0.5), 6)
    0.014388
    """
    if mean <= 0.0:
        return 1.0 if k <= 0 else 0.0
    return _tail(k, 0, 10**9, mean, lambda i: i * math.log(mean) - mean - math.lgamma(i + 1), lambda i: mean / (i + 1))


def drawn_tail(k: int, total: int, marked: int, drawn: int, odds: float = 1.0) -> float:
    """The chance of at least k marked among `drawn` out of `total`, of which `marked` are; hypergeometric.

    With `odds` other than 1 the drawn are that much more likely to be marked (Fisher's non-central distribution).

    >>> round(drawn_tail(3, 100, 5, 10), 6)
    0.006638
    """
    low, high = max(0, drawn + marked - total), min(drawn, marked)
    if k <= low:
        return 1.0
    if k > high:
        return 0.0

    def log_at(i: int) -> float:
        return _log_choose(drawn, i) + _log_choose(total - drawn, marked - i) + i * math.log(odds)

    def up(i: int) -> float:
        return (drawn - i) * (marked - i) * odds / ((i + 1) * (total - drawn - marked + i + 1))

    peak = bisect.bisect_left(range(low, high), True, key=lambda i: up(i) <= 1.0) + low
    both = _climb(1.0, up, peak, high, 1) + _climb(1.0, lambda i: 1.0 / up(i - 1), peak, low, -1) - 1.0
    if k > peak:
        return min(1.0, math.exp(log_at(k) - log_at(peak)) * _climb(1.0, up, k, high, 1) / both)
    below = math.exp(log_at(k - 1) - log_at(peak)) * _climb(1.0, lambda i: 1.0 / up(i - 1), k - 1, low, -1)
    return min(1.0, max(0.0, 1.0 - below / both))


def share_tail(k: int, total: int, own: float, rest: float, ratio: float = 1.0) -> float:
    """The chance that at least k of `total` happenings fall on a place of exposure `own` beside the `rest`.

    Given the total, happenings at constant rates fall on places binomially by exposure. `ratio` is how many times the
    others' rate the place may have and still count as ordinary.
    """
    weight = ratio * own
    if weight <= 0.0:
        return 1.0 if k <= 0 else 0.0
    return binomial_tail(k, total, weight / (weight + rest)) if rest > 0.0 else 1.0


def both_sides(upper: float, lower: float) -> float:
    """A chance that counts both directions, from the two tails: twice the smaller one."""
    return min(1.0, 2.0 * min(upper, lower))


def holm(chances: Sequence[float], looks: int | None = None) -> list[float]:
    """Chances corrected by Holm: calling all up to a keeps the chance of any false call at a or below.

    `looks` is how many were looked at in all, when those not listed came out at 1. Needs no independence.

    >>> [round(p, 3) for p in holm([0.01, 0.04, 0.03])]
    [0.03, 0.06, 0.06]
    """
    many, order = looks or len(chances), sorted(range(len(chances)), key=lambda i: chances[i])
    corrected, before = [1.0] * len(chances), 0.0
    for rank, i in enumerate(order):
        before = max(before, min(1.0, (many - rank) * chances[i]))
        corrected[i] = before
    return corrected


def benjamini_hochberg(chances: Sequence[float], looks: int | None = None) -> list[float]:
    """Chances corrected by Benjamini and Hochberg: of those called up to q, on average at most the share q is false.

    Holds where looks are independent or lean the same way.

    >>> [round(p, 3) for p in benjamini_hochberg([0.01, 0.04, 0.03])]
    [0.03, 0.04, 0.04]
    """
    many, order = looks or len(chances), sorted(range(len(chances)), key=lambda i: chances[i], reverse=True)
    corrected, after = [1.0] * len(chances), 1.0
    for place, i in enumerate(order):
        after = min(after, chances[i] * many / (len(chances) - place))
        corrected[i] = after
    return corrected

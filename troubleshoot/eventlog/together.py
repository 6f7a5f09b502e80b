"""Whether things happen together more often than chance allows: two flickers at once, one thing right after another.

The test asks only about fractions of a second. Time is cut into cells of a few seconds; under chance a flicker may
sit anywhere within its own cell, and whether it then meets a trigger is a matter of how much of that cell the triggers'
windows cover. So busy and quiet minutes, trains that come and go, and all that happens slowly cancel out, and the
number of meetings has an exact bound (trials of unequal chance, Hoeffding).

What could bring flickers together on a healthy railway at that scale (a bounce as a train enters, just as another
leaves) is kept out by counting only the first change of a flicker. The benchmark measures what is left.
"""

import bisect
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from troubleshoot.eventlog.chance import unequal_tail

AT_ONCE = 0.1
"""Seconds within which two detectors report one moment: a round of the reporting bus (estimate)."""
AFTER_THROW = 0.4
"""Seconds after a command in which a coil's surge shows: pulse and reporting time (estimate)."""
CELLS = 20
"""A cell is as long as this many windows."""


@dataclass(frozen=True)
class Meeting:
    """How often effects met triggers: `count` of `of`, `expected` by chance, its chance, when, and the middle lag."""

    count: int
    of: int
    expected: float
    chance: float
    times: tuple[float, ...]
    lag: float


def covered(triggers: Sequence[float], before: float, after: float, cell: float) -> dict[int, float]:
    """For each cell the share of it that lies within the windows of triggers."""
    shares: dict[int, float] = {}
    reach = -1e300
    for when in triggers:
        start, end = max(when - before, reach), when + after
        reach = max(reach, end)
        while start < end:
            number = int(start // cell)
            stop = min(end, (number + 1) * cell)
            if stop <= start:
                break
            shares[number] = shares.get(number, 0.0) + (stop - start) / cell
            start = stop
    return shares


def meet(
    triggers: Sequence[float], effects: Sequence[float], before: float, after: float, cell: float | None = None
) -> Meeting:
    """How often effects fall from `before` seconds before to `after` seconds after a trigger; both in order of time."""
    length = cell or CELLS * (before + after)
    shares = covered(triggers, before, after, length)
    times, lags = [], []
    for when in effects:
        at = bisect.bisect_right(triggers, when + before) - 1
        if at >= 0 and when - triggers[at] <= after:
            times.append(when)
            lags.append(when - triggers[at])
    chances = [min(1.0, shares.get(int(when // length), 0.0)) for when in effects]
    tail = unequal_tail(len(times), chances) if chances else 1.0
    return Meeting(len(times), len(effects), sum(chances), tail, tuple(times), middle(lags))


def middle(values: Iterable[float]) -> float:
    """The middle one of some values; 0 for none."""
    row = sorted(values)
    return row[len(row) // 2] if row else 0.0


def coincidences(moments: Mapping[str, Sequence[float]], within: float) -> Counter[tuple[str, str]]:
    """How often each pair of names has moments within so many seconds; pairs in order of name."""
    row = sorted((when, name) for name, times in moments.items() for when in times)
    pairs: Counter[tuple[str, str]] = Counter()
    for i, (when, name) in enumerate(row):
        for later, other in row[i + 1 :]:
            if later - when > within:
                break
            if other != name:
                pairs[min(name, other), max(name, other)] += 1
    return pairs


def follow_counts(
    triggers: Mapping[str, Sequence[float]], effects: Mapping[str, Sequence[float]], before: float, after: float
) -> Counter[tuple[str, str]]:
    """How many effects of each name fall into the window of each trigger; (trigger, effect) to count."""
    row = sorted((when, name) for name, times in effects.items() for when in times)
    moments = [when for when, _ in row]
    counts: Counter[tuple[str, str]] = Counter()
    for trigger, times in triggers.items():
        met: set[int] = set()
        for when in times:
            first, last = bisect.bisect_left(moments, when - before), bisect.bisect_right(moments, when + after)
            met.update(range(first, last))
        for i in met:
            counts[trigger, row[i][1]] += 1
    return counts


def thinned(moments: Iterable[float], apart: float) -> list[float]:
    """Moments in order, without those that follow one that was kept by less than so many seconds."""
    kept: list[float] = []
    for when in sorted(moments):
        if not kept or when - kept[-1] >= apart:
            kept.append(when)
    return kept

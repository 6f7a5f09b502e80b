"""One reading judged twice: by the limits of its check at that place, and by its own past.

Rules: the limits come first; a reading beyond them is told as such whatever its past. The past is what was read of
the same check at the same place on earlier days, season, climate and meter taken out (`weather`); its middle is the
median, its spread the median absolute deviation, never less than the meter's own error. A reading is unlike its past
beyond UNLIKE spreads (Iglewicz and Hoaglin 1993 for the modified z-score). The first readings of another meter
are not compared with those of the last, unless others read in the same days show the step. Where most places read
that day moved the same way, that is said: then it is the meter or the weather, not the place.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache

from troubleshoot.inquiry import weigh
from troubleshoot.rounds.history import History, Taken, of
from troubleshoot.rounds.ranks import median, spread
from troubleshoot.rounds.series import Series, all_series, frame
from troubleshoot.rounds.weather import SEASON, Cleaned, cleaned, season_apart

LEAST_PAST = 5
"""A median deviation of fewer readings says next to nothing: one of four beyond its limit is common (simulated)."""
UNLIKE = 3.5
"""Modified z-score beyond which a value is taken as an outlier. Source: Iglewicz and Hoaglin 1993."""
_UNLIKE_AFTER = ((5, 13.6), (6, 7.4), (8, 5.6), (10, 4.7), (12, 4.2), (15, 3.9), (20, UNLIKE))
"""The same for a past of few readings, so that one of 100 good readings is beyond it. Source: 200 000 simulated draws
each from the normal law; a median deviation of few values is often far too small."""
LEAST_SHIFT = 8
"""A shift is told only from a past of so many readings (estimate)."""
_ALIKE, _MOST = 4, 0.7

FIRST, NEW_METER, AS_BEFORE, UNLIKE_BEFORE, BEYOND = "first", "new-meter", "as-before", "unlike-before", "beyond-limit"


@dataclass(frozen=True)
class Judged:
    """What a reading is worth: its band and whether a healthy part reads so, and how it stands to its past.

    `low` to `high` is the range of its past in SI, None where there is too little; `z` how many spreads it lies from
    the middle; `worse` whether it moved away from sound; `past` how many readings were compared with.
    """

    taken: Taken
    state: str
    band: str
    healthy: bool
    past: int
    low: float | None = None
    high: float | None = None
    z: float | None = None
    worse: bool = False
    moved_together: tuple[int, int] | None = None


def judge(history: History, taken: Taken) -> Judged:
    """Judge one reading of a history by the limits and by what was read before it."""
    plain = frame(history.layout, history.rulebook, taken.check, taken.place)
    shares = weigh(history.layout, plain.check, plain.place, taken.reading)
    band = max(range(len(shares)), key=lambda i: shares[i])
    healthy = band in plain.sound
    clean, at = _as_then(history, taken)
    past = comparable(clean, at) if at is not None else []
    plainly = Judged(taken, AS_BEFORE if healthy else BEYOND, plain.check.bands[band].outcome, healthy, len(past))
    if at is None or len(past) < LEAST_PAST:
        return replace(plainly, state=_without_past(history, taken)) if healthy else plainly
    z, centre, width = stands(clean, at)
    offset, most = clean.points[at].y - clean.y[at], unlike_after(len(past))
    low, high = (plain.back(centre + offset + side * most * width) for side in (-1.0, 1.0))
    judged = replace(plainly, low=low, high=high, z=z, worse=worse(plain, z))
    if abs(z) <= most:
        return judged
    return replace(judged, state=UNLIKE_BEFORE if healthy else BEYOND, moved_together=_together(history, taken, z))


def unlike_after(count: int) -> float:
    """How many spreads a reading may lie from a past of so many readings before it is unlike them."""
    return [most for least, most in _UNLIKE_AFTER if least <= max(count, LEAST_PAST)][-1]


def stands(clean: Cleaned, at: int, before: int | None = None) -> tuple[float, float, float]:
    """How many spreads a reading lies from its past, with the past's middle and spread on the scale.

    `before` counts only readings before that position as its past.
    """
    past = comparable(clean, at, before)
    centre = median(past)
    width = max(spread(past), clean.series.error) * math.sqrt(1.0 + 1.0 / len(past))
    return (clean.y[at] - centre) / width, centre, width


def shifted(clean: Cleaned) -> int:
    """How many readings at the end are all unlike what was read before the first of them, the worse way."""
    count, end = 0, len(clean.points)
    for first in range(end - 1, LEAST_SHIFT - 1, -1):
        pasts = [len(comparable(clean, at, first)) for at in range(first, end)]
        if min(pasts) < LEAST_SHIFT:
            break
        ways = [stands(clean, at, first)[0] for at in range(first, end)]
        unlike = all(abs(z) > unlike_after(n) and z * ways[0] > 0.0 for z, n in zip(ways, pasts, strict=True))
        if not unlike or not worse(clean.series, ways[0]):
            break
        count = end - first
    return count


def worse(series: Series, way: float) -> bool:
    """Whether a move up or down leads away from what a healthy part reads."""
    least, most = min(series.sound), max(series.sound)
    return (way < 0.0 and least > 0) or (way > 0.0 and most < len(series.check.bands) - 1)


def _without_past(history: History, taken: Taken) -> str:
    """Why a reading cannot be held against its past: there is too little, or it has another meter."""
    earlier = history.without(taken).by_series.get((taken.check, taken.place), ())
    others = [t for t in earlier if (t.meter or "") != (taken.meter or "")]
    return NEW_METER if len(others) >= LEAST_PAST else FIRST


def _as_then(history: History, taken: Taken) -> tuple[Cleaned, int | None]:
    """The series of a reading as it stood on its day, freed of what is no fault, and where in it the reading is."""
    clean = _cleaned_on(history, taken.check, taken.day)[taken.check, taken.place]
    return clean, next((i for i, p in enumerate(clean.points) if p.taken is taken), None)


@lru_cache(maxsize=256)
def _cleaned_on(history: History, check: str, day: date) -> Mapping[tuple[str, str], Cleaned]:
    """The series of a check as they stood on a day. Histories never change, so this is kept."""
    unit = history.rulebook.checks[check].unit
    # Other checks in the same unit show the step between two meters.
    until = [t for t in history.taken if t.day <= day and history.rulebook.checks[t.check].unit == unit]
    return cleaned(all_series(of(history.layout, history.rulebook, until)))


def comparable(clean: Cleaned, at: int, before: int | None = None) -> list[float]:
    """What was read before a reading and may be compared: all where the rounds show the season, else one meter, one
    season."""
    own, limit = clean.points[at], at if before is None else before
    if clean.how == "peers":
        return list(clean.y[:limit])
    same_meter = [i for i in range(limit) if clean.points[i].meter == own.meter]
    in_season = [i for i in same_meter if season_apart(clean.points[i].x, own.x) <= SEASON]
    return [clean.y[i] for i in (in_season if len(in_season) >= LEAST_PAST else same_meter)]


def _together(history: History, taken: Taken, z: float) -> tuple[int, int] | None:
    """How many other places read the same day moved the same way, of how many; None unless most of several did."""
    moved = []
    for (check, place), readings in history.by_series.items():
        same_day = [t for t in readings if t.day == taken.day]
        if check == taken.check and place != taken.place and same_day:
            clean, at = _as_then(history, same_day[-1])
            if at is not None and len(comparable(clean, at)) >= LEAST_PAST:
                moved.append(stands(clean, at)[0])
    same = sum(1 for m in moved if m * z > 0.0 and abs(m) > 1.0)
    return (same, len(moved)) if len(moved) >= _ALIKE and same >= _MOST * len(moved) else None

"""When a limit will be reached: the line drawn on, season and present meter taken in, and the first day beyond a limit.

Rules: a line is trusted no further ahead than it has been seen behind, and at least LEAST_SIGHT days. The line goes
through the readings of the same season; the interval of the date is that of the slope, and for a place by itself also
that of the height at which the line stands, known from a few readings only. An end that never arrives is None. Only
limits that lead away from sound count. How steep the line is comes from `running`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from troubleshoot.rounds.ranks import median
from troubleshoot.rounds.series import YEAR, Series, day
from troubleshoot.rounds.weather import SEASON, Cleaned, Column, season_apart

LEAST_SIGHT = 180.0
"""Days that a line is drawn on however short the past (estimate)."""
LINE_POINTS = 13
_STEP = 7.0
_ENOUGH = 3
"""Fewer readings of one season than these say nothing of their scatter."""


@dataclass(frozen=True)
class Reach:
    """A limit ahead: the band behind it, its value in SI, and the dates at which it comes, None where out of sight."""

    outcome: str
    limit: float
    early: date | None
    likely: date | None
    late: date | None


class Rise(NamedTuple):
    """Rises a year on the scale: of the place by itself, and of all places of the check together."""

    own: float
    shared: float


class Path:
    """Where a series will stand on a day if it goes on with a slope, season and present meter taken in.

    Beside others, the line goes through the readings since it runs. By itself it goes through the readings of the same
    season in any year, each brought to the day by what the reading has run since then.
    """

    def __init__(self, clean: Cleaned, begun: int, since: float | None) -> None:
        self.peers, self.since = clean.how == "peers", since
        first = begun if self.peers else 0
        self.x, self.y = clean.x[first:], clean.y[first:]
        meter = clean.series.points[-1].meter
        # A line of the present meter only: what another meter showed stands a step away.
        own = [] if self.peers else [i for i, p in enumerate(clean.points) if p.meter == meter]
        self.own = own or range(len(self.x))
        self.columns = _as_read_with(meter, clean.columns)

    def _run(self, x: float) -> float:
        """Days for which it had been running on a day."""
        return x if self.peers or self.since is None else max(0.0, x - self.since)

    def doubt(self, when: float, rise: Rise) -> float:
        """How far off the height of the line may be (95 in 100), by the scatter of the readings of that season.

        Nothing beside others, whose rounds fix the height. The error of a median of normal values is 1.2533 times that
        of their mean, their deviation 1.4826 times their median distance from it (handbooks of robust statistics).
        """
        if self.peers:
            return 0.0
        line = self._line(when, rise)
        same = [v for x, v in line if season_apart(when, x) <= SEASON]
        values = same if len(same) >= _ENOUGH else [v for _, v in line]
        middle = median(values)
        deviation = 1.4826 * median([abs(v - middle) for v in values])
        return 1.96 * 1.2533 * deviation / math.sqrt(len(values))

    def _line(self, when: float, rise: Rise) -> list[tuple[float, float]]:
        """Every reading by its day, brought to a day by what it runs until then."""
        run = self._run(when)
        return [(self.x[i], self.y[i] + rise.own / YEAR * (run - self._run(self.x[i]))) for i in self.own]

    def at(self, when: float, rise: Rise) -> float:
        """The value on the scale on a day."""
        line = self._line(when, rise)
        if not self.peers:
            return _in_season(when, line)
        shared = [(c.x, c.effect + rise.shared / YEAR * (when - c.x)) for c in self.columns]
        return median(v for _, v in line) + _in_season(when, shared)


def _as_read_with(meter: str, columns: Sequence[Column]) -> list[Column]:
    """What all places share in each round, as the present meter would have shown it.

    The step from another meter is that between rounds of one season; rounds with a meter that cannot be set beside
    the present one are left out.
    """
    own, shown = [c for c in columns if c.meter == meter], list[Column]()
    for other in sorted({c.meter for c in columns}):
        theirs = [c for c in columns if c.meter == other]
        steps = [a.effect - b.effect for a in own for b in theirs if season_apart(a.x, b.x) <= SEASON]
        step = 0.0 if other == meter or not own else median(steps) if steps else None
        shown += [] if step is None else [c._replace(effect=c.effect + step) for c in theirs]
    return shown


def _in_season(when: float, values: Sequence[tuple[float, float]]) -> float:
    """The median of the values of the same season as a day, or of all where there are none."""
    same = [v for x, v in values if season_apart(when, x) <= SEASON]
    return median(same) if same else median([v for _, v in values] or [0.0])


def ways(series: Series, now: float, rise: float) -> list[tuple[float, str]]:
    """The limits ahead that lead away from sound, nearest first, each with the band behind it."""
    band, bands = series.band(now), series.check.bands
    if rise < 0.0 and band <= max(series.sound):
        return [(series.edges[i], bands[i].outcome) for i in range(band - 1, -1, -1) if i < max(series.sound)]
    if rise > 0.0 and band >= min(series.sound):
        return [(e, bands[i + 1].outcome) for i, e in enumerate(series.edges) if i >= max(band, min(series.sound))]
    return []


def reaches_of(
    series: Series, path: Path, rises: Sequence[Rise], now: float, today: date, sight: float
) -> tuple[Reach, ...]:
    """The limits that come into sight, nearest first; `rises` are the likely one and the ends of its interval."""
    begin = max(float(today.toordinal()), series.points[-1].x)
    made = []
    falling = sum(rises[0]) < 0.0
    for limit, outcome in ways(series, now, sum(rises[0])):
        steep = min(rises, key=sum) if falling else max(rises, key=sum)
        flat = max(rises, key=sum) if falling else min(rises, key=sum)
        dates = [_when(path, limit, rises[0], begin, sight, falling)]
        dates += [_when(path, limit, rise, begin, sight, falling, sign) for rise, sign in ((steep, 1.0), (flat, -1.0))]
        ordered = sorted(d if d is not None else math.inf for d in dates)
        early, late = (None if math.isinf(d) else day(d) for d in (ordered[0], ordered[-1]))
        likely = dates[0]
        if early is not None:
            made.append(Reach(outcome, series.back(limit), early, None if likely is None else day(likely), late))
    return tuple(made)


def _when(
    path: Path, limit: float, rise: Rise, begin: float, sight: float, falling: bool, sooner: float = 0.0
) -> float | None:
    """The first day, by weeks, on which a path stands beyond a limit, within sight; else None.

    `sooner` moves the line by so many times its doubt towards the limit.
    """
    x = begin
    while x <= begin + sight:
        away = sooner * path.doubt(x, rise) if sooner else 0.0
        y = path.at(x, rise) + (-away if falling else away)
        if y <= limit if falling else y > limit:
            return x
        x += _STEP
    return None


def line_of(
    clean: Cleaned, path: Path, rise: Rise, reaches: Sequence[Reach], today: date
) -> tuple[tuple[date, float], ...]:
    """The fitted line from where it begins to the first limit, or to today, at LINE_POINTS days."""
    ends = [r.likely for r in reaches if r.likely is not None]
    first, last = path.x[0], float((ends[0] if ends else today).toordinal())
    days = [first + (last - first) * i / (LINE_POINTS - 1) for i in range(LINE_POINTS)] if last > first else []
    return tuple((day(x), clean.series.back(path.at(x, rise))) for x in days)

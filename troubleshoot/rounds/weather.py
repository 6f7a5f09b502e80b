"""What moves readings that is no fault: the season, the weather of the day, another meter.

Rules, the first that can be used: where five places or more were read by the same check in the same days with the
same meter, what they share is taken out (medians swept out by turns, Tukey 1977): damp, heat and a change of meter
move all alike, a fault moves one. Else, if temperature or humidity were noted often enough and go with the reading
beyond chance, that much is taken out. Else readings are compared with the same season of another year only. Else
there is less than a year, or too many gaps, and a season cannot be told from a trend: then it is said. Readings of two
meters are compared only where others show the step between them, or where both were read side by side at a few
places. How steep the rest runs is left to `running`.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from troubleshoot.rounds.ranks import Pairs, every_pair, median, pairs_of, polish, slope
from troubleshoot.rounds.series import YEAR, Point, Series

PEERS = 5
"""So many places show what all share: the median of five stays good with two bad ones (estimate)."""
SAME_DAYS = 3.0
"""Days within which a round is taken, so that its weather is one (estimate)."""
SEASON = 45.0
"""Days by which two readings may differ from whole years and still be of one season (estimate: an eighth of a year)."""
LEAST_PAIRS = 5
"""Fewer pairs of one season say nothing (even if all agree, chance does it in 6 of 100)."""
LEAST_CLIMATE = 10
"""So many readings with humidity or temperature beside them are needed before their effect is taken out (estimate)."""
SIDE_BY_SIDE = 3
"""So many readings with both meters in the same days give the step between them (estimate)."""
_NEAR_IN_TIME = 120.0
_APART: Mapping[str, float] = {"humidity": 5.0, "temperature": 3.0}


class Column(NamedTuple):
    """One round of one check with one meter: its day, its meter, and what all its readings share."""

    x: float
    meter: str
    effect: float


@dataclass(frozen=True)
class Cleaned:
    """A series with what is no fault taken out.

    `how` is peers, season, humidity, temperature, years or young (nothing could be done). `pairs` are those that may
    be compared; `columns` the rounds whose shared part was taken out, `climate` the change for one degree or one per
    cent.
    """

    series: Series
    points: tuple[Point, ...]
    y: tuple[float, ...]
    pairs: Pairs
    how: str
    columns: tuple[Column, ...] = ()
    climate: float = 0.0

    @property
    def x(self) -> tuple[float, ...]:
        """The days."""
        return tuple(p.x for p in self.points)

    @property
    def season_known(self) -> bool:
        """Whether a season can be told from a trend."""
        return self.how != "young"


def one_season(a: float, b: float) -> bool:
    """Whether two days lie a whole number of years apart, one at least, within SEASON days."""
    years = round(abs(a - b) / YEAR)
    return years >= 1 and abs(abs(a - b) - years * YEAR) <= SEASON


def season_apart(a: float, b: float) -> float:
    """Days between the places of two days in the year."""
    apart = abs(a - b) % YEAR
    return min(apart, YEAR - apart)


def cleaned(every: Mapping[tuple[str, str], Series]) -> Mapping[tuple[str, str], Cleaned]:
    """Every series with what is no fault taken out, each in the best way open to it."""
    by_check: dict[str, list[Series]] = {}
    for (check, _), series in as_one_meter(every).items():
        by_check.setdefault(check, []).append(series)
    made: dict[tuple[str, str], Cleaned] = {}
    for group in by_check.values():
        shared = _peers(group)
        for series in group:
            made[series.key] = shared.get(series.key) or alone(series)
    return made


def as_one_meter(every: Mapping[tuple[str, str], Series]) -> Mapping[tuple[str, str], Series]:
    """The series with the step between meters taken out, where two were read side by side often enough."""
    steps = {unit: _steps([s for s in every.values() if s.check.unit == unit]) for unit in _units(every.values())}
    made = {}
    for key, series in every.items():
        known = steps[series.check.unit or ""]
        points = tuple(replace(p, y=p.y + known[p.meter][0], meter=known[p.meter][1]) for p in series.points)
        made[key] = replace(series, points=points)
    return made


def _units(every: Iterable[Series]) -> list[str]:
    return sorted({s.check.unit or "" for s in every})


def _steps(group: Sequence[Series]) -> Mapping[str, tuple[float, str]]:
    """For each meter what has to be added to its readings, and as the readings of which meter they then count."""
    apart: dict[tuple[str, str], list[float]] = {}
    latest: dict[str, float] = {}
    for one in group:
        for i, p in enumerate(one.points):
            latest[p.meter] = max(latest.get(p.meter, p.x), p.x)
            for q in one.points[i + 1 :]:
                if q.x - p.x <= SAME_DAYS and q.meter != p.meter:
                    apart.setdefault((p.meter, q.meter), []).append(q.y - p.y)
                    apart.setdefault((q.meter, p.meter), []).append(p.y - q.y)
    steps: dict[str, tuple[float, str]] = {}
    for head in sorted(latest, key=lambda m: (-latest[m], m)):
        waiting = [] if head in steps else [(head, 0.0)]
        while waiting:
            meter, step = waiting.pop(0)
            steps[meter] = (step, head)
            near = sorted((a, d) for (a, b), d in apart.items() if b == meter and a not in steps)
            waiting += [(a, step + median(d)) for a, d in near if len(d) >= SIDE_BY_SIDE]
    return steps


def _rounds(group: Sequence[Series]) -> list[tuple[float, str, dict[int, list[int]]]]:
    """Rounds of one check: first day, meter, and which points of which series belong to it."""
    seen = sorted((p.x, p.meter, s, i) for s, one in enumerate(group) for i, p in enumerate(one.points))
    rounds: list[tuple[float, str, dict[int, list[int]]]] = []
    for meter in sorted({m for _, m, _, _ in seen}):
        own: list[tuple[float, str, dict[int, list[int]]]] = []
        for x, _, s, i in (one for one in seen if one[1] == meter):
            if not own or x - own[-1][0] > SAME_DAYS:
                own.append((x, meter, {}))
            own[-1][2].setdefault(s, []).append(i)
        rounds += [r for r in own if len(r[2]) >= PEERS]
    return sorted(rounds, key=lambda r: (r[0], r[1]))


def _peers(group: Sequence[Series]) -> dict[tuple[str, str], Cleaned]:
    """The series of one check with what they share taken out, for those that were mostly read together."""
    rounds = _rounds(group)
    if len(group) < PEERS or len(rounds) < 2:
        return {}
    table = [
        [median(one.points[i].y for i in r[2][s]) if s in r[2] else None for r in rounds] for s, one in enumerate(group)
    ]
    _, effects = polish(table)
    columns = tuple(Column(x, meter, e) for (x, meter, _), e in zip(rounds, effects, strict=True))
    made = {}
    for s, one in enumerate(group):
        at = {i: c for c, r in enumerate(rounds) for i in r[2].get(s, ())}
        if 2 * len(at) > len(one.points):
            points = tuple(one.points[i] for i in sorted(at))
            y = tuple(one.points[i].y - effects[at[i]] for i in sorted(at))
            made[one.key] = Cleaned(one, points, y, every_pair([p.x for p in points]), "peers", columns)
    return made


def alone(series: Series) -> Cleaned:
    """A series with nothing beside it: compared by season, or freed of climate, or as it is."""
    points = series.points
    x, y = [p.x for p in points], tuple(p.y for p in points)
    one_meter = pairs_of(x, lambda i, j: points[i].meter == points[j].meter)
    seasonal = [(i, j) for i, j in one_meter if one_season(x[i], x[j])]
    for what in _APART:
        effect = _climate(points, what)
        if effect is not None:
            known = [getattr(p.taken, what) for p in points]
            middle = median(k for k in known if k is not None)
            free = tuple(v - effect * ((middle if k is None else k) - middle) for v, k in zip(y, known, strict=True))
            pairs = seasonal if len(seasonal) >= LEAST_PAIRS else one_meter
            return Cleaned(series, points, free, pairs, what, climate=effect)
    if len(seasonal) >= LEAST_PAIRS:
        return Cleaned(series, points, y, seasonal, "season")
    long = bool(x) and x[-1] - x[0] >= 3.0 * YEAR
    return Cleaned(series, points, y, one_meter, "years" if long else "young")


def _climate(points: Sequence[Point], what: str) -> float | None:
    """The change of a reading with humidity or temperature, where it is beyond chance; else None.

    Only readings taken within four months are compared, so that a trend has no hand in it, and 99 in 100 are asked.
    """
    known = [p for p in points if getattr(p.taken, what) is not None]
    if len(known) < LEAST_CLIMATE:
        return None
    c = [float(getattr(p.taken, what)) for p in known]
    pairs = pairs_of(
        c,
        lambda i, j: (
            abs(known[i].x - known[j].x) <= _NEAR_IN_TIME
            and abs(c[i] - c[j]) >= _APART[what]
            and known[i].meter == known[j].meter
        ),
    )
    found = slope(c, [p.y for p in known], pairs, 0.99)
    beyond_chance = found is not None and (found.low > 0.0 or found.high < 0.0) and found.chance < 0.01
    return found.value if found and beyond_chance else None


def together(columns: Sequence[Column]) -> tuple[float, float, float] | None:
    """How all places of a check move together, as slope a year with its interval; None where that cannot be told."""
    pairs = pairs_of(
        [c.x for c in columns],
        lambda i, j: columns[i].meter == columns[j].meter and one_season(columns[i].x, columns[j].x),
    )
    if len(pairs) < LEAST_PAIRS:
        return None
    found = slope([c.x / YEAR for c in columns], [c.effect for c in columns], pairs)
    if found is None or found.low <= 0.0 <= found.high or found.chance >= 0.01:
        return None
    return found.value, found.low, found.high

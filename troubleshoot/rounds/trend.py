"""Where a reading is going, how sure that is, and what to call it.

Rules: a trend needs LEAST_READINGS readings over LEAST_DAYS days; below that it is said that there is too little,
and why. The slope and its interval (95 in 100) come from pairs of readings with season, climate and meter taken out
(`weather`, `running`), the dates of limits from the line drawn on (`ahead`). A reading drifts when chance would bring
so much order in less than 1 of 100 and a limit comes within a year; where a season cannot be told from a trend it is
season or drift; where the last two readings are unlike all before them it has shifted, whatever its slope. What to do
about it is left to `due`.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from troubleshoot.layout import Place
from troubleshoot.rounds.ahead import LEAST_SIGHT, Path, Reach, Rise, line_of, reaches_of
from troubleshoot.rounds.history import History
from troubleshoot.rounds.judging import shifted, worse
from troubleshoot.rounds.ranks import Slope
from troubleshoot.rounds.running import CHANCE, LEAST_READINGS, running
from troubleshoot.rounds.series import Series, all_series, day
from troubleshoot.rounds.weather import Cleaned, Column, cleaned, together
from troubleshoot.rulebook import Check
from troubleshoot.rulebook.wording import counted

LEAST_DAYS = 60.0
"""Readings of a few weeks show the weather of these weeks (estimate)."""
CONFIRMED = 2
"""So many readings in a row, all unlike the earlier ones and the worse way, are no slip."""
HORIZON = 365.0
"""Days ahead within which a limit counts as coming."""

TOO_LITTLE, STEADY, MOVING, DRIFTING, PERHAPS = "too-little", "steady", "moving", "drifting", "season-or-drift"
SHIFTED = "shifted"
STATES = (TOO_LITTLE, STEADY, MOVING, PERHAPS, SHIFTED, DRIFTING)


@dataclass(frozen=True)
class Trend:
    """The trend of one check at one place.

    Slopes are per year: as a factor less one where the reading changes by factors (-0.5 halves it), else in SI. `now`
    is where the line stands today, in SI; `band` the band it is in, `healthy` whether that is a sound one. `since` is
    the day from which on it runs, None for all along; `shifted` how many readings at the end are all unlike the
    earlier ones, the worse way; `line` the fitted line to its first limit or to today, in SI; `how` what was taken
    out (see `weather.Cleaned`); `why` the reason when there is too little.
    """

    check: Check
    place: Place
    state: str
    count: int
    first: date
    last: date
    now: float
    band: str
    healthy: bool
    slope: float | None = None
    low: float | None = None
    high: float | None = None
    chance: float | None = None
    reaches: tuple[Reach, ...] = ()
    since: date | None = None
    shifted: int = 0
    line: tuple[tuple[date, float], ...] = ()
    how: str = ""
    why: str = ""
    remarks: tuple[str, ...] = ()

    @property
    def key(self) -> tuple[str, str]:
        """Names of the check and the place."""
        return self.check.name, self.place.name


def trends(history: History, today: date, confidence: float = 0.95) -> tuple[Trend, ...]:
    """The trend of every series of a history, as it stands today, by check and place."""
    every = all_series(history)
    clean = cleaned(every)
    drags: dict[tuple[Column, ...], tuple[float, float, float] | None] = {}
    made = []
    for key in every:
        columns = clean[key].columns
        if columns not in drags:
            drags[columns] = together(columns)
        made.append(trend_of(clean[key], today, drags[columns], confidence))
    return tuple(made)


def trend_of(
    clean: Cleaned, today: date, drag: tuple[float, float, float] | None = None, confidence: float = 0.95
) -> Trend:
    """The trend of one series; `drag` is the slope a year of all places together, with its interval."""
    series, why, run = clean.series, _too_little(clean), running(clean, confidence)
    last, remarks = series.points[-1], _remarks(clean, drag)
    if why or run is None:
        return replace(_standing(series, last.y), why=why, how=clean.how, remarks=remarks)
    path = Path(clean, run.begun, run.since)
    ends = zip((run.found.value, run.low, run.high), drag or (0.0, 0.0, 0.0), strict=True)
    rises = tuple(Rise(own, shared) for own, shared in ends)
    now = path.at(max(float(today.toordinal()), last.x), rises[0])
    sight = max(last.x - series.points[0].x, LEAST_SIGHT)
    clear = run.found.low > 0.0 or run.found.high < 0.0
    reaches = reaches_of(series, path, rises, now, today, sight) if clear else ()
    away = shifted(clean)
    shown = [_shown(series, sum(r)) for r in rises]
    return replace(
        _standing(series, now),
        state=_state(run.found, reaches, today, clean, now, away),
        slope=shown[0],
        low=min(shown),
        high=max(shown),
        chance=run.found.chance,
        reaches=reaches,
        since=None if run.since is None else day(run.since),
        shifted=away,
        line=line_of(clean, path, rises[0], reaches, today),
        how=clean.how,
        remarks=remarks,
    )


def _standing(series: Series, now: float) -> Trend:
    """What is known of a series without a slope."""
    band, points = series.band(now), series.points
    days = day(points[0].x), day(points[-1].x)
    name = series.check.bands[band].outcome
    healthy = band in series.sound
    return Trend(series.check, series.place, TOO_LITTLE, len(points), *days, series.back(now), name, healthy)


def _too_little(clean: Cleaned) -> str:
    """Why a series is too little to say anything; nothing where it is enough."""
    points = clean.points
    if len(points) < LEAST_READINGS:
        return (
            f"{len(points)} reading{'' if len(points) == 1 else 's'}; a trend needs {LEAST_READINGS}, for fewer stand "
            "in order by chance too often"
        )
    if points[-1].x - points[0].x < LEAST_DAYS:
        span = points[-1].x - points[0].x
        within = f"all within {counted(span, 'day')}"
        return f"{within}; a trend needs {LEAST_DAYS:.0f}, for less shows the weather of those days"
    if 2 * sum(1 for p in points if p.beyond > 0) > len(points) and points[-1].beyond > 0:
        return "mostly over range: sound, and the meter cannot tell more"
    if len(clean.pairs) < LEAST_READINGS:
        return "too few readings with one and the same meter to compare"
    return ""


def _state(found: Slope, reaches: Sequence[Reach], today: date, clean: Cleaned, now: float, away: int) -> str:
    series = clean.series
    by_chance = found.chance >= CHANCE or found.low <= 0.0 <= found.high
    coming = any(r.likely is not None and (r.likely - today).days <= HORIZON for r in reaches)
    beyond = series.band(now) not in series.sound and worse(series, found.value)
    outward = not by_chance and (coming or beyond)
    if outward and clean.season_known:
        return DRIFTING
    if away >= CONFIRMED:
        return SHIFTED
    return PERHAPS if outward else STEADY if by_chance else MOVING


def _shown(series: Series, rise: float) -> float:
    """A slope a year for people: a factor less one, or SI."""
    return math.expm1(rise) if series.logarithmic else rise


def _remarks(clean: Cleaned, drag: tuple[float, float, float] | None) -> tuple[str, ...]:
    told = []
    beyond = sum(1 for p in clean.series.points if p.beyond)
    meters = list(dict.fromkeys(p.meter for p in clean.series.points if p.meter))
    if len(meters) > 1:
        step = "the step is known from the other places" if clean.how == "peers" else "compared within each only"
        told.append(f"meter changed to {meters[-1]}: {step}")
    if beyond:
        told.append(f"{beyond} reading{'' if beyond == 1 else 's'} beyond what the meter shows, taken at its end")
    told.append(_HOW[clean.how])
    if drag is not None:
        told.append("all places together move too; that is in the dates")
    return tuple(t for t in told if t)


_HOW: Mapping[str, str] = {
    "peers": "season, weather and meter are taken out by what all places of this check share",
    "season": "compared with the same season of other years only",
    "humidity": "the effect of humidity is taken out",
    "temperature": "the effect of temperature is taken out",
    "years": "no two readings of one season; over so many years the season matters little",
    "young": "less than a year of readings: a season cannot be told from a trend",
}

"""A simulated club that measures its joints: two years of monthly rounds, a few joints failing, all else as life is.

Every figure is invented and stated here; none is taken from a layout. Each joint has a level of its own, the season
and the damp of the day move all of them, each to its own measure; some readings are missing, a summer has none, some
are wildly wrong, and in the second half another meter is used. A failing joint falls evenly on the logarithm from its
onset on, so that the true ohms, without season and noise, cross the limit on a day that is known.
"""

import math
import random
from dataclasses import dataclass
from datetime import date, timedelta

from troubleshoot.layout import Layout
from troubleshoot.quantities import Reading
from troubleshoot.rounds import History, Taken, Trend, of, trends
from troubleshoot.rulebook import Rulebook

CHECK = "core/joint-ohms"
LIMIT = 100e3
"""Where this check leaves sound, in ohm: a plain figure in the core pack."""
BEGIN = date(2024, 1, 10)


@dataclass(frozen=True)
class World:
    """How a simulated club measures; the figures of the benchmark unless others are given."""

    joints: int = 40
    failing: int = 3
    rounds: int = 24
    season: float = 0.4
    damp: float = 0.12
    noise: float = 0.15
    wild: float = 0.03
    missing: float = 0.10
    break_rounds: int = 2
    meter_step: float = 0.2
    climate: bool = False
    side_by_side: bool = False


@dataclass(frozen=True)
class Played:
    """What came of a world: all readings, the days of the rounds, and for each failing joint the day it crosses."""

    taken: tuple[Taken, ...]
    days: tuple[date, ...]
    crosses: dict[str, date]

    def history(self, layout: Layout, rulebook: Rulebook) -> History:
        """The readings as a history."""
        return of(layout, rulebook, self.taken)


def play(layout: Layout, seed: int, world: World = World()) -> Played:
    """Two years of rounds from a seed."""
    dice = random.Random(seed)
    names = [p.name for p in layout.places_of("joint")][: world.joints]
    levels = {n: math.log(dice.uniform(1e6, 12e6)) for n in names}
    measure = {n: dice.uniform(0.5, 1.5) for n in names}
    onset = {n: dice.uniform(60, 270) for n in dice.sample(names, world.failing)}
    ends = {n: dice.uniform(450, 800) for n in onset}
    phase, changed = dice.uniform(0.0, 365.25), dice.randrange(8, 17)
    step = dice.choice((-1.0, 1.0)) * world.meter_step
    pause = dice.randrange(4, 18)
    days = [30 * r + dice.randrange(-5, 6) for r in range(world.rounds)]
    taken = []
    for r, at in enumerate(days):
        swing = math.cos(2.0 * math.pi * (at - phase) / 365.25)
        shared = world.season * swing + dice.gauss(0.0, world.damp)
        for n in names:
            if dice.random() < world.missing or pause <= r < pause + world.break_rounds:
                continue
            y = levels[n] + measure[n] * shared + dice.gauss(0.0, world.noise)
            if n in onset:
                y += _fallen(at, levels[n], onset[n], ends[n])
            if dice.random() < world.wild:
                y += dice.choice((-1.0, 1.0)) * math.log(dice.uniform(3.0, 10.0))
            y += step if r >= changed else 0.0
            damp = round(60.0 - 15.0 * shared / max(world.season, 0.1)) if world.climate else None
            if r == changed and world.side_by_side:
                taken.append(_taken(n, at, math.exp(y - step + dice.gauss(0.0, 0.05)), "old meter", damp))
            meter = "new meter" if r >= changed and world.meter_step else "old meter"
            taken.append(_taken(n, at, math.exp(y), meter, damp))
    crosses = {n: BEGIN + timedelta(days=ends[n]) for n in onset}
    return Played(tuple(taken), tuple(BEGIN + timedelta(days=d) for d in days), crosses)


def _fallen(at: float, level: float, onset: float, end: float) -> float:
    """How far a failing joint has fallen: nothing before its onset, evenly after it, to the limit at its end."""
    return (math.log(LIMIT) - level) * max(0.0, at - onset) / (end - onset)


def _taken(place: str, at: int, ohms: float, meter: str, damp: float | None) -> Taken:
    shown = min(float(f"{ohms:.3g}"), 20e6)
    reading = Reading(math.inf if ohms > 20e6 else shown, "ohm", over_range=ohms > 20e6, said=f"{shown:.0f}")
    return Taken(CHECK, place, BEGIN + timedelta(days=at), reading, meter, humidity=damp)


@dataclass(frozen=True)
class Called:
    """What the tool said over two years: for each place called, the day and its trend then."""

    calls: dict[str, tuple[date, Trend]]
    played: Played

    @property
    def false(self) -> list[str]:
        """Sound places that were called."""
        return sorted(set(self.calls) - set(self.played.crosses))

    @property
    def missed(self) -> list[str]:
        """Failing places that were never called."""
        return sorted(set(self.played.crosses) - set(self.calls))

    @property
    def ahead(self) -> list[int]:
        """Days from each right call to the day on which the limit is really crossed; below 0 where it came too late."""
        return [(day - self.calls[n][0]).days for n, day in self.played.crosses.items() if n in self.calls]

    @property
    def dates(self) -> list[bool]:
        """For each right call before the limit that names its date, whether the true day lies between the ends."""
        told = []
        for name, day in self.played.crosses.items():
            called, trend = self.calls.get(name, (day, None))
            reaches = [r for r in trend.reaches if abs(r.limit - LIMIT) < 1.0] if trend and called < day else []
            if reaches:
                early, late = reaches[0].early, reaches[0].late
                told.append((early is None or early <= day) and (late is None or day <= late))
        return told


def watched(layout: Layout, rulebook: Rulebook, played: Played) -> Called:
    """After every round ask where all readings are going, as `round trends` does, and keep the first call of each."""
    calls: dict[str, tuple[date, Trend]] = {}
    history = played.history(layout, rulebook)
    for day in played.days[4:]:
        for trend in trends(history.until(day), day):
            if trend.state in ("drifting", "shifted") and trend.place.name not in calls:
                calls[trend.place.name] = (day, trend)
    return Called(calls, played)

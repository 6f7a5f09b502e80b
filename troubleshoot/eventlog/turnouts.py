"""Turnouts: what was commanded, what was confirmed and how late, and what was reported without a command.

A command asks for a report until the next command or half a minute later. One that asks for the position which the
turnout has already asks for none. Late is later than three times the middle one of turnouts with the same kind of
motor. A turnout that is never commanded in the log is worked by hand, and its reports prove nothing.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from troubleshoot.eventlog.log import UNSAID, Log, Track
from troubleshoot.eventlog.together import middle

LONGEST_WAIT = 30.0
"""Seconds after which a command counts as never confirmed (estimate: a slow motor takes four)."""
LEAST_WAIT = 6.0
"""Seconds that a turnout has before a next command makes its silence say nothing (estimate, as above)."""
LATE_TIMES, LATE_LEAST = 3.0, 0.5
"""So many times the middle, and at least so many seconds more than it (estimates)."""
BURST, BURST_SECONDS = 3, 3.0
"""So many reports within so many seconds of a command are a burst."""


@dataclass
class Turnout:
    """One turnout's part of a log; times are moments of commands, or of reports that came by themselves."""

    name: str
    asked: list[float] = field(default_factory=list)
    confirmed: list[tuple[float, float]] = field(default_factory=list)
    silent: list[float] = field(default_factory=list)
    silent_ways: set[int] = field(default_factory=set)
    confirmed_ways: set[int] = field(default_factory=set)
    bursts: list[float] = field(default_factory=list)
    alone: list[float] = field(default_factory=list)
    reports: int = 0

    @property
    def wait(self) -> float:
        """The middle time to a confirmation, in seconds."""
        return middle(lag for _, lag in self.confirmed)


def turnouts(log: Log) -> dict[str, Turnout]:
    """What each commanded turnout did."""
    ends = [end for _, end in log.runs]
    return {name: _one(name, track, log.reports.get(name, Track()), ends) for name, track in log.commands.items()}


def _one(name: str, commands: Track, reports: Track, ends: list[float]) -> Turnout:
    """Walk through commands and reports together; a report of the same moment comes after its command."""
    walk = _Walk(Turnout(name))
    for when, is_report, state in sorted([(t, 0, s) for t, s in commands] + [(t, 1, s) for t, s in reports]):
        if walk.waiting is not None and (not is_report or when - walk.waiting[0] > LONGEST_WAIT):
            walk.give_up(when)
        if is_report:
            walk.report(when, state)
        else:
            walk.command(when, state)
    if walk.waiting is not None and not any(0 <= end - walk.waiting[0] < LONGEST_WAIT for end in ends):
        walk.give_up(walk.waiting[0] + LONGEST_WAIT)
    return walk.told


@dataclass
class _Walk:
    """Where the walk through one turnout's rows stands; position -1 is not known."""

    told: Turnout
    position: int = -1
    waiting: tuple[float, int] | None = None
    commanded: float | None = None
    since: int = 0

    def command(self, when: float, way: int) -> None:
        self.commanded, self.since = when, 0
        self.waiting = (when, way) if way == UNSAID or way != self.position else None

    def give_up(self, when: float) -> None:
        """No report came. It counts if there was time for one, and if the turnout did not lie so already."""
        assert self.waiting is not None
        begun, way = self.waiting
        if when - begun >= LEAST_WAIT and (self.position >= 0 or way == UNSAID):
            self.told.asked.append(begun)
            self.told.silent.append(begun)
            self.told.silent_ways.add(way)
        # it was there, or has gone there unseen; called back too early it may be anywhere
        self.position = way if when - begun >= LEAST_WAIT and way != UNSAID else -1
        self.waiting = None

    def report(self, when: float, way: int) -> None:
        told, self.since = self.told, self.since + 1
        told.reports += 1
        fresh = self.commanded is not None and when - self.commanded <= BURST_SECONDS
        if fresh and self.since == BURST:
            told.bursts.append(when)
        if self.waiting is not None and (UNSAID in (way, self.waiting[1]) or way == self.waiting[1]):
            told.asked.append(self.waiting[0])
            told.confirmed.append((self.waiting[0], when - self.waiting[0]))
            told.confirmed_ways.add(self.waiting[1])
            self.waiting = None
        elif self.waiting is None and way != self.position and not fresh:
            told.alone.append(when)
        self.position = way if way != UNSAID else self.position


def late(told: Mapping[str, Turnout], motors: Mapping[str, str]) -> dict[str, list[tuple[float, float]]]:
    """For each turnout its late confirmations, as (moment of the command, seconds waited)."""
    kinds: dict[str, list[float]] = {}
    for name, one in told.items():
        # without a known motor a turnout is only held against itself
        kinds.setdefault(motors.get(name) or name, []).extend(lag for _, lag in one.confirmed)
    limits = {kind: max(LATE_TIMES * middle(lags), middle(lags) + LATE_LEAST) for kind, lags in kinds.items()}
    return {
        name: [(when, lag) for when, lag in one.confirmed if lag > limits[motors.get(name) or name]]
        for name, one in told.items()
    }


def kind_of_silence(one: Turnout) -> str:
    """Whether a turnout never reports, or one way only, or now and then not."""
    if not one.confirmed:
        return "never-confirmed"
    ways = {w for w in one.silent_ways | one.confirmed_ways if w != UNSAID}
    return "one-way" if len(ways) == 2 and not one.silent_ways & one.confirmed_ways else "unconfirmed"

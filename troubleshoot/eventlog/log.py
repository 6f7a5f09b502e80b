"""A log as the analysis sees it: for each thing the moments at which it changed, in seconds, oldest first.

Times are seconds since 1970 (UTC), since midnight of the first day (clock times), or since an unnamed start. What the
columns and words of a file mean is left to `columns` and `reading`; what follows from it to the tests.
"""

from __future__ import annotations

import bisect
from array import array
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

CLEAR, OCCUPIED = 0, 1
CLOSED, THROWN, UNSAID = 0, 1, 2
TRIP, RESTORE = 0, 1
"""States of a block, of a turnout (as commanded, as reported; position not said), and of power."""

SILENCE = 1800.0
"""Seconds without any row after which the layout is taken to have been at rest (estimate: a tea break is shorter)."""


@dataclass
class Track:
    """The changes of one thing: times in seconds and the state from then on, in the order of time."""

    times: array[float] = field(default_factory=lambda: array("d"))
    states: array[int] = field(default_factory=lambda: array("b"))

    def add(self, when: float, state: int) -> None:
        """One row of the log."""
        self.times.append(when)
        self.states.append(state)

    def sort(self) -> bool:
        """Put rows into the order of time; rows of the same moment stay as they came. Says whether any moved."""
        times = self.times
        if all(a <= b for a, b in pairwise(times)):
            return False
        order = sorted(range(len(times)), key=times.__getitem__)
        self.times = array("d", (times[i] for i in order))
        self.states = array("b", (self.states[i] for i in order))
        return True

    def __iter__(self) -> Iterator[tuple[float, int]]:
        return zip(self.times, self.states, strict=True)

    def __len__(self) -> int:
        return len(self.times)


@dataclass(frozen=True)
class Sighting:
    """A row that says where a train is."""

    when: float
    train: str
    block: str


@dataclass(frozen=True, eq=False)
class Log:
    """What was logged, by name.

    `dated`: times are of a calendar. `clocked`: they tell the time of day. `offset`: the clock's distance from UTC, in
    seconds.
    """

    blocks: Mapping[str, Track] = field(default_factory=dict)
    commands: Mapping[str, Track] = field(default_factory=dict)
    reports: Mapping[str, Track] = field(default_factory=dict)
    power: Mapping[str, Track] = field(default_factory=dict)
    trains: tuple[Sighting, ...] = ()
    dated: bool = False
    clocked: bool = False
    offset: float = 0.0

    @cached_property
    def _all_times(self) -> array[float]:
        every: array[float] = array("d")
        for group in (self.blocks, self.commands, self.reports, self.power):
            for track in group.values():
                every.extend(track.times)
        every.extend(s.when for s in self.trains)
        return array("d", sorted(every))

    @cached_property
    def runs(self) -> tuple[tuple[float, float], ...]:
        """The stretches in which something was logged, parted by silences of half an hour."""
        every = self._all_times
        if not every:
            return ()
        cuts = [i for i in range(1, len(every)) if every[i] - every[i - 1] > SILENCE]
        bounds = [0, *cuts, len(every)]
        return tuple((every[a], every[b - 1]) for a, b in pairwise(bounds))

    @property
    def rows(self) -> int:
        """How many rows were understood."""
        return len(self._all_times)

    @property
    def start(self) -> float:
        """The first moment."""
        return self.runs[0][0] if self.runs else 0.0

    @property
    def end(self) -> float:
        """The last moment."""
        return self.runs[-1][1] if self.runs else 0.0

    @cached_property
    def hours(self) -> float:
        """Hours of running, silences left out."""
        return sum(b - a for a, b in self.runs) / 3600.0

    @cached_property
    def grain(self) -> float:
        """The step of the clock in seconds: 1, 0.1, 0.01 or 0.001; as fine as any of the rows looked at."""
        every = self._all_times
        some = every[:: max(1, len(every) // 5000)]
        for step in (1.0, 0.1, 0.01):
            if all(abs(t / step - round(t / step)) < 1e-3 for t in some):
                return step
        return 0.001

    def run_of(self, when: float) -> int:
        """The number of the run that a moment belongs to."""
        return max(0, bisect.bisect_right(self._starts, when) - 1)

    @cached_property
    def _starts(self) -> list[float]:
        return [start for start, _ in self.runs]


def changes(track: Track) -> list[tuple[float, int]]:
    """The rows that change something; what only repeats the state is left out."""
    found: list[tuple[float, int]] = []
    last = -1
    for when, state in track:
        if state != last:
            found.append((when, state))
            last = state
    return found

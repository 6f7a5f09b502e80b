"""What each block did: when it was taken, and where it flickered. Short changes are gathered into flickers.

A change back within `short` seconds is a pulse; pulses that follow each other without a longer rest are one flicker,
because they come from one moment of bad contact and prove no more than one does. A train's stay is the time from the
first to the last sign of it, flickers inside it bridged. Whether flickers are too many is left to the tests.
"""

import bisect
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from troubleshoot.eventlog.log import OCCUPIED, Log, Track, changes

SHORT = 1.0
"""Seconds below which a change counts as a pulse: a train takes longer over any block (estimate)."""
LONGEST_FLICKER = 10.0
"""A flicker that lasts longer counts anew, so that a block that chatters without end counts by its time."""


LEAD = 0.5
"""Seconds by which a breaker's report may come after the blocks have gone dark (estimate)."""
LEAD = 0.5
"""Seconds by which a breaker's report may come after the blocks have gone dark (estimate)."""
SETTLING = 5.0
"""Seconds at the beginning of a run in which a computer writes down what it finds, not what happens (estimate)."""


@dataclass(frozen=True)
class Flicker:
    """Pulses in a row: from when, until when, how many, the shortest of them, and whether a train was there."""

    start: float
    end: float
    pulses: int
    dwell: float
    with_train: bool


@dataclass(frozen=True)
class Stay:
    """A stretch in which the block was taken. At the edge of a run its own start or end was not seen."""

    start: float
    end: float
    seen_start: bool = True
    seen_end: bool = True


@dataclass(frozen=True)
class Story:
    """One block's part of a log, in the order of time. `blips` are flickers of an empty block."""

    name: str
    edges: tuple[tuple[float, int], ...]
    flickers: tuple[Flicker, ...] = ()
    stays: tuple[Stay, ...] = ()
    blips: tuple[Stay, ...] = ()
    starts: tuple[float, ...] = field(default=())

    @property
    def taken(self) -> float:
        """Seconds occupied."""
        return sum(s.end - s.start for s in self.stays)

    def held(self, start: float, end: float) -> bool:
        """Whether the block was taken at any moment of a stretch."""
        at = bisect.bisect_right(self.starts, end) - 1
        return at >= 0 and self.stays[at].end >= start


Outages = Sequence[tuple[float, float]]
"""Stretches without power, from the trip until reports are to be trusted again, in order."""
"""Stretches without power, from the trip until reports are to be trusted again, in order."""


def stories(log: Log, outages: Mapping[str, Outages] | None = None, short: float = SHORT) -> dict[str, Story]:
    """The story of every block of a log, by name; what happened to a block without power is left out."""
    dead = outages or {}
    return {name: story(log, name, track, dead.get(name, ()), short) for name, track in sorted(log.blocks.items())}


def story(log: Log, name: str, track: Track, outages: Outages = (), short: float = SHORT) -> Story:
    """One block's story; each run of the layout stands for itself."""
    edges = _powered(changes(track), outages)
    flickers: list[Flicker] = []
    stays: list[Stay] = []
    blips: list[Stay] = []
    at = 0
    for start, end in log.runs:
        stop = at
        while stop < len(edges) and edges[stop][0] <= end:
            stop += 1
        if stop > at:
            _one_run(edges[at:stop], (start, end), short, flickers, stays, blips)
        at = stop
    return Story(name, tuple(edges), tuple(flickers), tuple(stays), tuple(blips), tuple(s.start for s in stays))


def _powered(edges: list[tuple[float, int]], outages: Outages) -> list[tuple[float, int]]:
    """Edges outside outages; a block that is another after an outage than before it changes at its end.

    Detectors often tell sooner than the breaker: what goes clear right before a trip went with the power.
    """
    kept: list[tuple[float, int]] = []
    at = 0
    for trip, end in outages:
        gone: list[tuple[float, int]] = []
        while at < len(edges) and edges[at][0] <= end:
            when, state = edges[at]
            dark = when >= trip or (when >= trip - LEAD and state != OCCUPIED)
            (gone if dark else kept).append((when, state))
            at += 1
        if gone:
            before = kept[-1][1] if kept else 1 - gone[0][1]
            if gone[-1][1] != before:
                kept.append((end, gone[-1][1]))
    return kept + edges[at:]


def _one_run(
    edges: list[tuple[float, int]], run: tuple[float, float], short: float,
    flickers: list[Flicker], stays: list[Stay], blips: list[Stay],
) -> None:  # fmt: skip
    """Walk through one run: long rests decide what the block was; short ones between them are flickers."""
    start, end = run
    # before its first row a block was the opposite of what that row says, unless that row only wrote down what was
    settled = start + SETTLING
    before = [(start, edges[0][0], 1 - edges[0][1])] if edges[0][0] > settled else []
    spans = [*before, *_spans(edges, end)]
    taken: float | None = None
    seen, at = False, 0
    while at < len(spans):
        begun, ended, state = spans[at]
        first_or_last = at in (0, len(spans) - 1)
        if ended - begun >= short or first_or_last:
            if state == OCCUPIED and taken is None:
                taken, seen = begun, begun > settled
            elif state != OCCUPIED and taken is not None:
                stays.append(Stay(taken, begun, seen, True))
                taken = None
            at += 1
            continue
        stop = at
        while stop < len(spans) - 1 and spans[stop][1] - spans[stop][0] < short:
            stop += 1
        after = spans[stop][2]
        _flicker(spans[at:stop], taken is not None or after == OCCUPIED, flickers)
        if taken is None and after == OCCUPIED:
            taken, seen = begun, begun > settled
        elif taken is None:
            blips.append(Stay(begun, spans[stop - 1][1]))
        at = stop
    if taken is not None:
        stays.append(Stay(taken, end, seen, False))


def _spans(edges: list[tuple[float, int]], end: float) -> list[tuple[float, float, int]]:
    return [(when, edges[i + 1][0] if i + 1 < len(edges) else end, state) for i, (when, state) in enumerate(edges)]


def _flicker(spans: list[tuple[float, float, int]], with_train: bool, flickers: list[Flicker]) -> None:
    """One flicker, or several where it goes on for long."""
    at = 0
    while at < len(spans):
        stop = at
        while stop < len(spans) and spans[stop][0] < spans[at][0] + LONGEST_FLICKER:
            stop += 1
        dwell = min(b - a for a, b, _ in spans[at:stop])
        flickers.append(Flicker(spans[at][0], spans[stop - 1][1], (stop - at + 1) // 2, dwell, with_train))
        at = stop


def quiet_times(log: Log, story_: Story) -> float:
    """Seconds in which a block was clear while the layout ran."""
    return max(0.0, log.hours * 3600.0 - story_.taken)


def table(told: Mapping[str, Story], hours: float) -> list[tuple[str, int, int, float, float]]:
    """For each block that flickered: name, stays, flickers, flickers an hour, middle dwell in seconds; worst first."""
    rows = []
    for name, one in told.items():
        dwells = sorted(f.dwell for f in one.flickers)
        if dwells:
            rate = len(dwells) / hours if hours else 0.0
            rows.append((name, len(one.stays), len(dwells), rate, dwells[len(dwells) // 2]))
    return sorted(rows, key=lambda r: (-r[2], r[0]))

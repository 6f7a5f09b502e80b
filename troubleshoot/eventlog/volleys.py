"""Several blocks that change the same way at the same moment: a supply, a board, a plug, not trains.

One train cannot do it, for it enters one block at a time; three blocks that all come on, or all go off, within a tenth
of a second ask for something they share. By chance the changes of a minute would lie anywhere in it, and the number
of such volleys to expect is exact for so many changes; that rare volleys come by Poisson's law is the usual
approximation. A volley that nothing shared explains is left to the family `at-once`.
"""

import bisect
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from troubleshoot.eventlog.chance import binomial_tail, poisson_tail
from troubleshoot.eventlog.pulses import SETTLING, Story

LEAST_BLOCKS = 3
SIZES = (3, 5, 8)
"""Sizes of volleys that are counted: many small ones tell, and a few big ones."""
CELL = 60.0
"""Seconds over which traffic counts as even (estimate)."""
ONE_EVENT = 3.0
"""Seconds within which volleys are one event, there and back (estimate)."""
COVER = 0.6
"""The part of the blocks that a group must hold; trains elsewhere may change one or two more at that moment."""
FOR, AGAINST = math.log(0.5 / 0.01), math.log(1.0 / 0.5)
"""Weights of a block of a group that changed with it, and of one that did not: half of them do (estimate), and a block
outside changes at that moment once in a hundred times."""

Edge = tuple[float, str]


@dataclass(frozen=True)
class Volley:
    """A moment and the blocks that changed the same way in it; `every` adds those that changed the other way."""

    when: float
    blocks: frozenset[str]
    every: frozenset[str]


@dataclass(frozen=True)
class Group:
    """Blocks that share something: its kind, its name, and those of them that the log knows."""

    kind: str
    name: str
    blocks: frozenset[str]


def edges_by_way(
    told: Mapping[str, Story], runs: Sequence[tuple[float, float]], apart: float
) -> tuple[list[Edge], list[Edge]]:
    """All changes to clear and all to occupied, in order of time; a block that repeats itself counts once.

    What a computer writes down as a run begins is left out.
    """
    ways: tuple[list[Edge], list[Edge]] = ([], [])
    starts = [start for start, _ in runs]
    for name, story in told.items():
        last = [-math.inf, -math.inf]
        for when, state in story.edges:
            if when - last[state] >= apart:
                begun = starts[max(0, bisect.bisect_right(starts, when) - 1)]
                if when > begun + SETTLING:
                    ways[state].append((when, name))
            last[state] = when
    return sorted(ways[0]), sorted(ways[1])


def volleys(edges: Sequence[Edge], within: float) -> list[Volley]:
    """Where at least three blocks change within so many seconds; none is counted twice."""
    found, at = [], 0
    while at < len(edges):
        stop = at
        while stop < len(edges) and edges[stop][0] - edges[at][0] <= within:
            stop += 1
        blocks = frozenset(name for _, name in edges[at:stop])
        if len(blocks) >= LEAST_BLOCKS:
            found.append(Volley(edges[at][0], blocks, blocks))
            at = stop
        else:
            at += 1
    return found


def joined(seen: Sequence[Volley]) -> list[Volley]:
    """Volleys that follow each other within seconds as one: blocks that go must come back."""
    events: list[Volley] = []
    for one in sorted(seen, key=lambda v: v.when):
        if events and one.when - events[-1].when <= ONE_EVENT:
            last = events.pop()
            events.append(Volley(last.when, max(last.blocks, one.blocks, key=len), last.every | one.every))
        else:
            events.append(one)
    return events


def expected(edges: Sequence[Edge], within: float, size: int) -> float:
    """How many stretches of `within` seconds with `size` changes chance would make of the changes of each minute.

    For n points thrown into a cell the room taken by size - 1 gaps follows a beta distribution, whose lower tail is
    that of a binomial one (any textbook on order statistics).
    """
    counts: dict[int, int] = {}
    for when, _ in edges:
        cell = int(when // CELL)
        counts[cell] = counts.get(cell, 0) + 1
    share, kinds = within / CELL, {}
    for n in counts.values():
        if n >= size and n not in kinds:
            kinds[n] = (n - size + 1) * binomial_tail(size - 1, n, share)
    return math.fsum(kinds[n] for n in counts.values() if n >= size)


def groups_test(
    ways: Iterable[Sequence[Edge]], group: Group, events: Sequence[Volley], within: float
) -> tuple[float, float]:
    """How many volleys chance would make inside a group, and the chance of as many as were seen; all sizes tried."""
    own = [[e for e in edges if e[1] in group.blocks] for edges in ways]
    best, usual = 1.0, 0.0
    for size in SIZES:
        mean = math.fsum(expected(edges, within, size) for edges in own)
        usual = usual or mean
        many = sum(len(v.blocks & group.blocks) >= size for v in events)
        best = min(best, len(SIZES) * poisson_tail(many, mean) if many else 1.0)
    return usual, best


def explained(events: Sequence[Volley], groups: Sequence[Group]) -> list[tuple[Group, list[Volley]]]:
    """Groups that hold the events, the one that fits most of them best first; each event is given once.

    That all blocks hold an event explains nothing, so that group, which is always among them, comes last.
    """
    left, found = list(events), []
    while left:
        held = {g: [v for v in left if _holds(g, v)] for g in groups}
        telling = [g for g in groups if g.kind != "at-once" and held[g]] or [g for g in groups if held[g]]
        if not telling:
            break
        # of groups that fit alike the board is named: its supply is the likelier culprit
        best = max(telling, key=lambda g: (math.fsum(_fit(g, v) for v in held[g]), g.kind == "board", g.name))
        found.append((best, held[best]))
        left = [v for v in left if v not in held[best]]
    return found


def _fit(group: Group, event: Volley) -> float:
    """How well a group fits an event: for each block inside that changed, against each inside that did not."""
    inside = len(group.blocks & event.every)
    return FOR * inside - AGAINST * (len(group.blocks) - inside)


def _holds(group: Group, event: Volley) -> bool:
    inside = len(group.blocks & event.every)
    return inside >= LEAST_BLOCKS and inside >= COVER * len(event.every)

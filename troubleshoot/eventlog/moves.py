"""Moves that no train can make: over a block without being seen in it, or into one from nowhere.

A train comes from a neighbour and goes to a neighbour. A stay in a block that begins while no neighbour is taken has
come from nowhere; one that ends so has gone to nowhere. Gone from A, and come to C two blocks on, with the block
between clear all the while, is a train missed in between. Come from nowhere and gone to nowhere is a phantom. Gone and
back in the same block is the train itself, lost for a while. A train that is put on or lifted off by hand is none of
these. Neighbours come from the layout record; without it only flickers of an empty block count as phantoms.
"""

import bisect
from collections.abc import Mapping
from dataclasses import dataclass, field

from troubleshoot.eventlog.log import Log
from troubleshoot.eventlog.pulses import Flicker, Stay, Story

SLACK = 2.5
"""Seconds by which the reports of two neighbours may be out of step, filters and holding times included (estimate)."""
LONGEST_JUMP = 90.0
"""Seconds a train may take through one block unseen (estimate: 3 m at a crawl)."""
LONGEST_LOSS = 600.0
"""Seconds after which a train that comes back where it was lost is taken for another."""


@dataclass
class Moves:
    """Impossible moves by block: trains missed, phantoms, trains lost and back; and how many stays were sound."""

    missed: dict[str, list[float]] = field(default_factory=dict)
    phantoms: dict[str, list[float]] = field(default_factory=dict)
    lost: dict[str, list[Flicker]] = field(default_factory=dict)
    through: dict[str, int] = field(default_factory=dict)
    odd: int = 0
    stays: int = 0


@dataclass
class _Visit:
    """A stay with what is wrong with it."""

    block: str
    start: float
    end: float
    reached: bool
    left: bool
    blip: bool = False


def moves(log: Log, told: Mapping[str, Story], neighbours: Mapping[str, tuple[str, ...]]) -> Moves:
    """All impossible moves of a log."""
    found = Moves()
    visits: dict[str, list[_Visit]] = {}
    for name, story in told.items():
        beside = [told[n] for n in neighbours.get(name, ())]
        if beside:
            visits[name] = _visits(story, beside)
        else:
            far = [b.start for b in story.blips if not story.held(b.start - 2 * SLACK, b.end + 2 * SLACK)]
            found.phantoms[name] = far
    _jumps(told, visits, neighbours, found)
    for name, every in visits.items():
        row = _lost_and_back(every, found)
        found.phantoms[name] = [v.start for v in row if not v.reached and not v.left]
        found.through[name] = sum(v.reached and v.left and not v.blip for v in row)
        found.stays += len(row)
        found.odd += sum(v.reached != v.left for v in row)
    _sightings(log, told, found)
    return found


def _visits(story: Story, beside: list[Story]) -> list[_Visit]:
    def near(moment: float) -> bool:
        return any(b.held(moment - SLACK, moment + SLACK) for b in beside)

    def visit(stay: Stay, blip: bool) -> _Visit:
        reached, left = not stay.seen_start or near(stay.start), not stay.seen_end or near(stay.end)
        return _Visit(story.name, stay.start, stay.end, reached, left, blip)

    row = [visit(s, False) for s in story.stays] + [visit(b, True) for b in story.blips]
    return sorted(row, key=lambda v: v.start)


def _lost_and_back(row: list[_Visit], found: Moves) -> list[_Visit]:
    """Join stays between which a train was only lost; each loss counts as a flicker under a train."""
    joined: list[_Visit] = []
    for visit in row:
        last = joined[-1] if joined else None
        if last and last.reached and not last.left and not visit.reached and visit.start - last.end < LONGEST_LOSS:
            loss = Flicker(last.end, visit.start, 1, visit.start - last.end, True)
            found.lost.setdefault(visit.block, []).append(loss)
            joined[-1] = _Visit(visit.block, last.start, visit.end, True, visit.left)
        else:
            joined.append(visit)
    return joined


def _jumps(
    told: Mapping[str, Story], visits: Mapping[str, list[_Visit]], neighbours: Mapping[str, tuple[str, ...]],
    found: Moves,
) -> None:  # fmt: skip
    """Match each vanishing with an appearing two blocks on, and mark both as explained."""
    gone = {n: [v for v in row if v.reached and not v.left] for n, row in visits.items()}
    for block in sorted(visits):
        for visit in [v for v in visits[block] if not v.reached and not v.blip]:
            best: tuple[float, str, _Visit] | None = None
            for between in neighbours[block]:
                for far in neighbours.get(between, ()):
                    if far == block or far in neighbours[block]:
                        continue
                    for other in _around(gone.get(far, []), visit.start):
                        apart = abs(other.end - visit.start)
                        first, last = min(other.end, visit.start), max(other.end, visit.start)
                        if not other.left and not told[between].held(first, last) and (not best or apart < best[0]):
                            best = (apart, between, other)
            if best is not None:
                found.missed.setdefault(best[1], []).append(visit.start)
                visit.reached, best[2].left = True, True


def _around(row: list[_Visit], moment: float) -> list[_Visit]:
    """Those of a row that end within the time of a jump."""
    ends = [v.end for v in row]
    return row[bisect.bisect_left(ends, moment - LONGEST_JUMP) : bisect.bisect_right(ends, moment + LONGEST_JUMP)]


def _sightings(log: Log, told: Mapping[str, Story], found: Moves) -> None:
    """Where the computer says where a train is, a block that stays clear then has missed it."""
    for sight in log.trains:
        story = told.get(sight.block)
        if story is None:
            continue
        if story.held(sight.when - SLACK, sight.when + SLACK):
            found.through[sight.block] = found.through.get(sight.block, 0) + 1
        else:
            found.missed.setdefault(sight.block, []).append(sight.when)

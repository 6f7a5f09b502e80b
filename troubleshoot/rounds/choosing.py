"""Which readings make a round: the greedy choice of those that together are worth most.

Rules: the worth of a set of readings has diminishing returns (it is monotone and submodular): what one reading
settles, another cannot settle again; a like place in the same district tells half, and two of them tell no more; and
each detector board, booster, bus, baseboard and the control bus wants one reading before any gets a second. Picking
the reading that adds most, again and again, then reaches at least 63 in 100 of the best choice there is (Nemhauser,
Wolsey and Fisher 1978); picking within a tenth of the best step, as here in favour of the quicker reading, at least
59 (Goundan and Schulz 2007). With a limit on minutes it goes by worth per minute, which has no such warrant. How
sure a choice is shows in `Choice.at_least`. The order of walking is left to `planning`.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from troubleshoot.layout import Layout, Place
from troubleshoot.rounds.worth import Candidate, Need, candidates, share_of
from troubleshoot.rulebook import Rulebook

ALIKE = 0.5
"""What a reading tells about a like place in the same district, of what it tells about its own (estimate)."""
NEAR = 0.9
"""Steps this near to the best are alike, and the quicker is taken."""
LONGEST = 20.0
"""A reading that takes longer alone, set-ups counted, is no part of a round (estimate); it can be taken by itself."""
THINGS: Mapping[str, str] = {
    "detector": "detector-of",
    "booster": "booster-of",
    "bus": "bus-of",
    "board": "board-of",
    "control-bus": "control-bus",
}
"""What wants at least one reading each, and the relation that leads to it from where a reading is taken."""
_ON_RAILS = ("block", "joint", "feeder", "zone")
_FED = (*_ON_RAILS, "district", "breaker", "bus", "bus-segment", "frog")
_PLACED = (*_FED, "turnout", "motor", "contact", "input", "field-wire", "signal", "detector", "decoder", "driver")
_GOES_BY: Mapping[str, tuple[str, ...]] = {
    "detector": (*_ON_RAILS, "detector"),
    "booster": (*_FED, "booster"),
    "bus": _FED,
    "board": _PLACED,
    "control-bus": ("control-bus", "control-bus-segment", "panel", "interface", "throttle"),
}
"""Where a reading has to be taken to go by such a thing: at it, or at what hangs on it alone."""
WALKED_PAST = ("vehicle", "program")
"""Kinds of places that no walk along the layout comes by."""


@dataclass(frozen=True)
class Offered:
    """A candidate with its effects: parts settled of each need, and things that get a reading by it."""

    candidate: Candidate
    settles: tuple[tuple[int, float], ...]
    things: frozenset[Place]


@dataclass(frozen=True)
class Choice:
    """The readings chosen in order of choice, what each added, and what the whole is worth.

    `at_least` is the part of the best possible choice of as many readings that this one is sure to settle: the best
    cannot settle more than this one and the greatest additions that are still open (a bound from the data).
    `without` are things that no reading goes by.
    """

    readings: tuple[Candidate, ...]
    adds: tuple[float, ...]
    worth: float
    at_least: float
    without: tuple[Place, ...]


def things_of(layout: Layout) -> tuple[Place, ...]:
    """Everything that wants one reading, in the order of the record."""
    return tuple(p for kind in THINGS for p in layout.places_of(kind))


def reached(layout: Layout, place: Place) -> frozenset[Place]:
    """The things that a reading at a place goes by."""
    near = [layout.related(THINGS[kind], place) for kind in THINGS if place.kind in _GOES_BY[kind]]
    # A joint lies between two blocks; what belongs to more than two of a kind is at none of them in particular.
    return frozenset(p for places in near if len(places) <= 2 for p in places)


@lru_cache(maxsize=8)
def _offered(layout: Layout, rulebook: Rulebook) -> tuple[tuple[Offered, ...], tuple[float, ...]]:
    """All candidates with their effects, and how often each need comes up."""
    own = [c for c in candidates(layout, rulebook) if c.place.kind not in WALKED_PAST and c.minutes <= LONGEST]
    needs: dict[Need, int] = {}
    for one in own:
        for need in one.settles:
            needs.setdefault(need, len(needs))
    wanted = frozenset(things_of(layout))
    kin: dict[tuple[str, str, frozenset[Place]], dict[int, float]] = {}
    home = {c.place: frozenset(layout.related("district-of", c.place)) for c in own}
    for one in own:
        shared = kin.setdefault((one.check.name, one.place.kind, home[one.place]), {})
        for need, part in one.settles.items():
            shared[needs[need]] = max(shared.get(needs[need], 0.0), ALIKE * part)
    made = []
    for one in own:
        settles = dict(kin[one.check.name, one.place.kind, home[one.place]])
        settles.update({needs[n]: p for n, p in one.settles.items()})
        made.append(Offered(one, tuple(sorted(settles.items())), reached(layout, one.place) & wanted))
    return tuple(made), tuple(share_of(layout, rulebook, need) for need in needs)


class _Standing:
    """What the readings chosen so far leave open."""

    def __init__(self, shares: Sequence[float]) -> None:
        self.open = list(shares)
        self.told: dict[tuple[int, str], float] = {}
        self.covered: set[Place] = set()

    def settled(self, one: Offered) -> float:
        """What a reading would settle beyond what is settled: of like readings only the best counts."""
        finding, told = one.candidate.check.finding, self.told
        parts = ((n, part, told.get((n, finding), 0.0)) for n, part in one.settles)
        return math.fsum(self.open[n] * (part - had) / (1.0 - had) for n, part, had in parts if part > had)

    def take(self, one: Offered) -> None:
        """Count a reading as chosen."""
        for n, part in one.settles:
            had = self.told.get((n, one.candidate.check.finding), 0.0)
            if part > had:
                self.open[n] *= (1.0 - part) / (1.0 - had)
                self.told[n, one.candidate.check.finding] = part
        self.covered |= one.things


def choose(layout: Layout, rulebook: Rulebook, count: int = 20, minutes: float | None = None) -> Choice:
    """The readings for a round: at most `count`, within `minutes` (set-ups counted as if each stood alone)."""
    left, shares = _offered(layout, rulebook)
    return greedy(left, shares, count, minutes, things_of(layout))


def greedy(
    left: Sequence[Offered],
    shares: Sequence[float],
    count: int,
    minutes: float | None = None,
    things: Sequence[Place] = (),
) -> Choice:
    """The greedy choice among readings on offer; ties go to the quicker, then to the first by name."""
    standing, chosen, adds, spent = _Standing(shares), list[Offered](), list[float](), 0.0
    bounds = [standing.settled(one) for one in left]
    open_ = list(range(len(left)))
    while open_ and len(chosen) < count:
        fits = [i for i in open_ if minutes is None or spent + left[i].candidate.minutes <= minutes]
        best = _best(left, bounds, fits, standing, minutes is not None)
        if best is None:
            break
        open_.remove(best)
        adds.append(standing.settled(left[best]))
        standing.take(left[best])
        chosen.append(left[best])
        spent += left[best].candidate.minutes
    worth = math.fsum(adds)
    more = sorted((standing.settled(left[i]) for i in open_), reverse=True)[:count]
    at_least = worth / (worth + math.fsum(more)) if worth else 0.0
    without = tuple(t for t in things if t not in standing.covered)
    return Choice(tuple(o.candidate for o in chosen), tuple(adds), worth, at_least, without)


def _best(
    left: Sequence[Offered], bounds: list[float], fits: Sequence[int], standing: _Standing, hurried: bool
) -> int | None:
    """The reading that adds most: things first, then what it settles, then the quicker of those nearly alike.

    What a reading adds only ever falls as others are chosen, so old figures are bounds and few are worked out afresh.
    """

    def rate(i: int) -> float:
        return bounds[i] / max(left[i].candidate.minutes, 0.1) if hurried else bounds[i]

    most = max((len(left[i].things - standing.covered) for i in fits), default=0)
    first = [i for i in fits if len(left[i].things - standing.covered) == most]
    top, near = 0.0, list[int]()
    for i in sorted(first, key=lambda i: -rate(i)):
        if rate(i) < NEAR * top:
            break
        bounds[i] = standing.settled(left[i])
        top = max(top, rate(i))
        near.append(i)
    good = [i for i in near if rate(i) >= NEAR * top and rate(i) > 0.0]
    return min(good, key=lambda i: (left[i].candidate.minutes, -bounds[i], left[i].candidate.key), default=None)

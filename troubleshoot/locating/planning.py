"""Which point to lift next, so that the fault is pinned in the fewest expected minutes.

The problem that is solved: one fault is in one limb, with known chances. A lift cuts off a set of limbs and shows
whether the fault is among them; it takes its minutes (reach, lift, look, put back) and those of the walk from where
the last lift was made. Lifting goes on until no point divides what is left. Wanted is the order of lifts, each chosen
by the answers before it, with the least expected minutes in all.

- `best` solves this exactly (see `optimum`), where `size` counts few enough sets: every chain of 60 limbs, and wide
  trees of about ten branches, or of more where many are alike.
- `ahead` looks a few lifts ahead, among those that tell most per minute and those that come nearest to halving; for
  what comes after it takes the better of the two rules of thumb, greatest information per minute or always halving.
  How far it is from the optimum is measured in `tests/benchmarks`.
- `halving` and `one_by_one` are what people do without a plan, to compare with.

All of these take answers as right. That an answer may be wrong is left to `chances`: the plan is made afresh after
every answer, from chances that keep the doubt.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from troubleshoot.locating.optimum import Optimum, size
from troubleshoot.locating.searching import Search, bits

EXACT = 6000
"""Sets up to which the optimum is worked out where there is time: about half a second (measured)."""
QUICK = 600
"""Sets up to which it is worked out between two questions of an inquiry: under a tenth of a second (measured)."""
BREADTH, HALVES, DEPTH = 5, 2, 2
"""Lifts compared at each step of looking ahead: by information per minute, by information; and how many steps."""

Policy = Callable[[int, str | None], int | None]
"""Which point to lift, by its number, for what is left and where one stands; None when nothing divides it."""


def telling(search: Search) -> Policy:
    """The greatest information per minute next."""
    return lambda left, stands: max(
        search.lifts(left, stands), key=lambda lift: (bits(search, left, lift[1]) / lift[2], -lift[0]), default=(None,)
    )[0]


def halving(search: Search) -> Policy:
    """The point that comes nearest to halving the chances left, whatever its minutes."""
    return lambda left, stands: min(
        search.lifts(left, stands),
        key=lambda lift: (round(abs(search.mass(lift[1]) / search.mass(left) - 0.5), 9), lift[0]),
        default=(None,),
    )[0]


def one_by_one(search: Search) -> Policy:
    """Every feeder in the record's order; then what lies beyond the one at which it goes; then plugs and bus."""
    first = {"feeder": 0, "block": 1, "turnout": 2, "accessory": 3}
    kinds = {limb.point: limb.kind for limb in reversed(search.tree.limbs) if limb.point}

    def place(number: int) -> tuple[int, int]:
        kind = kinds[search.points[number].name]
        return (first[kind], number) if kind in first else (len(first), -number)

    rank = {number: place(number) for number in range(len(search.points))}

    def next_one(left: int, stands: str | None) -> int | None:
        del stands
        dividing = [n for n, p in enumerate(search.points) if left & p.cuts not in (0, left)]
        return min(dividing, key=rank.__getitem__, default=None)

    return next_one


class Expected:
    """Expected minutes of a policy, worked out over every answer there can be (times the chance of what is left)."""

    def __init__(self, search: Search, policy: Policy) -> None:
        self.search, self.policy = search, policy
        self._known: dict[tuple[int, str | None], float] = {}

    def __call__(self, left: int, stands: str | None) -> float:
        """Minutes from what is left and where one stands."""
        known, stack = self._known, [(left, stands)]
        while stack:
            now, here = stack[-1]
            number = None if (now, here) in known else self.policy(now, here)
            if number is None:
                known.setdefault((now, here), 0.0)
                stack.pop()
                continue
            point = self.search.points[number]
            inside = (now & point.cuts, point.board)
            outside = (now & ~point.cuts, point.board)
            later = [s for s in (inside, outside) if s not in known]
            if not later:
                minutes = self.search.minutes(number, here) * self.search.mass(now)
                known[now, here] = minutes + known[inside] + known[outside]
            stack.extend(later)
        return known[left, stands]


class Ahead:
    """Looking a few lifts ahead; beyond that, the better of two rules of thumb."""

    def __init__(self, search: Search, depth: int = DEPTH, breadth: int = BREADTH) -> None:
        self.search, self.depth, self.breadth = search, depth, breadth
        self._thumbs = (Expected(search, telling(search)), Expected(search, halving(search)))

    def policy(self, left: int, stands: str | None) -> int | None:
        """The lift with the least expected minutes as far as is seen; ties by the order of the tree."""
        costs = self.costs(left, stands, self.depth)
        return min(costs, key=lambda c: (round(c[0], 9), c[1]))[1] if costs else None

    def value(self, left: int, stands: str | None, depth: int) -> float:
        """Expected minutes times the chance of what is left, as far as is seen."""
        thumb = min(rule(left, stands) for rule in self._thumbs)
        if depth <= 0 or thumb == 0.0:
            return thumb
        return min(thumb, *(c for c, _ in self.costs(left, stands, depth)))

    def costs(self, left: int, stands: str | None, depth: int) -> list[tuple[float, int]]:
        """What each of the lifts that look best leads to."""
        lifts = self.search.lifts(left, stands)
        worth = {lift[0]: bits(self.search, left, lift[1]) for lift in lifts}
        lifts.sort(key=lambda lift: (-worth[lift[0]] / lift[2], lift[0]))
        kept = lifts[: self.breadth] + sorted(lifts[self.breadth :], key=lambda lift: -worth[lift[0]])[:HALVES]
        return [(self.cost(left, lift, depth), lift[0]) for lift in kept]

    def cost(self, left: int, lift: tuple[int, int, float], depth: int) -> float:
        """Expected minutes if this lift comes first."""
        number, inside, minutes = lift
        there = self.search.points[number].board
        later = self.value(inside, there, depth - 1) + self.value(left ^ inside, there, depth - 1)
        return minutes * self.search.mass(left) + later


@dataclass(frozen=True)
class Planned:
    """The next lift, the expected minutes until the fault is pinned, and whether nothing can be quicker."""

    number: int | None
    minutes: float
    exact: bool


def best(search: Search, left: int, stands: str | None = None) -> Planned:
    """The optimal next lift, however long that takes to work out. Of several the first in the order of the tree."""
    optimum = Optimum(search)
    return Planned(optimum.policy(left, stands), optimum.value(left, stands) / _whole(search, left), True)


def ahead(search: Search, left: int, stands: str | None = None, depth: int = DEPTH) -> Planned:
    """The next lift by looking ahead, with the minutes that are seen from there."""
    seer = Ahead(search, depth)
    return Planned(seer.policy(left, stands), seer.value(left, stands, depth) / _whole(search, left), False)


def plan(search: Search, left: int, stands: str | None = None, most: int = EXACT) -> Planned:
    """The next lift: the optimum where that is soon worked out, else by looking ahead."""
    return best(search, left, stands) if size(search, left) <= most else ahead(search, left, stands)


def _whole(search: Search, left: int) -> float:
    return search.mass(left) or 1.0


def expected(search: Search, policy: Policy, left: int, stands: str | None = None) -> float:
    """Expected minutes until the fault is pinned under a policy."""
    return Expected(search, policy)(left, stands) / _whole(search, left)


def orders(search: Search, left: int, stands: str | None, among: Sequence[int]) -> list[tuple[float, int]]:
    """Some points in the order in which the planner would lift them first, with the expected minutes of each."""
    seer = Ahead(search, 1)
    of = {number: (number, left & search.points[number].cuts, search.minutes(number, stands)) for number in among}
    whole = _whole(search, left)
    costs = [(seer.cost(left, lift, 1) / whole, n) for n, lift in of.items() if lift[1] not in (0, left)]
    return sorted(costs, key=lambda c: (round(c[0], 9), c[1]))

"""The hunt for a short or a leak by lifting: where it stands, what to lift next and why, and what each answer leaves.

`hunt` puts the rest of the room together for one tree: the chances after the answers, the parts proven clean, the
next lift with its minutes, and how long the plan takes on average against always halving and against one by one. When
one part is left that is not yet likely enough, because an answer may have been wrong, the lift that tells most makes
sure of it; it may be a second look at a point. Chances before the answers come from the belief where there is one,
else from the weights of the tree. Parts proven clean are left out of the plan, not out of the chances. It is pure.
What an answer has to do with belief is left to `diagnosis`, how any of it looks to `screen`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from troubleshoot.locating.chances import WRONG, Lift, chances, clean, contradicted, counted, fits, prior
from troubleshoot.locating.planning import EXACT, Planned, expected, halving, one_by_one, orders, plan
from troubleshoot.locating.searching import Search, bits
from troubleshoot.locating.tree import Point, Tree

SURE = 0.9
"""From this chance on a part is pinned; below it the lift that tells most per minute is made to be sure (estimate)."""
HALF = (0.35, 0.65)
"""A lift that cuts off such a share of what is left is said to halve it."""


@dataclass(frozen=True)
class Left:
    """What one answer leaves in play: parts by name, and the chance of the answer."""

    chance: float
    parts: tuple[str, ...]


@dataclass(frozen=True)
class NextLift:
    """The lift most worth making: its point and minutes with the walk, and what either answer leaves.

    `to_be_sure` marks one that only makes sure of what is pinned already.
    """

    point: Point
    minutes: float
    gone: Left
    stays: Left
    why: str
    to_be_sure: bool = False


@dataclass(frozen=True, eq=False)
class Hunt:
    """Where a hunt stands. `left` are the parts in play and `clean` the parts proven clean, as bits."""

    tree: Tree
    lifts: tuple[Lift, ...]
    chances: tuple[float, ...]
    clean: int
    left: int
    next: NextLift | None
    minutes: float
    exact: bool
    contradiction: bool
    doubtful: Lift | None

    @property
    def parts(self) -> int:
        """How many parts the tree has."""
        return len(self.tree.limbs)

    @property
    def proven(self) -> int:
        """How many parts are proven clean."""
        return bin(self.clean).count("1")

    @cached_property
    def search(self) -> Search:
        """The chances in play, for planning."""
        return Search(self.tree, self.chances)

    @property
    def stands(self) -> str | None:
        """The board of the last lift, where the person is taken to stand."""
        return _board(self.tree, self.lifts)

    @property
    def pinned(self) -> tuple[str, ...]:
        """The parts that no lift can tell apart any more; empty while there is a lift that can."""
        return self.tree.names(self.left) if self.next is None or self.next.to_be_sure else ()

    def beyond(self, number: int) -> float:
        """The chance that the fault sits in a limb or anywhere beyond it."""
        return sum(p for i, p in enumerate(self.chances) if self.tree.beyond[number] >> i & 1)

    def likeliest(self, count: int = 8) -> list[tuple[str, float]]:
        """The likeliest parts with their chances."""
        order = sorted(range(self.parts), key=lambda i: (-self.chances[i], i))
        return [(self.tree.limbs[i].name, self.chances[i]) for i in order[:count]]

    @cached_property
    def halving(self) -> float:
        """Expected minutes to pin the fault by always halving the chances left."""
        return expected(self.search, halving(self.search), self.left, self.stands)

    @cached_property
    def one_by_one(self) -> float:
        """Expected minutes to pin the fault by lifting one feeder after another."""
        return expected(self.search, one_by_one(self.search), self.left, self.stands)

    def first_among(self, names: Sequence[str]) -> tuple[str, str] | None:
        """Of some places that may be lifted, the one the plan comes to first, and why; None where none divides."""
        points = {p.name: n for n, p in enumerate(self.tree.points)}
        named: dict[int, str] = {}
        for name in names:
            point = self.tree.point(name)
            if point is not None:
                named.setdefault(points[point.name], name)
        ranked = orders(self.search, self.left, self.stands, list(named))
        if not ranked:
            return None
        number = ranked[0][1]
        return named[number], _why(self.search, self.left, number, self.stands)


def hunt(tree: Tree, lifts: Sequence[Lift], before: Sequence[float] | None = None, most: int = EXACT) -> Hunt:
    """Where the hunt stands after the lifts made. `before` are chances of the limbs without them, totalling one."""
    start = tuple(before) if before is not None else prior(tree)
    done = counted(tree, lifts)
    now = chances(tree, done, start)
    cleared = clean(tree, done, start)
    search = Search(tree, now)
    left = search.among & ~cleared
    planned = plan(search, left, _board(tree, done), most)
    against = contradicted(tree, done)
    doubted = _doubtful(tree, done, start) if against else None
    step = _next(search, left, planned, _board(tree, done))
    if step is None and search.mass(left) < SURE:
        step = _to_be_sure(search, left, done)
    return Hunt(tree, done, now, cleared, left, step, planned.minutes, planned.exact, against, doubted)


def _board(tree: Tree, lifts: Sequence[Lift]) -> str | None:
    points = {p.name: p.board for p in tree.points}
    return next((points[lift.point] for lift in reversed(lifts) if points[lift.point]), None)


def _doubtful(tree: Tree, lifts: Sequence[Lift], before: Sequence[float]) -> Lift | None:
    """The answer without which the others fit best: the one to make again."""

    def without(lift: Lift) -> float:
        others = [one for one in lifts if one is not lift]
        return sum(p * f for p, f in zip(before, fits(tree, others), strict=True))

    return max(lifts, key=without, default=None)


def _next(search: Search, left: int, planned: Planned, stands: str | None) -> NextLift | None:
    if planned.number is None:
        return None
    point = search.points[planned.number]
    inside, whole = left & point.cuts, search.mass(left)
    share = search.mass(inside) / whole
    gone = Left(share, search.tree.names(inside))
    stays = Left(1.0 - share, search.tree.names(left ^ inside))
    why = _why(search, left, planned.number, stands)
    return NextLift(point, search.minutes(planned.number, stands), gone, stays, why)


def _to_be_sure(search: Search, left: int, lifts: Sequence[Lift]) -> NextLift | None:
    """The lift that tells most per minute about what is left and all that was cleared, a second look at a point too."""
    twice = {one.point for one in lifts if one.twice}
    stands, all_of = _board(search.tree, lifts), search.among
    worth = {
        n: bits(search, all_of, p.cuts, WRONG) / search.minutes(n, stands)
        for n, p in enumerate(search.points)
        if p.name not in twice and all_of & p.cuts not in (0, all_of)
    }
    number = max(worth, key=lambda n: (worth[n], -n), default=None)
    if number is None:
        return None
    point, minutes = search.points[number], search.minutes(number, stands)
    share = search.mass(all_of & point.cuts) / search.mass(all_of)
    gone = Left(share, search.tree.names(left & point.cuts or all_of & point.cuts))
    stays = Left(1.0 - share, search.tree.names(left & ~point.cuts or all_of & ~point.cuts))
    sure = f"makes sure, for {_cost(minutes)}: what is left has {search.mass(left) * 100:.0f} in 100 so far"
    return NextLift(point, minutes, gone, stays, sure, True)


def _cost(minutes: float) -> str:
    return f"{minutes:.0f} minute{'' if round(minutes) == 1 else 's'}"


def _why(search: Search, left: int, number: int, stands: str | None) -> str:
    """Why this lift, in half a sentence with its minutes."""
    point = search.points[number]
    share = search.mass(left & point.cuts) / (search.mass(left) or 1.0)
    minutes = search.minutes(number, stands)
    cost = _cost(minutes)
    if HALF[0] <= share <= HALF[1]:
        return f"halves what is left for {cost}"
    return f"parts {min(share, 1.0 - share) * 100:.0f} of 100 chances left from the rest for {cost}"

"""One search: a tree with the chances of its limbs, the lifts that divide what is left, and what each would tell.

What is left is a set of limbs, as bits. Minutes are those of the point and of the walk from where one stands. What to
lift first is left to `optimum` and `planning`.
"""

import math
from dataclasses import dataclass
from functools import cached_property

from troubleshoot.locating.tree import Point, Tree

LEAST = 1e-12
"""A share of the chances below this counts as none."""


@dataclass(frozen=True, eq=False)
class Search:
    """A tree with the chances of its limbs: everything a plan rests on. `among` holds the limbs still in play."""

    tree: Tree
    chances: tuple[float, ...]

    @cached_property
    def points(self) -> tuple[Point, ...]:
        """The points of the tree."""
        return self.tree.points

    @cached_property
    def among(self) -> int:
        """The bits of all limbs that can hold the fault."""
        return sum(1 << i for i, p in enumerate(self.chances) if p > LEAST)

    @cached_property
    def _masses(self) -> dict[int, float]:
        return {0: 0.0}

    def mass(self, left: int) -> float:
        """The chances of a set of limbs together."""
        known = self._masses.get(left)
        if known is None:
            rest, known = left, 0.0
            while rest:
                low = rest & -rest
                known += self.chances[low.bit_length() - 1]
                rest ^= low
            self._masses[left] = known
        return known

    def minutes(self, number: int, stands: str | None) -> float:
        """Minutes of a lift from where one stands."""
        point = self.points[number]
        return point.minutes + self.tree.walk(stands, point.board)

    def lifts(self, left: int, stands: str | None) -> list[tuple[int, int, float]]:
        """The lifts that divide what is left: point, what would be left if the fault goes, minutes.

        Of points that cut off the same and are lifted from the same board only the quickest counts.
        """
        known: dict[tuple[int, str | None], tuple[int, int, float]] = {}
        for number, cuts, minutes, board in self._lifts(stands):
            inside = left & cuts
            if inside and inside != left:
                before = known.get((inside, board))
                if before is None or minutes < before[2]:
                    known[inside, board] = (number, inside, minutes)
        return list(known.values())

    def _lifts(self, stands: str | None) -> list[tuple[int, int, float, str | None]]:
        """Every point with its minutes from where one stands; points that cut off no chance at all are left out."""
        if stands not in self._from:
            self._from[stands] = [
                (n, p.cuts, p.minutes + self.tree.walk(stands, p.board), p.board)
                for n, p in enumerate(self.points)
                if p.cuts & self.among
            ]
        return self._from[stands]

    @cached_property
    def _from(self) -> dict[str | None, list[tuple[int, int, float, str | None]]]:
        return {}


def bits(search: Search, left: int, cuts: int, wrong: float = 0.0) -> float:
    """Information in bits of one lift about where the fault is, if `wrong` of all answers are wrong."""
    whole = search.mass(left)
    if whole <= 0.0:
        return 0.0
    share = search.mass(left & cuts) / whole
    return _entropy(share * (1.0 - wrong) + (1.0 - share) * wrong) - _entropy(wrong)


def _entropy(share: float) -> float:
    if share <= 0.0 or share >= 1.0:
        return 0.0
    return -share * math.log2(share) - (1.0 - share) * math.log2(1.0 - share)

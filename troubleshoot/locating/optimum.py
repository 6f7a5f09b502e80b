"""The optimum of a search: the order of lifts with the least expected minutes, by dynamic programming.

The sets that can be left in a tree are a limb with everything beyond it, less some branches; for each of them, and each
board one may stand at, the least minutes are worked out once. Branches that are alike in everything count as one, so
that eight equal feeders are nine sets and not 256. Finding the optimum is hard in general (searching a tree with
weights is NP-hard even for shallow trees; from memory), so `size` tells beforehand how many sets there may be.
"""

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

from troubleshoot.locating.searching import Search


class Alike:
    """Branches of a tree that are alike in chances, minutes, boards and shape: lifting either is the same to a plan."""

    def __init__(self, search: Search) -> None:
        tree = search.tree
        self.tree = tree
        children: list[list[int]] = [[] for _ in tree.limbs]
        for i, limb in enumerate(tree.limbs):
            if limb.fed_by >= 0:
                children[limb.fed_by].append(i)
        names: dict[object, int] = {}
        marks = [0] * len(tree.limbs)
        self.kinds: list[list[list[int]]] = [[] for _ in tree.limbs]
        plain = all(point.cuts in tree.beyond for point in tree.points)
        for i in reversed(range(len(tree.limbs))):
            limb = tree.limbs[i]
            groups: dict[int, list[int]] = {}
            for child in children[i]:
                groups.setdefault(marks[child] if plain else -child - 1, []).append(child)
            self.kinds[i] = list(groups.values())
            own = (round(search.chances[i], 12), limb.point is not None, limb.minutes, limb.board)
            # Where the branches stand in the numbering belongs to the likeness: bits of like limbs must match.
            shape = (own, tuple((c - i, marks[c]) for c in children[i]))
            marks[i] = names.setdefault(shape, len(names) + 1)
        self.groups = [(i, g) for i in reversed(range(len(tree.limbs))) for g in self.kinds[i] if len(g) > 1]

    def plain(self, left: int) -> int:
        """One form for all sets that differ only by which of several like branches are left."""
        for _, group in self.groups:
            parts = [(left & self.tree.beyond[c]) >> c for c in group]
            if any(a < b for a, b in pairwise(parts)):
                for child, part in zip(group, sorted(parts, reverse=True), strict=True):
                    left = left & ~self.tree.beyond[child] | part << child
        return left


def size(search: Search, left: int | None = None) -> int:
    """How many sets may be left in the course of a search, at most, for every board one may stand at."""
    alike, tree = Alike(search), search.tree
    still = search.among if left is None else left
    ways = [1] * len(tree.limbs)  # of leaving a limb and what lies beyond it, cut off whole among them
    total = 0
    for i in reversed(range(len(tree.limbs))):
        if tree.beyond[i] & still:
            several = 1
            for group in alike.kinds[i]:
                several *= _together(group, ways, {c: (still & tree.beyond[c]) >> c for c in group})
            ways[i] = 1 + several
            total += several
    return total * len({p.board for p in search.points})


def _together(group: Sequence[int], ways: Sequence[int], left: Mapping[int, int]) -> int:
    """In how many ways like branches may be left, of which only those count as one that are left alike now."""
    product = 1
    for shape in set(left.values()):
        same = [c for c in group if left[c] == shape]
        product *= math.comb(ways[same[0]] + len(same) - 1, len(same))
    return product


class Optimum:
    """The least expected minutes for every set that can be left, worked out as far as it is asked for."""

    def __init__(self, search: Search) -> None:
        self.search = search
        self.alike = Alike(search)
        self._known: dict[tuple[int, str | None], float] = {}

    def policy(self, left: int, stands: str | None) -> int | None:
        """The best lift: the first of those with the least minutes, in the order of the tree."""
        value, least = self.value(left, stands), None
        whole = self.search.mass(left)
        for number, inside, minutes in self.search.lifts(left, stands):
            there = self.search.points[number].board
            cost = minutes * whole + self.value(inside, there) + self.value(left ^ inside, there)
            if cost <= value + 1e-9 * max(1.0, value) and (least is None or number < least):
                least = number
        return least

    def value(self, left: int, stands: str | None) -> float:
        """Expected minutes times the chance of what is left."""
        if left & (left - 1) == 0:
            return 0.0
        left = self.alike.plain(left)
        known = self._known.get((left, stands))
        if known is None:
            known = self._known[left, stands] = self._value(left, stands)
        return known

    def _value(self, left: int, stands: str | None) -> float:
        whole, best = self.search.mass(left), math.inf
        lifts = self.search.lifts(left, stands)
        if not lifts:
            return 0.0
        lifts.sort(key=lambda lift: -self._worth(whole, self.search.mass(lift[1])) / lift[2])
        for number, inside, minutes in lifts:
            there = self.search.points[number].board
            cost = minutes * whole
            if cost >= best:
                continue
            cost += self.value(inside, there)
            if cost < best:
                best = min(best, cost + self.value(left ^ inside, there))
        return best

    @staticmethod
    def _worth(whole: float, inside: float) -> float:
        """Roughly the information of a lift: only the order in which lifts are weighed rests on it."""
        return min(inside, whole - inside)

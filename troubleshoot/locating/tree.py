"""The tree that feeds a place: from the breaker over bus, plugs and feeders to rails, turnouts and accessories.

A limb is a part that can hold a short or a leak. What can be disconnected at its feeding end is its point: with the
point lifted, the limb and everything beyond it is cut off. Several limbs may share one point (a plug that feeders of
two districts go through). Limbs stand in the order of the record, every limb after the one that feeds it.
Rules: nothing is guessed in silence; what the record does not say and the tree needs is in `notes`. How the tree is
built is left to `growing`, how likely a limb is to `chances`, what to lift to `planning`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from troubleshoot.layout import Place


@dataclass(frozen=True)
class Limb:
    """One part of a tree: the limb that feeds it (-1 for none), its point if it has one, and its weight.

    `minutes` are those of its point: to reach it, lift it, look, and put it back. `weight` is how often such a part is
    at fault against the others (no unit, estimate). `board` is where the person stands to lift it.
    """

    name: str
    kind: str
    fed_by: int
    point: str | None = None
    how: str = ""
    minutes: float = 0.0
    board: str | None = None
    weight: float = 1.0


@dataclass(frozen=True)
class Point:
    """Where something can be disconnected: what it cuts off as bits by limb, its minutes, and where one stands."""

    name: str
    cuts: int
    how: str
    minutes: float
    board: str | None


@dataclass(frozen=True, eq=False)
class Tree:
    """A tree of feeders; limb 0 is what feeds all the others. `hops` are minutes between boards by pair."""

    place: Place
    limbs: tuple[Limb, ...]
    notes: tuple[str, ...] = ()
    hops: Mapping[tuple[str, str], float] = field(default_factory=dict)

    @cached_property
    def beyond(self) -> tuple[int, ...]:
        """For each limb the bits of itself and of everything that is fed through it."""
        below = [1 << i for i in range(len(self.limbs))]
        for i in range(len(self.limbs) - 1, 0, -1):
            below[self.limbs[i].fed_by] |= below[i]
        return tuple(below)

    @cached_property
    def points(self) -> tuple[Point, ...]:
        """Every point, in the order of the limbs; one that several limbs share cuts them all."""
        found: dict[str, Point] = {}
        for limb, bits in zip(self.limbs, self.beyond, strict=True):
            if limb.point is not None:
                before = found.get(limb.point)
                cuts = bits | (before.cuts if before else 0)
                found[limb.point] = Point(limb.point, cuts, limb.how, limb.minutes, limb.board)
        return tuple(found.values())

    @cached_property
    def whole(self) -> int:
        """The bits of all limbs."""
        return (1 << len(self.limbs)) - 1

    @cached_property
    def index(self) -> Mapping[str, int]:
        """The number of each limb by its name."""
        return {limb.name: i for i, limb in enumerate(self.limbs)}

    def point(self, name: str) -> Point | None:
        """The point that a name means: its own, or that of the limb of this name; None where there is none."""
        for point in self.points:
            if point.name == name:
                return point
        i = self.index.get(name)
        while i is not None and i > 0:
            limb = self.limbs[i]
            if limb.kind == "block" and limb.point and self.limbs[limb.fed_by].kind == "feeder":
                i = limb.fed_by  # who says that a block is off has as a rule lifted its feeder where that begins
                continue
            if limb.point is not None:
                return next(p for p in self.points if p.name == limb.point)
            i = limb.fed_by
        return None

    def way(self, number: int) -> tuple[int, ...]:
        """The limbs from the feed to a limb, itself last."""
        way = [number]
        while self.limbs[way[-1]].fed_by >= 0:
            way.append(self.limbs[way[-1]].fed_by)
        return tuple(reversed(way))

    def names(self, bits: int) -> tuple[str, ...]:
        """The names of limbs given as bits, in order."""
        return tuple(limb.name for i, limb in enumerate(self.limbs) if bits >> i & 1)

    def walk(self, start: str | None, end: str | None) -> float:
        """Minutes to go from one board to another; nothing where one of them is not known."""
        if start is None or end is None or start == end:
            return 0.0
        return self.hops.get((start, end), FAR)


FAR = 2.0
"""Minutes between boards that no plug joins in the record (estimate)."""

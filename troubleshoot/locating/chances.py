"""Where the fault sits, by what was lifted and seen: chances of limbs, and which parts are proven clean.

Rules: one fault in one limb; an answer is wrong in 2 of 100 (estimate), so that no answer strikes a part out for good;
a repeat at the same point replaces the answer before, and is trusted more where it says the same. A part is proven
clean when the answers speak at least twenty to one against it, compared with the part they fit best: one answer proves
as much, two that contradict each other prove nothing. What to lift next is left to `planning`.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from troubleshoot.layout import KINDS, Layout, Place, unnamed
from troubleshoot.locating.tree import Tree

WRONG = 0.02
"""The chance that an answer is wrong: a lead that touched all the same, a lamp misread (estimate)."""
WRONG_TWICE = 0.005
"""The same after a second look that said the same: slips are gone, a forgotten second lead is not (estimate)."""
CLEAN = 0.05
"""A part whose answers fit it worse than this share of the best fit is proven clean."""
AT_THE_FEED = ("booster", "breaker", "supply", "building", "settings")
ON_THE_RAILS = ("vehicle", "district", "layout", "joint")
"""Kinds of place whose faults sit before all of a tree, and those whose faults sit anywhere on its rails."""


_KIND_OF_UNNAMED: Mapping[str, str] = {unnamed(kind).name: kind for kind in KINDS}


@dataclass(frozen=True)
class Lift:
    """One point that was lifted, whether the fault went, and whether a second look said the same."""

    point: str
    gone: bool
    twice: bool = False


def prior(tree: Tree) -> tuple[float, ...]:
    """Chances of the limbs before any answer, in proportion to their weights (estimates)."""
    total = math.fsum(limb.weight for limb in tree.limbs)
    return tuple(limb.weight / total for limb in tree.limbs)


def counted(tree: Tree, lifts: Sequence[Lift]) -> tuple[Lift, ...]:
    """The lifts that count: at points of this tree, the last answer at each, in the order they were given."""
    last: dict[str, Lift] = {}
    for lift in lifts:
        point = tree.point(lift.point)
        if point is not None:
            before = last.pop(point.name, None)
            twice = lift.twice or (before is not None and before.gone == lift.gone)
            last[point.name] = Lift(point.name, lift.gone, twice)
    return tuple(last.values())


def fits(tree: Tree, lifts: Sequence[Lift]) -> tuple[float, ...]:
    """For each limb the chance of all the answers if the fault sits there."""
    found = [1.0] * len(tree.limbs)
    cuts = {p.name: p.cuts for p in tree.points}
    for lift in sorted(counted(tree, lifts), key=lambda one: one.point):
        wrong = WRONG_TWICE if lift.twice else WRONG
        for i in range(len(found)):
            inside = bool(cuts[lift.point] >> i & 1)
            found[i] *= 1.0 - wrong if inside == lift.gone else wrong
    return tuple(found)


def chances(tree: Tree, lifts: Sequence[Lift], before: Sequence[float] | None = None) -> tuple[float, ...]:
    """Chances of the limbs after the answers; `before` are those without them (from the weights where not given)."""
    start = before if before is not None else prior(tree)
    rough = [p * f for p, f in zip(start, fits(tree, lifts), strict=True)]
    total = math.fsum(rough)
    return tuple(r / total for r in rough) if total > 0.0 else tuple(start)


def clean(tree: Tree, lifts: Sequence[Lift], before: Sequence[float] | None = None) -> int:
    """The parts that are proven clean, as bits."""
    start = before if before is not None else prior(tree)
    found = fits(tree, lifts)
    best = max((f for f, p in zip(found, start, strict=True) if p > 0.0), default=0.0)
    return sum(1 << i for i, f in enumerate(found) if f <= CLEAN * best)


def contradicted(tree: Tree, lifts: Sequence[Lift]) -> bool:
    """Whether no single part fits every answer: one of them is wrong, or there are two faults."""
    answers = counted(tree, lifts)
    agree = math.prod(1.0 - (WRONG_TWICE if one.twice else WRONG) for one in answers)
    return bool(answers) and max(fits(tree, lifts)) < 0.999 * agree


def shares(layout: Layout, tree: Tree, name: str) -> Mapping[int, float]:
    """Which limbs a fault at a place may sit in, with shares that total one: {limb number: share}.

    A place that is a limb is that limb; a bus is its stretches; what stands before the breaker is the feed; a vehicle
    or a fault of the district as a whole may be on any rails; what the tree does not know may be anywhere.
    """
    own = tree.index.get(name)
    if own is not None:
        return {own: 1.0}
    part = layout.parts.get(name)
    place = Place(part.kind if part else _KIND_OF_UNNAMED.get(name, ""), name)
    among = _among(layout, tree, place)
    total = math.fsum(tree.limbs[i].weight for i in among)
    return {i: tree.limbs[i].weight / total for i in among}


def _among(layout: Layout, tree: Tree, place: Place) -> list[int]:
    everywhere = list(range(len(tree.limbs)))
    if place.kind in AT_THE_FEED:
        return [0]
    owner = layout.word(place, "of") or ""
    if owner in tree.index and place.kind in ("frog", "motor", "zone", "feeder", "contact", "input"):
        return [tree.limbs[tree.index[owner]].fed_by if place.kind == "zone" else tree.index[owner]]
    if place.kind in ("bus", "detector", "plug"):
        stretches = [i for i in everywhere if _part_of(layout, tree, i, place)]
        return stretches or everywhere
    rails = [i for i in everywhere if tree.limbs[i].kind == "block"]
    if place.kind == "joint":
        beside = [tree.index[b] for b in layout.words(place, "between") if b in tree.index]
        return beside or rails or everywhere
    return rails if rails and place.kind in ON_THE_RAILS else everywhere


def _part_of(layout: Layout, tree: Tree, number: int, place: Place) -> bool:
    """Whether a limb is a stretch of a bus, or one of several entries of a plug or a detector."""
    limb = tree.limbs[number]
    if place.kind == "bus":
        same = layout.word(place, "of") == layout.word(Place(limb.kind, limb.name), "of")
        return limb.kind in ("bus", "bus-segment") and (same or limb.name.startswith(f"{place.name} on "))
    return limb.kind == place.kind and limb.name.startswith(f"{place.name} behind ")

"""What the sick places share and the healthy ones do not: candidates, with counts and the reason.

A candidate is a part behind at least one sick place: board, plug, duct, detector, decoder, stretch of bus, district,
booster, supply. It is counted how many of the sick it explains and how many of the healthy contradict it. Candidates
are ranked by the fewest exceptions (sick places it does not explain, healthy ones it should have made sick), then by
the smaller number of places that hang on it, then by name. Rules: nothing is struck out, an exception is only counted;
a plug stands behind a place only if the record says that its feeder goes through it. How likely a candidate is, is
left to belief.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from troubleshoot.layout import Layout, Place
from troubleshoot.locating.growing import tree_of

RELATIONS = ("detector-of", "board-of", "plug-of", "duct-of", "district-of", "booster-of", "supply-of", "decoder-of")
"""Ways to what stands behind a place; of equally small ones the first listed counts, as in the layout's own facts."""
WAYS: Mapping[str, tuple[str, ...]] = {
    "block": RELATIONS[:-1],
    "turnout": ("board-of", *RELATIONS[3:]),
    "signal": ("board-of", *RELATIONS[3:]),
    "district": ("board-of", "booster-of", "supply-of"),
    "detector": ("board-of", "booster-of", "supply-of"),
}
"""Kinds of place with fewer ways: a turnout decoder stands behind turnouts, not behind the block they lie in."""
FEW = 3
"""Exceptions that are named one by one."""


@dataclass(frozen=True)
class Candidate:
    """A part that may make the sick places sick: counts, the exceptions by name, and the reason in a sentence."""

    place: Place
    explained: int
    sick: int
    contradicted: int
    healthy: int
    behind: int
    unexplained: tuple[str, ...]
    against: tuple[str, ...]
    reason: str

    @property
    def exceptions(self) -> int:
        """How many of the places told do not fit."""
        return self.sick - self.explained + self.contradicted


def candidates(layout: Layout, sick: Sequence[Place], healthy: Sequence[Place] = ()) -> tuple[Candidate, ...]:
    """Every part that stands behind a sick place, ranked; nothing without a record or a sick place that it knows.

    With several sick places only what stands behind at least two of them is a candidate.
    """
    ill = [p for p in dict.fromkeys(sick) if _known(layout, p)]
    well = [p for p in dict.fromkeys(healthy) if _known(layout, p) and p not in ill]
    behind_all = {p: behind(layout, p) for kind in {p.kind for p in ill} for p in layout.places_of(kind)}
    behind_all |= {p: behind(layout, p) for p in (*ill, *well) if p not in behind_all}
    least = min(2, len(ill))
    made = []
    for thing in dict.fromkeys(t for p in ill for t in behind_all[p]):
        hit = [p for p in ill if thing in behind_all[p]]
        if len(hit) >= least:
            spared = [p for p in well if thing in behind_all[p]]
            size = sum(thing in things for p, things in behind_all.items() if p.kind == ill[0].kind)
            made.append(_candidate(thing, ill, hit, well, spared, size))
    return tuple(sorted(made, key=lambda c: (c.exceptions, c.behind, _rank(c.place.kind), c.place.name)))


def _known(layout: Layout, place: Place) -> bool:
    return place in layout.places_of(place.kind)


def _rank(kind: str) -> int:
    order = (*(r.removesuffix("-of") for r in RELATIONS), "bus-segment")
    return order.index(kind) if kind in order else len(order)


def behind(layout: Layout, place: Place) -> frozenset[Place]:
    """The parts whose fault would show at a place, itself left out."""
    found: set[Place] = set()
    for relation in WAYS.get(place.kind, RELATIONS):
        if relation == "plug-of":
            for feeder in layout.related("feeder-of", place):
                one = layout.word(feeder, "plug")
                names = layout.words(feeder, "plug") or ((one,) if one else ())
                found |= {Place("plug", name) for name in names}
        else:
            found |= {p for p in layout.related(relation, place) if _known(layout, p)}
    if place.kind == "block":
        found |= set(_stretches(layout).get(place.name, ()))
    return frozenset(found - {place})


@lru_cache(maxsize=8)
def _stretches(layout: Layout) -> Mapping[str, tuple[Place, ...]]:
    """The further stretches of bus before each block, in districts whose bus has several; the first is the district."""
    found: dict[str, tuple[Place, ...]] = {}
    for district in layout.places_of("district"):
        tree = tree_of(layout, district)
        for i, limb in enumerate(tree.limbs) if tree else ():
            if limb.kind == "block" and tree:
                way = pairwise(tree.limbs[n] for n in tree.way(i))
                found[limb.name] = tuple(Place(b.kind, b.name) for a, b in way if a.kind == b.kind == "bus-segment")
    return found


def _candidate(
    thing: Place, ill: Sequence[Place], hit: Sequence[Place], well: Sequence[Place], spared: Sequence[Place], size: int
) -> Candidate:
    missed = tuple(p.name for p in ill if p not in hit)
    against = tuple(p.name for p in spared)
    if len(ill) == 1:
        says = f"{ill[0].name} hangs on {thing.name}"
    elif missed:
        says = f"{len(hit)} of {len(ill)} sick places hang on {thing.name}, not {_listed(missed)}"
    else:
        says = f"{'Both' if len(ill) == 2 else f'All {len(ill)}'} sick places hang on {thing.name}"
    if against:
        says += f"; so {'does' if len(against) == 1 else 'do'} {_listed(against)}, and {_healthy(against)}"
    elif well:
        says += f"; none of the {len(well)} healthy ones does" if len(well) > 1 else f"; {well[0].name} does not"
    says += f". In all {size} hang on it" if size > len(ill) else ""
    says += "; where each block hangs on the bus is assumed" if thing.kind == "bus-segment" else ""
    return Candidate(thing, len(hit), len(ill), len(spared), len(well), size, missed, against, says)


def _healthy(names: Sequence[str]) -> str:
    return "it is healthy" if len(names) == 1 else "they are healthy"


def _listed(names: Sequence[str]) -> str:
    shown = ", ".join(names[:FEW])
    return shown + (f" and {len(names) - FEW} more" if len(names) > FEW else "")

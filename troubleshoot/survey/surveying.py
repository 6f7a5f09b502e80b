"""A whole record surveyed: every look of every theme judged, worst first; and what the record would have to say more.

Pure and kept for each layout: layouts never change, so a survey is made once. It takes time in proportion to the
record: everything is looked up in indexes made once (`site`), looks are dropped as soon as they are judged, and the
collector of cycles rests meanwhile, for it would go through the whole record each time its heap grew by a quarter.
"""

import gc
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import lru_cache

from troubleshoot.layout import Layout, Place
from troubleshoot.survey import accessories, boosters, breakers, detectors, gaps, numbers, wiring
from troubleshoot.survey.judging import Known, judge
from troubleshoot.survey.site import Site
from troubleshoot.survey.spots import SEVERITIES, Datum, Kind, Look, Missing, WeakSpot

_THEMES: tuple[tuple[Mapping[str, Kind], Callable[[Site], Iterator[Look]]], ...] = (
    (breakers.KINDS, breakers.looks),
    (boosters.KINDS, boosters.looks),
    (wiring.KINDS, wiring.looks),
    (gaps.KINDS, gaps.looks),
    (detectors.KINDS, detectors.looks),
    (accessories.KINDS, accessories.looks),
    (numbers.KINDS, numbers.looks),
)

DETAILS: Mapping[str, Kind] = {name: kind for kinds, _ in _THEMES for name, kind in kinds.items()}
"""Every kind of weak spot, with its words, its formula and its cure."""

KINDS: Mapping[str, str] = {name: kind.sentence for name, kind in DETAILS.items()}
"""The closed list of kinds: name to a sentence for the owner."""


@dataclass(frozen=True)
class Surveyed:
    """What a survey finds, what it cannot judge, and how many looks it took."""

    spots: tuple[WeakSpot, ...]
    missing: tuple[Missing, ...]
    looks: int


@dataclass(slots=True)
class _Wanted:
    """A figure that open looks ask for: its first datum, the places that lack it, and the looks, by name alone."""

    first: Datum
    names: dict[str, None] = field(default_factory=dict)
    kinds: dict[str, None] = field(default_factory=dict)
    looks: set[tuple[str, str, str]] = field(default_factory=set)

    def add(self, look: Look, datum: Datum) -> None:
        self.names[datum.place] = self.kinds[look.kind] = None
        self.looks.add((look.kind, look.place.kind, look.place.name))


@lru_cache(maxsize=16)
def surveyed(layout: Layout) -> Surveyed:
    """Everything a survey tells of a layout: weak spots worst first, and missing figures that decide most first."""
    with _no_collecting():
        return _surveyed(layout)


@contextmanager
def _no_collecting() -> Iterator[None]:
    """A survey makes no cycles, so the collector of cycles has nothing to find in it; it goes on as it was before."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def _surveyed(layout: Layout) -> Surveyed:
    site, known = Site(layout), Known()
    spots: list[WeakSpot] = []
    wanted: dict[tuple[str, str], _Wanted] = {}
    count = 0
    for _, looks in _THEMES:
        for look in looks(site):
            count += 1
            found, open_by = judge(look, DETAILS[look.kind], known)
            if found is not None:
                spots.append(found)
            for datum in open_by:
                wanted.setdefault(datum.of, _Wanted(datum)).add(look, datum)
    spots.sort(key=lambda s: SEVERITIES.index(s.severity))  # else by theme and in the order of the record
    return Surveyed(tuple(spots), _missing(layout, wanted), count)


def survey(layout: Layout) -> tuple[WeakSpot, ...]:
    """The weak spots that a record shows by itself, worst first. Pure; nothing is reported that is only assumed."""
    return surveyed(layout).spots


def missing(layout: Layout) -> tuple[Missing, ...]:
    """The figures that the record does not give and that would decide looks, those that decide most first."""
    return surveyed(layout).missing


def _missing(layout: Layout, wanted: Mapping[tuple[str, str], _Wanted]) -> tuple[Missing, ...]:
    rows = []
    for group in wanted.values():
        one = group.first
        places = tuple(Place(one.of[0], name) for name in group.names)
        what = one.figure.said if len(places) == 1 else one.figure.said.removesuffix(f" of {_owner(layout, one.place)}")
        rows.append(Missing(what, one.asks, places, len(group.looks), tuple(group.kinds)))
    return tuple(sorted(rows, key=lambda m: (-m.checks, len(m.places), m.figure)))


def _owner(layout: Layout, name: str) -> str:
    part = layout.parts.get(name)
    return (part.owner if part else None) or name

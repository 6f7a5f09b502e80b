"""A whole record surveyed: every look of every theme judged, worst first; and what the record would have to say more.

Pure and kept for each layout: layouts never change, so a survey is made once.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
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


@lru_cache(maxsize=16)
def surveyed(layout: Layout) -> Surveyed:
    """Everything a survey tells of a layout: weak spots worst first, and missing figures that decide most first."""
    site, known = Site(layout), Known()
    spots: list[WeakSpot] = []
    wanted: list[tuple[Look, Datum]] = []
    count = 0
    for _, looks in _THEMES:
        for look in looks(site):
            count += 1
            found, open_by = judge(look, DETAILS[look.kind], known)
            if found is not None:
                spots.append(found)
            wanted += [(look, datum) for datum in open_by]
    spots.sort(key=lambda s: SEVERITIES.index(s.severity))  # else by theme and in the order of the record
    return Surveyed(tuple(spots), _missing(layout, wanted), count)


def survey(layout: Layout) -> tuple[WeakSpot, ...]:
    """The weak spots that a record shows by itself, worst first. Pure; nothing is reported that is only assumed."""
    return surveyed(layout).spots


def missing(layout: Layout) -> tuple[Missing, ...]:
    """The figures that the record does not give and that would decide looks, those that decide most first."""
    return surveyed(layout).missing


def _missing(layout: Layout, wanted: list[tuple[Look, Datum]]) -> tuple[Missing, ...]:
    groups: dict[tuple[str, str], list[tuple[Look, Datum]]] = {}
    for look, datum in wanted:
        groups.setdefault(datum.of, []).append((look, datum))
    rows = []
    for group in groups.values():
        one = group[0][1]
        names = dict.fromkeys(d.place for _, d in group)
        places = tuple(Place(one.of[0], name) for name in names)
        what = one.figure.said if len(places) == 1 else one.figure.said.removesuffix(f" of {_owner(layout, one.place)}")
        kinds = tuple(dict.fromkeys(look.kind for look, _ in group))
        rows.append(Missing(what, one.asks, places, len({(k.kind, k.place) for k, _ in group}), kinds))
    return tuple(sorted(rows, key=lambda m: (-m.checks, len(m.places), m.figure)))


def _owner(layout: Layout, name: str) -> str:
    part = layout.parts.get(name)
    return (part.owner if part else None) or name

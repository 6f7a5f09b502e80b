"""Cases that are like another: by place, symptom, what they share, answers and words, each with its reasons.

Points are estimates by experience: the same trouble at the same place says most, the same trouble on the same board
or booster a good deal, a season a little. Every point that was given is told as a reason. What the cases teach is
left to `learning`.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache

from troubleshoot.casebook.entries import Entry
from troubleshoot.casebook.index import PLACE
from troubleshoot.casebook.shelf import Shelf, Wanted
from troubleshoot.layout import Layout, Unknown

SHARED: Mapping[str, str] = {
    "board-of": "board", "detector-of": "detector", "decoder-of": "decoder", "plug-of": "plug", "duct-of": "duct",
    "breaker-of": "breaker", "district-of": "district", "supply-of": "supply", "booster-of": "booster",
}  # fmt: skip
"""Relations to parts that two places may share, the closest first."""
SAME_PLACE, SAME_SYMPTOM, CLOSE, FAR, SEASON, ANSWERS, WORDS = 4.0, 3.0, 1.5, 0.5, 0.5, 2.0, 1.0
LEAST = 3.0
"""Points from which a case is called alike: the same symptom alone is enough, a shared district alone is not."""
NEAREST = 100
"""So many of the newest cases with the symptom are compared, and half as many that name a place."""
SEASONS = {1: "winter", 2: "spring", 3: "summer", 4: "autumn"}


@dataclass(frozen=True)
class Sought:
    """What other cases are compared with: a complaint on a layout, and what has been said of it so far.

    `on` is what the layout record is called in cases made on it; `month` counts from 1, 0 if it does not matter.
    """

    layout: Layout
    on: str = ""
    symptoms: tuple[str, ...] = ()
    place: str = ""
    places: tuple[str, ...] = ()
    month: int = 0
    answers: Mapping[str, str] = field(default_factory=dict)
    words: tuple[str, ...] = ()
    but: str = ""


@dataclass(frozen=True)
class Alike:
    """A case that is like what is sought, with its points and their reasons, the weightiest first."""

    entry: Entry
    points: float
    reasons: tuple[str, ...]


def alike(shelf: Shelf, sought: Sought, most: int = 10) -> list[Alike]:
    """Cases like the one sought, the likest first, ties by the newest."""
    found = [_compared(sought, entry, by_words) for entry, by_words in _candidates(shelf, sought)]
    near = [one for one in found if one.points >= LEAST]
    return sorted(near, key=lambda a: (-a.points, -a.entry.began, a.entry.name))[:most]


def _candidates(shelf: Shelf, sought: Sought) -> Iterable[tuple[Entry, bool]]:
    """Cases with the symptom, the place or the words in common, and whether the words led to them."""
    marks = ", ".join("?" * len(sought.symptoms))
    entries: dict[str, tuple[Entry, bool]] = {}
    if sought.words:
        for entry in shelf.search(Wanted(words=sought.words, most=50))[0]:
            entries[entry.name] = (entry, True)
    lists = [shelf.first(f"c.symptom IN ({marks})", sought.symptoms, most=NEAREST)] if sought.symptoms else []
    for place in dict.fromkeys((sought.place, *sought.places)):
        if place:
            where = f"c.id IN (SELECT id FROM tags WHERE kind = {PLACE} AND name = ?)"
            lists.append(shelf.first(where, (place.casefold(),), most=50))
    for entry in (e for found in lists for e in found):
        entries.setdefault(entry.name, (entry, False))
    return [pair for name, pair in entries.items() if name != sought.but]


def _compared(sought: Sought, entry: Entry, by_words: bool) -> Alike:
    reasons: list[tuple[float, str]] = []
    if entry.symptom in sought.symptoms:
        reasons.append((SAME_SYMPTOM, "same symptom"))
    reasons += _by_place(sought, entry)
    season = _season(sought.month)
    if season and season == _season(entry.month):
        reasons.append((SEASON, f"also in {season}"))
    said = entry.answers()
    both = [c for c, o in sought.answers.items() if c in said]
    same = [c for c in both if said[c] == sought.answers[c]]
    if same:
        names = ", ".join(sought.answers[c].replace("-", " ") for c in same[:3])
        reasons.append((ANSWERS * len(same) / (len(both) + 1), f"{len(same)} of {len(both)} answers alike ({names})"))
    if by_words:
        reasons.append((WORDS, f"the same words ({' '.join(sought.words)})"))
    reasons.sort(key=lambda r: (-r[0], r[1]))
    return Alike(entry, sum(p for p, _ in reasons), tuple(r for _, r in reasons))


def _by_place(sought: Sought, entry: Entry) -> list[tuple[float, str]]:
    """Points for the same place, for parts that are named in both, and for parts that both places hang on."""
    if sought.on and entry.layout and _record(sought.on) != _record(entry.layout):
        return []
    if sought.place and entry.about.casefold() == sought.place.casefold():
        return [(SAME_PLACE, "same place")]
    named = [p for p in sought.places if p.casefold() in {e.casefold() for e in entry.places}]
    points = [(CLOSE, f"also about {named[0]}")] if named else []
    for number, (kind, name) in enumerate(shared_parts(sought.layout, sought.place, entry.about)):
        worth = CLOSE if kind in ("board", "detector", "decoder", "plug", "duct", "breaker") else FAR
        points.append((worth if number == 0 else 0.0, f"on the same {kind} {name}"))
        break
    return points


def shared_parts(layout: Layout, one: str, other: str) -> list[tuple[str, str]]:
    """Parts that two places both hang on, the closest first: (kind, name)."""
    first, second = _parts(layout, one), dict(_parts(layout, other))
    return [(kind, name) for kind, name in first if second.get(kind) == name]


@cache
def _parts(layout: Layout, place: str) -> tuple[tuple[str, str], ...]:
    if not layout.known or not place:
        return ()
    try:
        here = layout.place(place)
    except Unknown:
        return ()
    found = ((kind, layout.related(relation, here)) for relation, kind in SHARED.items())
    return tuple((kind, p[0].name) for kind, p in found if len(p) == 1 and p[0].name in layout.parts and p[0] != here)


def _record(said: str) -> str:
    return said.rsplit("/", 1)[-1].removesuffix(".yaml")


def _season(month: int) -> str:
    return SEASONS[month % 12 // 3 + 1] if month else ""


def sought_like(entry: Entry, layout: Layout, symptoms: Sequence[str] = ()) -> Sought:
    """What to seek to find cases like one that is on the shelf."""
    return Sought(
        layout, entry.layout, tuple(symptoms) or (entry.symptom,), entry.about,
        tuple(p for p in entry.places if p != entry.about), entry.month, entry.answers(), (), entry.name,
    )  # fmt: skip

"""A case without names, for sharing: made from a record in which the names never were.

Layout, places and vehicles are renamed by kind and number in the order of the record (`block 2`, `block 2 feeder`),
the same everywhere; free words of the owner (notes, what a part is called, where it is) are left out. Rules of packs
other than the core are swept for the names (`sweeping`), since a club writes them about its own layout. Figures, kinds
and dates stay: they are what the reader needs.
"""

from collections import Counter
from dataclasses import replace

from troubleshoot.inquiry import (
    Answer,
    Complaint,
    FoundAt,
    Lifted,
    Mend,
    Note,
    PlacesSeen,
    ProofSeen,
    PutAside,
    Record,
    SetUpChange,
)
from troubleshoot.layout import KINDS, TOOLS, Layout, Part, unnamed
from troubleshoot.report.story import Event, Story
from troubleshoot.report.sweeping import CORE, swept
from troubleshoot.rulebook import Rulebook

LEFT_OUT = "(a note, left out)"
_OWN_NAMES = {"program": "computer program", "building": "building", "control-bus": "control bus"}
"""Places that the tool itself names."""
_PLAIN = {
    "kind", "sensing", "reference", "breaker", "filter", "spacing", "reach", "reversing", "reverser", "insulated",
    "motor", "frog", "feedback", "discharge-unit", "scale", "common-rail", "meter", "resistor-axles",
    "storage-capacitors", *TOOLS,
}  # fmt: skip
"""What a record says in words from closed lists; every other word of it is a name or free text."""


def nameless(story: Story) -> Story:
    """The same story without names and free words."""
    aliases = Aliases(story.layout)
    records = [aliases.record(e.record, story.rulebook) for e in story.events]
    rulebook, again = swept(story.rulebook, aliases.names)
    events = tuple(Event(e.when, again(record)) for e, record in zip(story.events, records, strict=True))
    day = next((e.when[:10] for e in story.events if e.when), "")
    own = sum(not p.startswith(f"{CORE} ") for p in story.packs)
    packs = [p for p in story.packs if p.startswith(f"{CORE} ")] + ([f"{own} of the owner's own"] if own else [])
    return replace(
        story,
        name=f"case of {day}" if day else "a case",
        layout=aliases.layout(story.layout),
        rulebook=rulebook,
        events=events,
        tally=again(story.tally),
        packs=tuple(packs),
        nameless=True,
    )


class Aliases:
    """The name that stands for each name of a record and of its case; the same one everywhere."""

    def __init__(self, layout: Layout) -> None:
        self.names: dict[str, str] = {}
        self._taken: set[str] = set()
        self._numbers: Counter[str] = Counter()
        self._parts = layout.parts
        self._names(layout.name, "the layout")
        self._folded = {name.casefold(): name for name in reversed(list(layout.parts))}
        for part in layout.parts.values():
            self._of(part)

    def _names(self, name: str, alias: str) -> str:
        self.names[name] = alias
        self._taken.add(alias)
        return alias

    def _of(self, part: Part) -> str:
        if part.name in self.names:
            return self.names[part.name]
        owner = self._parts.get(part.owner or "")
        if _OWN_NAMES.get(part.kind) == part.name:
            return self._names(part.name, part.name)
        if owner is not None and part.name.startswith(f"{owner.name} "):
            return self._names(part.name, f"{self._of(owner)}{part.name[len(owner.name) :]}")
        sides = [self._of(self._parts[s]) for s in part.lists.get("between", ()) if s in self._parts]
        joined = "/".join(sides) if part.kind == "joint" else ""
        if joined and joined not in self._taken:
            return self._names(part.name, joined)
        return self._names(part.name, self._next(part.kind))

    def _next(self, kind: str) -> str:
        self._numbers[kind] += 1
        return f"{kind.replace('-', ' ')} {self._numbers[kind]}"

    def place(self, name: str | None, kind: str = "place") -> str | None:
        """The name that stands for a place of a case, also for one that the record does not know."""
        if name is None or name in {unnamed(k).name for k in KINDS}:
            return name
        known = name if name in self.names else self._folded.get(name.casefold().strip(), name)
        return self.names[known] if known in self.names else self._names(known, self._next(kind))

    def record(self, record: Record, rulebook: Rulebook) -> Record:
        """A record of a case with its names replaced and its free words left out."""
        if isinstance(record, Complaint):
            symptom = rulebook.symptoms.get(record.symptom)
            kind = symptom.about if symptom else "place"
            sick, healthy = self._all(record.sick, kind), self._all(record.healthy, kind)
            return replace(record, about=self.place(record.about, kind), sick=sick, healthy=healthy)
        if isinstance(record, PlacesSeen):
            return replace(record, sick=self._all(record.sick), healthy=self._all(record.healthy))
        if isinstance(record, FoundAt):
            return replace(record, place=str(self.place(record.place)) if record.place else "")
        if isinstance(record, Lifted):
            return replace(record, point=self._point(record.point))
        if isinstance(record, Answer | PutAside | SetUpChange | Mend | ProofSeen):
            return replace(record, place=self.place(record.place))
        return Note(LEFT_OUT) if isinstance(record, Note) else record

    def _all(self, names: tuple[str, ...], kind: str = "place") -> tuple[str, ...]:
        return tuple(str(self.place(name, kind)) for name in names)

    def _point(self, said: str) -> str:
        """Where something was lifted: a place, the rails of one, or one as it stands behind another."""
        name, behind, other = said.partition(" behind ")
        if behind:
            return f"{self.place(name)} behind {self._point(other)}"
        if said not in self.names and said.endswith(" rails"):
            return f"{self.place(said.removesuffix(' rails'))} rails"
        return str(self.place(said))

    def layout(self, layout: Layout) -> Layout:
        """The layout record under the names that stand for its own; free words are left out."""
        parts = (self._part(part) for part in layout.parts.values())
        return replace(
            layout, name=self.names[layout.name], says="", file="", notes=(), parts={p.name: p for p in parts}
        )

    def _part(self, part: Part) -> Part:
        words = {key: word for key, said in part.words.items() if (word := self._word(key, said)) is not None}
        lists = {key: tuple(self.names[n] for n in said if n in self.names) for key, said in part.lists.items()}
        lists |= {"without": part.lists["without"]} if "without" in part.lists else {}
        return Part(part.kind, self.names[part.name], part.figures, words, lists)

    def _word(self, key: str, said: str) -> str | None:
        if said in self.names and key not in _PLAIN | {"says", "where", "material"}:
            return self.names[said]
        return said if key in _PLAIN or said in ("track", "none") or said.isdecimal() else None

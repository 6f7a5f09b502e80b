"""The layout as the rest of the tool sees it: places, relations, figures, words, traits and facts.

Immutable and compared by identity. A figure that the record does not give is a default, marked as assumed;
without any record everything is assumed and each relation gives one unnamed place. Reading files is left to
`loading`.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from troubleshoot.layout.defaults import (
    BOOSTER_SUPPLY_HEADROOM,
    DIODE_DROP,
    FIGURES,
    HOME,
    RAIL_CODE_OHMS,
    SPACING,
    TRIP_SHARE,
)
from troubleshoot.layout.facts import Facts
from troubleshoot.layout.places import TOOLS, Figure, Part, Place, Unknown, unnamed
from troubleshoot.layout.relations import Relations


@dataclass(frozen=True, eq=False)
class Layout:
    """One layout. `known` is False for the empty one; `notes` are remarks that refuse nothing."""

    name: str
    says: str = ""
    scale: str | None = None
    file: str = ""
    parts: Mapping[str, Part] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    known: bool = True

    @cached_property
    def _net(self) -> Relations:
        return Relations(self.parts)

    @cached_property
    def _facts(self) -> Facts:
        return Facts(self._net, self.name if self.name in self.parts else None)

    @cached_property
    def itself(self) -> Place:
        """The layout as a whole, as a place."""
        return Place("layout", self.name)

    def place(self, name: str) -> Place:
        """The place of that name, written as the owner wrote it or in other letter case. Raises Unknown."""
        part = self.parts.get(name) or self._by_folded_name.get(name.casefold().strip())
        if part is None:
            raise Unknown(name, self.parts, self.file)
        return Place(part.kind, part.name)

    @cached_property
    def _by_folded_name(self) -> Mapping[str, Part]:
        return {part.name.casefold(): part for part in reversed(list(self.parts.values()))}

    def places_of(self, kind: str) -> tuple[Place, ...]:
        """All places of a kind, in the order of the record."""
        return tuple(Place(kind, n) for n in self._net.of_kind.get(kind, ()))

    def all_places(self) -> tuple[Place, ...]:
        """Every place of the record, derived ones too."""
        return tuple(Place(p.kind, p.name) for p in self.parts.values())

    def related(self, relation: str, about: Place) -> tuple[Place, ...]:
        """Places that stand in a relation (see RELATIONS) to a place; one unnamed if none is known."""
        return self._net.related(relation, about)

    def traits(self, about: Place) -> Mapping[str, str]:
        """Every trait (see TRAITS) as yes, no or unknown, as it stands for a place."""
        return self._facts.traits(about)

    def facts(self, about: Place, sick: Iterable[Place] = (), healthy: Iterable[Place] = ()) -> Mapping[str, str]:
        """The derived facts (see FACTS), given the places that show the symptom and those that are said not to."""
        return self._facts.facts(about, sick, healthy)

    def shared(self, sick: Iterable[Place], healthy: Iterable[Place] = ()) -> Place | None:
        """The smallest thing that all the sick places share, but no healthy one and not all of their kind."""
        return self._facts.shared(list(dict.fromkeys(sick)), list(healthy))

    def word(self, place: Place, name: str) -> str | None:
        """What the record says of a place in a word (kind, reference, spacing, says, where ...), or None."""
        part = self.parts.get(place.name)
        return part.words.get(name) if part else None

    def words(self, place: Place, name: str) -> tuple[str, ...]:
        """What the record lists for a place (between, boards, listens-to ...), or nothing."""
        part = self.parts.get(place.name)
        return part.lists.get(name, ()) if part else ()

    @cached_property
    def kit(self) -> Mapping[str, str]:
        """For each tool whether the owner has it: yes, no or unknown."""
        said = {t: self._facts.said(t) for t in TOOLS}
        owned = {"none": "no", "unknown": "unknown"}.get(self.meter, "yes")
        true_rms = {"true-rms": "yes", "unknown": "unknown"}.get(self.meter, "no")
        return {**said, "multimeter": owned, "true-rms-meter": true_rms}

    @cached_property
    def meter(self) -> str:
        """The owner's meter: none, average, true-rms or unknown."""
        return self._facts.said("meter")

    def figure(self, place: Place, name: str) -> Figure | None:
        """A figure of a place in SI, given or assumed; None where nothing sensible can be said.

        Names are those of FIGURES for the kind of place. A figure of another part is found through the
        relation that leads to it (see HOME): the `trip` at a block is that of its district's breaker.
        """
        own = self._own_figure(place, name) if name in FIGURES.get(place.kind, {}) else None
        if own is not None or name not in HOME:
            return own
        relation, its_name = HOME[name]
        home = self.itself if relation == "layout" else self.related(relation, place)[0]
        return self._own_figure(home, its_name) if its_name in FIGURES.get(home.kind, {}) else None

    def _own_figure(self, place: Place, name: str) -> Figure | None:
        place = self.itself if place.kind == "layout" else place
        spec = FIGURES[place.kind][name]
        part = self.parts.get(place.name)
        owner = (part.owner if part else None) or place.name
        plain = place.kind == "layout" or (place == unnamed(place.kind) and place.kind in spec.phrase)
        said = spec.phrase if plain else f"{spec.phrase} of {owner}"
        if part is not None and name in part.figures:
            value, unit = part.figures[name]
            return Figure(value, unit, False, said)
        derived = self._derived(place, name)
        value_or_none = derived if derived is not None else spec.assumed(self.scale)
        return None if value_or_none is None else Figure(value_or_none, spec.unit, True, said)

    def _derived(self, place: Place, name: str) -> float | None:
        """A default that follows from other entries of the record."""
        if (place.kind, name) == ("booster", "output"):
            return self._value(self.itself, "track-volts")
        if (place.kind, name) == ("breaker", "trip"):
            limit = self._value(place, "booster-limit")
            return None if limit is None else TRIP_SHARE * limit
        if (place.kind, name) == ("detector", "drop"):
            return DIODE_DROP if self.word(place, "kind") == "diode-drop" else None
        if (place.kind, name) == ("feeder", "capacitance"):
            return SPACING.get(self.word(place, "spacing") or "")
        if (place.kind, name) == ("block", "rail-ohms"):
            code = self._value(place, "rail-code")
            return None if code is None else RAIL_CODE_OHMS.get(int(code))
        if (place.kind, name) == ("joint", "gap"):
            given = [self.parts[b.name].figures for b in self.related("own-block", place) if b.name in self.parts]
            gaps = [f["gap"][0] for f in given if "gap" in f]
            return min(gaps) if gaps else None
        if (place.kind, name) == ("supply", "volts"):
            boosters = [p for p in self.related("booster-of", place) if self._feeds(place, p)]
            volts = self._value(boosters[0], "output") if boosters else None
            return None if volts is None else volts + BOOSTER_SUPPLY_HEADROOM
        return None

    def _feeds(self, supply: Place, booster: Place) -> bool:
        return supply.name == self.word(booster, "supply") or self.word(supply, "of") == booster.name

    def _value(self, place: Place, name: str) -> float | None:
        found = self.figure(place, name)
        return found.value if found else None


EMPTY = Layout("the layout", known=False)
"""No record: every figure is assumed for HO, every relation gives one unnamed place."""

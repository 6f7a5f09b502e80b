"""Relations between places, worked out from the parts of a record.

Each relation first asks for the scope of the thing complained about (see `scopes`), then for what belongs
to it. What the record does not say becomes one unnamed place. Figures and traits are left to others.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence

from troubleshoot.layout.places import KIND_OF_RELATION, MOST_PLACES, Part, Place, unnamed
from troubleshoot.layout.scopes import Names, Scopes, unique

_WHOLE_LAYOUT = ("control-bus", "interface", "panel-of", "throttle-of", "program", "building")
"""Relations that lead to the same places whatever is complained about."""


class Relations(Scopes):
    """The relations of one record."""

    def __init__(self, parts: Mapping[str, Part]) -> None:
        super().__init__(parts)
        self._known: dict[tuple[str, Place], tuple[Place, ...]] = {}

    def related(self, relation: str, about: Place) -> tuple[Place, ...]:
        """Places that stand in a relation to `about`, in the record's order; one unnamed if none is known."""
        if relation not in KIND_OF_RELATION:
            raise ValueError(f"{relation!r} is no relation; known are {', '.join(KIND_OF_RELATION)}")
        key = (relation, about)
        if key not in self._known:
            self._known[key] = self._related(relation, about)
        return self._known[key]

    def _related(self, relation: str, about: Place) -> tuple[Place, ...]:
        kind = KIND_OF_RELATION[relation]
        if relation == "itself" or (kind == about.kind and relation != "neighbour-of"):
            return (about,)
        names: Sequence[str]
        # The vehicles of a record are those worth naming, not all there are: none of them is the one in trouble.
        if about.kind == "layout" and relation not in ("neighbour-of", "vehicle-in"):
            names = self.of_kind.get(kind, ())
        else:
            known = about.name in self.parts or relation in _WHOLE_LAYOUT
            names = unique(_RULES[relation](self, about)) if known else ()
        places = tuple(Place(self.parts[n].kind, n) for n in names if n in self.parts)
        return places if 0 < len(places) <= MOST_PLACES else (unnamed(kind),)

    def neighbours(self, about: Place) -> Names:
        """Blocks that share a joint with the blocks of a place and are not among them."""
        own = self.blocks(about)
        beside = (b for j in self.inverse("joint", "between", own) for b in self.parts[j].lists["between"])
        return [b for b in unique(beside) if b not in own]

    def boundary(self, districts: Sequence[str]) -> Names:
        """Joints at the edge of districts, and those of the reversing sections inside them."""
        found = []
        for joint in self.of_kind.get("joint", ()):
            sides = self.parts[joint].lists.get("between", ())
            homes = [self.parts[s].words.get("district") for s in sides if s in self.parts]
            turning = [s for s in sides if s in self.parts and self.parts[s].words.get("reversing") == "yes"]
            if any(h in districts for h in homes) and (len(set(homes)) > 1 or turning):
                found.append(joint)
        return found

    def joints(self, about: Place) -> Names:
        """The joints of a place: of a block its own, of a district its edge."""
        owner = self.owner(about)
        if about.kind in ("district", "booster") or (owner and owner.kind in ("district", "booster")):
            return self.boundary(self.districts(about))
        return self.inverse("joint", "between", self.blocks(about))

    def boards(self, about: Place) -> Names:
        """The baseboards that a place is on."""
        part = self.parts.get(about.name)
        if part is None:
            return []
        if about.kind in ("plug", "duct"):
            return list(part.lists.get("between" if about.kind == "plug" else "boards", ()))
        return self.word([about.name], "board") or self.word(self.blocks(about), "board")

    def plugs(self, about: Place) -> Names:
        """Plugs that the feeders of a place go through, else those at its baseboards."""
        through = self.word_or_list(self.belonging("feeder", self.blocks(about)), "plug")
        return through or self.inverse("plug", "between", self.boards(about))

    def ducts(self, about: Place) -> Names:
        """Ducts that the feeders of a place lie in, else those along its baseboards."""
        inside = self.word_or_list(self.belonging("feeder", self.blocks(about)), "duct")
        return inside or self.inverse("duct", "boards", self.boards(about))

    def word_or_list(self, names: Iterable[str], key: str) -> Names:
        """What parts say under a key, be it one word or several."""
        said: Names = []
        for name in names:
            part = self.parts[name]
            said.extend(part.lists.get(key, (part.words[key],) if key in part.words else ()))
        return unique(said)

    def supplies(self, about: Place) -> Names:
        """The supply behind a place: of the device that serves it, by the kind of place."""
        kind = about.kind
        if kind in ("panel", "throttle", "control-bus", "interface"):
            users = self.of_kind.get("control-bus", [])
        elif kind in ("block", "detector", "zone", "feeder") or (kind == "settings" and self.detectors(about)):
            users = self.detectors(about) or self.boosters(about)
        elif kind in ("district", "booster", "breaker", "bus", "joint"):
            users = self.boosters(about)
        elif kind in ("signal", "driver"):
            users = [about.name] if kind == "driver" else self.word(self.signals(about), "driver")
        else:
            users = self.decoders(about)
        named = self.word(users, "supply")
        fed = [n for n in named if n in self.parts] or self.belonging("supply", users)
        if not fed and "track" in named:
            return self.supplies(Place("district", (self.districts(about) or [""])[0]))
        return fed

    def settings(self, about: Place) -> Names:
        """The settings that decide how a place behaves: its detector's, decoder's, breaker's or driver's."""
        kind = about.kind
        if kind in ("block", "zone", "feeder"):
            owners = self.detectors(about)
        elif kind in ("breaker", "bus", "joint"):
            owners = self.districts(about)
        elif kind in ("turnout", "motor", "contact", "input", "field-wire", "frog"):
            owners = self.decoders(about)
        elif kind in ("signal", "driver"):
            owners = unique([*self.word(self.signals(about), "driver"), *self.decoders(about)])[:1]
        elif kind in ("panel", "throttle", "interface"):
            owners = self.of_kind.get("control-bus", [])
        else:
            owners = [about.name]
        return self.belonging("settings", owners)

    def routes(self, about: Place) -> Names:
        """Routes that set a turnout of the place or run through a block of it."""
        by_turnout = self.inverse("route", "turnouts", self.turnouts(about))
        return unique([*by_turnout, *self.inverse("route", "blocks", self.blocks(about))])


def _derived(kind: str, scope: Callable[[Relations, Place], Names]) -> Callable[[Relations, Place], Names]:
    return lambda net, about: net.belonging(kind, scope(net, about))


def _every(kind: str) -> Callable[[Relations, Place], Names]:
    return lambda net, _: net.of_kind.get(kind, [])


_BELONGING: Mapping[Callable[[Relations, Place], Names], tuple[str, ...]] = {
    Relations.blocks: ("feeder-of", "zone-of", "accessory-in"),
    Relations.districts: ("breaker-of", "bus-of"),
    Relations.turnouts: ("motor-of", "contact-of", "input-of", "field-wire-of", "frog-of"),
}
"""Relations that lead to a derived place, by the scope of its owners."""

_RULES: Mapping[str, Callable[[Relations, Place], Iterable[str]]] = {
    "own-block": Relations.blocks,
    "joint-of": Relations.joints,
    "neighbour-of": Relations.neighbours,
    "detector-of": Relations.detectors,
    "board-of": Relations.boards,
    "plug-of": Relations.plugs,
    "duct-of": Relations.ducts,
    "district-of": Relations.districts,
    "booster-of": Relations.boosters,
    "supply-of": Relations.supplies,
    "turnout-in": Relations.turnouts,
    "vehicle-in": lambda _net, _about: (),  # a record lists vehicles, it cannot know where they stand today
    "decoder-of": Relations.decoders,
    "signal-of": Relations.signals,
    "driver-of": lambda net, about: net.word(net.signals(about), "driver"),
    "settings-of": Relations.settings,
    "route-of": Relations.routes,
    **{name: _derived(KIND_OF_RELATION[name], scope) for scope, names in _BELONGING.items() for name in names},
    **{name: _every(KIND_OF_RELATION[name]) for name in _WHOLE_LAYOUT},
}

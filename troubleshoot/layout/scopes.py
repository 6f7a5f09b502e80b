"""Which parts of a record a place has to do with: blocks, districts, boosters, turnouts, detectors, decoders.

This is the ground that relations stand on. A derived place, such as a feeder, stands for its owner. Nothing
is guessed: a scope that the record does not tell is empty.
"""

from collections.abc import Iterable, Mapping

from troubleshoot.layout.places import Part, Place

Names = list[str]


def unique(names: Iterable[str]) -> Names:
    """Names in order, each once."""
    return list(dict.fromkeys(names))


class Scopes:
    """The parts of one record, indexed by what they refer to."""

    def __init__(self, parts: Mapping[str, Part]) -> None:
        self.parts = parts
        self.of_kind: dict[str, Names] = {}
        self._inverse: dict[tuple[str, str, str], Names] = {}
        for part in parts.values():
            self.of_kind.setdefault(part.kind, []).append(part.name)
            for key, target in part.words.items():
                self._inverse.setdefault((part.kind, key, target), []).append(part.name)
            for key, targets in part.lists.items():
                for target in unique(targets):
                    self._inverse.setdefault((part.kind, key, target), []).append(part.name)

    def inverse(self, kind: str, key: str, targets: Iterable[str]) -> Names:
        """Parts of a kind that refer to any of the targets under a key."""
        return unique(n for t in targets for n in self._inverse.get((kind, key, t), ()))

    def word(self, names: Iterable[str], key: str) -> Names:
        """What the named parts say under a key, those that say anything."""
        return unique(w for n in names if (w := self.parts[n].words.get(key)) is not None)

    def belonging(self, kind: str, owners: Iterable[str]) -> Names:
        """Derived places of a kind that belong to the owners, such as their feeders."""
        return self.inverse(kind, "of", owners)

    def owner(self, about: Place) -> Place | None:
        """The place that a derived place belongs to."""
        part = self.parts.get(about.name)
        owner = self.parts.get(part.owner) if part and part.owner else None
        return Place(owner.kind, owner.name) if owner else None

    def blocks(self, about: Place) -> Names:
        """The blocks that a place has to do with."""
        name, kind = about.name, about.kind
        part = self.parts.get(name)
        if kind == "layout":
            return self.of_kind.get("block", [])
        if part is None:
            return []
        if kind == "block":
            return [name]
        if kind in ("district", "detector", "board"):
            return self.inverse("block", kind, [name])
        if kind == "joint":
            return list(part.lists.get("between", ()))
        if kind in ("booster", "supply", "plug", "duct"):
            return self._blocks_behind(about)
        if kind in ("decoder", "route"):
            return unique([*part.lists.get("blocks", ()), *self.word(self.turnouts(about), "block")])
        if kind == "signal":
            heard = [n for n in part.lists.get("listens-to", ()) if n in self.parts and self.parts[n].kind == "block"]
            # The block it protects comes before the one it stands in: that is where its trouble begins.
            return unique([*heard, *self.word([name], "block")])
        if kind == "driver":
            return unique(b for s in self.signals(about) for b in self.blocks(Place("signal", s)))
        own = part.words.get("block")
        if own:
            return [own]
        owner = self.owner(about)
        return self.blocks(owner) if owner else []

    def _blocks_behind(self, about: Place) -> Names:
        """Blocks that a booster, supply, plug or duct stands before."""
        name, kind = about.name, about.kind
        if kind == "booster":
            return self.inverse("block", "district", self.inverse("district", "booster", [name]))
        if kind == "plug":
            through = self.word(self.inverse("feeder", "plug", [name]), "of")
            return through or self.inverse("block", "board", self.parts[name].lists.get("between", ()))
        if kind == "duct":
            inside = self.word(self.inverse("feeder", "duct", [name]), "of")
            return inside or self.inverse("block", "board", self.parts[name].lists.get("boards", ()))
        users = [(k, n) for k in ("booster", "detector", "decoder") for n in self.inverse(k, "supply", [name])]
        owner = self.owner(about)
        users += [(owner.kind, owner.name)] if owner else []
        return unique(b for k, n in users for b in self.blocks(Place(k, n)))

    def districts(self, about: Place) -> Names:
        """The districts that a place has to do with."""
        if about.kind == "district":
            return [about.name]
        if about.kind == "booster":
            return self.inverse("district", "booster", [about.name])
        if about.kind == "layout":
            return self.of_kind.get("district", [])
        owner = self.owner(about)
        if owner and owner.kind in ("district", "booster"):
            return self.districts(owner)
        if about.kind == "supply":
            fed = self.inverse("district", "booster", self.inverse("booster", "supply", [about.name]))
            if fed:
                return fed
        return self.word(self.blocks(about), "district")

    def boosters(self, about: Place) -> Names:
        """The boosters that a place has to do with."""
        if about.kind == "supply":
            owner = self.owner(about)
            own = [owner.name] if owner and owner.kind == "booster" else []
            fed = unique([*own, *self.inverse("booster", "supply", [about.name])])
            if fed:
                return fed
        own = self.word([about.name], "booster") if about.kind == "detector" and about.name in self.parts else []
        return own or self.word(self.districts(about), "booster")

    def turnouts(self, about: Place) -> Names:
        """The turnouts that a place has to do with."""
        if about.kind == "turnout":
            return [about.name]
        if about.kind == "layout":
            return self.of_kind.get("turnout", [])
        part = self.parts.get(about.name)
        if part is None:
            return []
        if about.kind == "decoder":
            return self.inverse("turnout", "decoder", [about.name])
        if about.kind == "route":
            return list(part.lists.get("turnouts", ()))
        if about.kind == "signal":
            heard = [n for n in part.lists.get("listens-to", ()) if n in self.parts and self.parts[n].kind == "turnout"]
            if heard:
                return heard
        owner = self.owner(about)
        if owner and owner.kind in ("turnout", "decoder"):
            return self.turnouts(owner)
        users = self.inverse("decoder", "supply", [about.name]) if about.kind == "supply" else []
        if users:
            return self.inverse("turnout", "decoder", users)
        return self.inverse("turnout", "block", self.blocks(about))

    def signals(self, about: Place) -> Names:
        """The signals that a place has to do with."""
        if about.kind == "signal":
            return [about.name]
        if about.kind == "layout":
            return self.of_kind.get("signal", [])
        if about.kind in ("driver", "decoder"):
            driven = self.inverse("signal", "driver", [about.name])
            if driven or about.kind == "driver":
                return driven
        heard = self.inverse("signal", "listens-to", [about.name])
        if heard or about.kind == "turnout":
            return heard
        blocks = self.blocks(about)
        return unique([*self.inverse("signal", "block", blocks), *self.inverse("signal", "listens-to", blocks)])

    def detectors(self, about: Place) -> Names:
        """The detectors that watch a place."""
        if about.kind == "detector":
            return [about.name]
        users = self.inverse("detector", "supply", [about.name]) if about.kind == "supply" else []
        owner = self.owner(about)
        if owner and owner.kind == "detector":
            users = [owner.name]
        return users or self.word(self.blocks(about), "detector")

    def decoders(self, about: Place) -> Names:
        """The decoders that work a place."""
        if about.kind == "decoder":
            return [about.name]
        owner = self.owner(about)
        if owner and owner.kind == "decoder":
            return [owner.name]
        driven = self.word(self.signals(about), "driver") if about.kind in ("signal", "driver") else []
        direct = [n for n in driven if self.parts[n].kind == "decoder"]
        return direct or self.word(self.turnouts(about), "decoder")

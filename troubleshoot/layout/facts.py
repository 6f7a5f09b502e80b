"""Traits and derived facts: what a cause may need, and what deductions join, worked out from a record.

A trait is `yes` or `no` only where the record says so; silence is `unknown`, and an unknown trait rules
nothing out. What all sick places share is the smallest thing that stands behind all of them and not behind
every place of their kind. What answers say, and whether power is on, is left to others.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence

from troubleshoot.layout.places import FACTS, TRAITS, Place
from troubleshoot.layout.relations import Relations

_SENSING = ("coil", "diode-drop")
_SHARED: Mapping[str, tuple[str, ...]] = {
    "block": ("detector-of", "board-of", "plug-of", "duct-of", "district-of", "booster-of", "supply-of"),
    "turnout": ("board-of", "duct-of", "district-of", "booster-of", "supply-of", "decoder-of"),
    "signal": ("board-of", "duct-of", "district-of", "booster-of", "supply-of", "decoder-of"),
    "district": ("board-of", "booster-of", "supply-of"),
    "detector": ("board-of", "booster-of", "supply-of"),
}
"""Things whose fault shows at each of several places; of equally small ones the first listed counts."""


class Facts:
    """Traits and facts of one record."""

    def __init__(self, net: Relations, top: str | None) -> None:
        self.net, self.top = net, top

    def traits(self, about: Place) -> Mapping[str, str]:
        """Every trait as it stands for the place complained about."""
        return {name: _TRAITS[name](self, about) for name in TRAITS}

    def facts(self, about: Place, sick: Iterable[Place] = (), healthy: Iterable[Place] = ()) -> Mapping[str, str]:
        """Every derived fact. `sick` are the places that show the symptom; `about` is always one of them."""
        ill = list(dict.fromkeys((about, *sick)))
        shared = self.shared(ill, list(healthy))
        kinds = self.words("detector-of", about, "kind")
        references = set(self.words("booster-of", about, "reference"))
        values = {
            "sick": "several" if len(ill) > 1 else "one",
            "shared-by-all-sick": shared.kind if shared else "nothing",
            "detector-kind": kinds[0] if len(set(kinds)) == 1 else "unknown",
            "power": "unknown",
            "meter": self.said("meter"),
            "second-person": self.said("second-person"),
            "boosters": self._count_of("booster"),
            "reversing": self.reversing(about),
            "common-rail": self.said("common-rail"),
            "booster-reference": references.pop() if len(references) == 1 else "unknown",
            "layout-known": "yes" if self.top else "no",
        }
        return {name: values[name] if values[name] in FACTS[name] else "unknown" for name in FACTS}

    def shared(self, sick: Sequence[Place], healthy: Sequence[Place] = ()) -> Place | None:
        """The smallest thing that all of several sick places share, but no healthy one and not all of their kind."""
        kinds = {p.kind for p in sick}
        if len(sick) < 2 or len(kinds) != 1:
            return None
        everyone = [Place(p, n) for p in kinds for n in self.net.of_kind.get(p, ())]
        if not set(sick) <= set(everyone):
            return None
        best: tuple[int, Place] | None = None
        for relation in _SHARED.get(sick[0].kind, ()):
            behind = {p: self._behind(relation, p) for p in everyone}
            for thing in sorted(set.intersection(*(behind[p] for p in sick))):
                size = sum(thing in things for things in behind.values())
                if any(thing in self._behind(relation, p) for p in healthy):
                    continue
                if size < len(everyone) and (best is None or size < best[0]):
                    best = (size, thing)
        return best[1] if best else None

    def _behind(self, relation: str, about: Place) -> set[Place]:
        """The named things behind a place; a plug only if the record says that the feeder goes through it."""
        if relation == "plug-of":
            through = self.net.word_or_list(self.net.belonging("feeder", [about.name]), "plug")
            return {Place("plug", name) for name in through}
        return {p for p in self.net.related(relation, about) if p.name in self.net.parts}

    # -- what the record says -------------------------------------------------------------------------------

    def said(self, key: str) -> str:
        """What the record says of the layout as a whole, or `unknown`."""
        return self.net.parts[self.top].words.get(key, "unknown") if self.top else "unknown"

    def words(self, relation: str, about: Place, key: str) -> list[str]:
        """What the related places say under a key, one entry for each that says anything."""
        parts = [self.net.parts[p.name] for p in self.net.related(relation, about) if p.name in self.net.parts]
        return [p.words[key] for p in parts if key in p.words]

    def _any(self, values: Iterable[str], wanted: Sequence[str]) -> str:
        """Yes if any value is wanted; no if there are values and none is; else unknown."""
        known = [v for v in values if v != "unknown"]
        return "unknown" if not known else "yes" if any(v in wanted for v in known) else "no"

    def _count_of(self, kind: str) -> str:
        count = len(self.net.of_kind.get(kind, ()))
        return "unknown" if count == 0 else "one" if count == 1 else "several"

    def several(self, kind: str) -> str:
        """Whether the layout has more than one of a kind."""
        return {"unknown": "unknown", "one": "no", "several": "yes"}[self._count_of(kind)]

    def kept(self, kind: str) -> str:
        """Whether the layout has any of a kind: no only where the record says that there is none."""
        if self.net.of_kind.get(kind):
            return "yes"
        return "no" if kind in self._without() else "unknown"

    def _without(self) -> tuple[str, ...]:
        return self.net.parts[self.top].lists.get("without", ()) if self.top else ()

    # -- traits that take a few lines -----------------------------------------------------------------------

    def detector(self, about: Place, kinds: Sequence[str]) -> str:
        """Whether a detector of one of the kinds watches the place."""
        return self._any(self.words("detector-of", about, "kind"), kinds)

    def motor(self, about: Place, kind: str) -> str:
        """Whether a turnout of the place has a motor of the kind."""
        return self._any(self.words("turnout-in", about, "motor"), (kind,))

    def breaker(self, about: Place) -> str:
        """Whether a district of the place has a breaker."""
        said = self.words("district-of", about, "breaker")
        districts = [p for p in self.net.related("district-of", about) if p.name in self.net.parts]
        fitted = any(s != "none" for s in said)
        return "yes" if fitted else "no" if said and len(said) == len(districts) else "unknown"

    def reversing(self, about: Place) -> str:
        """Whether the districts of a place hold a reversing section; one marked, the others are none."""
        blocks = self.net.of_kind.get("block", ())
        marked = {b: self.net.parts[b].words["reversing"] for b in blocks if "reversing" in self.net.parts[b].words}
        if not marked:
            return self.said("reversing")
        near = set(self.net.inverse("block", "district", self.net.districts(about)) or blocks)
        return "yes" if any(said == "yes" and b in near for b, said in marked.items()) else "no"

    def reverser(self, about: Place) -> str:
        """Whether a reverser feeds a reversing section of the place's districts."""
        near = self.net.inverse("block", "district", self.net.districts(about)) or self.net.of_kind.get("block", [])
        turning = [self.net.parts[b].words for b in near if self.net.parts[b].words.get("reversing") == "yes"]
        if not turning:
            return "no" if self.reversing(about) == "no" else "unknown"
        return self._any((w.get("reverser", "unknown") for w in turning), ("yes",))

    def turnouts_near(self, about: Place) -> str:
        """Whether the districts of a place hold turnouts, told by the blocks that these lie in."""
        if not self.net.of_kind.get("turnout"):
            return self.kept("turnout")
        if about.kind == "turnout":
            return "yes"
        near = self.net.inverse("block", "district", self.net.districts(about)) or self.net.blocks(about)
        placed = self.net.word(self.net.of_kind["turnout"], "block")
        if not near or not placed:
            return "unknown"
        return "yes" if any(b in near for b in placed) else "no"

    def accessory(self, about: Place) -> str:
        """Whether something besides trains is fed from a block of the place; silence is unknown."""
        parts = [self.net.parts[b] for b in self.net.blocks(about)]
        if any(p.lists.get("accessories") for p in parts):
            return "yes"
        return "no" if parts and all("accessories" in p.lists for p in parts) else "unknown"

    def wide(self, about: Place) -> str:
        """Whether a decoder of the place has more than four outputs."""
        decoders = [self.net.parts[d] for d in self.net.decoders(about)] if about.name in self.net.parts else []
        outputs = [p.figures["outputs"][0] for p in decoders if "outputs" in p.figures]
        return "unknown" if not outputs else "yes" if max(outputs) > 4 else "no"

    def track_powered(self, about: Place) -> str:
        """Whether a decoder of the place takes its power from the track."""
        return self._any(self.words("decoder-of", about, "supply"), ("track",))

    def discharge_unit(self, about: Place) -> str:
        """Whether a capacitor discharge unit works a coil of the place."""
        said = self.words("decoder-of", about, "discharge-unit") + self.words("turnout-in", about, "discharge-unit")
        return self._any(said, ("yes",))

    def filter(self, about: Place) -> str:
        """Whether a filter is fitted on a bus of the place."""
        return self._any(self.words("district-of", about, "filter") or [self.said("filter")], ("yes",))

    def insulated(self, about: Place) -> str:
        """Whether joints of the place are cut or insulated."""
        return self._any(self.words("joint-of", about, "insulated"), ("yes",))

    def axles(self) -> str:
        """Whether stock has resistor axles."""
        figure = self.top is not None and "axle-ohms" in self.net.parts[self.top].figures
        return "yes" if figure and self.said("resistor-axles") == "unknown" else self.said("resistor-axles")

    def storage(self) -> str:
        """Whether stock has storage capacitors."""
        vehicles = [self.net.parts[v] for v in self.net.of_kind.get("vehicle", ())]
        given = any("storage" in p.figures for p in [*vehicles, *([self.net.parts[self.top]] if self.top else [])])
        return "yes" if given else self.said("storage-capacitors")


_TRAITS: Mapping[str, Callable[[Facts, Place], str]] = {
    "current-sensing-detector": lambda f, about: f.detector(about, _SENSING),
    "coil-detector": lambda f, about: f.detector(about, ("coil",)),
    "diode-drop-detector": lambda f, about: f.detector(about, ("diode-drop",)),
    "several-boosters": lambda f, _: f.several("booster"),
    "several-districts": lambda f, _: f.several("district"),
    "breaker-fitted": Facts.breaker,
    "reversing-section": Facts.reversing,
    "reverser-fitted": Facts.reverser,
    "turnouts-in-district": Facts.turnouts_near,
    "feedback-contact-fitted": lambda f, about: f._any(
        f.words("turnout-in", about, "feedback"), ("contact", "optical")
    ),
    "stall-motor": lambda f, about: f.motor(about, "stall"),
    "coil-motor": lambda f, about: f.motor(about, "coil"),
    "servo-motor": lambda f, about: f.motor(about, "servo"),
    "capacitor-discharge-unit": Facts.discharge_unit,
    "computer-interface": lambda f, _: f.kept("interface"),
    "control-bus-fitted": lambda f, _: f.kept("control-bus"),
    "resistor-axles": lambda f, _: f.axles(),
    "storage-capacitors": lambda f, _: f.storage(),
    "accessory-in-block": Facts.accessory,
    "filter-fitted": Facts.filter,
    "common-rail": lambda f, _: f.said("common-rail"),
    "routes-stored": lambda f, _: f.kept("route"),
    "joints-insulated": Facts.insulated,
    "several-detector-boards": lambda f, _: f.several("detector"),
    "wide-decoder": Facts.wide,
    "track-powered-decoder": Facts.track_powered,
    "panel-fitted": lambda f, _: f.kept("panel"),
}

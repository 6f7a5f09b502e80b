"""One layout with one hidden fault, and what it answers.

Rules: the same check at the same place gives the same answer however often it is made. A reading that the circuit
knows is worked out with the fault in it, and read with the meter's error; anything else comes from the file of
faults: at another part of the same kind than the faulty one, as where all is well. What neither knows is answered
`not sure`. The likelihoods of the rules are never looked at.
"""

import math
import random
from collections.abc import Mapping
from dataclasses import dataclass, field

from troubleshoot.circuit import Model, Probe, model_of
from troubleshoot.circuit.faults import changes
from troubleshoot.electrics import meter_error
from troubleshoot.inquiry import Answer, Complaint, Lifted, PutAside
from troubleshoot.layout import Layout, Place
from troubleshoot.locating import Lift, Tree, fits, shares
from troubleshoot.practice.faults import UNKNOWN, HiddenFault
from troubleshoot.quantities import read_reading, show
from troubleshoot.rulebook import Check, Rulebook

TRIES = 200


class Unfit(ValueError):
    """A fault that this layout cannot have."""


@dataclass(eq=False)
class World:
    """A layout with a fault: what is complained about, where the fault sits, and what has been answered so far."""

    layout: Layout
    rulebook: Rulebook
    fault: HiddenFault
    subject: Place
    place: Place
    seed: int
    wrong: float = 0.0
    _given: dict[tuple[str, Place], Answer | PutAside] = field(default_factory=dict)
    _found: dict[str, str] = field(default_factory=dict)

    @property
    def complaint(self) -> Complaint:
        """What the owner notices."""
        return Complaint(self.fault.symptom, self.subject.name, (self.subject.name,))

    def careful(self) -> "World":
        """The same world, looked at again with care: what it answers is what is there."""
        return World(self.layout, self.rulebook, self.fault, self.subject, self.place, self.seed)

    def answer(self, check: Check, place: Place) -> Answer | PutAside:
        """What comes of a check at a place."""
        key = (check.name, place)
        if key not in self._given:
            self._given[key] = self._answer(check, place)
        return self._given[key]

    def _dice(self, *words: str) -> random.Random:
        return random.Random(" ".join((str(self.seed), self.fault.name, *words)))

    def _answer(self, check: Check, place: Place) -> Answer | PutAside:
        dice = self._dice(check.name, place.name)
        read = self._measured(check, place, dice)
        if read is not None:
            return Answer(check.name, place.name, None, read_reading(read, str(check.unit)), "typed")
        outcome = self._truth(check, place)
        if outcome == UNKNOWN:
            return PutAside(check.name, place.name, "not-sure")
        if dice.random() < self.wrong and len(check.outcomes) > 1:
            outcome = dice.choice([o for o in check.outcomes if o != outcome])
        return Answer(check.name, place.name, outcome, None, "seen")

    def _measured(self, check: Check, place: Place, dice: random.Random) -> str | None:
        """What the meter shows, as a person would type it; None where the circuit does not know."""
        model = model_of(self.layout)
        if not check.measures or model is None:
            return None
        value = self._shown(model, Probe(*check.measures), place)
        if value is None:
            return None
        if value == math.inf:
            return "OL"
        value *= math.exp(dice.gauss(0.0, meter_error(self.layout, str(check.unit))))
        return show(value, str(check.unit))

    def _shown(self, model: Model, probe: Probe, place: Place) -> float | None:
        circuit = model.circuit(probe)
        wrong: tuple[object, ...] = ()
        if self.fault.circuit is not None:
            variants = changes(self.fault.circuit.kind, circuit, self._circuit_place(), self.size)
            wrong = self._dice("variant").choice(variants) if variants else ()
        try:
            return model.shown(probe, place, wrong)[0]  # type: ignore[arg-type]
        except ValueError:
            return None

    @property
    def size(self) -> float:
        """How bad the fault is, in ohms or as a share, drawn evenly by ratio from its range."""
        fault = self.fault.circuit
        if fault is None:
            return 1.0
        low, high = math.log(fault.least), math.log(max(fault.most, fault.least))
        return math.exp(self._dice("size").uniform(low, high))

    def _circuit_place(self) -> Place:
        relation = self.fault.circuit_at
        return self.layout.related(relation, self.subject)[0] if relation else self.place

    def _truth(self, check: Check, place: Place) -> str:
        """The outcome that is really there, drawn once for each check."""
        cause = self.rulebook.causes[self.fault.cause]
        elsewhere = check.relation == cause.relation and place != self.place and self.place.name in self.layout.parts
        if elsewhere:
            return self.fault.healthy.get(check.name, UNKNOWN)
        if check.name not in self._found:
            shares: Mapping[str, float] = self.fault.answers.get(check.name) or {UNKNOWN: 1.0}
            self._found[check.name] = self._dice(check.name).choices(list(shares), list(shares.values()))[0]
        return self._found[check.name]

    def lifted(self, tree: Tree, point: str) -> Lifted:
        """Whether the fault goes when something is disconnected at a point: it does where it sits behind that point."""
        sits = shares(self.layout, tree, self._circuit_place().name)
        fit = fits(tree, (Lift(point, True),))
        return Lifted(point, bool(sits) and math.fsum(share * fit[i] for i, share in sits.items()) > 0.5)

    def cured_by(self, remedy: str, place: Place) -> bool:
        """Whether a remedy at a place mends this fault: the right thing, at the right part or where none is named."""
        entry = self.rulebook.remedies[remedy]
        if self.fault.cause not in entry.mends:
            return False
        if self.place.name not in self.layout.parts or place.name not in self.layout.parts:
            return True
        if place.kind == self.place.kind:
            return place == self.place
        mine, theirs = (set(self.layout.related("own-block", p)) for p in (self.place, place))
        return bool(mine & theirs)


def draw(layout: Layout, rulebook: Rulebook, fault: HiddenFault, seed: int, wrong: float = 0.0) -> World:
    """A world with this fault somewhere it can be. Raises Unfit for a layout that cannot have it."""
    dice = random.Random(f"{seed} {fault.name} where")
    cause, symptom = rulebook.causes[fault.cause], rulebook.symptoms[fault.symptom]
    subjects = layout.places_of(symptom.about) or (Place(symptom.about, f"the {symptom.about}"),)
    if symptom.about == "layout":
        subjects = (layout.itself,)
    for _ in range(TRIES):
        subject = dice.choice(subjects)
        traits = layout.traits(subject)
        if any(traits.get(need) == "no" for need in cause.needs):
            continue
        places = layout.related(cause.relation, subject) or (subject,)
        return World(layout, rulebook, fault, subject, dice.choice(places), seed, wrong)
    raise Unfit(f"{layout.name} has no place for the fault {fault.name!r}: {cause.says}")

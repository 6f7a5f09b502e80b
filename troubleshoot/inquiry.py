"""What has been said and done so far in one inquiry: plain records, in the order in which they happened.

An inquiry is replayed from its records after every answer; going back is dropping one. Here readings are also
judged: which band of a check a figure falls into on this layout, softly near a limit. What follows from it all
is left to deduction and belief.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from troubleshoot.electrics import Limits, limits, meter_error
from troubleshoot.layout import Layout, Place, Unknown
from troubleshoot.quantities import Reading
from troubleshoot.rulebook import Check, Rulebook
from troubleshoot.rulebook.words import REPORTED_WRONG

ASSUMED_SPREAD = 0.15
"""Log spread of a limit that rests on an assumed figure (estimate)."""


@dataclass(frozen=True)
class Complaint:
    """What is noticed, about which place; `sick` names all places that show it, `healthy` some that do not."""

    symptom: str
    about: str | None = None
    sick: tuple[str, ...] = ()
    longest_quiet: float = 0.0
    healthy: tuple[str, ...] = ()


@dataclass(frozen=True)
class Answer:
    """An outcome or a reading of a check at a place, and how it was come by."""

    check: str
    place: str | None = None
    outcome: str | None = None
    reading: Reading | None = None
    how: str = "seen"


@dataclass(frozen=True)
class PutAside:
    """A check that cannot be answered now: not-sure, cant-do or already-tried. It changes no belief."""

    check: str
    place: str | None = None
    why: str = "not-sure"


@dataclass(frozen=True)
class SetUpChange:
    """A state of the layout entered or left."""

    set_up: str
    place: str | None = None
    entered: bool = True


@dataclass(frozen=True)
class Mend:
    """A remedy carried out, with its result: fixed, partly or not-fixed."""

    remedy: str
    place: str | None = None
    result: str = "fixed"


@dataclass(frozen=True)
class ProofSeen:
    """The outcome of a proof test and how long it has been quiet since, in seconds."""

    remedy: str
    place: str | None = None
    passed: bool = True
    quiet_seconds: float = 0.0


@dataclass(frozen=True)
class AtHand:
    """How many minutes there are, and the most that may be kept waiting (nothing, block, district, layout)."""

    minutes: float | None = None
    may_stop: str | None = None


@dataclass(frozen=True)
class Note:
    """Words for the record."""

    text: str


@dataclass(frozen=True)
class PlacesSeen:
    """Further places that show the symptom, and places that do not."""

    sick: tuple[str, ...] = ()
    healthy: tuple[str, ...] = ()


@dataclass(frozen=True)
class Lifted:
    """A point where something was disconnected and put back, and whether the fault went; None for not sure."""

    point: str
    gone: bool | None


@dataclass(frozen=True)
class FoundAt:
    """The place at which somebody who looked found the fault; empty where they looked and cannot say."""

    place: str


Record = Complaint | Answer | PutAside | SetUpChange | Mend | ProofSeen | AtHand | Note | PlacesSeen | Lifted | FoundAt


@dataclass(frozen=True)
class Observation:
    """One judged answer: weights over the outcomes of its finding, and the chance that it was reported wrongly."""

    check: str
    finding: str
    place: Place
    outcome: str
    weights: tuple[float, ...]
    error: float
    order: int
    said: str
    value: float | None = None
    """The reading in SI where a plain figure was typed, inf where the meter was over range."""


@dataclass(frozen=True, eq=False)
class Inquiry:
    """All records of one inquiry in order, and what stands at the end of them."""

    records: tuple[Record, ...] = ()

    def and_then(self, *more: Record) -> "Inquiry":
        """The inquiry with further records."""
        return Inquiry((*self.records, *more))

    @cached_property
    def complaint(self) -> Complaint | None:
        """The complaint worked on now: the last one made."""
        made = [r for r in self.records if isinstance(r, Complaint)]
        return made[-1] if made else None

    @cached_property
    def begun(self) -> int:
        """Where the inquiry turned to what it works on now; saying the same complaint again is no turn."""
        turn, subject = -1, None
        for order, record in enumerate(self.records):
            if isinstance(record, Complaint) and (record.symptom, record.about) != subject:
                turn, subject = order, (record.symptom, record.about)
        return turn

    @cached_property
    def looks(self) -> Mapping[str, bool]:
        """Places said to be sick (True) or healthy (False), by the last word on each."""
        said: dict[str, bool] = {}
        for record in self.records[max(self.begun, 0) :]:
            if isinstance(record, Complaint | PlacesSeen):
                for names, sick in ((record.healthy, False), (record.sick, True)):
                    for name in names:
                        said.pop(name, None)
                        said[name] = sick
        return said

    @cached_property
    def found_at(self) -> str | None:
        """Where the fault of the present complaint was found, as last said: empty for not sure, None if not asked."""
        said = [r.place for order, r in enumerate(self.records) if isinstance(r, FoundAt) and order > self.begun]
        return said[-1] if said else None

    @cached_property
    def lifts(self) -> tuple[Lifted, ...]:
        """What was disconnected in search of the fault worked on now, in order; after one of two faults, afresh."""
        partly = max((order for order, mend in self.attempts if mend.result == "partly"), default=0)
        now = self.records[max(self.begun, partly, 0) :]
        return tuple(r for r in now if isinstance(r, Lifted) and r.gone is not None)

    @cached_property
    def at_hand(self) -> AtHand:
        """Minutes at hand and what may be stopped, as last said."""
        minutes, may_stop = None, None
        for record in self.records:
            if isinstance(record, AtHand):
                minutes = record.minutes if record.minutes is not None else minutes
                may_stop = record.may_stop or may_stop
        return AtHand(minutes, may_stop)

    @cached_property
    def in_force(self) -> tuple[SetUpChange, ...]:
        """Set-ups entered and not left, in order: what is still undone."""
        states: dict[tuple[str, str | None], SetUpChange] = {}
        for record in self.records:
            if isinstance(record, SetUpChange):
                states.pop((record.set_up, record.place), None)
                if record.entered:
                    states[record.set_up, record.place] = record
        return tuple(states.values())

    @cached_property
    def mends(self) -> tuple[tuple[int, Mend], ...]:
        """Remedies carried out, with their position; a later result of the same mend replaces an earlier one."""
        done: dict[tuple[str, str | None], tuple[int, Mend]] = {}
        for order, record in enumerate(self.records):
            if isinstance(record, Mend):
                done[record.remedy, record.place] = (order, record)
        return tuple(done.values())

    @cached_property
    def attempts(self) -> tuple[tuple[int, Mend], ...]:
        """Every time a remedy was carried out, with its position: a remedy may be tried again, with more care."""
        return tuple((order, r) for order, r in enumerate(self.records) if isinstance(r, Mend))

    @cached_property
    def proofs(self) -> tuple[tuple[int, ProofSeen], ...]:
        """Proof tests seen, with their position."""
        return tuple((order, r) for order, r in enumerate(self.records) if isinstance(r, ProofSeen))

    def proof_of(self, order: int, mend: Mend) -> ProofSeen | None:
        """The last proof seen of a mend after it was carried out and before it was carried out again."""
        again = min(
            (o for o, m in self.attempts if o > order and (m.remedy, m.place) == (mend.remedy, mend.place)),
            default=None,
        )
        seen = [
            p
            for o, p in self.proofs
            if o > order and (again is None or o < again) and (p.remedy, p.place) == (mend.remedy, mend.place)
        ]
        return seen[-1] if seen else None

    @cached_property
    def latest(self) -> Mapping[tuple[str, str | None], tuple[int, Answer | PutAside]]:
        """The last word on each check at each place: a repeat replaces, it does not count twice."""
        words: dict[tuple[str, str | None], tuple[int, Answer | PutAside]] = {}
        for order, record in enumerate(self.records):
            if isinstance(record, Answer | PutAside):
                words[record.check, record.place] = (order, record)
        return words


def about(layout: Layout, inquiry: Inquiry, rulebook: Rulebook) -> Place:
    """The place complained about; unnamed when the layout record does not know it."""
    complaint = inquiry.complaint
    kind = (
        rulebook.symptoms[complaint.symptom].about if complaint and complaint.symptom in rulebook.symptoms else "layout"
    )
    name = complaint.about if complaint else None
    if name is None:
        return Place(kind, f"the {kind}")
    try:
        return layout.place(name)
    except Unknown:
        return Place(kind, name)


def sick_places(layout: Layout, inquiry: Inquiry, rulebook: Rulebook) -> tuple[Place, ...]:
    """All places that show the symptom, the one complained about first."""
    first = about(layout, inquiry, rulebook)
    rest = _looking(layout, inquiry, first, True)
    return (first, *(p for p in rest if p != first))


def healthy_places(layout: Layout, inquiry: Inquiry, rulebook: Rulebook) -> tuple[Place, ...]:
    """All places that are said not to show the symptom."""
    first = about(layout, inquiry, rulebook)
    return tuple(p for p in _looking(layout, inquiry, first, False) if p != first)


def _looking(layout: Layout, inquiry: Inquiry, first: Place, sick: bool) -> list[Place]:
    places = []
    for name in [n for n, ill in inquiry.looks.items() if ill is sick]:
        try:
            places.append(layout.place(name))
        except Unknown:
            places.append(Place(first.kind, name))
    return places


def where(layout: Layout, check: Check, place: str | None, subject: Place) -> Place:
    """The place an answer speaks of: the one named, else the first that the check's relation gives."""
    places = layout.related(check.relation, subject)
    if place is not None:
        for known in places:
            if known.name == place:
                return known
        try:
            return layout.place(place)
        except Unknown:
            return Place(places[0].kind if places else subject.kind, place)
    return places[0] if places else subject


def edges(layout: Layout, check: Check, place: Place) -> Limits:
    """The limits of a reading's bands at a place, in SI, with the figures they come from."""
    bands = tuple((b.outcome, b.factor, b.quantity, b.plain) for b in check.bands)
    return limits(layout, place, bands, check.unit or "")


def _tail(x: float) -> float:
    return 0.5 * math.erfc(-x / math.sqrt(2.0))


def weigh(layout: Layout, check: Check, place: Place, reading: Reading) -> tuple[float, ...]:
    """How much a reading speaks for each band: all for one far from the limits, shared softly near one."""
    outcomes = check.outcomes
    if reading.over_range:
        return tuple(1.0 if o == check.over_range else 0.0 for o in outcomes)
    bounds = edges(layout, check, place)
    if reading.bound in ("<", ">"):
        return _bounded(bounds, reading, len(outcomes))
    blur = (2.0 if reading.bound == "~" else 1.0) * meter_error(layout, check.unit or "")
    own = [max(s, ASSUMED_SPREAD if bounds.assumed else 0.0) for s in bounds.spread]
    value = abs(reading.value)
    if value <= 0.0:
        return tuple(1.0 if i == 0 else 0.0 for i in range(len(outcomes)))
    below = [
        _tail((math.log(max(e, 1e-30)) - math.log(value)) / math.hypot(blur, s))
        for e, s in zip(bounds.edges, own, strict=True)
    ]
    shares = [b - a for a, b in zip([0.0, *below], [*below, 1.0], strict=True)]
    return tuple(max(0.0, s) for s in shares)


def _bounded(bounds: Limits, reading: Reading, count: int) -> tuple[float, ...]:
    """A reading given only as below or above a figure speaks alike for every band that it leaves open."""
    lows, highs = (0.0, *bounds.edges), (*bounds.edges, math.inf)
    value = abs(reading.value)
    open_ = [lo < value if reading.bound == "<" else hi > value for lo, hi in zip(lows, highs, strict=True)]
    total = sum(open_) or 1
    return tuple(1.0 / total if o else 0.0 for o in open_[:count])


def observations(layout: Layout, rulebook: Rulebook, inquiry: Inquiry) -> tuple[Observation, ...]:
    """Every answered check, judged, in a fixed order that does not depend on when it was answered."""
    subject = about(layout, inquiry, rulebook)
    last: dict[tuple[str, Place], tuple[int, Answer | PutAside]] = {}
    for (name, said_place), (order, record) in inquiry.latest.items():
        if name in rulebook.checks:
            # The same check with its place named and with the place going without saying is one check.
            key = name, where(layout, rulebook.checks[name], said_place, subject)
            last[key] = max(last.get(key, (-1, record)), (order, record), key=lambda word: word[0])
    judged = [
        _judge(layout, rulebook, rulebook.checks[name], place, record, order)
        for (name, place), (order, record) in last.items()
        if isinstance(record, Answer)
    ]
    seen = [one for one in judged if one is not None]
    return tuple(sorted(seen, key=lambda o: (o.finding, o.place.name, o.check)))


def _judge(
    layout: Layout, rulebook: Rulebook, check: Check, place: Place, record: Answer, order: int
) -> Observation | None:
    finding = rulebook.findings[check.finding]
    if record.reading is not None and check.unit:
        shares = weigh(layout, check, place, record.reading)
        by_outcome = dict(zip(check.outcomes, shares, strict=True))
        said, value = record.reading.said, _plain(record.reading)
    elif record.outcome in check.outcomes:
        by_outcome = {o: 1.0 if o == record.outcome else 0.0 for o in check.outcomes}
        said, value = check.labels[str(record.outcome)], None
    else:
        return None
    weights = tuple(by_outcome[o] for o in finding.outcomes)
    outcome = finding.outcomes[max(range(len(weights)), key=lambda i: weights[i])]
    how = record.how if record.how in REPORTED_WRONG else "seen"
    return Observation(check.name, check.finding, place, outcome, weights, REPORTED_WRONG[how], order, said, value)


def _plain(reading: Reading) -> float | None:
    """A typed figure that can be compared by size; none where only a bound or a nought was given."""
    if reading.over_range:
        return math.inf
    value = abs(reading.value)
    return value if value > 0.0 and reading.bound not in ("<", ">") else None


def replay(records: Sequence[Record]) -> Inquiry:
    """An inquiry from records."""
    return Inquiry(tuple(records))

"""All records of one inquiry in the order in which they happened, and what stands at the end of them.

An inquiry is replayed from its records after every answer; going back is dropping one. Nothing here knows a layout.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from troubleshoot.inquiry.records import (
    Answer,
    AtHand,
    Complaint,
    FoundAt,
    FoundNowhere,
    Lifted,
    Mend,
    PlacesSeen,
    ProofSeen,
    PutAside,
    Record,
    SetUpChange,
)


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
    def found_nowhere(self) -> frozenset[str]:
        """Causes of the present complaint that were looked for at every place and found at none."""
        now = self.records[max(self.begun, 0) :]
        return frozenset(c for r in now if isinstance(r, FoundNowhere) for c in r.causes)

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
                # Taken out first, so that what was done last stands last.
                done.pop((record.remedy, record.place), None)
                done[record.remedy, record.place] = (order, record)
        return tuple(done.values())

    @cached_property
    def attempts(self) -> tuple[tuple[int, Mend], ...]:
        """Every time a remedy was carried out, with its position: a remedy may be tried again, with more care."""
        return tuple((order, r) for order, r in enumerate(self.records) if isinstance(r, Mend))

    @cached_property
    def in_vain(self) -> tuple[tuple[int, Mend], ...]:
        """Attempts that cured nothing or only a part, or whose proof failed, with their position."""
        lost = []
        for order, mend in self.attempts:
            proof = self.proof_of(order, mend)
            if mend.result != "fixed" or (proof is not None and not proof.passed):
                lost.append((order, mend))
        return tuple(lost)

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


def replay(records: Sequence[Record]) -> Inquiry:
    """An inquiry from records."""
    return Inquiry(tuple(records))

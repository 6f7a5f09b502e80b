"""A case as a paper tells it: the layout, the rules, and what happened, in order and with its time.

Only what stands is told: an event that was taken back is left out. A time that is no time is left out too.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

from troubleshoot.casebook import Case, record_of
from troubleshoot.diagnosis import Diagnosis, diagnose
from troubleshoot.inquiry import Complaint, Inquiry, Note, Record
from troubleshoot.layout import Layout
from troubleshoot.rulebook import Rulebook
from troubleshoot.rulebook.tally import Tally

_TIME = re.compile(r"(\d{4}-\d\d-\d\d)[T ](\d\d:\d\d).{0,20}")


@dataclass(frozen=True)
class Event:
    """One thing that was said or done, and when: `2026-09-12 19:42`, or nothing."""

    when: str
    record: Record


@dataclass(frozen=True, eq=False)
class Story:
    """Everything a paper about a case is made from."""

    name: str
    layout: Layout
    rulebook: Rulebook
    events: tuple[Event, ...]
    closed: bool = False
    packs: tuple[str, ...] = ()
    tally: Tally = field(default_factory=Tally)
    nameless: bool = False
    by_hand: bool = False

    @cached_property
    def inquiry(self) -> Inquiry:
        """What was said and done, as the reasoning sees it."""
        return Inquiry(tuple(e.record for e in self.events))

    @cached_property
    def made(self) -> Diagnosis:
        """What follows from it."""
        return diagnose(self.layout, self.rulebook, self.inquiry, self.tally)

    @property
    def complaint(self) -> Event | None:
        """The first complaint: what this case began with."""
        return next((e for e in self.events if isinstance(e.record, Complaint)), None)

    @property
    def notes(self) -> Sequence[Event]:
        """The notes, in order."""
        return [e for e in self.events if isinstance(e.record, Note)]


def story_of(case: Case, layout: Layout, rulebook: Rulebook, tally: Tally | None = None) -> Story:
    """The story of a case. Raises Unreadable for a reading that its check cannot take (see `casebook.inquiry`)."""
    events = []
    for _, event in case.standing():
        record = record_of(event, rulebook.former, rulebook)
        if record is not None:
            events.append(Event(time_of(event.get("when")), record))
    packs = tuple(f"{p.name} {p.version}" for p in rulebook.packs)
    tally, by_hand = tally or Tally(), case.closed_by_hand
    return Story(case.name, layout, rulebook, tuple(events), case.closed, packs, tally, by_hand=by_hand)


def time_of(said: object) -> str:
    """A time as papers show it: day and minute, as written in the case."""
    match = _TIME.fullmatch(str(said or ""))
    return f"{match[1]} {match[2]}" if match else ""

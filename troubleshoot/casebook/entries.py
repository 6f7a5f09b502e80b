"""What the shelf keeps of a case: enough to find it, to compare it with another and to learn from it.

An entry is made from a case file that has been read in full and strictly; nothing is guessed. It holds the standing
events that tell (complaints, answers, remedies, proofs, the closing), so that an inquiry can be replayed from it
without opening the file. Where entries are kept is left to `index`, what they teach to `learning`.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from troubleshoot.casebook.events import record_of
from troubleshoot.casebook.files import Case, inquiry
from troubleshoot.documents import Problems
from troubleshoot.inquiry import Inquiry
from troubleshoot.rulebook import Rulebook

TELLING = ("symptom", "answer", "remedy", "proof", "closed")
"""Kinds of events that are kept in an entry."""
_SILENT = {"when", "how", "shown", "state", "takes-back", "see"}
"""Keys whose values nobody searches for."""


@dataclass(frozen=True)
class Entry:
    """One case as the shelf keeps it. Times are seconds since 1970, 0 where none is readable.

    `remedy`, `spot` and `proven` are the last remedy that mended, its place, and whether its proof was passed after
    it; `places` are all places named, the one complained about first; `told` are the standing events that tell.
    """

    name: str
    began: float = 0.0
    ended: float = 0.0
    symptom: str = ""
    about: str = ""
    layout: str = ""
    closed: bool = False
    proven: bool = False
    remedy: str = ""
    spot: str = ""
    causes: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    events: int = 0
    told: tuple[Mapping[str, Any], ...] = field(default=(), repr=False)

    @property
    def day(self) -> str:
        """The day it began, as 2026-11-24; nothing where that is not known."""
        return datetime.fromtimestamp(self.began).astimezone().strftime("%Y-%m-%d") if self.began else ""

    @property
    def month(self) -> int:
        """The month it began (1 to 12); 0 where that is not known."""
        return datetime.fromtimestamp(self.began).astimezone().month if self.began else 0

    def inquiry(self, rulebook: Rulebook | None = None) -> Inquiry:
        """The case replayed. Raises Unreadable for what these rules cannot take."""
        former = rulebook.former if rulebook else {}
        found = (record_of(event, former, rulebook) for event in self.told)
        return Inquiry(tuple(r for r in found if r is not None))

    def answers(self) -> dict[str, str]:
        """The last outcome said to each check; readings are left out, because their meaning hangs on the layout."""
        return {str(e["answer"]): str(e["outcome"]) for e in self.told if "answer" in e and "outcome" in e}


def seconds(when: Any) -> float:
    """A time as an event carries it, in seconds since 1970; 0 where it cannot be read."""
    try:
        said = datetime.fromisoformat(str(when))
        return said.timestamp()
    except (ValueError, OverflowError, OSError):
        return 0.0


def entry_of(case: Case) -> tuple[Entry, str]:
    """The entry of a case, and the words it can be found by."""
    standing = [event for _, event in case.standing()]
    complaints = [e for e in standing if "symptom" in e]
    last: Mapping[str, Any] = complaints[-1] if complaints else {}
    closing: Mapping[str, Any] = next((e for e in reversed(standing) if "closed" in e), {})
    mend, proven = _cure(_replayed(case))
    entry = Entry(
        name=case.name,
        began=seconds(standing[0].get("when")) if standing else 0.0,
        ended=seconds(closing.get("when")),
        symptom=_text(last.get("symptom")),
        about=_text(last.get("about")),
        layout=case.layout or "",
        closed=bool(closing),
        proven=proven,
        remedy=mend[0],
        spot=mend[1],
        causes=tuple(_text(c) for c in _listed(closing.get("causes"))),
        places=tuple(dict.fromkeys(_places(standing))),
        events=len(case.events),
        told=tuple(_plain(e) for e in standing if any(k in e for k in TELLING)),
    )
    return entry, " ".join((case.name, *(w for e in standing for w in _words(e))))


def _replayed(case: Case) -> Inquiry:
    try:
        return inquiry(case)
    except Problems:  # what the form allows and a later reading refuses is no reason to lose the case
        return Inquiry()


def _cure(asked: Inquiry) -> tuple[tuple[str, str], bool]:
    """The last remedy that mended, with its place, and whether the proof after it was passed."""
    done = [(order, m) for order, m in asked.mends if m.result == "fixed"]
    if not done:
        return ("", ""), False
    order, mend = done[-1]
    proof = asked.proof_of(order, mend)
    return (mend.remedy, mend.place or ""), proof is not None and proof.passed


def _places(standing: list[dict[str, Any]]) -> Iterator[str]:
    for event in reversed([e for e in standing if "symptom" in e]):
        yield from (_text(p) for p in (event.get("about"), *_listed(event.get("sick"))) if p is not None)
    yield from (_text(e["at"]) for e in standing if e.get("at") is not None)


def _words(event: Mapping[str, Any]) -> Iterator[str]:
    for key, value in event.items():
        if key in _SILENT:
            continue
        for one in _listed(value) or [value]:
            if one is not None and not isinstance(one, dict):
                yield str(one)


def _plain(event: Mapping[str, Any]) -> Mapping[str, Any]:
    """An event without what is only shown."""
    return {k: v for k, v in event.items() if k not in ("shown", "when")}


def _listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []


def _text(value: Any) -> str:
    return "" if value is None else str(value)

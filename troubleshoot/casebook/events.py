"""What one event of a case says, judged in form; kinds of events that this version does not know say nothing."""

from collections.abc import Mapping
from typing import Any

from troubleshoot.casebook.periods import period
from troubleshoot.inquiry import (
    Answer,
    AtHand,
    Complaint,
    FoundAt,
    FoundNowhere,
    Lifted,
    Mend,
    Note,
    PlacesSeen,
    ProofSeen,
    PutAside,
    Record,
    SetUpChange,
)
from troubleshoot.quantities import Unreadable, read_reading
from troubleshoot.rulebook import Rulebook

KINDS = (
    "symptom", "answer", "set-up", "remedy", "proof", "time", "note", "takes-back", "closed", "packs",
    "lifted", "sick", "healthy", "found-at", "found-nowhere",
)  # fmt: skip
_WORDS: Mapping[str, tuple[str, ...]] = {
    "state": ("entered", "left"),
    "result": ("fixed", "partly", "not-fixed"),
    "aside": ("not-sure", "cant-do", "already-tried"),
    "may-stop": ("nothing", "block", "district", "layout"),
    "fault": ("gone", "stays", "not-sure"),
}
"""What these keys of an event may say."""


def record_of(
    event: Mapping[str, Any], former: Mapping[str, str] | None = None, rulebook: Rulebook | None = None
) -> Record | None:
    """One event as a record; None for kinds this version does not know. Raises Unreadable."""

    def name(key: str) -> str:
        said = str(event[key])
        return (former or {}).get(said, said)

    if not any(kind in event for kind in KINDS):
        return None
    place = str(event["at"]) if event.get("at") is not None else None
    for key, allowed in _WORDS.items():
        if key in event and event[key] is not None and str(event[key]) not in allowed:
            raise Unreadable(f"{key} {event[key]!r} is not known; it is one of {', '.join(allowed)}")
    if "symptom" in event:
        return _complaint(event, name("symptom"))
    if "answer" in event:
        return _answer(event, name("answer"), place, rulebook)
    if "set-up" in event:
        return SetUpChange(name("set-up"), place, str(event.get("state", "entered")) == "entered")
    if "remedy" in event:
        return Mend(name("remedy"), place, str(event.get("result", "fixed")))
    if "proof" in event:
        if event.get("outcome") not in ("passed", "failed"):
            raise Unreadable(f"outcome {event.get('outcome')!r} of a proof is not known; it is passed or failed")
        return ProofSeen(name("proof"), place, event["outcome"] == "passed", period(event.get("quiet")))
    if "time" in event:
        minutes = event["time"]
        if not isinstance(minutes, int | float | None):
            raise Unreadable(f"time {minutes!r} is no number of minutes")
        return AtHand(float(minutes) if minutes is not None else None, event.get("may-stop"))
    return _further(event)


def _further(event: Mapping[str, Any]) -> Record | None:
    """What was seen beside the checks: a point lifted, a place found or none, places sick or healthy; or a note."""
    if "lifted" in event:
        return Lifted(str(event["lifted"]), {"gone": True, "stays": False}.get(str(event.get("fault"))))
    if "found-at" in event:
        return FoundAt(str(event["found-at"] or ""))
    if "found-nowhere" in event:
        return FoundNowhere(_places(event, "found-nowhere"))
    if "sick" in event or "healthy" in event:
        return PlacesSeen(_places(event, "sick"), _places(event, "healthy"))
    return Note(str(event["note"])) if "note" in event else None


def _places(event: Mapping[str, Any], key: str) -> tuple[str, ...]:
    said = event.get(key) or []
    if not isinstance(said, list):
        raise Unreadable(f"{key} {said!r} is no list of places; write [{said}]")
    return tuple(str(s) for s in said)


def _complaint(event: Mapping[str, Any], symptom: str) -> Complaint:
    about = str(event["about"]) if event.get("about") is not None else None
    sick, healthy = _places(event, "sick"), _places(event, "healthy")
    quiet = period(event.get("longest-quiet"))
    return Complaint(symptom, about, sick, quiet, healthy, not quiet and event.get("longest-quiet") not in (None, ""))


def _answer(event: Mapping[str, Any], check: str, place: str | None, rulebook: Rulebook | None) -> Record | None:
    if "aside" in event:
        return PutAside(check, place, str(event["aside"]))
    how = str(event.get("how", "seen"))
    entry = rulebook.checks.get(check) if rulebook else None
    if "reading" not in event:
        outcome = str(event.get("outcome"))
        if entry is not None and outcome not in entry.outcomes:
            raise Unreadable(f"{outcome!r} is no answer to {check}; it has {', '.join(entry.outcomes)}")
        return Answer(check, place, outcome, None, how)
    if entry is None:
        return None
    if entry.unit is None:
        raise Unreadable(f"{check} is a question and takes no reading; it has {', '.join(entry.outcomes)}")
    return Answer(check, place, None, read_reading(str(event["reading"]), entry.unit), how)

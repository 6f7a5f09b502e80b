"""Case files: one fault from the first symptom to the proof, as a list of events, saved after every answer.

A case is one readable YAML file. Events are only added; `takes-back: n` undoes event n, so nothing is ever lost.
Unknown keys and unknown kinds of events are kept as they are. Saving is atomic, and refuses to overwrite a file
that somebody else has changed since it was read. Resuming is replaying. What an event says is judged here in form
only; what the events mean is left to `inquiry` and `diagnosis`.
"""

import contextlib
import hashlib
import os
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timezone
from pathlib import Path
from typing import Any

from troubleshoot.documents import Document, Problem, Problems, parse, read_text, write
from troubleshoot.inquiry import (
    Answer,
    AtHand,
    Complaint,
    Inquiry,
    Mend,
    Note,
    ProofSeen,
    PutAside,
    Record,
    SetUpChange,
)
from troubleshoot.quantities import Unreadable, read_reading
from troubleshoot.rulebook import Rulebook

FORMAT = 1
KINDS = ("symptom", "answer", "set-up", "remedy", "proof", "time", "note", "takes-back", "closed", "packs")
_PERIOD = re.compile(r"([0-9]{1,9}(?:\.[0-9]{1,9})?)\s*(s|min|h|d)")
_SECONDS = {"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0}
_WORDS: Mapping[str, tuple[str, ...]] = {
    "state": ("entered", "left"),
    "result": ("fixed", "partly", "not-fixed"),
    "aside": ("not-sure", "cant-do", "already-tried"),
    "may-stop": ("nothing", "block", "district", "layout"),
}
"""What these keys of an event may say."""


class NotSaved(Problems):
    """A case could not be saved: the disk, the folder or somebody else is in the way, not what the case says."""


@dataclass
class Case:
    """A case file in memory: its head as read, its events, and where it is kept."""

    path: Path
    head: dict[str, Any]
    events: list[dict[str, Any]] = field(default_factory=list)
    digest: str | None = None
    lines: tuple[int, ...] = ()

    @property
    def name(self) -> str:
        """The case's name, which is its file's name without the ending."""
        return self.path.stem

    @property
    def layout(self) -> str | None:
        """The layout record the case was made on, as written."""
        said = self.head.get("layout")
        return str(said) if said is not None else None

    @property
    def closed(self) -> bool:
        """Whether the case has been closed, and that has not been taken back. Notes may follow."""
        return any("closed" in event for _, event in self.standing())

    def problem(self, number: int, text: str) -> Problem:
        """A problem with event `number` (from 1), at its line as far as that is known."""
        line = self.lines[number - 1] if number <= len(self.lines) else 0
        return Problem(str(self.path), line, 0, f"event {number}: {text}")

    def standing(self) -> Iterator[tuple[int, dict[str, Any]]]:
        """The events that have not been taken back, with their number (from 1)."""
        gone = {_whole(e["takes-back"]) for e in self.events if "takes-back" in e}
        for number, event in enumerate(self.events, 1):
            if number not in gone and "takes-back" not in event:
                yield number, event


def _whole(said: Any) -> int:
    return int(said) if isinstance(said, int) or (isinstance(said, str) and said.isdigit()) else -1


def period(text: Any) -> float:
    """A period such as `45 min` or `1 h` in seconds; 0 for nothing. Raises Unreadable."""
    if text in (None, ""):
        return 0.0
    match = _PERIOD.fullmatch(str(text).strip())
    if not match:
        raise Unreadable(f"{text!r} is no period; write such as '45 min', '2 h' or '1 d'")
    return float(match[1]) * _SECONDS[match[2]]


def spell(seconds: float) -> str:
    """Seconds as a period that `period` reads."""
    for unit in ("d", "h", "min"):
        if seconds >= _SECONDS[unit] and (seconds / _SECONDS[unit]) % 1 == 0:
            return f"{seconds / _SECONDS[unit]:g} {unit}"
    return f"{seconds:g} s"


def new(folder: Path, name: str, layout: str | None, packs: Mapping[str, str]) -> Case:
    """A new case in a folder, under a free name; nothing is saved yet."""
    stem = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:60] or "case"
    path, number = folder / f"{stem}.yaml", 1
    while path.exists():
        number += 1
        path = folder / f"{stem}-{number}.yaml"
    head: dict[str, Any] = {"case": path.stem, "format": FORMAT}
    if layout:
        head["layout"] = layout
    head["packs"] = dict(packs)
    return Case(path, head)


def now() -> str:
    """The time as events carry it: to the second, with its zone."""
    return datetime.now(timezone.utc).astimezone().isoformat(timespec="seconds")


def read(path: Path) -> Case:
    """A case from its file. Raises Problems when it is no case, or of a newer format."""
    text = read_text(path)
    document = parse(text, str(path))
    data = document.data
    if not isinstance(data, dict):
        raise Problems((Problem(str(path), 1, 0, "is no case file: it has no `events`"),))
    _check_format(document, data.get("format", 1))
    if "events" not in data:
        raise Problems((Problem(str(path), 1, 0, "is no case file: it has no `events`"),))
    events = data["events"] or []
    if not isinstance(events, list) or not all(isinstance(e, dict) for e in events):
        raise Problems(
            (document.problem(("events",), "`events` must be a list of events, each with `when` and what happened"),)
        )
    _check_head(document, data)
    _check_events(document, events)
    head = {k: v for k, v in data.items() if k != "events"}
    lines = tuple(document.where(("events", i))[0] for i in range(len(events)))
    return Case(path, head, [dict(e) for e in events], _digest(text), lines)


def _check_format(document: Document, said: Any) -> None:
    if isinstance(said, int) and 0 < said <= FORMAT:
        return
    text = f"is of format {said}, and this tool reads up to {FORMAT}; update the tool (the file is left as it is)"
    raise Problems((document.problem(("format",), text),))


def _check_head(document: Document, data: Mapping[str, Any]) -> None:
    if not isinstance(data.get("packs") or {}, dict):
        raise Problems((document.problem(("packs",), "`packs` must name each pack with its version"),))
    if not isinstance(data.get("pack-folders") or [], list):
        raise Problems((document.problem(("pack-folders",), "`pack-folders` must be a list of folders"),))


def _check_events(document: Document, events: Sequence[Mapping[str, Any]]) -> None:
    """Refuse events that cannot be understood in form; readings wait for their check, which knows the unit."""
    problems = []
    for i, event in enumerate(events):
        try:
            record_of({k: v for k, v in event.items() if k != "reading"})
        except Unreadable as error:
            problems.append(document.problem(("events", i), f"event {i + 1}: {error}"))
    if problems:
        raise Problems(problems)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def save(case: Case) -> None:
    """Save a case, atomically. Raises NotSaved, and keeps the file, when somebody else changed it meanwhile."""
    folder = case.path.parent
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        why = f"not saved: this folder cannot be made ({(error.strerror or 'no').lower()}); choose another with --cases"
        raise NotSaved((Problem(str(folder), 0, 0, why),)) from error
    with _alone(folder):
        _refuse_changed(case)
        try:
            write(case.path, {**case.head, "events": case.events})
        except Problems as found:
            raise NotSaved(found.problems) from found
        case.digest = _digest(read_text(case.path))


def _refuse_changed(case: Case) -> None:
    if case.digest is None and not case.path.exists():
        return
    if case.path.exists() and case.digest is not None and _digest(read_text(case.path)) == case.digest:
        return
    what = "has been changed by somebody else since it was opened; it is left as it is. Open it again to go on"
    if not case.path.exists():
        what = "has been moved or deleted since it was opened; put it back to go on"
    raise NotSaved((Problem(str(case.path), 0, 0, what),))


@contextlib.contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Hold a folder's lock, so that two who save at once cannot both believe the file unchanged."""
    handle = None
    with contextlib.suppress(OSError, ImportError):  # shared folders without locks are still looked at before saving
        import fcntl

        handle = os.open(folder, os.O_RDONLY)
        fcntl.flock(handle, fcntl.LOCK_EX)
    try:
        yield
    finally:
        if handle is not None:
            os.close(handle)


def add(case: Case, *events: dict[str, Any]) -> None:
    """Add events, each with its time, and save before anything else happens. What cannot be saved is not added."""
    before = len(case.events)
    case.events.extend({"when": now(), **e} for e in events)
    try:
        save(case)
    except BaseException:
        del case.events[before:]
        raise


def take_back(case: Case) -> dict[str, Any] | None:
    """Take back the last standing event; returns it, or None if there is none but the first.

    Set-ups stay as they are: what has been lifted or switched off is still so, whatever answer is taken back.
    """
    for number, event in reversed(list(case.standing())[1:]):
        if "set-up" not in event:
            add(case, {"takes-back": number})
            return event
    return None


def inquiry(case: Case, rulebook: Rulebook | None = None) -> Inquiry:
    """The inquiry a case holds: its standing events replayed. Names that packs have changed since are followed.

    Raises Problems for readings that the checks of these rules cannot take.
    """
    former = rulebook.former if rulebook else {}
    records, problems = [], []
    for number, event in case.standing():
        try:
            record = record_of(event, former, rulebook)
        except Unreadable as error:
            problems.append(case.problem(number, str(error)))
            continue
        if record is not None:
            records.append(record)
    if problems:
        raise Problems(problems)
    return Inquiry(tuple(records))


def unknown_names(case: Case, rulebook: Rulebook) -> list[str]:
    """Names in a case that no pack at hand knows: its pack is gone or older."""
    known = {*rulebook.symptoms, *rulebook.checks, *rulebook.remedies, *rulebook.set_ups, *rulebook.former}
    said = (
        str(event[k])
        for _, event in case.standing()
        for k in ("symptom", "answer", "remedy", "proof", "set-up")
        if k in event
    )
    return sorted({name for name in said if name not in known})


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
    return Note(str(event["note"])) if "note" in event else None


def _complaint(event: Mapping[str, Any], symptom: str) -> Complaint:
    sick = event.get("sick") or []
    if not isinstance(sick, list):
        raise Unreadable(f"sick {sick!r} is no list of places; write [{sick}]")
    about = str(event["about"]) if event.get("about") is not None else None
    return Complaint(symptom, about, tuple(str(s) for s in sick), period(event.get("longest-quiet")))


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


def cases_in(folder: Path) -> tuple[list[Case], list[Problem]]:
    """All cases of a folder, newest first, and what could not be read; one bad file never stops the others."""
    cases: list[Case] = []
    problems: list[Problem] = []
    if folder.exists() and not folder.is_dir():
        return [], [Problem(str(folder), 0, 0, "is a file; name the folder that holds the cases")]
    for path in sorted(folder.glob("*.yaml")):
        try:
            cases.append(read(path))
        except Problems as found:
            problems.extend(found.problems)
    cases.sort(key=lambda c: str(c.events[0].get("when", "")) if c.events else "", reverse=True)
    return cases, problems

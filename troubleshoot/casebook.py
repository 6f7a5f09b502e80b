"""Case files: one fault from the first symptom to the proof, as a list of events, saved after every answer.

A case is one readable YAML file. Events are only added; `takes-back: n` undoes event n, so nothing is ever lost.
Unknown keys and unknown kinds of events are kept as they are. Saving is atomic, and refuses to overwrite a file
that somebody else has changed since it was read. Resuming is replaying. What the events mean is left to `inquiry`
and `diagnosis`.
"""

import hashlib
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
_PERIOD = re.compile(r"(\d+(?:\.\d+)?)\s*(s|min|h|d)")
_SECONDS = {"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0}


@dataclass
class Case:
    """A case file in memory: its head as read, its events, and where it is kept."""

    path: Path
    head: dict[str, Any]
    events: list[dict[str, Any]] = field(default_factory=list)
    digest: str | None = None

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
        """Whether the case ends with a closing event."""
        standing = list(self.standing())
        return bool(standing) and "closed" in standing[-1][1]

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
    if not isinstance(data, dict) or "events" not in data:
        raise Problems((Problem(str(path), 1, 0, "is no case file: it has no `events`"),))
    said = data.get("format", 1)
    if not isinstance(said, int) or said > FORMAT:
        text_ = f"is of format {said}, and this tool reads up to {FORMAT}; update the tool (the file is left as it is)"
        raise Problems((document.problem(("format",), text_),))
    events = data["events"] or []
    if not isinstance(events, list) or not all(isinstance(e, dict) for e in events):
        raise Problems(
            (document.problem(("events",), "`events` must be a list of events, each with `when` and what happened"),)
        )
    head = {k: v for k, v in data.items() if k != "events"}
    _check_events(document, events)
    return Case(path, head, [dict(e) for e in events], _digest(text))


def _check_events(document: Document, events: Sequence[Mapping[str, Any]]) -> None:
    problems = []
    for i, event in enumerate(events):
        try:
            record_of(event)
        except Unreadable as error:
            problems.append(document.problem(("events", i), f"event {i + 1}: {error}"))
    if problems:
        raise Problems(problems)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def save(case: Case) -> None:
    """Save a case, atomically. Raises Problems, and keeps the file, when somebody else changed it meanwhile."""
    if case.path.exists():
        there = _digest(read_text(case.path))
        if case.digest is None or there != case.digest:
            what = "has been changed by somebody else since it was opened; it is left as it is. Open it again to go on"
            raise Problems((Problem(str(case.path), 0, 0, what),))
    try:
        case.path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        why = f"this folder cannot be made ({(error.strerror or 'no').lower()}); choose another with --cases"
        raise Problems((Problem(str(case.path.parent), 0, 0, why),)) from error
    write(case.path, {**case.head, "events": case.events})
    case.digest = _digest(read_text(case.path))


def add(case: Case, *events: dict[str, Any]) -> None:
    """Add events, each with its time, and save before anything else happens."""
    case.events.extend({"when": now(), **e} for e in events)
    save(case)


def take_back(case: Case) -> dict[str, Any] | None:
    """Take back the last standing event other than the first; returns it, or None if there is none."""
    standing = list(case.standing())
    if len(standing) < 2:
        return None
    number, event = standing[-1]
    add(case, {"takes-back": number})
    return event


def inquiry(case: Case, rulebook: Rulebook | None = None) -> Inquiry:
    """The inquiry a case holds: its standing events replayed. Names that packs have changed since are followed."""
    former = rulebook.former if rulebook else {}
    records = []
    for _, event in case.standing():
        record = record_of(event, former, rulebook)
        if record is not None:
            records.append(record)
    return Inquiry(tuple(records))


def unknown_names(case: Case, rulebook: Rulebook) -> list[str]:
    """Names in a case that no pack at hand knows: its pack is gone or older."""
    known = {*rulebook.symptoms, *rulebook.checks, *rulebook.remedies, *rulebook.set_ups, *rulebook.former}
    said = (
        str(event[k]) for _, event in case.standing() for k in ("symptom", "answer", "remedy", "set-up") if k in event
    )
    return sorted({name for name in said if name not in known})


def record_of(
    event: Mapping[str, Any], former: Mapping[str, str] | None = None, rulebook: Rulebook | None = None
) -> Record | None:
    """One event as a record; None for kinds this version does not know. Raises Unreadable."""

    def name(key: str) -> str:
        said = str(event[key])
        return (former or {}).get(said, said)

    place = str(event["at"]) if event.get("at") is not None else None
    if "symptom" in event:
        sick = tuple(str(s) for s in event.get("sick") or ())
        about = str(event["about"]) if event.get("about") is not None else None
        return Complaint(name("symptom"), about, sick, period(event.get("longest-quiet")))
    if "answer" in event:
        return _answer(event, name("answer"), place, rulebook)
    if "set-up" in event:
        return SetUpChange(name("set-up"), place, str(event.get("state", "entered")) == "entered")
    if "remedy" in event:
        return Mend(name("remedy"), place, str(event.get("result", "fixed")))
    if "proof" in event:
        return ProofSeen(name("proof"), place, str(event.get("outcome")) == "passed", period(event.get("quiet")))
    if "time" in event:
        minutes = event["time"]
        if not isinstance(minutes, int | float | None):
            raise Unreadable(f"time {minutes!r} is no number of minutes")
        return AtHand(float(minutes) if minutes is not None else None, event.get("may-stop"))
    return Note(str(event["note"])) if "note" in event else None


def _answer(event: Mapping[str, Any], check: str, place: str | None, rulebook: Rulebook | None) -> Record | None:
    if "aside" in event:
        return PutAside(check, place, str(event["aside"]))
    how = str(event.get("how", "seen"))
    if "reading" not in event:
        return Answer(check, place, str(event.get("outcome")), None, how)
    entry = rulebook.checks.get(check) if rulebook else None
    unit = str(event.get("unit") or (entry.unit if entry and entry.unit else "ohm"))
    return Answer(check, place, None, read_reading(str(event["reading"]), unit), how)


def cases_in(folder: Path) -> tuple[list[Case], list[Problem]]:
    """All cases of a folder, newest first, and what could not be read; one bad file never stops the others."""
    cases: list[Case] = []
    problems: list[Problem] = []
    for path in sorted(folder.glob("*.yaml")) if folder.is_dir() else []:
        try:
            cases.append(read(path))
        except Problems as found:
            problems.extend(found.problems)
    cases.sort(key=lambda c: str(c.events[0].get("when", "")) if c.events else "", reverse=True)
    return cases, problems

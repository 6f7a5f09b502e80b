"""Case files: one fault from the first symptom to the proof, as a list of events, saved after every answer.

A case is one readable YAML file. Events are only added; `takes-back: n` undoes event n, so nothing is ever lost.
Unknown keys and unknown kinds of events are kept as they are. Resuming is replaying. What an event says is judged
here in form only (`events`); what the events mean is left to `inquiry` and `diagnosis`, saving to `saving`, and
finding one case among very many to `shelf`.
"""

import hashlib
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timezone
from pathlib import Path
from typing import Any

from troubleshoot.casebook.events import record_of
from troubleshoot.documents import Document, Problem, Problems, parse, read_text
from troubleshoot.inquiry import Inquiry
from troubleshoot.quantities import Unreadable
from troubleshoot.rulebook import Rulebook

FORMAT = 1


class NotSaved(Problems):
    """A case could not be saved: the disk, the folder or somebody else is in the way, not what the case says."""


@dataclass
class Case:
    """A case file in memory: its head as read, its events, and where it is kept.

    `base` and `base_head` are what the file held when it was last read or saved; `told` is what whoever saves must
    know: that somebody else has added to the case meanwhile.
    """

    path: Path
    head: dict[str, Any]
    events: list[dict[str, Any]] = field(default_factory=list)
    digest: str | None = None
    lines: tuple[int, ...] = ()
    base: int = 0
    base_head: Mapping[str, Any] = field(default_factory=dict)
    told: str = ""

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

    @property
    def closed_by_hand(self) -> bool:
        """Whether it was closed with a person's own words, because no rule names the cause."""
        return any(event.get("closed") == "by-hand" for _, event in self.standing())

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
    return int(said) if isinstance(said, int) or (isinstance(said, str) and re.fullmatch(r"[0-9]{1,9}", said)) else -1


def new(folder: Path, name: str, layout: str | None, packs: Mapping[str, str]) -> Case:
    """A new case in a folder, under a free name; nothing is saved yet."""
    stem = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:60] or "case"
    path = free_path(folder / f"{stem}.yaml")
    head: dict[str, Any] = {"case": path.stem, "format": FORMAT}
    if layout:
        head["layout"] = layout
    head["packs"] = dict(packs)
    return Case(path, head)


def free_path(path: Path) -> Path:
    """A path that nothing bears yet: the one given, or with a number behind its name."""
    free, number = path, 1
    while free.exists():
        number += 1
        free = path.with_name(f"{path.stem}-{number}{path.suffix}")
    return free


def now() -> str:
    """The time as events carry it: to the second, with its zone."""
    return datetime.now(timezone.utc).astimezone().isoformat(timespec="seconds")


def read(path: Path) -> Case:
    """A case from its file. Raises Problems when it is no case, or of a newer format."""
    return parsed(path, read_text(path))


def parsed(path: Path, text: str) -> Case:
    """A case from the text of its file. Raises Problems."""
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
    return Case(path, head, [dict(e) for e in events], digest_of(text), lines, len(events), dict(head))


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


def digest_of(text: str) -> str:
    """The hash of a case file's text."""
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()


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


def cases_in(folder: Path) -> tuple[list[Case], list[Problem]]:
    """All cases of a folder, newest first, and what could not be read; one bad file never stops the others."""
    cases: list[Case] = []
    problems: list[Problem] = []
    if folder.exists() and not folder.is_dir():
        return [], [Problem(str(folder), 0, 0, "is a file; name the folder that holds the cases")]
    for path in sorted(p for p in folder.glob("*.yaml") if not p.name.startswith(".")):
        try:
            cases.append(read(path))
        except Problems as found:
            problems.extend(found.problems)
    cases.sort(key=lambda c: str(c.events[0].get("when", "")) if c.events else "", reverse=True)
    return cases, problems

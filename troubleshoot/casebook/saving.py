"""Saving a case so that nothing anybody said is lost, whoever saves at the same time and whatever is killed when.

A file is replaced whole, under a lock, and only after a look at what it holds now. If somebody else has only added
events since it was read, theirs come first and the new ones are put after them, and whoever saves second is told
(`Case.told`). If somebody changed what stood there before, the file is left as it is, the new events are kept in a
file beside it, and NotSaved says so. How a case is read is left to `files`, the locks to `locking`.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from troubleshoot.casebook.files import Case, NotSaved, digest_of, free_path, now, parsed
from troubleshoot.casebook.locking import Busy, alone
from troubleshoot.casebook.where import folder_stamp, is_big
from troubleshoot.documents import Problem, Problems, read_text, write
from troubleshoot.documents.writing import dump


def save(case: Case) -> None:
    """Save a case, atomically. Raises NotSaved, and keeps the file, when it cannot be done."""
    folder = case.path.parent
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        why = f"not saved: this folder cannot be made ({(error.strerror or 'no').lower()}); choose another with --cases"
        raise NotSaved((Problem(str(folder), 0, 0, why),)) from error
    case.told, stamp = "", folder_stamp(folder)
    try:
        with alone(folder / case.path.name if case.digest else folder / "new"):
            _save(case)
    except Busy as error:
        why = f"not saved: somebody else is saving it and does not finish ({error}); try again in a moment"
        raise NotSaved((Problem(str(case.path), 0, 0, why),)) from error
    _noted(case, stamp)


def _noted(case: Case, stamp: int) -> None:
    """Take the case into the index of a big shelf, where there is one; without it the next look at the files does."""
    if is_big(case.path.parent) and case.path.suffix == ".yaml":
        from troubleshoot.casebook.shelf import note

        note(case.path, stamp)


def _save(case: Case) -> None:
    head, events = case.head, case.events
    if case.digest is None:
        case.path = free_path(case.path)
        case.head = head = {**head, "case": case.path.stem} if "case" in head else head
    else:
        text = _standing(case)
        if digest_of(text) != case.digest:
            head, events = _merged(case, text)
    data = {**head, "events": events}
    try:
        write(case.path, data)
    except Problems as found:
        raise NotSaved(found.problems) from found
    case.head, case.events[:] = head, events
    case.digest, case.base, case.base_head = digest_of(dump(data)), len(events), dict(head)


def _standing(case: Case) -> str:
    """What the file of a case that was read before says now."""
    try:
        return read_text(case.path)
    except Problems as found:
        if case.path.exists():
            raise _kept(case, f"can no longer be read ({found.problems[0].text})") from found
        what = "has been moved or deleted since it was opened; put it back to go on"
        raise NotSaved((Problem(str(case.path), 0, 0, what),)) from found


def _merged(case: Case, text: str) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """Head and events when somebody else has saved meanwhile: theirs, then what is new here. Raises NotSaved."""
    try:
        theirs = parsed(case.path, text)
    except Problems as found:
        raise _kept(case, f"can no longer be read ({found.problems[0].text})") from found
    head = _heads(case, theirs.head)
    if theirs.events[: case.base] != case.events[: case.base] or head is None:
        raise _kept(case, "has been changed by somebody else since it was opened, not only added to")
    added = len(theirs.events) - case.base
    new = [_moved(event, case.base, added) for event in case.events[case.base :]]
    if added:
        what = "1 event" if added == 1 else f"{added} events"
        closed = "; they closed the case" if theirs.closed and not case.closed else ""
        case.told = f"{case.path.name}: somebody else added {what} meanwhile{closed}; theirs and yours are both kept"
    return head, [*theirs.events, *new]


def _heads(case: Case, theirs: Mapping[str, Any]) -> dict[str, Any] | None:
    """Both heads in one: theirs, with what was changed here; None when both changed the same to different ends."""
    head = dict(theirs)
    for key in {*case.head, *case.base_head}:
        mine, before = case.head.get(key), case.base_head.get(key)
        if mine == before or mine == theirs.get(key):
            continue
        if theirs.get(key) != before:
            return None
        head[key] = mine
    return head


def _moved(event: dict[str, Any], base: int, added: int) -> dict[str, Any]:
    """A new event whose number of an event taken back is still right after others were put before it."""
    taken = event.get("takes-back")
    if isinstance(taken, int) and taken > base:
        return {**event, "takes-back": taken + added}
    return event


def _kept(case: Case, what: str) -> NotSaved:
    """What to raise when a case cannot be put together with its file: the new events are kept beside it first."""
    beside = free_path(case.path.with_name(f"{case.path.name}.kept"))
    told = f"what you said is kept in {beside.name}"
    try:
        write(beside, {**case.head, "events": case.events})
    except Problems:
        told = "what you said last could not be kept"
    text = f"{what}; it is left as it is, and {told}. Open the case again to go on"
    return NotSaved((Problem(str(case.path), 0, 0, text),))


def add(case: Case, *events: dict[str, Any]) -> None:
    """Add events, each with its time, and save before anything else happens. What cannot be saved is not added."""
    before: Sequence[dict[str, Any]] = list(case.events)
    case.events.extend({"when": now(), **e} for e in events)
    try:
        save(case)
    except BaseException:
        case.events[:] = before
        raise


def take_back(case: Case) -> dict[str, Any] | None:
    """Take back the last standing event; returns it, or None if there is none but the first.

    Set-ups stay as they are: what has been lifted or switched off is still so, whatever answer is taken back.
    """
    standing = [(n, e) for n, e in case.standing() if "set-up" not in e]
    number, event = standing[-1]
    if len(standing) < 2:
        return None
    add(case, {"takes-back": number})
    return event

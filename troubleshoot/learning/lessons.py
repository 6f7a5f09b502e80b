"""What one closed case teaches, and what a later one takes from it.

A proven case speaks for the causes its remedy mends, a closed but unproven one half as much; a remedy that mends
several causes shares its count among those it could have been. A case that was closed although its remedies failed
speaks against their causes. When the same trouble comes back to the same place within CAME_BACK days after a proven
end, the cure did not hold: if the next case ends with another cause, the first one speaks against its own; if it
ends with the same, only the remedy is to blame; while it is open, the first one counts half. Counting is left to
`counting`.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from troubleshoot.casebook import Entry
from troubleshoot.inquiry import Inquiry, Mend
from troubleshoot.quantities import Unreadable
from troubleshoot.rulebook import Rulebook

UNPROVEN = 0.5
"""What a closed case without a passed proof counts (proposal of reasoning, section D)."""
AGAINST = 0.5
"""What a case counts against causes whose remedy failed: it may have been done badly (estimate)."""
CAME_BACK = 60.0
"""Days within which the same trouble at the same place means that the cure did not hold (estimate)."""
DAY = 86400.0


@dataclass(frozen=True)
class Lesson:
    """What a case teaches: its causes with their weight, for them or (`refuted`) against them, and its remedies.

    `sure` is the weight it had before anything came back; `failed` are remedies that should have mended it and did
    not; `back` is the case in which the trouble came back too soon.
    """

    case: str
    symptom: str
    place: str
    layout: str
    began: float
    ended: float
    causes: tuple[str, ...]
    remedy: str
    spot: str
    weight: float
    sure: float
    refuted: bool = False
    failed: tuple[str, ...] = ()
    back: str = ""


def lesson_of(entry: Entry, rulebook: Rulebook) -> Lesson | None:
    """What a case teaches; nothing if it is open, or speaks of what these rules do not know."""
    if not entry.closed or any(e.get("closed") == "by-hand" for e in entry.told):
        return None  # what no rule names teaches nothing
    try:
        asked = entry.inquiry(rulebook)
    except Unreadable:
        return None
    complaint = asked.complaint
    if complaint is None or complaint.symptom not in rulebook.symptoms:
        return None
    mend, proven, refuted = _cure(asked)
    if mend is None or mend.remedy not in rulebook.remedies:
        return None
    causes = _causes(rulebook, mend.remedy, complaint.symptom)
    if not causes:
        return None
    sure = AGAINST if refuted else 1.0 if proven else UNPROVEN
    tried = {m.remedy for _, m in asked.attempts if m.result == "not-fixed" and m.remedy in rulebook.remedies}
    failed = () if refuted else tuple(sorted(r for r in tried if set(rulebook.remedies[r].mends) & set(causes)))
    return Lesson(
        entry.name, complaint.symptom, complaint.about or "", entry.layout, entry.began, entry.ended, causes,
        mend.remedy, mend.place or "", sure, sure, refuted, failed,
    )  # fmt: skip


def _cure(asked: Inquiry) -> tuple[Mend | None, bool, bool]:
    """The remedy that tells, whether it was proven, and whether it failed."""
    done = [(order, m) for order, m in asked.mends if m.result == "fixed"]
    if not done:
        failed = [m for _, m in asked.mends if m.result == "not-fixed"]
        return (failed[-1] if failed else None), False, True
    order, mend = done[-1]
    proof = asked.proof_of(order, mend)
    return mend, proof is not None and proof.passed, proof is not None and not proof.passed


def _causes(rulebook: Rulebook, remedy: str, symptom: str) -> tuple[str, ...]:
    known = (rulebook.causes.get(c) for c in rulebook.remedies[remedy].mends)
    return tuple(c.name for c in known if c is not None and symptom in c.weights)


def with_returns(lessons: Sequence[Lesson], begun: Iterable[tuple[float, str, str]]) -> list[Lesson]:
    """Lessons after a look at what came back: `begun` are (time, place, name) of all cases of the same symptom."""
    at: dict[str, list[tuple[float, str]]] = {}
    for when, place, name in begun:
        at.setdefault(place, []).append((when, name))
    by_name = {lesson.case: lesson for lesson in lessons}
    return [_after(lesson, at.get(lesson.place, ()), by_name) for lesson in lessons]


def _after(lesson: Lesson, begun: Iterable[tuple[float, str]], by_name: Mapping[str, Lesson]) -> Lesson:
    if not lesson.place or lesson.refuted or lesson.sure < 1.0 or not lesson.ended:
        return lesson
    until = lesson.ended + CAME_BACK * DAY
    soon = sorted((w, n) for w, n in begun if lesson.ended < w <= until and n != lesson.case)
    if not soon:
        return lesson
    name = soon[0][1]
    later = by_name.get(name)
    if later is None or later.refuted:
        return replace(lesson, weight=UNPROVEN, back=name)
    if set(later.causes) & set(lesson.causes):
        return replace(lesson, back=name)
    return replace(lesson, weight=AGAINST, refuted=True, back=name)

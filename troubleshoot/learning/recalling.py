"""What the casebook says when an inquiry starts: what was here before, what cured it, what did not hold.

It is put together from cases that are alike (`casebook.likeness`) and from what they teach (`lessons`). Whether the
check of an earlier cause goes before the first questions is decided by `diagnosis`; how it is worded by `screen`.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from troubleshoot.casebook.likeness import CLOSE, SAME_SYMPTOM, SEASONS, Alike, Sought, alike
from troubleshoot.casebook.shelf import Shelf
from troubleshoot.inquiry import Complaint
from troubleshoot.layout import Layout
from troubleshoot.learning.counting import Taught, names_of, taught
from troubleshoot.learning.lessons import CAME_BACK, DAY, Lesson
from troubleshoot.rulebook import Rulebook

LINKED = 5
"""At most so many cases are linked with a new one."""
IN_SEASON = 3
"""A season is worth a word from so many cases on, if half of all began in it."""


@dataclass(frozen=True)
class Cure:
    """A remedy that ended the same trouble: where, how often, how often that did not hold, and the cases."""

    remedy: str
    spot: str
    times: int
    came_back: int
    cases: tuple[str, ...]


@dataclass(frozen=True)
class Recall:
    """What the casebook holds about a complaint.

    `here` are cases at the same place, `near` others that are alike; `cures` what ended the same trouble, here first;
    `season` is (name, cases begun in it, all cases); `not_held` are the cases whose cure this complaint undoes, with
    the days since; `see` the names to link.
    """

    here: tuple[Alike, ...] = ()
    near: tuple[Alike, ...] = ()
    cures: tuple[Cure, ...] = ()
    season: tuple[str, int, int] | None = None
    not_held: tuple[tuple[str, float], ...] = ()
    see: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.here or self.near)


def recall(
    shelf: Shelf, rulebook: Rulebook, layout: Layout, complaint: Complaint, on: str, now: float,
    known: Taught | None = None,
) -> Recall:  # fmt: skip
    """What happened before at this place, on what it hangs on, in this season, and what cured it.

    `known` are the lessons of the symptom, where they have been drawn already.
    """
    names = names_of(rulebook, complaint.symptom)
    month = datetime.fromtimestamp(now).astimezone().month
    about = complaint.about or ""
    sought = Sought(layout, on, tuple(names), about, complaint.sick, month)
    found = alike(shelf, sought, 30)
    here = [a for a in found if about and a.entry.about.casefold() == about.casefold() and "same place" in a.reasons]
    near = [a for a in found if a not in here]
    known = known or taught(shelf, rulebook, complaint.symptom)
    lessons = [lesson for lesson, _ in known.lessons]
    at = {a.entry.name for a in here}
    linked = [a.entry.name for a in found if a.points >= SAME_SYMPTOM + CLOSE]
    return Recall(
        tuple(here),
        tuple(near),
        (*_cures([x for x in lessons if x.case in at]), *_cures([x for x in lessons if x.case not in at])),
        _season(shelf, names, month),
        _not_held([x for x in lessons if x.case in at], now),
        tuple(linked[:LINKED]),
    )


def _cures(lessons: Iterable[Lesson]) -> list[Cure]:
    """Remedies that ended the trouble, the most frequent first."""
    by_cure: dict[tuple[str, str], list[Lesson]] = {}
    for lesson in lessons:
        if not lesson.refuted or lesson.back:
            by_cure.setdefault((lesson.remedy, lesson.spot), []).append(lesson)
    made = [
        Cure(remedy, spot, len(found), sum(1 for x in found if x.back), tuple(x.case for x in found))
        for (remedy, spot), found in by_cure.items()
    ]
    return sorted(made, key=lambda c: (-c.times, c.remedy, c.spot))


def _season(shelf: Shelf, names: Sequence[str], month: int) -> tuple[str, int, int] | None:
    begun = [when for when, _, _ in shelf.begun_with(names) if when]
    quarter = month % 12 // 3
    inside = sum(datetime.fromtimestamp(when).astimezone().month % 12 // 3 == quarter for when in begun)
    if inside < IN_SEASON or 2 * inside < len(begun):
        return None
    return SEASONS[quarter + 1], inside, len(begun)


def _not_held(lessons: Iterable[Lesson], now: float) -> tuple[tuple[str, float], ...]:
    """Proven cases of the same trouble here that ended so lately that their cure did not hold."""
    soon = [x for x in lessons if x.sure == 1.0 and not x.refuted and 0.0 < now - x.ended <= CAME_BACK * DAY]
    return tuple((x.case, (now - x.ended) / DAY) for x in sorted(soon, key=lambda x: -x.ended))

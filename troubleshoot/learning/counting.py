"""The tally: what closed cases teach about how often a cause is to blame, where, what it shows, and what lasts.

The last MOST_CASES closed cases of a symptom teach: the weight of what is local stays bounded, and a layout that
has been rebuilt is not judged for ever by what it was. Rows are counted for causes with enough cases only, by what
was reported with its chance of being wrong taken out. How counts move chances is left to `rulebook.tally`.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from troubleshoot.belief import group, seen_as
from troubleshoot.casebook import Case, Entry, entry_of
from troubleshoot.casebook.shelf import Shelf
from troubleshoot.inquiry import Observation, observations
from troubleshoot.layout import EMPTY, Layout
from troubleshoot.learning.forgetting import Forgotten, forgotten
from troubleshoot.learning.lessons import Lesson, lesson_of, with_returns
from troubleshoot.quantities import Unreadable
from troubleshoot.rulebook import Rulebook, row
from troubleshoot.rulebook.tally import ROW_CASES, Tally, returning

MOST_CASES = 200
"""The most cases of a symptom that teach: the cap of the local weight (proposal of reasoning, section D)."""


@dataclass(frozen=True)
class Taught:
    """Lessons of one symptom, each with the case it comes from."""

    symptom: str
    lessons: tuple[tuple[Lesson, Entry], ...]


@dataclass
class _Counts:
    """Counts in the making: everything that a tally holds."""

    counts: dict[str, dict[str, float]] = field(default_factory=dict)
    against: dict[str, dict[tuple[str, ...], float]] = field(default_factory=dict)
    here: dict[str, dict[str, dict[str, float]]] = field(default_factory=dict)
    spots: dict[str, dict[str, float]] = field(default_factory=dict)
    rows: dict[str, dict[tuple[str, str], dict[str, float]]] = field(default_factory=dict)
    held: dict[str, tuple[float, float]] = field(default_factory=dict)
    cases: dict[str, dict[str, tuple[str, ...]]] = field(default_factory=dict)


def names_of(rulebook: Rulebook, symptom: str) -> list[str]:
    """The names under which cases may speak of a symptom: its own and its former ones."""
    return [symptom, *sorted(old for old, now in rulebook.former.items() if now == symptom)]


def taught(shelf: Shelf, rulebook: Rulebook, symptom: str, but: str = "", unless: Forgotten | None = None) -> Taught:
    """What the closed cases of a symptom teach, leaving out one case and those that are to teach no longer."""
    unless = unless if unless is not None else forgotten(shelf.folder)
    names, left_out = names_of(rulebook, symptom), len(unless.names) + 1
    entries = shelf.closed_with(names, MOST_CASES + left_out)
    return teach(
        symptom, [e for e in entries if e.name != but and unless.teaches(e)], shelf.begun_with(names), rulebook
    )


def teach(
    symptom: str, entries: Sequence[Entry], begun: Iterable[tuple[float, str, str]], rulebook: Rulebook
) -> Taught:
    """What closed cases of a symptom teach; `begun` are the times, places and names of all its cases."""
    found = [(lesson_of(e, rulebook), e) for e in entries[:MOST_CASES]]
    pairs = [(lesson, e) for lesson, e in found if lesson is not None]
    lessons = with_returns([lesson for lesson, _ in pairs], begun)
    return Taught(symptom, tuple(zip(lessons, (e for _, e in pairs), strict=True)))


def learn(
    shelf: Shelf, rulebook: Rulebook, layout: Layout, symptoms: Iterable[str], but: str = "", on: str | None = None
) -> Tally:
    """The tally for some symptoms on a layout; `on` is what the layout record is called in the cases made on it."""
    unless = forgotten(shelf.folder)
    every = [taught(shelf, rulebook, s, but, unless) for s in dict.fromkeys(symptoms)]
    return counted(every, rulebook, layout, on, returns_of(shelf))


def returns_of(shelf: Shelf) -> float:
    """How often, by the cases closed last, the same trouble at the same place had the same cause again."""
    last: dict[tuple[str, str], str] = {}
    pairs = []
    for _, _, symptom, about, causes in reversed(shelf.lately_closed()):
        if about and causes:
            before = last.get((symptom, about))
            if before is not None:
                pairs.append(bool(set(before.split("\n")) & set(causes.split("\n"))))
            last[symptom, about] = causes
    return returning(pairs)


def counted(
    every: Iterable[Taught], rulebook: Rulebook, layout: Layout, on: str | None = None, returns: float | None = None
) -> Tally:
    """Lessons as a tally. Without `on`, cases of every layout speak of this one's places."""
    sums = _Counts()
    for taught_ in every:
        for lesson, _ in taught_.lessons:
            _count(sums, lesson, on is None or same_layout(lesson.layout, on))
        _count_rows(sums, taught_, rulebook, layout, on)
    more = {} if returns is None else {"returns": returns}
    return Tally(sums.counts, sums.against, sums.here, sums.spots, sums.rows, sums.held, cases=sums.cases, **more)


def same_layout(one: str, other: str) -> bool:
    """Whether two cases name the same layout record: by the name of its file, because folders move."""
    return one.rsplit("/", 1)[-1].removesuffix(".yaml") == other.rsplit("/", 1)[-1].removesuffix(".yaml")


def _count(sums: _Counts, lesson: Lesson, local: bool) -> None:
    for remedy in lesson.failed:
        _held(sums, remedy, False)
    if lesson.sure == 1.0:
        _held(sums, lesson.remedy, not lesson.back)
    if lesson.refuted:
        line = sums.against.setdefault(lesson.symptom, {})
        key = tuple(sorted(lesson.causes))
        line[key] = line.get(key, 0.0) + lesson.weight
        return
    share = 1.0 / len(lesson.causes)
    for cause in lesson.causes:
        _add(sums.counts.setdefault(lesson.symptom, {}), cause, lesson.weight * share)
        known = sums.cases.setdefault(lesson.symptom, {})
        known[cause] = (*known.get(cause, ()), lesson.case)
        if local and lesson.place:
            _add(sums.here.setdefault(lesson.symptom, {}).setdefault(lesson.place, {}), cause, lesson.sure * share)
        if local and lesson.spot:
            _add(sums.spots.setdefault(cause, {}), lesson.spot, lesson.weight * share)


def _add(line: dict[str, float], name: str, number: float) -> None:
    line[name] = line.get(name, 0.0) + number


def _held(sums: _Counts, remedy: str, lasted: bool) -> None:
    good, bad = sums.held.get(remedy, (0.0, 0.0))
    sums.held[remedy] = (good + lasted, bad + (not lasted))


def _count_rows(sums: _Counts, taught_: Taught, rulebook: Rulebook, layout: Layout, on: str | None) -> None:
    """Count what was seen under causes that have cases enough; what the others would show moves nothing yet."""
    counts = sums.counts.get(taught_.symptom, {})
    enough = {c for c, n in counts.items() if n >= ROW_CASES}
    if not enough:
        return
    spoken = set(rulebook.spoken_of(taught_.symptom))
    lines = sums.rows.setdefault(taught_.symptom, {})
    for lesson, entry in taught_.lessons:
        causes = [] if lesson.refuted or lesson.sure < 1.0 else [c for c in lesson.causes if c in enough]
        if not causes:
            continue
        here = layout if on is None or same_layout(lesson.layout, on) else EMPTY
        for finding, seen in _seen(entry, rulebook, here):
            for cause in causes if finding in spoken else ():
                _count_row(lines, rulebook, lesson, cause, finding, seen)


def _seen(entry: Entry, rulebook: Rulebook, layout: Layout) -> list[tuple[str, list[Observation]]]:
    """What was reported in a case of each finding at each place."""
    try:
        judged = observations(layout, rulebook, entry.inquiry(rulebook))
    except Unreadable:
        return []
    return [(finding, reports) for (finding, _), reports in group(judged)]


def _count_row(
    lines: dict[tuple[str, str], dict[str, float]], rulebook: Rulebook, lesson: Lesson, cause: str, finding: str,
    reports: Sequence[Observation],
) -> None:  # fmt: skip
    """Add what was really there, by what was reported and how surely, to the row of a cause."""
    found = rulebook.findings[finding]
    if rulebook.causes[cause].relation == found.relation and lesson.spot and reports[0].place.name != lesson.spot:
        return  # it speaks of another place, which is sound there
    stated = row(rulebook, finding, rulebook.causes[cause], lesson.symptom)
    shown = [seen_as(o.weights, o.error) for o in reports]
    rough = [p * math.prod(s[x] for s in shown) for x, p in enumerate(stated)]
    total = math.fsum(rough)
    line = lines.setdefault((cause, finding), {})
    for outcome, part in zip(found.outcomes, rough, strict=True):
        _add(line, outcome, lesson.weight / len(lesson.causes) * part / total)


def tally(cases: Iterable[Case], rulebook: Rulebook, layout: Layout = EMPTY) -> Tally:
    """The tally of cases at hand, whatever their symptoms; a case that names nothing the rules know counts nothing."""
    entries = [entry_of(case)[0] for case in cases]
    by_symptom: dict[str, list[Entry]] = {}
    for entry in sorted(entries, key=lambda e: (-e.ended, e.name)):
        by_symptom.setdefault(rulebook.former.get(entry.symptom, entry.symptom), []).append(entry)
    every = []
    for symptom, found in sorted(by_symptom.items()):
        begun = [(e.began, e.about, e.name) for e in found]
        every.append(teach(symptom, [e for e in found if e.closed], begun, rulebook))
    return counted(every, rulebook, layout)

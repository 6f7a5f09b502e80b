"""Everything that was learned, as data to be shown: authors' figure, figure here, and the cases it comes from."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum

from troubleshoot.casebook.shelf import Shelf
from troubleshoot.layout import Layout
from troubleshoot.learning.counting import Taught, counted, returns_of, taught
from troubleshoot.learning.forgetting import Forgotten, forgotten
from troubleshoot.rulebook import Rulebook, row
from troubleshoot.rulebook.tally import RETURNS, ROW_CASES, Tally, moved_row


@dataclass(frozen=True)
class LearnedCause:
    """A cause of a symptom: its chance by the rules and here, and the cases that speak for it and against it."""

    cause: str
    normally: float
    here: float
    cases: tuple[str, ...]
    against: tuple[str, ...]


@dataclass(frozen=True)
class LearnedRow:
    """What a cause shows of a finding: how many cases, and the chances of its outcomes by the rules and here."""

    cause: str
    finding: str
    cases: float
    outcomes: tuple[str, ...]
    normally: tuple[float, ...]
    here: tuple[float, ...]


@dataclass(frozen=True)
class LearnedSymptom:
    """What was learned about one symptom; `places` are (place, cause, cases) where something was mended before."""

    symptom: str
    cases: int
    causes: tuple[LearnedCause, ...]
    rows: tuple[LearnedRow, ...]
    places: tuple[tuple[str, str, float], ...]


@dataclass(frozen=True)
class Learned:
    """All that was learned; `held` are (remedy, works by the rules, works here, lasted, did not)."""

    symptoms: tuple[LearnedSymptom, ...]
    held: tuple[tuple[str, float, float, float, float], ...]
    returns: float
    returns_normally: float
    forgotten: Forgotten


def account(
    shelf: Shelf, rulebook: Rulebook, layout: Layout, only: Sequence[str] = (), on: str | None = None
) -> Learned:
    """What the closed cases of a shelf taught, about some symptoms or all."""
    unless = forgotten(shelf.folder)
    said = dict.fromkeys(rulebook.former.get(s, s) for s in shelf.symptoms())
    names = [s for s in said if s in rulebook.symptoms and (not only or s in only)]
    every = [taught(shelf, rulebook, s, "", unless) for s in names]
    tally = counted(every, rulebook, layout, on, returns_of(shelf))
    lines = [_symptom(rulebook, one, tally) for one in every if one.lessons]
    return Learned(
        tuple(sorted(lines, key=lambda s: (-s.cases, s.symptom))),
        _held(rulebook, tally),
        tally.returns,
        RETURNS[0] / fsum(RETURNS),
        unless,
    )


def _symptom(rulebook: Rulebook, one: Taught, tally: Tally) -> LearnedSymptom:
    authored = {c.name: c.weights[one.symptom] for c in rulebook.causes_of(one.symptom)}
    normally, here = Tally().shares(one.symptom, authored), tally.shares(one.symptom, authored)
    against: dict[str, list[str]] = {}
    for lesson, _ in one.lessons:
        for cause in lesson.causes if lesson.refuted else ():
            against.setdefault(cause, []).append(lesson.case)
    known = tally.cases.get(one.symptom, {})
    causes = [
        LearnedCause(c, normally[c], here[c], known.get(c, ()), tuple(against.get(c, ())))
        for c in authored
        if known.get(c) or c in against
    ]
    causes.sort(key=lambda c: (-c.here, c.cause))
    places = [(p, c, n) for p, line in tally.here.get(one.symptom, {}).items() for c, n in line.items()]
    places.sort(key=lambda p: (-p[2], p[0], p[1]))
    return LearnedSymptom(
        one.symptom, len(one.lessons), tuple(causes), _rows(rulebook, one.symptom, tally), tuple(places)
    )


def _rows(rulebook: Rulebook, symptom: str, tally: Tally) -> tuple[LearnedRow, ...]:
    """Rows that have moved."""
    made = []
    for (cause, finding), counts in sorted(tally.rows.get(symptom, {}).items()):
        outcomes = rulebook.findings[finding].outcomes
        seen = [counts.get(o, 0.0) for o in outcomes]
        if fsum(seen) >= ROW_CASES:
            stated = row(rulebook, finding, rulebook.causes[cause], symptom)
            made.append(LearnedRow(cause, finding, fsum(seen), outcomes, stated, moved_row(stated, seen)))
    return tuple(made)


def _held(rulebook: Rulebook, tally: Tally) -> tuple[tuple[str, float, float, float, float], ...]:
    """Remedies that did not always last."""
    lines = [
        (name, rulebook.remedies[name].works, tally.works(name, rulebook.remedies[name].works), lasted, failed)
        for name, (lasted, failed) in sorted(tally.held.items())
        if failed and name in rulebook.remedies
    ]
    return tuple(sorted(lines, key=lambda line: (line[2], line[0])))

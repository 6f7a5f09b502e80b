"""A simulated trial: faults drawn from a world, answered with noise, found by the tool's own `diagnose`.

One fault at a time, on a layout nothing is known of, so that every relation has one place. A wrong answer is another
outcome of the same finding; checks of one finding at one place share what is really there and may share a wrong
look at it. An answer that ends the inquiry by a stop is looked at again. Figures are simulations of the rules, never
measurements of layouts.
"""

import math
import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from troubleshoot.belief import Rows, field_of, weigh
from troubleshoot.diagnosis import CheckStep, RemedyStep, diagnose
from troubleshoot.inquiry import Answer, Complaint, Inquiry, Mend, Observation, PutAside, Record
from troubleshoot.layout import EMPTY, Place
from troubleshoot.quality.worlds import World
from troubleshoot.rulebook import Rulebook

MOST_STEPS = 60
HAND_OVER = 120.0


@dataclass(frozen=True)
class Outcome:
    """How one simulated fault went: places in the ranking at the first remedy, minutes, checks, and the end."""

    symptom: str
    cause: str
    first: bool
    three: bool
    stated: float
    minutes: float
    checks: int
    remedies: int
    found: bool
    list_minutes: float
    other_in_three: bool


@dataclass(frozen=True)
class Summary:
    """Means over outcomes."""

    name: str
    cases: int
    first: float
    three: float
    stated: float
    minutes: float
    list_minutes: float
    checks: float
    found: float


def bound(rulebook: Rulebook, true: World, cases: int, seed: int) -> dict[str, tuple[int, int, int]]:
    """All checks answered without error: for each cause (cases, named first, in the first three)."""
    dice = random.Random(f"bound {seed} {true.symptom}")
    subject = Place("block", "the block")
    rows = Rows(rulebook, EMPTY, field_of(rulebook, EMPTY, true.symptom, subject))
    places = {f: _place(rulebook, f, subject) for f in rulebook.spoken_of(true.symptom)}
    counts = {c.name: (0, 0, 0) for c in rulebook.causes_of(true.symptom)}
    for cause in _drawn(rulebook, true.symptom, cases, dice):
        shown = true.draw(cause, dice)
        seen = [_observed(rulebook, f, places[f], int(i)) for f, i in shown.items()]
        order = [name for name, _ in weigh(rows, seen).by_cause()]
        at = order.index(cause)
        n, one, three = counts[cause]
        counts[cause] = (n + 1, one + (at == 0), three + (at < 3))
    return counts


def _place(rulebook: Rulebook, finding: str, subject: Place) -> Place:
    places = EMPTY.related(rulebook.findings[finding].relation, subject)
    return places[0] if places else subject


def _observed(rulebook: Rulebook, finding: str, place: Place, index: int) -> Observation:
    outcomes = rulebook.findings[finding].outcomes
    weights = tuple(1.0 if i == index else 0.0 for i in range(len(outcomes)))
    return Observation(finding, finding, place, outcomes[index], weights, 0.0, 0, outcomes[index])


def _drawn(rulebook: Rulebook, symptom: str, cases: int, dice: random.Random) -> list[str]:
    """True causes: each at least a few times, the rest by weight."""
    causes = rulebook.causes_of(symptom)
    each = max(1, cases // (3 * len(causes)))
    sure = [c.name for c in causes for _ in range(each)]
    weights = [c.weights[symptom] for c in causes]
    return sure + dice.choices([c.name for c in causes], weights, k=max(0, cases - len(sure)))


def by_weight(rulebook: Rulebook, symptom: str, cases: int, dice: random.Random) -> list[str]:
    """True causes drawn by weight alone."""
    causes = rulebook.causes_of(symptom)
    return dice.choices([c.name for c in causes], [c.weights[symptom] for c in causes], k=cases)


def with_repairs(rulebook: Rulebook, minutes: float | None) -> Rulebook:
    """The rulebook with every repair set to the same minutes, or as it is."""
    if minutes is None:
        return rulebook
    return replace(rulebook, remedies={n: replace(r, minutes=minutes) for n, r in rulebook.remedies.items()})


def play(rulebook: Rulebook, true: World, cause: str, wrong: float, dice: random.Random) -> Outcome:
    """One fault played through the tool, from the complaint to the cure or the hand-over."""
    shown = {f: int(i) for f, i in true.draw(cause, dice).items()}
    reported = {f: _misseen(rulebook, f, i, wrong, dice) for f, i in shown.items()}
    records: list[Record] = [Complaint(true.symptom)]
    minutes, checks, tried = 0.0, 0, 0
    first: tuple[bool, bool, float] | None = None
    second: bool | None = None
    for _ in range(MOST_STEPS):
        made = diagnose(EMPTY, rulebook, Inquiry(tuple(records)))
        if tried == 1 and second is None:
            second = "something-else" in [r.cause for r in made.ranking[:3]]
        step = made.step
        if isinstance(step, CheckStep):
            finding = step.check.finding
            if finding not in reported:
                records.append(PutAside(step.check.name, step.place.name))
                continue
            minutes += step.minutes
            checks += 1
            outcome = rulebook.findings[finding].outcomes[reported[finding]]
            records.append(Answer(step.check.name, step.place.name, outcome))
            continue
        if made.kind == "stop" and isinstance(records[-1], Answer):
            # No pack has a cause that calls for a stop: such an answer was a mistake, and is looked at again.
            mistaken = records.pop()
            finding = rulebook.checks[mistaken.check].finding if isinstance(mistaken, Answer) else ""
            reported[finding] = rulebook.findings[finding].quiet
            continue
        if not isinstance(step, RemedyStep):
            break
        order = [r.cause for r in made.ranking]
        if first is None:
            first = (order[0] == cause, cause in order[:3], made.ranking[0].chance)
        minutes += step.minutes
        tried += 1
        cured = cause in step.remedy.mends and dice.random() < step.remedy.works
        if cured:
            return _ended(rulebook, true, cause, first, minutes, checks, tried, True, reported, bool(second))
        records.append(Mend(step.remedy.name, step.place.name, "not-fixed"))
    found = first or (False, False, 0.0)
    other = bool(second) or first is None
    return _ended(rulebook, true, cause, found, minutes + HAND_OVER, checks, tried, False, reported, other)


def _ended(
    rulebook: Rulebook,
    true: World,
    cause: str,
    first: tuple[bool, bool, float],
    minutes: float,
    checks: int,
    tried: int,
    found: bool,
    reported: dict[str, int],
    other: bool,
) -> Outcome:
    listed = checklist(rulebook, true.symptom, cause, reported)
    return Outcome(true.symptom, cause, *first, minutes, checks, tried, found, listed, other)


def _misseen(rulebook: Rulebook, finding: str, index: int, wrong: float, dice: random.Random) -> int:
    others = [i for i in range(len(rulebook.findings[finding].outcomes)) if i != index]
    return dice.choice(others) if others and dice.random() < wrong else index


def checklist(rulebook: Rulebook, symptom: str, cause: str, reported: dict[str, int]) -> float:
    """Minutes of a fixed checklist: best tests by weight, each cause whose test speaks for it mended at once."""
    minutes, done = 0.0, set()
    causes = sorted(rulebook.causes_of(symptom), key=lambda c: (-c.weights[symptom], c.name))
    late = []
    for entry in causes:
        check = rulebook.checks[entry.best_check]
        if check.name not in done:
            minutes += max(check.minutes, 0.5) + math.fsum(rulebook.set_ups[s].enter for s in check.set_up)
            done.add(check.name)
        told = entry.under.get(symptom, {}).get(check.finding) or entry.shows.get(check.finding, {})
        outcome = rulebook.findings[check.finding].outcomes[reported.get(check.finding, 0)]
        if told.get(outcome) in ("always", "usually", "often"):
            minutes += min(r.minutes for r in rulebook.remedies_of(entry.name))
            if entry.name == cause:
                return minutes
        else:
            late.append(entry)
    for entry in late:
        minutes += min(r.minutes for r in rulebook.remedies_of(entry.name))
        if entry.name == cause:
            return minutes
    return minutes + HAND_OVER


def summary(name: str, outcomes: Iterable[Outcome]) -> Summary:
    """Means over outcomes; of none, zeros."""
    every: Sequence[Outcome] = list(outcomes)
    count = max(len(every), 1)

    def mean(values: Iterable[float]) -> float:
        return math.fsum(values) / count

    return Summary(
        name,
        len(every),
        mean(o.first for o in every),
        mean(o.three for o in every),
        mean(o.stated for o in every),
        mean(o.minutes for o in every),
        mean(o.list_minutes for o in every),
        mean(o.checks for o in every),
        mean(o.found for o in every),
    )


STRANGE = ("left out", "quiet", "odd")


def play_strange(rulebook: Rulebook, true: World, kind: str, wrong: float, dice: random.Random) -> Outcome:
    """A fault that no cause describes: a cause left out of the rules, all quiet, or odd."""
    if kind != "left out":
        return play(rulebook, true, f"strange/{kind}", wrong, dice)
    cause = by_weight(rulebook, true.symptom, 1, dice)[0]
    causes = {n: c for n, c in rulebook.causes.items() if n != cause}
    remedies = {n: replace(r, mends=tuple(c for c in r.mends if c != cause)) for n, r in rulebook.remedies.items()}
    return play(replace(rulebook, causes=causes, remedies=remedies), true, cause, wrong, dice)

"""A simulated trial: faults drawn from a world, answered with noise, found by the tool's own `diagnose`.

One fault at a time, on a layout nothing is known of, so that every relation has one place. A wrong answer is another
outcome of the same finding; in the moved world looks at one finding go wrong together (`looks`). An answer that ends
the inquiry by a stop is looked at again, and before a remedy each that the tool calls doubtful, once. Figures are
simulations of the rules, never measurements of layouts.
"""

import math
import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from troubleshoot.diagnosis import CheckStep, Diagnosis, RemedyStep, diagnose
from troubleshoot.inquiry import Answer, Complaint, Inquiry, Mend, PutAside, Record
from troubleshoot.layout import EMPTY
from troubleshoot.quality.looks import TOGETHER, Looks
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
    looks = Looks(rulebook, shown, wrong, TOGETHER if true.noisy else 0.0, dice)
    so_far = Played([Complaint(true.symptom)])
    for _ in range(MOST_STEPS):
        made = diagnose(EMPTY, rulebook, Inquiry(tuple(so_far.records)))
        order = [r.cause for r in made.ranking]
        if so_far.tried == 1 and so_far.other is None:
            so_far.other = "something-else" in order[:3]
        step = made.step
        if _looked_again(rulebook, made, so_far, looks):
            continue
        if isinstance(step, CheckStep):
            so_far.look(step.check.name, step.place.name, step.minutes, looks)
        elif isinstance(step, RemedyStep):
            if so_far.first is None:
                so_far.first = (order[0] == cause, cause in order[:3], made.ranking[0].chance)
            so_far.minutes += step.minutes
            so_far.tried += 1
            if cause in step.remedy.mends and dice.random() < step.remedy.works:
                return so_far.ended(true.symptom, cause, True, checklist(rulebook, true.symptom, cause, looks))
            so_far.records.append(Mend(step.remedy.name, step.place.name, "not-fixed"))
        else:
            break
    # Whoever takes over finds it, and has to mend it as well.
    so_far.minutes += HAND_OVER + min((r.minutes for r in rulebook.remedies_of(cause)), default=0.0)
    return so_far.ended(true.symptom, cause, False, checklist(rulebook, true.symptom, cause, looks))


@dataclass
class Played:
    """How far one simulated fault has got."""

    records: list[Record]
    minutes: float = 0.0
    checks: int = 0
    tried: int = 0
    first: tuple[bool, bool, float] | None = None
    other: bool | None = None

    def look(self, check: str, place: str | None, minutes: float, looks: Looks) -> None:
        """Make a check; what the world says nothing of is put aside."""
        if not looks.knows(check):
            self.records.append(PutAside(check, place))
            return
        self.minutes += minutes
        self.checks += 1
        self.records.append(Answer(check, place, looks.again(check)))

    def ended(self, symptom: str, cause: str, found: bool, listed: float) -> Outcome:
        """The outcome, once it is over."""
        first = self.first or (False, False, 0.0)
        other = bool(self.other) or self.first is None
        return Outcome(symptom, cause, *first, self.minutes, self.checks, self.tried, found, listed, other)


def _looked_again(rulebook: Rulebook, made: Diagnosis, so_far: Played, looks: Looks) -> bool:
    """Look again at an answer that ends the inquiry by a stop, and once at each that the tool calls doubtful."""
    last = so_far.records[-1]
    if made.kind == "stop" and isinstance(last, Answer):
        # No pack has a cause that calls for a stop: such an answer was a mistake.
        finding = rulebook.findings[rulebook.checks[last.check].finding]
        so_far.records.pop()
        looks.settle(finding.name, finding.quiet)
        return True
    if made.kind == "remedy" and made.ask_again:
        doubtful = made.ask_again[0]
        so_far.look(doubtful.check, doubtful.place.name, rulebook.checks[doubtful.check].minutes, looks)
        return True
    return False


def checklist(rulebook: Rulebook, symptom: str, cause: str, looks: Looks) -> float:
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
        if looks.knows(check.name) and told.get(looks.first(check.name)) in ("always", "usually", "often"):
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


STRANGE = {"left out": 0.5, "quiet": 0.25, "odd": 0.25}
"""Kinds of faults that no cause describes, with their share among them (estimate)."""


def play_strange(rulebook: Rulebook, true: World, kind: str, wrong: float, dice: random.Random) -> Outcome:
    """A fault that no cause describes: a cause left out of the rules, all quiet, or odd."""
    if kind != "left out":
        return play(rulebook, true, f"strange/{kind}", wrong, dice)
    cause = by_weight(rulebook, true.symptom, 1, dice)[0]
    causes = {n: c for n, c in rulebook.causes.items() if n != cause}
    remedies = {n: replace(r, mends=tuple(c for c in r.mends if c != cause)) for n, r in rulebook.remedies.items()}
    return play(replace(rulebook, causes=causes, remedies=remedies), true, cause, wrong, dice)

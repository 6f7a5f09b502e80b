"""What earlier cases at this place are worth at the start: the check that confirms them, where that beats asking.

A symptom's first questions are asked before anything else, because they cost little and steer much. Where the same
trouble at the same place had a proven cause before, the check or the remedy of that cause may be worth more: it
goes first if the expected minutes with it first are fewer by LEAST_SAVED. A question that could end in a stop or in
making safe is never passed over. How often causes return is left to the tally.
"""

from collections.abc import Sequence

from troubleshoot import advice
from troubleshoot.diagnosis.result import Recalled, Work
from troubleshoot.layout import Place
from troubleshoot.rulebook import Check, Rulebook

LEAST_SAVED = 1.0
"""Minutes that must be saved before the first questions are passed over (estimate)."""
Steps = Sequence[tuple[Check, Place]]


def causes_here(work: Work) -> tuple[str, ...]:
    """Causes that this trouble had at this place before, the most frequent first."""
    field = work.posterior.field
    counts = field.tally.here.get(field.symptom, {}).get(work.subject.name, {})
    known = {s.cause for s in field.suspects}
    return tuple(sorted((c for c, n in counts.items() if n > 0.0 and c in known), key=lambda c: (-counts[c], c)))


def recalled_of(
    work: Work, first: int, choice: advice.Step, trials: Sequence[advice.Trial], steps: Steps,
    repairs: Sequence[advice.Repair],
) -> Recalled | None:  # fmt: skip
    """What goes before the first question at position `first`; None where asking is worth as much, or safety asks."""
    causes = causes_here(work)
    if not causes or steps[first][0].finding in dangerous(work.rulebook):
        return None
    chances = work.posterior.chances
    asking = advice.expected(chances, trials[first], repairs)
    names = {n for c in causes for n in _confirming(work.rulebook, c)}
    found = [
        (advice.expected(chances, trial, repairs), i)
        for i, (trial, (check, _)) in enumerate(zip(trials, steps, strict=True))
        if check.name in names
    ]
    minutes, index = min(found, default=(float("inf"), -1))
    if choice.first_repair is not None and choice.repair_now < minutes and _covers(work, repairs, choice, causes):
        minutes, index = choice.repair_now, -1
    if minutes > asking - LEAST_SAVED:
        return None
    tally, symptom = work.posterior.field.tally, work.posterior.field.symptom
    cases = tuple(n for c in causes for n in tally.cases.get(symptom, {}).get(c, ()))
    return Recalled(causes, index, minutes, asking, cases)


def dangerous(rulebook: Rulebook) -> frozenset[str]:
    """Findings on which a stop or a make-safe may hang."""
    rules = [d for d in rulebook.deductions.values() if "stop" in d.then or "make-safe" in d.then]
    return frozenset(fact for d in rules for fact in d.when)


def _confirming(rulebook: Rulebook, cause: str) -> tuple[str, ...]:
    """The checks that tell whether it is this cause again: its best one, and what proves its remedies."""
    return (rulebook.causes[cause].best_check, *(r.proof.check for r in rulebook.remedies_of(cause)))


def _covers(work: Work, repairs: Sequence[advice.Repair], choice: advice.Step, causes: Sequence[str]) -> bool:
    """Whether the remedy that is best now mends what it was before."""
    covers = repairs[choice.first_repair].covers if choice.first_repair is not None else ()
    return any(work.posterior.field.suspects[i].cause in causes for i in covers)

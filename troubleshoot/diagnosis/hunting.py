"""Lifting in search of the place: what each lift says of the suspects, and where to lift next by the belief.

A suspect is a cause at a place; which limbs of the tree of feeders it may sit in is told by `locating`. What was lifted
weighs on a suspect by the chance of all those answers, over the limbs it may sit in; so an answer that is wrong costs
it, and does not strike it out. Of several places where a check that lifts something may be made, the planner's first is
taken. What a lift may be, and how it is planned, is left to `locating`.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from troubleshoot import advice
from troubleshoot.belief import Field, Weight
from troubleshoot.diagnosis.result import CheckStep, Diagnosis, Work
from troubleshoot.diagnosis.steps import check_step
from troubleshoot.inquiry import Inquiry
from troubleshoot.layout import Layout, Place
from troubleshoot.locating import QUICK, Hunt, Lift, Tree, clean, counted, fits, hunt, prior, shares, tree_of
from troubleshoot.rulebook import Check, Rulebook

LIFTED = "lifted"
"""What the evidence of all lifts together is called."""


def lifts_of(inquiry: Inquiry) -> tuple[Lift, ...]:
    """The lifts of an inquiry as the planner takes them."""
    return tuple(Lift(one.point, bool(one.gone)) for one in inquiry.lifts)


def lifted(layout: Layout, field: Field, inquiry: Inquiry, subject: Place) -> tuple[Weight, ...]:
    """What all lifts together say of each suspect, in decibans; nothing where nothing was lifted in its tree."""
    done = lifts_of(inquiry)
    tree = tree_of(layout, subject) if done else None
    if tree is None or not counted(tree, done):
        return ()
    fit = fits(tree, done)
    weights = (_fit(layout, tree, fit, suspect.place) for suspect in field.suspects)
    return (((LIFTED, tree.place), tuple(10.0 * math.log10(max(w, 1e-12)) for w in weights)),)


def _fit(layout: Layout, tree: Tree, fit: Sequence[float], place: str) -> float:
    return math.fsum(share * fit[i] for i, share in shares(layout, tree, place).items())


def said_of_lifts(layout: Layout, inquiry: Inquiry, subject: Place) -> str:
    """All lifts that count, in a sentence."""
    tree = tree_of(layout, subject)
    done = counted(tree, lifts_of(inquiry)) if tree else ()
    gone = [one.point for one in done if one.gone]
    stays = [one.point for one in done if not one.gone]
    told = [f"{word} with {', '.join(names)} lifted" for word, names in (("gone", gone), ("stays", stays)) if names]
    return "; ".join(told)


def proven_clean(layout: Layout, inquiry: Inquiry, subject: Place) -> tuple[int, int] | None:
    """How many parts of the tree of a place are proven clean, of how many; None where nothing was lifted in it."""
    done = lifts_of(inquiry)
    tree = tree_of(layout, subject) if done else None
    if tree is None or not counted(tree, done):
        return None
    return bin(clean(tree, done)).count("1"), len(tree.limbs)


def hunt_of(
    layout: Layout, inquiry: Inquiry, made: Diagnosis, place: Place | None = None, most: int = QUICK
) -> Hunt | None:
    """Where the search by lifting stands by the belief of a diagnosis, in the tree of its subject or another place."""
    tree = tree_of(layout, place or made.subject)
    if tree is None:
        return None
    suspects: list[tuple[str, float]] = []
    for line in made.ranking:
        suspects.extend(line.places or (("", line.chance),))
    return _hunt(layout, tree, lifts_of(inquiry), suspects, most, place is None or place == made.subject)


def _hunt(
    layout: Layout, tree: Tree, done: Sequence[Lift], suspects: Iterable[tuple[str, float]], most: int, weighed: bool
) -> Hunt:
    """A hunt from chances of suspects by place, in which the lifts have been weighed already or not."""
    fit = fits(tree, done) if weighed else (1.0,) * len(tree.limbs)
    before = [0.0] * len(tree.limbs)
    for place, chance in suspects:
        among = shares(layout, tree, place)
        whole = math.fsum(share * fit[i] for i, share in among.items())
        for i, share in among.items():
            before[i] += chance * share / whole
    total = math.fsum(before)
    return hunt(tree, done, [b / total for b in before] if total > 0.0 else prior(tree), most)


def lifts_its_place(rulebook: Rulebook, check: Check) -> bool:
    """Whether a check disconnects something at the place it is made at."""
    set_ups = (rulebook.set_ups[name] for name in check.set_up if name in rulebook.set_ups)
    return any(s.disturbs_live and s.relation != "control-bus" for s in set_ups)


def place_first(work: Work, step: CheckStep, choice: advice.Step, steps: Sequence[tuple[Check, Place]]) -> CheckStep:
    """A check that lifts something, at the place that the planner comes to first of all where it may be made."""
    if not lifts_its_place(work.rulebook, step.check):
        return step
    places = {place.name: i for i, (check, place) in enumerate(steps) if check is step.check}
    tree = tree_of(work.layout, work.subject) if len(places) > 1 else None
    if tree is None:
        return step
    suspects = [(s.place, c) for s, c in zip(work.posterior.field.suspects, work.posterior.chances, strict=True)]
    found = _hunt(work.layout, tree, lifts_of(work.inquiry), suspects, QUICK, True).first_among(list(places))
    if found is None:
        return step
    index = places[found[0]]
    ranked = next((r for r in choice.ranked if r.index == index), advice.Ranked(index, step.bits, 0.0, step.expected))
    return replace(check_step(work, *steps[index], ranked), here_first=found[1])

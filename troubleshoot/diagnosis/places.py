"""Where a set-up and a proof belong: a feed lifted at one block is not lifted at the next, a proof has its own place.

A set-up has a relation of its own (`at`), which from the place of a check leads to what is really lifted, unplugged
or switched off. What is switched off for the whole layout holds everywhere. Which set-ups come first is left to
deduction, what they cost to `steps`.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Protocol, TypeVar

from troubleshoot.diagnosis.result import RemedyStep
from troubleshoot.inquiry import Inquiry, edges
from troubleshoot.layout import Layout, Place, Unknown
from troubleshoot.rulebook import Check, Rulebook, SetUp


def everywhere(set_up: SetUp) -> bool:
    """Whether a state holds for the whole layout wherever it was entered, such as track power off."""
    return set_up.relation == "itself" and (
        set_up.stops == "layout" or (set_up.power == "on" and not set_up.limits_current)
    )


def holds_at(layout: Layout, set_up: SetUp, entered: Place, place: Place) -> bool:
    """Whether a state that was entered for one place also holds for another.

    A lamp in series for one block serves every block behind the same breaker; a lifted block wire serves that block.
    """
    if everywhere(set_up) or entered == place:
        return True
    return set(layout.related(set_up.relation, place)) <= set(layout.related(set_up.relation, entered))


def in_force_at(
    layout: Layout, rulebook: Rulebook, inquiry: Inquiry, needed: Iterable[str], place: Place
) -> frozenset[str]:
    """The states in force as a step at a place sees them.

    One that the step needs counts only where it holds; any other counts wherever it is, for it may have to be undone.
    """
    wanted = set(needed)
    return frozenset(
        c.set_up
        for c in inquiry.in_force
        if c.set_up not in wanted
        or c.set_up not in rulebook.set_ups
        or holds_at(layout, rulebook.set_ups[c.set_up], named(layout, c.place, place), place)
    )


def named(layout: Layout, name: str | None, like: Place) -> Place:
    """A place by its name; one that the record does not know is taken to be of the kind of another."""
    if name is None:
        return like
    try:
        return layout.place(name)
    except Unknown:
        return Place(like.kind, name)


def set_up_places(layout: Layout, rulebook: Rulebook, names: Iterable[str], place: Place) -> Mapping[str, str]:
    """For each set-up the place that is lifted, unplugged or switched off, where the record names just one."""
    found = {}
    for name in names:
        places = layout.related(rulebook.set_ups[name].relation, place) if name in rulebook.set_ups else ()
        one = len(places) == 1 and places[0].name in layout.parts
        found[name] = places[0].name if one else place.name
    return found


def proof_place(layout: Layout, rulebook: Rulebook, check: Check, place: Place, subject: Place) -> Place:
    """The place that a proof speaks of: that of the mend where the check may be made there, else its own.

    A check of the thing complained about belongs to the mend where symptoms about such a thing use it.
    """
    places = layout.related(check.relation, subject)
    if place in places or not places:
        return place
    kinds = _asked_about(rulebook, check)
    if check.relation == "itself" and place.kind in kinds and subject.kind not in kinds:
        return place
    nearer = [p for p in layout.related(check.relation, place) if p in places]
    return nearer[0] if nearer else places[0]


@lru_cache(maxsize=1024)
def _asked_about(rulebook: Rulebook, check: Check) -> frozenset[str]:
    """The kinds of place that symptoms are about under which a check is asked."""
    return frozenset(s.about for s in rulebook.symptoms.values() if check.finding in rulebook.spoken_of(s.name))


def with_proof(layout: Layout, rulebook: Rulebook, step: RemedyStep, subject: Place) -> RemedyStep:
    """A remedy with the place of its proof, and in SI what a healthy reading there lies between."""
    check = rulebook.checks[step.remedy.proof.check]
    place = proof_place(layout, rulebook, check, step.place, subject)
    reads = None
    if check.bands:
        bounds = edges(layout, check, place).edges
        column = check.outcomes.index(step.remedy.proof.outcome)
        reads = (0.0, *bounds)[column], (*bounds, math.inf)[column]
    return replace(step, proof_at=place.name, proof_reads=reads)


class HasSetUp(Protocol):
    """Something that names a state of the layout."""

    @property
    def set_up(self) -> str:
        """The name of the state."""


Entered = TypeVar("Entered", bound=HasSetUp)


def in_undoing_order(rulebook: Rulebook, states: Sequence[Entered]) -> tuple[Entered, ...]:
    """States in the order in which to put them right: the last lifted first, track power after all others."""

    def last_of_all(state: Entered) -> bool:
        entry = rulebook.set_ups.get(state.set_up)
        return entry is not None and entry.power == "off" and not entry.disturbs_live

    backwards = tuple(reversed(states))
    return (*(s for s in backwards if not last_of_all(s)), *(s for s in backwards if last_of_all(s)))

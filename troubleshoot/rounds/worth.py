"""What a baseline reading is worth: how much of a later inquiry it would settle, over the symptoms that need it.

Rules: a reading is worth the information it would bring about the suspects of a symptom at a place, as the rules
weigh them before any answer (bits over the bits that are open), times how often the symptom comes up there: an
estimate, see `share_of`. Only readings with a unit count, made with a tool that is there, at a place that the
record names. Which readings together make a round is left to `choosing`.
"""

import math
import re
from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from troubleshoot import advice
from troubleshoot.belief import Rows, field_of
from troubleshoot.diagnosis.steps import TOOLS_AT_HAND, minutes_of
from troubleshoot.layout import RELATIONS, Layout, Place
from troubleshoot.rulebook import Check, Rulebook

HARDLY = 0.02
"""A reading that settles less of a symptom than this part is not worth a baseline for it (estimate)."""

_OF_A_FAULT = re.compile(r"\bsick\b|\bwhile the fault\b", re.I)
"""A check that speaks so can be made only where something is wrong already."""

Need = tuple[str, Place]
"""A symptom and the place that shows it."""


@dataclass(frozen=True)
class Candidate:
    """A reading that could be taken: what part of each need it would settle, and its minutes taken alone."""

    check: Check
    place: Place
    settles: Mapping[Need, float]
    minutes: float

    @property
    def key(self) -> tuple[str, str]:
        """Names of the check and the place."""
        return self.check.name, self.place.name


def takeable(layout: Layout, check: Check) -> bool:
    """Whether a check is a reading of a healthy part made with what is at hand.

    A tool of which nothing is known is not planned with, except a multimeter.
    """
    if not check.unit or _OF_A_FAULT.search(f"{check.asks} {check.how}"):
        return False
    known = layout.kit.get(check.tool, "unknown")
    return check.tool in TOOLS_AT_HAND or known == "yes" or (check.tool == "multimeter" and known == "unknown")


def named(layout: Layout, place: Place) -> bool:
    """Whether the record knows a place by its name; without a record every place counts."""
    part = layout.parts.get(place.name)
    return not layout.known or (part is not None and part.kind == place.kind) or place == layout.itself


@lru_cache(maxsize=8)
def candidates(layout: Layout, rulebook: Rulebook) -> tuple[Candidate, ...]:
    """Every reading that could be taken on a layout with what it would settle, by check and place."""
    found: dict[tuple[str, Place], dict[Need, float]] = {}
    shapes = {p: _shape(layout, p) for kind in _kinds(rulebook) for p in _subjects(layout, kind)}
    for name in sorted(rulebook.symptoms):
        checks, needs = _checks(layout, rulebook, name), {c.name: c.needs for c in rulebook.causes_of(name)}
        known: dict[Hashable, list[tuple[Check, int, float]]] = {}
        for subject in _subjects(layout, rulebook.symptoms[name].about) if checks else ():
            # Places that hang on as many parts have the same suspects, so one of each kind is enough; their figures
            # may differ a little, which worth is too rough to tell.
            if shapes[subject] not in known:
                known[shapes[subject]] = _parts(layout, rulebook, name, subject, checks, needs)
            for check, at, part in known[shapes[subject]]:
                place = layout.related(check.relation, subject)[at]
                if named(layout, place):
                    found.setdefault((check.name, place), {})[name, subject] = part
    made = []
    for (name, place), settles in sorted(found.items(), key=lambda kv: (kv[0][0], kv[0][1])):
        check = rulebook.checks[name]
        made.append(Candidate(check, place, settles, minutes_of(rulebook, check, frozenset())))
    return tuple(made)


def _kinds(rulebook: Rulebook) -> list[str]:
    return sorted({s.about for s in rulebook.symptoms.values()})


def _shape(layout: Layout, subject: Place) -> Hashable:
    """How many parts a place hangs on in each relation, and its traits."""
    counts = tuple(len(layout.related(r, subject)) for r in RELATIONS)
    return subject.kind, counts, tuple(sorted(layout.traits(subject).items()))


def _checks(layout: Layout, rulebook: Rulebook, symptom: str) -> list[Check]:
    """The readings that speak of a symptom, by name."""
    spoken = rulebook.spoken_of(symptom)
    return [c for f in spoken for c in rulebook.checks_for(f) if takeable(layout, c)]


def _subjects(layout: Layout, kind: str) -> Iterable[Place]:
    if kind == "layout":
        return (layout.itself,)
    places = layout.places_of(kind)
    return places or (() if layout.known else (Place(kind, f"the {kind}"),))


def _parts(
    layout: Layout,
    rulebook: Rulebook,
    symptom: str,
    subject: Place,
    checks: Iterable[Check],
    needs: Mapping[str, tuple[str, ...]],
) -> list[tuple[Check, int, float]]:
    """For each check at each place of a symptom at one subject, the part of the open question that it settles.

    The place is told by its position among those that the check's relation gives.
    """
    traits = layout.traits(subject)
    # A cause whose needs this layout lacks is out of play, as deduction has it; nothing else is known yet.
    lacking = [cause for cause, wanted in needs.items() if any(traits[n] == "no" for n in wanted)]
    field = field_of(rulebook, layout, symptom, subject, lacking)
    rows, open_bits = Rows(rulebook, layout, field), _entropy(field.prior)
    settled = []
    for check in checks if open_bits > 0.0 else ():
        for at, place in enumerate(layout.related(check.relation, subject)):
            part = _bits(field.prior, rows.of(check.finding, place)) / open_bits
            if part >= HARDLY:
                settled.append((check, at, part))
    return settled


@lru_cache(maxsize=4096)
def _entropy(masses: tuple[float, ...]) -> float:
    return advice.entropy(masses)


@lru_cache(maxsize=65536)
def _bits(masses: tuple[float, ...], table: tuple[tuple[float, ...], ...]) -> float:
    """Expected bits about the suspects. Places alike in the record give the same table, so most are looked up."""
    kept: dict[tuple[float, ...], int] = {}
    row_of = tuple(kept.setdefault(row, len(kept)) for row in table)
    return advice.bits(masses, advice.Trial("", 1.0, tuple(kept), row_of))


def share_of(layout: Layout, rulebook: Rulebook, need: Need) -> float:
    """How often a need comes up, beside others: a symptom that n places can show counts as the root of n.

    That is midway between every symptom alike and every place alike, for the rules say neither (estimate).
    """
    places = len(tuple(_subjects(layout, rulebook.symptoms[need[0]].about))) or 1
    return 1.0 / (len(rulebook.symptoms) * math.sqrt(places))

"""Suspects of a symptom and their priors: each cause at each of its places, and two beyond the rules.

A weight is P(cause given symptom), split over the cause's places, moved by the tally of past cases, by what deduction
raises and by weak spots of the layout. The quiet and the odd suspect stand for what no rule describes and are never
eliminated. What answers make of priors is left to `weighing`.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from troubleshoot.layout import Layout, Place
from troubleshoot.rulebook import Cause, Rulebook
from troubleshoot.rulebook.tally import Tally
from troubleshoot.rulebook.words import SOMETHING_ELSE
from troubleshoot.survey import factor, raising

QUIET, ODD = "something-else/quiet", "something-else/odd"


NOTHING_COUNTED = Tally()


@dataclass(frozen=True, order=True)
class Suspect:
    """A cause at a place. The two suspects beyond the rules have no place."""

    cause: str
    place: str
    kind: str = ""

    @property
    def beyond(self) -> bool:
        """Whether this stands for what no rule describes."""
        return self.cause in (QUIET, ODD)


@dataclass(frozen=True)
class Mended:
    """A remedy tried without full success: its causes at its place, how surely it works, and the result."""

    causes: frozenset[str]
    place: str | None
    works: float
    partly: bool
    order: int


@dataclass(frozen=True, eq=False)
class Field:
    """All suspects of one symptom with their prior, before any answer."""

    symptom: str
    suspects: tuple[Suspect, ...]
    prior: tuple[float, ...]
    relations: tuple[str, ...]
    causes: tuple[Cause | None, ...]
    tally: Tally = NOTHING_COUNTED


Weight = tuple[tuple[str, Place], tuple[float, ...]]
"""What was found where, and the decibans that it gives each suspect of a field."""


@dataclass(frozen=True, eq=False)
class Posterior:
    """The belief after the answers: chances in the order of the field, and each answer's decibans per suspect."""

    field: Field
    chances: tuple[float, ...]
    evidence: tuple[Weight, ...]
    surprise: float

    def by_cause(self) -> list[tuple[str, float]]:
        """Chances by cause, likeliest first, ties by name; what no rule describes is one line."""
        sums: dict[str, list[float]] = {}
        for suspect, chance in zip(self.field.suspects, self.chances, strict=True):
            sums.setdefault("something-else" if suspect.beyond else suspect.cause, []).append(chance)
        return sorted(((c, math.fsum(v)) for c, v in sums.items()), key=lambda pair: (-pair[1], pair[0]))


def weights(rulebook: Rulebook, symptom: str, tally: Tally, place: str = "") -> dict[str, float]:
    """P(cause | symptom at a place) before any answer, totalling 1 - .05: the authors' weights, moved by the tally."""
    authored = {c.name: c.weights[symptom] for c in rulebook.causes_of(symptom)}
    return {c: (1.0 - SOMETHING_ELSE) * s for c, s in tally.shares(symptom, authored, place).items()}


def field_of(
    rulebook: Rulebook,
    layout: Layout,
    symptom: str,
    subject: Place,
    ruled_out: Iterable[str] = (),
    raised: Mapping[str, float] | None = None,
    tally: Tally | None = None,
) -> Field:
    """The suspects of a symptom on this layout, with priors that total one."""
    out = set(ruled_out)
    tally = tally or NOTHING_COUNTED
    shares = weights(rulebook, symptom, tally, subject.name)
    rows: list[tuple[Suspect, float, str, Cause | None]] = []
    for cause in rulebook.causes_of(symptom):
        if cause.name in out:
            continue
        places = layout.related(cause.relation, subject) or (subject,)
        each = shares[cause.name] * (raised or {}).get(cause.name, 1.0) / len(places)
        split = tally.split(cause.name, [p.name for p in places])
        weak = [factor(raising(layout, subject).found(cause.weak_spots, cause.relation, p)) for p in places]
        rows.extend(
            (Suspect(cause.name, p.name, p.kind), each * more * len(places) * part, cause.relation, cause)
            for p, more, part in zip(places, weak, split, strict=True)
        )
    for name in (ODD, QUIET):
        rows.append((Suspect(name, ""), SOMETHING_ELSE / 2, "", None))
    rows.sort(key=lambda r: r[0])
    total = math.fsum(r[1] for r in rows)
    return Field(
        symptom,
        tuple(r[0] for r in rows),
        tuple(r[1] / total for r in rows),
        tuple(r[2] for r in rows),
        tuple(r[3] for r in rows),
        tally,
    )

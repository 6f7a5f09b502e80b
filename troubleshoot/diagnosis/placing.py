"""Which of several like places it is: asked before a remedy that could be wanted at any of them.

A cause may sit at a dozen feeders, and nothing asked so far may tell them apart. Then the person looks at one after
another, and says where it was found. That speaks for suspects at that place, against those at others of its kind; it
may be wrong, so it strikes nothing out. Where lifting tells the place, `hunting` plans the lifts.
"""

import math

from troubleshoot.belief import Field, Weight
from troubleshoot.circuit import KINDS
from troubleshoot.diagnosis.result import Diagnosis, RemedyStep
from troubleshoot.inquiry import Inquiry
from troubleshoot.layout import Layout, Place, unnamed
from troubleshoot.rulebook import Rulebook

PINNED = 0.5
"""A place with this share of its cause's chance needs no further asking (estimate)."""
RIGHT = 0.95
"""How often somebody who looks at one after another names the right one (estimate)."""
ELSEWHERE = 0.2
"""How likely such a find is when the fault is of another kind of place altogether (estimate)."""
FOUND = "found at"


def placed(layout: Layout, field: Field, inquiry: Inquiry) -> tuple[Weight, ...]:
    """What the place that was found says of each suspect, in decibans; nothing where none was."""
    name = inquiry.found_at
    if not name or name not in layout.parts:
        return ()
    there = layout.place(name)
    alike = {s.place for s in field.suspects if s.kind == there.kind}
    missed = (1.0 - RIGHT) / max(len(alike) - 1, 1)

    def chance(place: str, kind: str) -> float:
        return RIGHT if place == name else missed if kind == there.kind else ELSEWHERE

    weights = tuple(10.0 * math.log10(chance(s.place, s.kind)) for s in field.suspects)
    return (((FOUND, Place(there.kind, name)), weights),)


def unplaced(inquiry: Inquiry, made: Diagnosis) -> tuple[str, ...]:
    """Places among which the remedy advised would be a guess, likeliest first; none where the place is pinned."""
    step = made.step
    if not isinstance(step, RemedyStep) or inquiry.found_at is not None:
        return ()
    line = next((r for r in made.ranking if r.cause in step.remedy.mends), None)
    if line is None or len(line.places) < 2 or line.places[0][1] >= PINNED * line.chance:
        return ()
    named = [p for p, c in line.places if c > 0.0 and p != unnamed(step.place.kind).name]
    return tuple(named) if len(named) > 1 else ()


def goes_when_lifted(rulebook: Rulebook, made: Diagnosis) -> bool:
    """Whether the fault that the remedy advised would mend goes when what it sits in is lifted: a short or a leak."""
    step = made.step
    if not isinstance(step, RemedyStep):
        return False
    causes = (rulebook.causes[c] for c in step.remedy.mends if c in rulebook.causes)
    return any(c.fault is not None and KINDS[c.fault[0]].goes_when_lifted for c in causes)

"""Which of several like places it is: by what else is sick or healthy, and asked before a remedy that may be a guess.

A cause may sit at a dozen feeders, and nothing asked so far may tell them apart. Then the person looks at one after
another, and says where it was found. That speaks for suspects at that place, against those at others of its kind; it
may be wrong, so it strikes nothing out; nor does a search that found nothing, which speaks against what was looked
for. Places that are sick or healthy beside the one complained about move chance between the places of a cause, never
between causes: of that the rules speak (`who-else-is-sick`), and nothing counts twice. Where lifting tells the place,
`hunting` plans the lifts.
"""

import math
from collections.abc import Sequence

from troubleshoot.belief import Field, Weight
from troubleshoot.circuit import KINDS
from troubleshoot.diagnosis.result import Diagnosis, Ranked, RemedyStep
from troubleshoot.inquiry import FoundAt, Inquiry
from troubleshoot.layout import Layout, Place, unnamed
from troubleshoot.rulebook import Rulebook

PINNED = 0.6
"""A place with this share of its cause's chance needs no further asking (estimate)."""
RIGHT = 0.95
"""How often somebody who looks at one after another names the right one (estimate)."""
ELSEWHERE = 0.2
"""How likely such a find is when the fault is of another kind of place altogether (estimate)."""
MISSED = 0.15
"""How often somebody who looks at every place overlooks what is there (estimate)."""
REACHED = (0.8, 0.1)
"""How often a further place is sick that a fault reaches, and one that it does not reach (estimates)."""
SPARED = (0.25, 0.95)
"""How often a further place is surely healthy that a fault reaches, and one that it does not reach (estimates)."""
FOUND = "found at"
NOWHERE = "found nowhere"
SHARED = "sick and healthy places"


def placed(layout: Layout, field: Field, inquiry: Inquiry) -> tuple[Weight, ...]:
    """What the place that was found, and a search in vain, say of each suspect, in decibans."""
    return (*_found(layout, field, inquiry.found_at), *_nowhere(field, inquiry.found_nowhere))


def reaching(
    layout: Layout, field: Field, subject: Place, sick: Sequence[Place], healthy: Sequence[Place]
) -> tuple[Weight, ...]:
    """What further sick and healthy places say of the places of each cause, in decibans; nothing where none is told."""
    told = [(p, REACHED) for p in sick] + [(p, SPARED) for p in healthy]
    told = [(p, chances) for p, chances in told if p != subject and p.kind == subject.kind and p.name in layout.parts]
    if not told:
        return ()
    reach = {(r, p): {q.name for q in layout.related(r, p)} for r in set(field.relations) - {""} for p, _ in told}
    likely = [
        math.prod(yes if s.place in reach[r, p] else no for p, (yes, no) in told) if s.place in layout.parts else None
        for s, r in zip(field.suspects, field.relations, strict=True)
    ]
    mean: dict[str, tuple[float, float]] = {}
    for suspect, prior, chance in zip(field.suspects, field.prior, likely, strict=True):
        total, mass = mean.get(suspect.cause, (0.0, 0.0))
        mean[suspect.cause] = (total + prior * (chance or 0.0), mass + prior * (chance is not None))
    weights = tuple(
        0.0 if chance is None else 10.0 * math.log10(chance * mean[s.cause][1] / mean[s.cause][0])
        for s, chance in zip(field.suspects, likely, strict=True)
    )
    return (((SHARED, Place("layout", SHARED)), weights),) if any(abs(w) > 1e-9 for w in weights) else ()


def _nowhere(field: Field, causes: frozenset[str]) -> tuple[Weight, ...]:
    """What it says that some causes were looked for at every place and found at none."""
    if not causes:
        return ()
    weights = tuple(10.0 * math.log10(MISSED if s.cause in causes else RIGHT) for s in field.suspects)
    return (((NOWHERE, Place("layout", NOWHERE)), weights),)


def _found(layout: Layout, field: Field, name: str | None) -> tuple[Weight, ...]:
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
    """Places among which the remedy advised would be a guess, likeliest first; none where the place is pinned.

    Asked once for each find that was mended in vain; whoever could not say is not asked again.
    """
    step = made.step
    line = _leader(made)
    if line is None or line.cause in inquiry.found_nowhere or not isinstance(step, RemedyStep):
        return ()
    if len(line.places) < 2 or line.places[0][1] >= PINNED * line.chance:
        return ()
    named = [p for p, c in line.places if c > 0.0 and p != unnamed(step.place.kind).name]
    tried = {m.place for _, m in inquiry.in_vain}
    # A bungled mend may well be the likeliest, but whoever has just been there looks at the others first.
    known = inquiry.found_at == "" or inquiry.found_at in named
    if len(named) < 2 or (known and not _in_vain(inquiry)):
        return ()
    return tuple(sorted(named, key=lambda p: p in tried))


def looked_for(rulebook: Rulebook, made: Diagnosis) -> tuple[str, ...]:
    """Causes that going from place to place looks for: what the remedy advised would mend, shown by the same check."""
    step, line = made.step, _leader(made)
    if line is None or not isinstance(step, RemedyStep):
        return ()
    best = rulebook.causes[line.cause].best_check
    return tuple(c for c in step.remedy.mends if c in rulebook.causes and rulebook.causes[c].best_check == best)


def _leader(made: Diagnosis) -> Ranked | None:
    """The likeliest cause that the remedy advised would mend."""
    step = made.step
    if not isinstance(step, RemedyStep):
        return None
    return next((r for r in made.ranking if r.cause in step.remedy.mends), None)


def _in_vain(inquiry: Inquiry) -> bool:
    """Whether a remedy at the place last found did not cure it, so that another place has to be found."""
    if not inquiry.found_at:
        return False
    last = max(order for order, record in enumerate(inquiry.records) if isinstance(record, FoundAt))
    return any(order > last and mend.place == inquiry.found_at for order, mend in inquiry.in_vain)


def goes_when_lifted(rulebook: Rulebook, made: Diagnosis) -> bool:
    """Whether the fault that the remedy advised would mend goes when what it sits in is lifted: a short or a leak."""
    step = made.step
    if not isinstance(step, RemedyStep):
        return False
    causes = (rulebook.causes[c] for c in step.remedy.mends if c in rulebook.causes)
    return any(c.fault is not None and KINDS[c.fault[0]].goes_when_lifted for c in causes)

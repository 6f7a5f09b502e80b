"""What the circuit of a layout says about the reading that is asked for: healthy, and under the leading suspects.

Nothing here ranks or advises; a diagnosis does without it where the numeric libraries are absent.
"""

from dataclasses import dataclass

from troubleshoot.belief import fault_of
from troubleshoot.circuit import Probe, available, missing, model_of
from troubleshoot.diagnosis.result import CheckStep, Diagnosis
from troubleshoot.layout import Layout, Place
from troubleshoot.rulebook import Check, Rulebook

LEADING = 6
"""So many suspects are asked for, in the order of the ranking."""
TELLING = 1.1
"""A reading that differs by less than this from the healthy one tells nothing (ratio)."""


@dataclass(frozen=True)
class ByCircuit:
    """One line: who ('healthy' or a cause), the least and greatest reading in SI, and what switches off before.

    Below `floor` a hand meter shows nothing to speak of.
    """

    who: str
    says: str
    place: str
    low: float
    high: float
    tripped: tuple[str, ...] = ()
    floor: float = 0.0


def by_circuit(layout: Layout, rulebook: Rulebook, made: Diagnosis) -> tuple[ByCircuit, ...]:
    """What the meter should show at the step advised, healthy first; nothing where the circuit cannot say."""
    step = made.step
    if not isinstance(step, CheckStep) or not step.check.measures:
        return ()
    model = model_of(layout)
    if model is None:
        return ()
    probe = Probe(*step.check.measures)
    healthy = model.reads(probe, step.place)
    if healthy is None:
        return ()
    lines = [
        ByCircuit("healthy", "healthy", step.place.name, healthy.low, healthy.high, healthy.tripped, healthy.floor)
    ]
    for ranked in made.ranking[:LEADING]:
        cause = rulebook.causes.get(ranked.cause)
        if cause is None or not cause.fault or not ranked.places:
            continue
        at = _place(layout, ranked.places[0][0])
        reads = model.reads(probe, step.place, fault_of(layout, cause, at), at) if at else None
        least = max(healthy.floor, 1e-12)
        if at and reads and (reads.high > TELLING * max(healthy.high, least) or reads.low < healthy.low / TELLING):
            lines.append(
                ByCircuit(ranked.cause, cause.says, at.name, reads.low, reads.high, reads.tripped, reads.floor)
            )
    return tuple(lines)


def worth_measuring(layout: Layout, made: Diagnosis) -> tuple[str, float] | None:
    """The missing figure that would sharpen the reading asked for most, and by what ratio it may move it."""
    step = made.step
    if not isinstance(step, CheckStep) or not step.check.measures or model_of(layout) is None:
        return None
    found = missing(layout, Probe(*step.check.measures), step.place)
    return (found.figure.said, found.moves) if found else None


def spoken_by(check: Check) -> str:
    """Which of the two judges a typed reading of a check: the circuit of the layout, or plain formulas."""
    return "circuit" if check.measures and available() else "formulas"


def _place(layout: Layout, name: str) -> Place | None:
    return layout.place(name) if name in layout.parts else None

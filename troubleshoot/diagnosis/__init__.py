"""diagnose(layout, rulebook, inquiry, tally) -> Diagnosis: pure, and explained as data.

It puts deduction, belief and advice together: the ranking with the evidence for and against, the step most worth
taking with everything a person needs to take it, the cautions, what is still undone. No files, clock, terminal or
random numbers. How any of it looks on a screen is left to `screen`.
"""

from troubleshoot.diagnosis.deciding import diagnose, facts
from troubleshoot.diagnosis.hunting import hunt_of
from troubleshoot.diagnosis.network import ByCircuit, by_circuit, spoken_by, worth_measuring
from troubleshoot.diagnosis.places import in_force_at, in_undoing_order, named, set_up_places, with_proof
from troubleshoot.diagnosis.placing import goes_when_lifted, looked_for
from troubleshoot.diagnosis.result import (
    CheckStep,
    Diagnosis,
    Evidence,
    Learned,
    Limit,
    Ranked,
    Recalled,
    Remark,
    RemedyStep,
    StopgapOffer,
)
from troubleshoot.diagnosis.steps import minutes_of
from troubleshoot.diagnosis.telling import as_data, shared_data

__all__ = [
    "ByCircuit",
    "CheckStep",
    "Diagnosis",
    "Evidence",
    "Learned",
    "Limit",
    "Ranked",
    "Recalled",
    "Remark",
    "RemedyStep",
    "StopgapOffer",
    "as_data",
    "by_circuit",
    "diagnose",
    "facts",
    "goes_when_lifted",
    "hunt_of",
    "in_force_at",
    "in_undoing_order",
    "looked_for",
    "minutes_of",
    "named",
    "set_up_places",
    "shared_data",
    "spoken_by",
    "with_proof",
    "worth_measuring",
]

"""diagnose(layout, rulebook, inquiry, tally) -> Diagnosis: pure, and explained as data.

It puts deduction, belief and advice together: the ranking with the evidence for and against, the step most worth
taking with everything a person needs to take it, the cautions, what is still undone. No files, clock, terminal or
random numbers. How any of it looks on a screen is left to `screen`.
"""

from troubleshoot.diagnosis.deciding import diagnose, facts
from troubleshoot.diagnosis.result import (
    CheckStep,
    Diagnosis,
    Evidence,
    Limit,
    Ranked,
    Remark,
    RemedyStep,
    StopgapOffer,
)
from troubleshoot.diagnosis.steps import minutes_of
from troubleshoot.diagnosis.telling import as_data

__all__ = [
    "CheckStep",
    "Diagnosis",
    "Evidence",
    "Limit",
    "Ranked",
    "Remark",
    "RemedyStep",
    "StopgapOffer",
    "as_data",
    "diagnose",
    "facts",
    "minutes_of",
]

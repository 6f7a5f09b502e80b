"""How likely each suspect is: one fault at a time, by Bayes, in decibans that add up.

Modules: `suspects` (causes at places with their priors), `rows` (what each would show), `weighing` (what answers make
of it). Which step is worth taking is left to advice.
"""

from troubleshoot.belief.rows import (
    COMPUTED_SPREAD,
    END_BAND,
    ODD_LIKE_KNOWN,
    Rows,
    clipped,
    computed_row,
    fault_of,
    odd_row,
    quiet_row,
)
from troubleshoot.belief.suspects import (
    NOTHING_COUNTED,
    ODD,
    QUIET,
    Field,
    Mended,
    Posterior,
    Suspect,
    Weight,
    field_of,
    weights,
)
from troubleshoot.belief.weighing import (
    MODEL_TRUST,
    both,
    group,
    mistaken,
    seen_as,
    weigh,
)

__all__ = [
    "COMPUTED_SPREAD",
    "END_BAND",
    "MODEL_TRUST",
    "NOTHING_COUNTED",
    "ODD",
    "ODD_LIKE_KNOWN",
    "QUIET",
    "Field",
    "Mended",
    "Posterior",
    "Rows",
    "Suspect",
    "Weight",
    "both",
    "clipped",
    "computed_row",
    "fault_of",
    "field_of",
    "group",
    "mistaken",
    "odd_row",
    "quiet_row",
    "seen_as",
    "weigh",
    "weights",
]

"""The survey: weak spots of a layout, found from its record alone before any fault shows.

Rules of the room: only what the record gives is reported; a verdict that hangs on an assumed figure is left open, and
the figure is named as missing (`judging` says how). Formulas are those of `electrics`. What a weak spot means for an
inquiry is in `raising`; drawing is left to `screen`.
"""

from troubleshoot.survey.judging import worded
from troubleshoot.survey.raising import FACTOR, REMARK_FACTOR, Raising, account, factor, raising
from troubleshoot.survey.spots import SEVERITIES, Missing, Severity, WeakSpot
from troubleshoot.survey.surveying import DETAILS, KINDS, Surveyed, missing, survey, surveyed

__all__ = [
    "DETAILS",
    "FACTOR",
    "KINDS",
    "REMARK_FACTOR",
    "SEVERITIES",
    "Missing",
    "Raising",
    "Severity",
    "Surveyed",
    "WeakSpot",
    "account",
    "factor",
    "missing",
    "raising",
    "survey",
    "surveyed",
    "worded",
]

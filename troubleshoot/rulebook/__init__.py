"""Rule packs: reading, layering, checking, describing; what rules say, ready to be reasoned with."""

from troubleshoot.rulebook.kinds import (
    Band,
    Cause,
    Caution,
    Check,
    Deduction,
    Finding,
    LogSign,
    PackInfo,
    Remedy,
    Rulebook,
    SetUp,
    Stopgap,
    Symptom,
    short,
)
from troubleshoot.rulebook.library import load, rules_folder
from troubleshoot.rulebook.rows import cell, row

__all__ = [
    "Band",
    "Cause",
    "Caution",
    "Check",
    "Deduction",
    "Finding",
    "LogSign",
    "PackInfo",
    "Remedy",
    "Rulebook",
    "SetUp",
    "Stopgap",
    "Symptom",
    "cell",
    "load",
    "row",
    "rules_folder",
    "short",
]

"""Case files: one fault from the first symptom to the proof, as a list of events, saved after every answer."""

from troubleshoot.casebook.events import KINDS, period, record_of, spell
from troubleshoot.casebook.files import (
    FORMAT,
    Case,
    NotSaved,
    add,
    cases_in,
    inquiry,
    new,
    now,
    read,
    save,
    take_back,
    unknown_names,
)

__all__ = [
    "FORMAT",
    "KINDS",
    "Case",
    "NotSaved",
    "add",
    "cases_in",
    "inquiry",
    "new",
    "now",
    "period",
    "read",
    "record_of",
    "save",
    "spell",
    "take_back",
    "unknown_names",
]

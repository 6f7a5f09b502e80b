"""Case files: one fault from the first symptom to the proof, as a list of events, saved after every answer."""

from troubleshoot.casebook.entries import Entry, entry_of
from troubleshoot.casebook.events import KINDS, record_of
from troubleshoot.casebook.files import (
    FORMAT,
    Case,
    NotSaved,
    cases_in,
    inquiry,
    new,
    now,
    read,
    unknown_names,
)
from troubleshoot.casebook.periods import period, spell
from troubleshoot.casebook.saving import add, save, take_back

__all__ = [
    "FORMAT",
    "KINDS",
    "Case",
    "Entry",
    "NotSaved",
    "add",
    "cases_in",
    "entry_of",
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

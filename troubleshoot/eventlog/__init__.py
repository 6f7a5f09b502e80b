"""Logs of events from the layout's computer: read in any plain form, and looked through for faults that come and go.

Rules of the room: a bad row never stops the rest, and every line is accounted for; what is called found has a chance
beside it, corrected for all that was looked at; no name of a pack's symptom or check stands in code. Pure but for
`read`, `load` and `save`. Drawing is left to `screen` and `sketch`, asking and saving of answers to `cli`.
"""

from troubleshoot.eventlog.findings import LEVEL, WATCH, Finding, Look
from troubleshoot.eventlog.log import Log, Track
from troubleshoot.eventlog.looking import look
from troubleshoot.eventlog.mapping import DELIMITERS, Mapping, columns_said, load, save, words_said
from troubleshoot.eventlog.naming import namer
from troubleshoot.eventlog.reading import Account, read
from troubleshoot.eventlog.speaking import Offer, offers, symptoms_for
from troubleshoot.eventlog.telling import as_data, clock_text, sentence, strip

__all__ = [
    "DELIMITERS",
    "LEVEL",
    "WATCH",
    "Account",
    "Finding",
    "Log",
    "Look",
    "Mapping",
    "Offer",
    "Track",
    "as_data",
    "clock_text",
    "columns_said",
    "load",
    "look",
    "namer",
    "offers",
    "read",
    "save",
    "sentence",
    "strip",
    "symptoms_for",
    "words_said",
]

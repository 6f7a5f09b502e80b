"""What has been said and done so far in one inquiry: plain records, in the order in which they happened.

Modules: `records` (one for each kind of event), `course` (all of them in order, and what stands at the end), `places`
(which places they speak of), `judging` (readings against the limits of this layout). What follows from it all is left
to deduction and belief.
"""

from troubleshoot.inquiry.course import Inquiry, replay
from troubleshoot.inquiry.judging import ASSUMED_SPREAD, Observation, edges, observations, weigh
from troubleshoot.inquiry.places import about, healthy_places, sick_places, where
from troubleshoot.inquiry.records import (
    Answer,
    AtHand,
    Complaint,
    FoundAt,
    FoundNowhere,
    Lifted,
    Mend,
    Note,
    PlacesSeen,
    ProofSeen,
    PutAside,
    Record,
    SetUpChange,
)

__all__ = [
    "ASSUMED_SPREAD",
    "Answer",
    "AtHand",
    "Complaint",
    "FoundAt",
    "FoundNowhere",
    "Inquiry",
    "Lifted",
    "Mend",
    "Note",
    "Observation",
    "PlacesSeen",
    "ProofSeen",
    "PutAside",
    "Record",
    "SetUpChange",
    "about",
    "edges",
    "healthy_places",
    "observations",
    "replay",
    "sick_places",
    "weigh",
    "where",
]

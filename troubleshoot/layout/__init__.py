"""The layout record: what is fitted, how places stand to each other, what is assumed where it is silent.

Rules of the room: a record contradicts nothing or is refused; what it does not say is assumed and marked
so; the closed lists of relations, facts and traits are here, and packs may use no others. Physics is left
to `electrics`.
"""

from troubleshoot.layout.defaults import FIGURES, HOME, SCALES
from troubleshoot.layout.first import FIRST_QUESTIONS, record_from
from troubleshoot.layout.loading import check, from_plain, load, to_plain
from troubleshoot.layout.places import (
    FACTS,
    KIND_OF_RELATION,
    KINDS,
    RELATIONS,
    TOOLS,
    TRAITS,
    Figure,
    Part,
    Place,
    Unknown,
    unnamed,
)
from troubleshoot.layout.record import EMPTY, Layout

__all__ = [
    "EMPTY",
    "FACTS",
    "FIGURES",
    "FIRST_QUESTIONS",
    "HOME",
    "KINDS",
    "KIND_OF_RELATION",
    "RELATIONS",
    "SCALES",
    "TOOLS",
    "TRAITS",
    "Figure",
    "Layout",
    "Part",
    "Place",
    "Unknown",
    "check",
    "from_plain",
    "load",
    "record_from",
    "to_plain",
    "unnamed",
]

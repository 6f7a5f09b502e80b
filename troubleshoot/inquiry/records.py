"""What is said and done in one inquiry: one plain frozen record for each event.

How records follow each other is left to `course`; how they are written down, to the casebook.
"""

from dataclasses import dataclass

from troubleshoot.quantities import Reading


@dataclass(frozen=True)
class Complaint:
    """What is noticed, about which place; `sick` names all places that show it, `healthy` some that do not.

    `steady` is said of a trouble that was never quiet; a `longest_quiet` of 0 by itself says that this is not known.
    """

    symptom: str
    about: str | None = None
    sick: tuple[str, ...] = ()
    longest_quiet: float = 0.0
    healthy: tuple[str, ...] = ()
    steady: bool = False


@dataclass(frozen=True)
class Answer:
    """An outcome or a reading of a check at a place, and how it was come by."""

    check: str
    place: str | None = None
    outcome: str | None = None
    reading: Reading | None = None
    how: str = "seen"


@dataclass(frozen=True)
class PutAside:
    """A check that cannot be answered now: not-sure, cant-do or already-tried. It changes no belief."""

    check: str
    place: str | None = None
    why: str = "not-sure"


@dataclass(frozen=True)
class SetUpChange:
    """A state of the layout entered or left."""

    set_up: str
    place: str | None = None
    entered: bool = True


@dataclass(frozen=True)
class Mend:
    """A remedy carried out, with its result: fixed, partly or not-fixed."""

    remedy: str
    place: str | None = None
    result: str = "fixed"


@dataclass(frozen=True)
class ProofSeen:
    """The outcome of a proof test and how long it has been quiet since, in seconds."""

    remedy: str
    place: str | None = None
    passed: bool = True
    quiet_seconds: float = 0.0


@dataclass(frozen=True)
class AtHand:
    """How many minutes there are, and the most that may be kept waiting (nothing, block, district, layout)."""

    minutes: float | None = None
    may_stop: str | None = None


@dataclass(frozen=True)
class Note:
    """Words for the record."""

    text: str


@dataclass(frozen=True)
class PlacesSeen:
    """Further places that show the symptom, and places that do not."""

    sick: tuple[str, ...] = ()
    healthy: tuple[str, ...] = ()


@dataclass(frozen=True)
class Lifted:
    """A point where something was disconnected and put back, and whether the fault went; None for not sure."""

    point: str
    gone: bool | None


@dataclass(frozen=True)
class FoundAt:
    """The place at which somebody who looked found the fault; empty where they looked and cannot say."""

    place: str


@dataclass(frozen=True)
class FoundNowhere:
    """Every place that could have it was looked at, and none of these causes was found at any."""

    causes: tuple[str, ...]


Record = (
    Complaint
    | Answer
    | PutAside
    | SetUpChange
    | Mend
    | ProofSeen
    | AtHand
    | Note
    | PlacesSeen
    | Lifted
    | FoundAt
    | FoundNowhere
)

"""What a diagnosis consists of, as plain frozen records. Nothing is worded or drawn here."""

from dataclasses import dataclass, field

from troubleshoot.belief import Posterior, Rows
from troubleshoot.deduction import Deduced, Prepared
from troubleshoot.inquiry import AtHand, Inquiry, Observation, SetUpChange
from troubleshoot.layout import Layout, Place
from troubleshoot.rulebook import Check, Remedy, Rulebook


@dataclass(frozen=True)
class Evidence:
    """One answered finding for or against a suspect, in decibans against its strongest rival."""

    finding: str
    place: str
    said: str
    decibans: float
    order: int


@dataclass(frozen=True)
class Ranked:
    """A cause in the ranking, with its places, its evidence and what goes with it."""

    cause: str
    says: str
    chance: float
    places: tuple[tuple[str, float], ...]
    evidence: tuple[Evidence, ...]
    prior_decibans: float
    rival: str


@dataclass(frozen=True)
class Limit:
    """A band of a reading on this layout: what reads in it, and from which figures that follows."""

    outcome: str
    low: float
    high: float
    formula: str
    data: tuple[tuple[str, float, str, bool], ...]
    sound: bool
    speaks_for: tuple[str, ...]


@dataclass(frozen=True)
class CheckStep:
    """A check to make: everything a person needs to make it."""

    check: Check
    place: Place
    minutes: float
    limits: tuple[Limit, ...]
    prepared: Prepared
    bits: float
    expected: float | None
    separates: tuple[tuple[str, tuple[float, ...]], ...]


@dataclass(frozen=True)
class RemedyStep:
    """A remedy to carry out and the proof that goes with it."""

    remedy: Remedy
    place: Place
    minutes: float
    chance: float
    expected: float
    cautions: tuple[str, ...]
    enter: tuple[str, ...] = ()


@dataclass(frozen=True)
class StopgapOffer:
    """What lets trains run while the mending waits."""

    cause: str
    do: str
    minutes: float


@dataclass(frozen=True)
class Remark:
    """Something worth knowing about an answer that was given."""

    check: str
    place: str
    text: str


@dataclass(frozen=True)
class Diagnosis:
    """Everything that follows from what has been said so far."""

    symptom: str | None
    subject: Place
    sick: tuple[Place, ...]
    ranking: tuple[Ranked, ...]
    deduced: Deduced
    observed: tuple[Observation, ...]
    step: CheckStep | RemedyStep | None
    kind: str
    others: tuple[CheckStep, ...] = ()
    together: tuple[CheckStep, ...] = ()
    repair: RemedyStep | None = None
    stopgaps: tuple[StopgapOffer, ...] = ()
    remarks: tuple[Remark, ...] = ()
    ask_again: tuple[Observation, ...] = ()
    in_force: tuple[SetUpChange, ...] = ()
    chain: tuple[str, str, tuple[Place, ...]] | None = None
    confirmed: tuple[str, ...] = ()
    state: str = "open"
    at_hand: AtHand = field(default_factory=AtHand)

    @property
    def leader(self) -> Ranked | None:
        """The likeliest cause."""
        return self.ranking[0] if self.ranking else None


@dataclass(frozen=True, eq=False)
class Work:
    """What the parts of one diagnosis share."""

    layout: Layout
    rulebook: Rulebook
    inquiry: Inquiry
    subject: Place
    rows: Rows
    posterior: Posterior
    deduced: Deduced
    observed: tuple[Observation, ...]

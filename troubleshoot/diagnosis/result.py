"""What a diagnosis consists of, as plain frozen records. Nothing is worded or drawn here."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from troubleshoot.belief import Posterior, Rows
from troubleshoot.deduction import Deduced, Prepared
from troubleshoot.inquiry import AtHand, Inquiry, Observation, SetUpChange
from troubleshoot.layout import Layout, Place
from troubleshoot.locating import Candidate
from troubleshoot.rulebook import Check, Remedy, Rulebook
from troubleshoot.survey import WeakSpot


@dataclass(frozen=True)
class Evidence:
    """One answered finding for or against a suspect, in decibans against its strongest rival."""

    finding: str
    place: str
    said: str
    decibans: float
    order: int


@dataclass(frozen=True)
class Learned:
    """What closed cases did to a cause before any answer: its chance by the rules, its chance here, the cases."""

    normally: float
    here: float
    cases: tuple[str, ...]


@dataclass(frozen=True)
class Recalled:
    """A step put before the first questions because of earlier cases here: their causes and names, and why.

    `check` is its position among the open checks, -1 where it is the remedy itself; `minutes` are expected with it
    first, `asking` with the question first.
    """

    causes: tuple[str, ...]
    check: int
    minutes: float
    asking: float
    cases: tuple[str, ...]


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
    weak_spots: tuple[WeakSpot, ...] = ()
    learned: Learned | None = None


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
    """A check to make: everything a person needs to make it. `here_first` says why at this of several places."""

    check: Check
    place: Place
    minutes: float
    limits: tuple[Limit, ...]
    prepared: Prepared
    bits: float
    expected: float | None
    separates: tuple[tuple[str, tuple[float, ...]], ...]
    here_first: str = ""
    set_up_at: Mapping[str, str] = field(default_factory=dict)

    def at(self, set_up: str) -> str:
        """The place of one of its set-ups: what is lifted, unplugged or switched off."""
        return self.set_up_at.get(set_up, self.place.name)


@dataclass(frozen=True)
class RemedyStep:
    """A remedy to carry out and the proof that goes with it, at a place of its own."""

    remedy: Remedy
    place: Place
    minutes: float
    chance: float
    expected: float
    cautions: tuple[str, ...]
    enter: tuple[str, ...] = ()
    set_up_at: Mapping[str, str] = field(default_factory=dict)
    proof_at: str = ""
    proof_reads: tuple[float, float] | None = None
    stops: str = "nothing"

    def at(self, set_up: str) -> str:
        """The place of one of its set-ups: what is lifted, unplugged or switched off."""
        return self.set_up_at.get(set_up, self.place.name)


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
    """Everything that follows from what has been said so far. `proven_clean` counts parts: how many, of how many."""

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
    healthy: tuple[Place, ...] = ()
    shared: tuple[Candidate, ...] = ()
    proven_clean: tuple[int, int] | None = None
    recalled: Recalled | None = None
    unplaced: tuple[str, ...] = ()
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

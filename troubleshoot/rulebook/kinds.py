"""What a rulebook is made of, as plain frozen records that the reasoning works with.

Every record knows the file and line it came from, so that any later message can say where. Names are
qualified by their pack (`core/leak-through-ballast`). Nothing here reads files or judges content.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True, eq=False)
class Symptom:
    """What a person notices, in their words, about a kind of place."""

    name: str
    says: str
    also_said: tuple[str, ...]
    about: str
    family: str
    ask_first: tuple[str, ...]
    where: tuple[str, ...] = ()
    when: tuple[str, ...] = ()
    file: str = ""
    line: int = 0


@dataclass(frozen=True, slots=True)
class Band:
    """A named range of a reading: up to `factor` x `quantity`, up to a plain SI figure, or all above."""

    outcome: str
    factor: float = 1.0
    quantity: str | None = None
    plain: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Finding:
    """What is really there: outcomes, the one that tells nothing, and the rows of a sound and an unjudged place."""

    name: str
    outcomes: tuple[str, ...]
    quiet: int
    sound: tuple[float, ...]
    elsewhere: tuple[float, ...]
    relation: str


@dataclass(frozen=True, slots=True, eq=False)
class Check:
    """A way to learn a finding. `unit` is None for a question."""

    name: str
    asks: str
    finding: str
    relation: str
    labels: Mapping[str, str]
    unit: str | None
    bands: tuple[Band, ...]
    over_range: str | None
    set_up: tuple[str, ...]
    clean_of: tuple[str, ...]
    asked_once: bool
    tool: str
    minutes: float
    keeps_waiting: str
    how: str
    drawing: str
    usual_mistake: str
    compare: str | None
    remarks: Mapping[str, str]
    cautions: tuple[str, ...]
    file: str = ""
    line: int = 0
    measures: tuple[str, str, tuple[str, ...]] | None = None
    lifts_in_turn: bool = False

    @property
    def outcomes(self) -> tuple[str, ...]:
        """The outcomes a person can give, in the order they are offered."""
        return tuple(self.labels)


@dataclass(frozen=True, slots=True)
class Stopgap:
    """What lets trains run tonight without mending."""

    do: str
    minutes: float


Size = tuple[float, str | None]
"""A size of a fault: a factor and a named quantity, or a plain SI figure."""


@dataclass(frozen=True, slots=True, eq=False)
class Cause:
    """A way in which a kind of place goes wrong. `shows` holds words; `reads` a figure that physics computes."""

    name: str
    says: str
    relation: str
    weights: Mapping[str, float]
    needs: tuple[str, ...]
    shows: Mapping[str, Mapping[str, str]]
    as_sound: frozenset[str]
    undecided: frozenset[str]
    under: Mapping[str, Mapping[str, Mapping[str, str]]]
    reads: Mapping[str, tuple[float, str]]
    best_check: str
    look_alikes: tuple[str, ...]
    stopgap: Stopgap | None
    continues_as: tuple[str, str] | None
    inseparable: Mapping[str, str]
    bolder: Mapping[str, str]
    sources: tuple[str, ...]
    examples: tuple[Mapping[str, Any], ...]
    file: str = ""
    line: int = 0
    fault: tuple[str, Size, Size] | None = None
    weak_spots: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Proof:
    """The test that shows a fault is mended."""

    check: str
    outcome: str
    quiet_seconds: float
    also: str


@dataclass(frozen=True, slots=True, eq=False)
class Remedy:
    """What mends one or several causes, and how that is proven."""

    name: str
    mends: tuple[str, ...]
    do: str
    minutes: float
    works: float
    price: str
    proof: Proof
    set_up: tuple[str, ...]
    cautions: tuple[str, ...]
    file: str = ""
    line: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Caution:
    """A hazard, what to do about it, and the checks it applies to by their nature."""

    name: str
    hazard: str
    do: str
    applies: Mapping[str, str]
    file: str = ""
    line: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class SetUp:
    """A state of the layout that a check needs, with the minutes to enter and to leave it."""

    name: str
    says: str
    power: str | None
    supply: str | None
    relation: str
    enter: float
    leave: float
    do: str
    undo: str
    stops: str
    limits_current: bool
    disturbs_live: bool
    bridges: bool
    cautions: tuple[str, ...]
    file: str = ""
    line: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Deduction:
    """A when-then rule that is certain, with an example that makes it fire."""

    name: str
    when: Mapping[str, tuple[str, ...]]
    unless: Mapping[str, tuple[str, ...]]
    then: Mapping[str, Any]
    because: str
    example: Mapping[str, Any]
    file: str = ""
    line: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class LogSign:
    """What a kind of finding in a log of events speaks for: symptoms, the likeliest first, and answers to checks."""

    name: str
    kind: str
    symptoms: tuple[str, ...]
    answers: Mapping[str, str]
    file: str = ""
    line: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class PackInfo:
    """Who says so: a pack's name, version, owner and changes."""

    name: str
    version: str
    says: str
    owner: str
    licence: str
    changes: tuple[Mapping[str, str], ...]
    folder: str
    digest: str


@dataclass(frozen=True, eq=False)
class Rulebook:
    """All layers of rules put together. Compared by identity, so that compiled forms can be kept beside it."""

    packs: tuple[PackInfo, ...]
    symptoms: Mapping[str, Symptom]
    checks: Mapping[str, Check]
    findings: Mapping[str, Finding]
    causes: Mapping[str, Cause]
    remedies: Mapping[str, Remedy]
    cautions: Mapping[str, Caution]
    set_ups: Mapping[str, SetUp]
    deductions: Mapping[str, Deduction]
    former: Mapping[str, str] = field(default_factory=dict)
    log_signs: Mapping[str, LogSign] = field(default_factory=dict)

    def causes_of(self, symptom: str) -> tuple[Cause, ...]:
        """The causes that explain a symptom, by name."""
        return tuple(c for _, c in sorted(self.causes.items()) if symptom in c.weights)

    def remedies_of(self, cause: str) -> tuple[Remedy, ...]:
        """The remedies that mend a cause, by name."""
        return tuple(r for _, r in sorted(self.remedies.items()) if cause in r.mends)

    def spoken_of(self, symptom: str) -> tuple[str, ...]:
        """The findings that at least one cause of the symptom states words for, by name."""
        names = {f for c in self.causes_of(symptom) for f in (*c.shows, *c.under.get(symptom, {}))}
        return tuple(sorted(names))

    def checks_for(self, finding: str) -> tuple[Check, ...]:
        """The checks that report a finding, by name."""
        return tuple(c for _, c in sorted(self.checks.items()) if c.finding == finding)


def short(name: str) -> str:
    """A qualified name as a person says it: without its pack."""
    return name.rsplit("/", 1)[-1]

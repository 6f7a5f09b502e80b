"""What a survey is made of, as plain frozen records: kinds, looks at the record, weak spots, missing figures.

A look holds a figure against its limit. Each figure is given by the record or assumed, and an assumed one has a range
that is plausible. How a look is judged is left to `judging`; which looks there are, to the modules by theme.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from troubleshoot.layout import Figure, Place

Severity = Literal["serious", "weak", "remark"]
SEVERITIES: tuple[Severity, ...] = ("serious", "weak", "remark")
"""Worst first."""

Work = Callable[[Mapping[str, float]], tuple[float, float]]
"""From the values of a look's figures by name, in SI, to the value that counts and its limit."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One way in which a layout can be weak by its record alone.

    `says` and `cure` may hold {place}, {value}, {limit} and what a look tells. `fails` says on which side of its
    limit a value is bad; from `serious` limits on it is serious, from `remark` limits on worth a remark. No spot of
    this kind is graver than `gravest`.
    """

    sentence: str
    says: str
    formula: str
    unit: str
    source: str
    cure: str
    minutes: float
    fails: Literal["above", "below"] = "above"
    serious: float = float("inf")
    remark: float = 1.0
    gravest: Severity = "serious"


@dataclass(frozen=True, slots=True)
class Datum:
    """A figure that a look rests on, and the range in which it plausibly lies: one value where the record gives it.

    `asks` says where in a record it would be given; it is empty for what no record gives, and for what follows from
    a word that the record does give. `of` is the kind of place and the name of the figure.
    """

    figure: Figure
    low: float
    high: float
    asks: str = ""
    of: tuple[str, str] = ("", "")
    place: str = ""

    @property
    def value(self) -> float:
        """The figure's value in SI, given or assumed."""
        return self.figure.value


@dataclass(frozen=True, slots=True)
class Look:
    """One kind of weak spot looked for at one place."""

    kind: str
    place: Place
    work: Work
    data: Mapping[str, Datum]
    tell: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class WeakSpot:
    """A weak spot: what, where, how grave, the figure and its limit in SI, why, and the cheapest cure.

    `data` are the figures it rests on; `assumed` names those that the record does not give.
    """

    kind: str
    place: Place
    severity: Severity
    value: float
    limit: float
    unit: str
    formula: str
    source: str
    says: str
    cure: str
    cure_minutes: float
    data: tuple[Figure, ...]
    assumed: tuple[str, ...]


@dataclass(frozen=True)
class Missing:
    """A figure that the record does not give and that would decide looks: where to give it, and how many it decides."""

    figure: str
    asks: str
    places: tuple[Place, ...]
    checks: int
    kinds: tuple[str, ...]

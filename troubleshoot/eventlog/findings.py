"""What the analysis found: one record a finding, with its count, its chance, and what that chance is worth.

Looks come in families (all blocks for chatter, all pairs of neighbours, ...). The level of 5 in 100 is shared out
among the families and spent in each by Holm, so that in 95 of 100 logs of a healthy layout nothing is called found.
When a fault comes is asked only of what was found, with a level of 5 in 100 of its own.
When a fault comes is asked only of what was found, with a level of 5 in 100 of its own.
What misses that but passes Benjamini and Hochberg at 10 in 100 over all looks together is listed as worth watching:
of such, one in ten may be chance. How a chance is come by is left to the tests; what a finding means to the packs.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from troubleshoot.eventlog.chance import benjamini_hochberg, holm
from troubleshoot.rulebook.signs import SIGNS

LEVEL = 0.05
"""How often a log of a healthy layout may show any finding at all."""
WATCH = 0.10
"""The share of false ones among those worth watching."""
RATIO, RARE_RATIO = 3.0, 2.0
"""How many times worse than the others a place may be and still count as ordinary: places differ (estimates).

The first is for flicker under trains, which goes by dirt; the second for what a sound place hardly does at all.
"""
LEAST = 3
"""Fewer happenings than this are no finding, however unlikely (common practice)."""


@dataclass(frozen=True)
class Finding:
    """One thing seen in a log.

    `count` happenings of `of` chances to happen, where `expected` would be ordinary; `chance` is that of so many on a
    healthy layout, `corrected` the same after all looks (against LEVEL), `false_share` by Benjamini and Hochberg
    (against WATCH). `times` are the moments; `lag` and `slowest` are in seconds, where one thing follows another.
    """

    kind: str
    about: str
    others: tuple[str, ...] = ()
    count: int = 0
    of: int = 0
    expected: float = 0.0
    chance: float = 1.0
    times: tuple[float, ...] = ()
    lag: float | None = None
    slowest: float | None = None
    of_kind: str = ""
    test: str = ""
    looks: int = 0
    corrected: float = 1.0
    false_share: float = 1.0

    def __post_init__(self) -> None:
        if self.kind not in SIGNS:
            raise ValueError(f"{self.kind!r} is no kind of finding; known are {', '.join(SIGNS)}")

    @property
    def found(self) -> bool:
        """Whether it stands after all looks."""
        return self.corrected <= LEVEL

    @property
    def places(self) -> tuple[str, ...]:
        """Everything it speaks of, the first thing first."""
        return (self.about, *self.others)


@dataclass
class Family:
    """Looks of one sort: what was tested how, how many were looked at, and those that came out below 1."""

    name: str
    test: str
    looks: int = 0
    candidates: list[Finding] = field(default_factory=list)


FAMILIES = (
    "at once on one board", "with a turnout's throw", "neighbours at once", "others at once", "chatter", "phantoms",
    "trains not seen", "with a trip", "not confirmed", "confirmed late", "reports by themselves",
)  # fmt: skip
"""The families that share the level between them."""


def settle(family: Family) -> list[Finding]:
    """The candidates of a family with their corrected chance, the least likely by chance first."""
    families = len(FAMILIES) if family.name in FAMILIES else 1
    families = len(FAMILIES) if family.name in FAMILIES else 1
    corrected = holm([c.chance for c in family.candidates], max(family.looks, len(family.candidates)))
    judged = [
        replace(c, test=family.test, looks=family.looks, corrected=min(1.0, p * families))
        for c, p in zip(family.candidates, corrected, strict=True)
    ]
    return sorted(judged, key=order)


def order(finding: Finding) -> tuple[float, float, int, str, str, tuple[str, ...]]:
    """Rank order: what chance explains least comes first; then the greater count, then by name."""
    return finding.corrected, finding.chance, -finding.count, finding.kind, finding.about, finding.others


def watched(findings: Sequence[Finding], looks: int) -> list[Finding]:
    """The same findings with their share by Benjamini and Hochberg over all looks."""
    shares = benjamini_hochberg([f.chance for f in findings], max(looks, len(findings)))
    return [replace(f, false_share=q) for f, q in zip(findings, shares, strict=True)]


def only_found(findings: Iterable[Finding]) -> list[Finding]:
    """Those that stand after all looks."""
    return [f for f in findings if f.found]


@dataclass(frozen=True)
class Look:
    """Everything seen in a log: what was found in rank order, what is worth watching, and what could not be looked at.

    `blocks` are the rows of chatter by block: name, stays, flickers, flickers an hour, middle dwell in seconds.
    `turnouts` are name, commands, confirmed, middle and slowest seconds to the confirmation.
    """

    found: tuple[Finding, ...]
    watch: tuple[Finding, ...]
    looks: Mapping[str, int]
    blocks: tuple[tuple[str, int, int, float, float], ...] = ()
    turnouts: tuple[tuple[str, int, int, float, float], ...] = ()
    notes: tuple[str, ...] = ()

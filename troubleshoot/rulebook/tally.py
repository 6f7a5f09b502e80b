"""What closed cases say about the authors' numbers: how counts move weights, places and rows.

The authors' weights and words are estimates; they stand as so many imagined cases, and the counted ones are added
(Dirichlet, the mean of its posterior). Cases in which something was found not to be the cause put their count on
all the others, in proportion; for one such case that is exact. What was counted, and from which cases, is left to
`learning`; here are the counts as data, and the arithmetic.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import fsum

from troubleshoot.rulebook.words import LOWEST

STRENGTH = 20.0
"""How many closed cases the authors' weights, and each of their rows, are worth (proposal of reasoning, section D)."""
ROW_CASES = 20.0
"""A row moves only from so many cases on: before, chance would speak louder than the authors (same source)."""
RETURNS = (1.0, 2.0)
"""What is thought beforehand of a place that shows the same trouble again: one in three is the same cause (estimate).

Two imagined cases against one imagined return (Beta); the casebook's own pairs are added.
"""
SPLIT_STRENGTH = 5.0
"""How many cases it takes for the places of a cause to outweigh the even split among them (estimate)."""
Counts = Mapping[str, float]


@dataclass(frozen=True, eq=False)
class Tally:
    """Counts from closed cases. Names are those of the rules; a count may be a half or a share.

    `counts`: symptom -> cause -> cases. `against`: symptom -> causes that were not it -> cases. `here`: symptom ->
    place complained about -> cause -> cases. `spots`: cause -> place mended -> cases. `rows`: symptom -> (cause,
    finding) -> outcome -> cases. `held`: remedy -> (mends that lasted, mends that did not). `returns`: how often the
    same trouble at the same place has the same cause again. `cases`: symptom -> cause -> the cases counted.
    """

    counts: Mapping[str, Counts] = field(default_factory=dict)
    against: Mapping[str, Mapping[tuple[str, ...], float]] = field(default_factory=dict)
    here: Mapping[str, Mapping[str, Counts]] = field(default_factory=dict)
    spots: Mapping[str, Counts] = field(default_factory=dict)
    rows: Mapping[str, Mapping[tuple[str, str], Counts]] = field(default_factory=dict)
    held: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    returns: float = RETURNS[0] / (RETURNS[0] + RETURNS[1])
    cases: Mapping[str, Mapping[str, tuple[str, ...]]] = field(default_factory=dict)

    @cached_property
    def _key(self) -> tuple[object, ...]:
        return tuple(_frozen(value) for name, value in sorted(vars(self).items()) if not name.startswith("_"))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Tally) and self._key == other._key

    @cached_property
    def _hash(self) -> int:
        return hash(self._key)

    def __hash__(self) -> int:
        return self._hash

    def shares(self, symptom: str, authored: Counts, place: str = "") -> dict[str, float]:
        """How the causes of a symptom share the chance before any answer, at a place; totalling one."""
        moved = moved_shares(authored, self.counts.get(symptom, {}), self.against.get(symptom, {}))
        return shares_here(moved, self.here.get(symptom, {}).get(place, {}), self.returns)

    def split(self, cause: str, places: Sequence[str]) -> list[float]:
        """How a cause's chance is split over its places by where it was mended before; totalling one."""
        counts = self.spots.get(cause, {})
        seen = [counts.get(p, 0.0) for p in places]
        whole = SPLIT_STRENGTH + fsum(seen)
        return [(SPLIT_STRENGTH / len(places) + n) / whole for n in seen]

    def row(
        self, symptom: str, cause: str, finding: str, outcomes: Sequence[str], stated: tuple[float, ...]
    ) -> tuple[float, ...]:
        """A cause's row of a finding, moved by the cases once there are enough of them."""
        counts = self.rows.get(symptom, {}).get((cause, finding))
        return moved_row(stated, [counts.get(o, 0.0) for o in outcomes]) if counts else stated

    def works(self, remedy: str, stated: float) -> float:
        """How surely a remedy mends and lasts: the authors' figure as STRENGTH cases, and what came of it here."""
        lasted, failed = self.held.get(remedy, (0.0, 0.0))
        return min(1.0 - LOWEST, (STRENGTH * stated + lasted) / (STRENGTH + lasted + failed))


def _frozen(value: object) -> object:
    if isinstance(value, Mapping):
        return tuple(sorted((k, _frozen(v)) for k, v in value.items()))
    return value


def moved_shares(authored: Counts, counts: Counts, against: Mapping[tuple[str, ...], float]) -> dict[str, float]:
    """The authors' weights (any scale) as STRENGTH cases, with the counted ones added; totalling one.

    >>> moved_shares({"a": 2.0, "b": 1.0, "c": 1.0}, {"b": 5.0}, {})["b"]
    0.4
    """
    total = fsum(authored.values())
    worth = {c: STRENGTH * w / total + counts.get(c, 0.0) for c, w in authored.items()}
    parts = {c: [w] for c, w in worth.items()}
    for causes, number in sorted(against.items()):
        others = [c for c in worth if c not in causes]
        rest = fsum(worth[c] for c in others)
        for cause in others:
            parts[cause].append(number * worth[cause] / rest)
    sums = {c: fsum(p) for c, p in parts.items()}
    whole = fsum(sums.values())
    return {c: s / whole for c, s in sums.items()}


def shares_here(shares: Counts, counts: Counts, returns: float) -> dict[str, float]:
    """Shares moved by what the same trouble at the same place was before.

    The shares are worth (1 - returns) / returns cases, so that one earlier case makes its cause as likely as
    `returns` says, and what is left goes by the shares.
    """
    seen = fsum(counts.get(c, 0.0) for c in shares)
    if not seen:
        return dict(shares)
    worth = (1.0 - returns) / returns
    return {c: (worth * s + counts.get(c, 0.0)) / (worth + seen) for c, s in shares.items()}


def moved_row(stated: tuple[float, ...], counts: Sequence[float]) -> tuple[float, ...]:
    """A row as STRENGTH cases with the counted ones added, from ROW_CASES on; no chance is 0 or 1."""
    seen = fsum(counts)
    if seen < ROW_CASES:
        return stated
    least = LOWEST / max(len(stated) - 1, 1)
    rough = [max(least, (STRENGTH * p + n) / (STRENGTH + seen)) for p, n in zip(stated, counts, strict=True)]
    total = fsum(rough)
    return tuple(p / total for p in rough)


def returning(pairs: Iterable[bool]) -> float:
    """How often the same trouble at the same place has the same cause again, from pairs of cases that follow."""
    seen = list(pairs)
    same, whole = RETURNS[0] + sum(seen), RETURNS[0] + RETURNS[1] + len(seen)
    return same / whole

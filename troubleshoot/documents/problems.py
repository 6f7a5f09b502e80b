"""What is wrong with a file and where: the form in which every error reaches a person."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import permutations
from typing import Any

Trail = tuple[str | int, ...]


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong with a file; `text` says what, and what to do about it."""

    file: str
    line: int
    column: int
    text: str

    def __str__(self) -> str:
        """Give `file:line: text`, or `file: text` when it concerns the file as a whole."""
        return f"{self.file}:{self.line}: {self.text}" if self.line else f"{self.file}: {self.text}"


class Problems(Exception):
    """All that is wrong with what was read or written, at once."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        """Keep the problems in the order given."""
        self.problems = tuple(problems)
        super().__init__(self.problems)

    def __str__(self) -> str:
        """Give one line for each problem."""
        return "\n".join(str(problem) for problem in self.problems)


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word that `word` was most likely meant to be, or None when none is close.

    Close means few slips of typing (see `slips`) for its length, with its words in whatever order and whatever signs
    between them, or that it leaves out whole parts of one name only.
    """
    said = str(word).casefold()
    by_fold: dict[str, str] = {}
    for name in known:
        by_fold.setdefault(str(name).casefold(), str(name))
    most = min(3.0, max(1.0, len(said) / 4))
    close = [(slips(said, name), name) for name in by_fold if abs(len(name) - len(said)) <= 2 * most]
    near = min((pair for pair in close if pair[0] <= most), default=None, key=lambda pair: pair[0])
    if near is not None:
        return by_fold[near[1]]
    turned = [(_in_any_order(said, name), name) for name in by_fold]
    fits = sorted(pair for pair in turned if pair[0] <= most)
    if fits and (len(fits) == 1 or fits[0][0] < fits[1][0]):
        return by_fold[fits[0][1]]
    parts = set(_PARTS.findall(said))
    wider = [name for name in by_fold if parts and parts < set(_PARTS.findall(name))]
    return by_fold[wider[0]] if len(wider) == 1 and len(said) > 2 else None


def slips(typed: str, meant: str) -> float:
    """Count the slips between two words: a letter too much, missing, wrong or swapped with the next.

    A slip in a figure counts twice, since another number is another thing, but not a figure typed twice; one in a
    hyphen or blank counts half. (Optimal string alignment.)

    >>> slips("yrad-2", "yard-2"), slips("yard-3", "yard-2"), slips("yard 2", "yard-2")
    (1.0, 2.0, 0.5)
    """
    before, row = [0.0], [0.0]
    for letter in meant:
        row.append(row[-1] + _cost(letter))
    for i, a in enumerate(typed):
        surplus = min(_cost(a), 1.0) if i and typed[i - 1] == a else _cost(a)
        last, before, row = before, row, [row[0] + _cost(a)]
        for j, b in enumerate(meant):
            change = 0.0 if a == b else max(_cost(a), _cost(b))
            least = min(before[j] + change, before[j + 1] + surplus, row[j] + _cost(b))
            if i and j and a == meant[j - 1] and b == typed[i - 1]:
                least = min(least, last[j - 1] + max(_cost(a), _cost(b)))
            row.append(least)
    return row[-1]


def _in_any_order(typed: str, meant: str) -> float:
    """Count the slips between the words of two names in the order that fits best; infinite for another number."""
    said, words = _PARTS.findall(typed), _PARTS.findall(meant)
    if len(said) != len(words) or not 2 <= len(said) <= MOST_WORDS:
        return math.inf
    return min(sum(slips(a, b) for a, b in zip(order, words, strict=True)) for order in permutations(said))


def _cost(letter: str) -> float:
    return 2.0 if letter.isdigit() else 0.5 if letter in "-_ ." else 1.0


MOST_WORDS = 4
"""Names of so many words are compared in any order: 24 orders take no time."""
_PARTS = re.compile(r"[^\W_]+")


@dataclass(frozen=True)
class Document:
    """What a file says, and where it says it.

    `marks` holds (line, column) for the path of every value, and under path + ("@key",) for its key.
    """

    file: str
    data: Any
    marks: Mapping[Trail, tuple[int, int]]

    def where(self, path: Trail) -> tuple[int, int]:
        """Return line and column of `path`, or of the nearest thing around it that the file holds."""
        path = tuple(path)
        while path and path not in self.marks:
            path = path[:-1]
        return self.marks.get(path, (1, 1))

    def problem(self, path: Trail, text: str) -> Problem:
        """Return a problem that stands where `path` stands."""
        return Problem(self.file, *self.where(path), text)


def short(text: str) -> str:
    """A text cut to what fits into a message."""
    return text if len(text) <= 40 else text[:37] + "..."

"""What is wrong with a file and where: the form in which every error reaches a person."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
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
    """Return the known word that `word` was most likely meant to be, or None when none is close."""
    by_fold: dict[str, str] = {}
    for name in known:
        by_fold.setdefault(str(name).casefold(), str(name))
    close = difflib.get_close_matches(str(word).casefold(), list(by_fold), n=1, cutoff=0.6)
    return by_fold[close[0]] if close else None


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

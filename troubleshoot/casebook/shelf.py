"""The shelf: all cases of a folder, found quickly, however many there are and whatever some of them look like.

It keeps the index in step with the files: what has another time or size than when it was read, or was written just
as it was read, is read again. A file that is no readable case stands in the index with its reasons, and never stops
the others. A small shelf (up to SMALL files) is read whole into memory. On a big one a look at every file is made at
most every FRESH seconds; what is shown or learned from is looked at each time (`verified`).
"""

import contextlib
import sqlite3
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from troubleshoot.casebook.entries import Entry
from troubleshoot.casebook.index import CAUSE, PLACE, SYMPTOM, Damaged, Index
from troubleshoot.casebook.looking import CHUNK, File, looked_over, names_in, read_in_turn
from troubleshoot.casebook.where import folder_stamp, index_file
from troubleshoot.documents import Problem, Problems

SMALL = 60
"""Up to so many files an index is made in memory each time: reading them takes about 25 ms (measured)."""
BIG = 5000
FRESH = 60.0
"""On a shelf of more than BIG files, seconds for which a look at every file (4 us each, measured) holds."""
UNUSED = 90 * 86400.0
GLANCE = 0.1
"""Seconds that a start may spend on new files of a big shelf."""
RACY = 2_000_000_000
"""A file written less than so many ns before it was read may change again within the same tick of its clock."""
BROKEN = (sqlite3.Error, Damaged, OSError, ValueError, TypeError, KeyError, IndexError, OverflowError)
"""What reading a damaged index may raise: its own doubts, or whatever chance bytes lead to."""
Found = TypeVar("Found")


@dataclass(frozen=True)
class Wanted:
    """What to look for: words that all occur (each may be the beginning of one), and further conditions."""

    words: tuple[str, ...] = ()
    place: str = ""
    symptom: str = ""
    cause: str = ""
    since: float = 0.0
    open: bool | None = None
    most: int = 50


def note(path: Path, stamp: int) -> None:
    """Take a case file that has just been saved into the index of its shelf; trouble with the index is no trouble.

    `stamp` is the time of the folder before. What others did to it while the case was saved is found by the next
    look at every file.
    """
    with contextlib.suppress(*BROKEN, Problems), Shelf(path.parent) as shelf:
        shelf.note(path, stamp)


class Shelf:
    """The cases of one folder. Use it in a `with` block, or close it."""

    def __init__(self, folder: Path) -> None:
        """Open the index of a folder, or make an empty one; nothing is read yet but by `glance` and `refresh`."""
        self.folder = folder
        self._file = index_file(folder)
        self._index = self._opened()

    def __enter__(self) -> "Shelf":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the index."""
        self._index.close()

    # -- the index as a thing that may break -----------------------------------------------------------------

    def _opened(self) -> Index:
        if not self._file.exists() and len(names_in(self.folder)) <= SMALL:
            return Index(None, self.folder)
        for _ in range(2):
            try:
                self._file.parent.mkdir(parents=True, exist_ok=True)
                if not self._file.exists():
                    _tidy(self._file.parent)
                return Index(self._file, self.folder)
            except BROKEN as error:
                if _locked(error):
                    break
                self._thrown_away()
        try:
            return Index(None, self.folder)
        except sqlite3.Error as error:
            why = f"cannot be searched: the SQLite of this Python lacks full-text search ({error})"
            raise Problems((Problem(str(self.folder), 0, 0, why),)) from error

    def _thrown_away(self) -> None:
        for end in ("", "-wal", "-shm", "-journal"):
            with contextlib.suppress(OSError):
                self._file.with_name(self._file.name + end).unlink()

    def _safely(self, act: Callable[[], Found]) -> Found:
        """Do something with the index; if that shows it to be damaged, make it afresh and do it again."""
        try:
            return act()
        except BROKEN as error:
            if _locked(error):
                raise
        self._index.close()
        if self._index.file is not None:
            self._thrown_away()
        self._index = self._opened()
        self.refresh(whole=True)
        return act()

    # -- in step with the files ------------------------------------------------------------------------------

    def refresh(self, whole: bool = False, told: Callable[[int, int], object] | None = None) -> None:
        """Bring the index in step with the files: all of them, unless a big shelf was looked through just now.

        `told` is called with how many have been read and how many there are to read.
        """
        self._safely(lambda: self._refresh(whole, told))

    def _refresh(self, whole: bool, told: Callable[[int, int], object] | None) -> None:
        stamp = folder_stamp(self.folder)
        if not whole and self._fresh(stamp):
            return
        now, known = time.time(), self._index.stamps()
        found = looked_over(self.folder)
        gone = [n for n in known if n not in found]
        changed = [n for n, (_, mtime, size) in found.items() if _differs(known.get(n), mtime, size)]
        changed.sort(key=lambda n: -found[n][1])
        with contextlib.suppress(sqlite3.OperationalError):  # somebody else is bringing it in step just now
            marks = self._index.hashes(n for n in changed if n in known)
            self._take_in([(n, self.folder / found[n][0], marks.get(n, b"")) for n in changed], told)
            with self._index.change():
                self._index.drop(gone)
                self._index.say("whole", f"{stamp} {now:.3f}")

    def _fresh(self, stamp: int) -> bool:
        said = self._index.said("whole").split()
        if len(said) != 2 or said[0] != str(stamp) or self._index.highest() <= BIG:
            return False
        return 0.0 <= time.time() - float(said[1]) < FRESH

    def _take_in(self, files: Sequence[File], told: Callable[[int, int], object] | None = None) -> None:
        """Read files and put them in, a chunk at a time, so that nothing read is read twice if it is broken off."""
        chunks = [files[i : i + CHUNK] for i in range(0, len(files), CHUNK)]
        done = 0
        for rows, same, gone in read_in_turn(chunks, len(files)):
            with self._index.change():
                self._index.put(rows)
                self._index.touch(same)
                self._index.drop(gone)
            done += len(rows) + len(same) + len(gone)
            if told is not None:
                told(done, len(files))

    def glance(self, seconds: float | None = None) -> int:
        """A quick look for new files, as far as the time reaches; how many are left unread. For a quick start."""
        return self._safely(lambda: self._glance(GLANCE if seconds is None else seconds))

    def _glance(self, seconds: float) -> int:
        if self._index.file is None and len(names_in(self.folder)) <= SMALL:
            self._refresh(True, None)
            return 0
        stamp = str(folder_stamp(self.folder))
        if stamp in (self._index.said("listed"), self._index.said("whole").partition(" ")[0]):
            return 0
        names, known = names_in(self.folder), self._index.names()
        new = sorted((n for n in names if n not in known), reverse=True)
        left, ends = len(new), time.monotonic() + seconds
        for i in range(0, len(new), 20):
            if time.monotonic() > ends:
                return left
            self._take_in([(n, self.folder / names[n], b"") for n in new[i : i + 20]])
            left -= len(new[i : i + 20])
        with self._index.change():
            self._index.drop(known.difference(names))
            self._index.say("listed", stamp)
        return 0

    def note(self, path: Path, stamp: int) -> None:
        """Take in a case that has just been saved; `stamp` is the time of the folder before that."""
        self._take_in([(path.stem, path, b"")])
        for name in ("listed", "whole"):
            said, _, rest = self._index.said(name).partition(" ")
            if said == str(stamp):
                self._index.say(name, f"{folder_stamp(self.folder)} {rest}".strip())

    def verified(self, entries: Iterable[Entry]) -> bool:
        """Whether the files of entries are as they were read; what is not is read again."""
        stale = [e.name for e in entries if not self._as_read(e.name)]
        if stale:
            marks = self._index.hashes(stale)
            self._take_in([(n, self.path(n), marks.get(n, b"")) for n in stale])
        return not stale

    def _as_read(self, name: str) -> bool:
        stamp = self._index.stamp(name)
        try:
            now = self.path(name).stat()
        except OSError:
            return False
        return not _differs(stamp, now.st_mtime_ns, now.st_size)

    # -- what is asked of it ---------------------------------------------------------------------------------

    def path(self, name: str) -> Path:
        """The file of a case."""
        return self.folder / f"{name}.yaml"

    def count(self) -> int:
        """How many readable cases there are."""
        return self._safely(self._index.count)

    def problems(self) -> list[Problem]:
        """What is wrong with the files that are no readable cases."""
        return self._safely(self._index.problems)

    def named(self, name: str) -> Entry | None:
        """The case of a name."""
        return next(iter(self.first("c.name = ?", (name,), most=1)), None)

    def search(self, wanted: Wanted) -> tuple[list[Entry], int]:
        """Cases that fit, newest first, at most so many as wanted, and how many there are in all."""
        where, values = _condition(wanted)
        return self.found(where, values, most=wanted.most)

    def found(
        self, where: str, values: Sequence[Any] = (), order: str = "c.began DESC, c.name", most: int = 200
    ) -> tuple[list[Entry], int]:
        """Cases that fit a condition on `cases c`, each as its file stands now, and how many there are in all."""

        def looked() -> tuple[list[Entry], int]:
            for _ in range(2):  # files that change again while they are looked at end it too
                entries, count = self._index.found(where, values, order, most)
                if self._index.file is None or self.verified(entries):
                    return entries, count
            return self._index.found(where, values, order, most)

        return self._safely(looked)

    def first(
        self, where: str, values: Sequence[Any] = (), order: str = "c.began DESC, c.name", most: int = 200
    ) -> list[Entry]:
        """The first cases that fit a condition on `cases c`, each as its file stands now; the rest is not counted."""

        def looked() -> list[Entry]:
            for _ in range(2):
                entries = list(self._index.entries(where, values, f"{order} LIMIT {int(most)}"))
                if self._index.file is None or self.verified(entries):
                    return entries
            return list(self._index.entries(where, values, f"{order} LIMIT {int(most)}"))

        return self._safely(looked)

    def closed_with(self, symptoms: Sequence[str], most: int = 200) -> list[Entry]:
        """Closed cases that ended with one of some symptoms (a name and its former ones), the last closed first."""
        marks = ", ".join("?" * len(symptoms))
        return self.first(f"c.symptom IN ({marks}) AND c.closed = 1", symptoms, "c.ended DESC, c.name", most)

    def begun_with(self, symptoms: Sequence[str], most: int = 1000) -> list[tuple[float, str, str]]:
        """When cases that ended with one of some symptoms began, at which place, and their names; newest first."""
        return self._safely(lambda: self._index.begun_with(symptoms, most))

    def lately_closed(self, most: int = 1000) -> list[tuple[float, float, str, str, str]]:
        """The cases closed last: when begun and closed, symptom, place and causes; their files are not looked at."""
        return self._safely(lambda: self._index.lately_closed(most))

    def symptoms(self) -> list[str]:
        """Symptoms that closed cases ended with."""
        return self._safely(self._index.symptoms)


def _tidy(cache: Path) -> None:
    """Take away indexes that nobody has used for long; whoever needs one again has it made again."""
    for file in cache.glob("shelf-*.sqlite*"):
        with contextlib.suppress(OSError):
            if time.time() - file.stat().st_mtime > UNUSED:
                file.unlink()


def _locked(error: BaseException) -> bool:
    return isinstance(error, sqlite3.OperationalError) and ("locked" in str(error) or "busy" in str(error))


def _differs(known: tuple[int, int, int] | None, mtime: int, size: int) -> bool:
    return known is None or known[:2] != (mtime, size) or known[2] - mtime < RACY


def _condition(wanted: Wanted) -> tuple[str, list[Any]]:
    """What is wanted as a condition on `cases c`, with its values."""
    parts: list[str] = []
    values: list[Any] = []
    words = [w for w in wanted.words if any(ch.isalnum() for ch in w)]
    if words:
        quoted = " AND ".join('"' + w.replace('"', '""') + '" *' for w in words)
        parts.append("c.id IN (SELECT rowid FROM words WHERE words MATCH ?)")
        values.append(quoted)
    tagged = ((PLACE, wanted.place.casefold()), (SYMPTOM, wanted.symptom), (CAUSE, wanted.cause))
    for kind, name in tagged:
        if name:
            pattern = "= ?" if kind == PLACE or "/" in name else "LIKE '%/' || ?"
            parts.append(f"c.id IN (SELECT id FROM tags WHERE kind = {kind} AND name {pattern})")
            values.append(name)
    if wanted.since:
        parts.append("c.began >= ?")
        values.append(wanted.since)
    if wanted.open is not None:
        parts.append("c.closed = ?")
        values.append(int(not wanted.open))
    return " AND ".join(parts) or "1", values

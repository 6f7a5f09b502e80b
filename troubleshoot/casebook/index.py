"""The index of the shelf: SQLite with full-text search, in the cache folder, made from the case files and never more.

The files are the truth. The index holds what was read from each, with the file's time, size and hash, so that only
what has changed is read again. One that is damaged, of another version or of another folder is thrown away and made
afresh. A small shelf has its index in memory only. Which files changed is found out by `shelf`.
"""

import contextlib
import hashlib
import json
import os
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from troubleshoot.casebook.entries import Entry
from troubleshoot.documents import Problem

VERSION = 1
"""Changes whenever the tables or what stands in them changes; an index of another version is made afresh."""
PLACE, SYMPTOM, CAUSE = 1, 2, 3
"""Kinds of tags by which cases are found."""
_TABLES = """
CREATE TABLE meta (name TEXT PRIMARY KEY, said TEXT);
CREATE TABLE cases (
  id INTEGER PRIMARY KEY, name TEXT UNIQUE, mtime INTEGER, size INTEGER, hash BLOB, seen INTEGER,
  began REAL, ended REAL, symptom TEXT, about TEXT, closed INTEGER, body TEXT, problems TEXT, seal BLOB);
CREATE INDEX cases_began ON cases (began DESC, name, problems);
CREATE INDEX cases_ended ON cases (closed, ended);
CREATE INDEX cases_symptom ON cases (symptom, closed, ended);
CREATE INDEX cases_bad ON cases (name) WHERE problems IS NOT NULL;
CREATE TABLE tags (kind INTEGER, name TEXT, id INTEGER, PRIMARY KEY (kind, name, id)) WITHOUT ROWID;
CREATE INDEX tags_id ON tags (id);
CREATE VIRTUAL TABLE words USING fts5 (said, tokenize = 'unicode61', detail = 'full');
"""
_COLUMNS = "name, mtime, size, hash, seen, began, ended, symptom, about, closed, body, problems, seal"


class Damaged(Exception):
    """The index does not hold what it was given; it is to be made afresh."""


@dataclass(frozen=True)
class Row:
    """One case file as indexed: its name, time and size, when it was looked at, its hash, its entry or problems."""

    name: str
    mtime: int
    size: int
    seen: int
    hash: bytes
    entry: Entry | None
    words: str = ""
    problems: tuple[Problem, ...] = ()


Stamp = tuple[str, int, int, int]
"""A file's name, time (ns) and size, and when it was looked at (ns)."""
Ready = tuple[tuple[Any, ...], list[tuple[int, str]] | None, str]
"""A row as the tables take it: its cells, its tags (None for a file that is no readable case), its words."""


def _body(entry: Entry | None) -> str | None:
    if entry is None:
        return None
    kept = {k: v for k, v in vars(entry).items() if k not in ("name", "began", "ended", "symptom", "about", "closed")}
    return json.dumps(kept, separators=(",", ":"), ensure_ascii=False, default=str)


def _seal(cells: Sequence[Any]) -> bytes:
    return hashlib.blake2b(repr(cells).encode("utf-8", "replace"), digest_size=8).digest()


def ready(row: Row) -> Ready:
    """A row as the tables take it: plain cells, tags and words, cheap to hand from one process to another."""
    return _cells(row), _tags(row.entry) if row.entry else None, row.words


def _tags(entry: Entry) -> list[tuple[int, str]]:
    symptoms = {entry.symptom, *(str(e["symptom"]) for e in entry.told if "symptom" in e)}
    tags = [(PLACE, p.casefold()) for p in entry.places]
    return tags + [(SYMPTOM, s) for s in symptoms if s] + [(CAUSE, c) for c in entry.causes]


def _cells(row: Row) -> tuple[Any, ...]:
    entry = row.entry or Entry(row.name)
    told = [[p.file, p.line, p.column, p.text] for p in row.problems]
    found = json.dumps(told, ensure_ascii=False) if row.entry is None else None
    plain = (row.name, row.mtime, row.size, row.hash, row.seen, entry.began, entry.ended, entry.symptom, entry.about)
    cells = (*plain, int(entry.closed), _body(row.entry), found)
    return (*cells, _seal(cells))


def _entry(cells: Sequence[Any]) -> Entry:
    """The entry in a row of the table. Raises Damaged."""
    if _seal(tuple(cells[:-1])) != cells[-1] or cells[10] is None:
        raise Damaged(cells[0])
    kept = json.loads(cells[10])
    for name in ("causes", "places", "told"):
        kept[name] = tuple(kept[name])
    return Entry(cells[0], cells[5], cells[6], cells[7], cells[8], closed=bool(cells[9]), **kept)


class Index:
    """The tables of one folder's index, in a file or in memory."""

    def __init__(self, file: Path | None, folder: Path) -> None:
        """Open the index, or make a new one. Raises sqlite3.Error or Damaged."""
        self.file, self.folder = file, folder
        self.base = sqlite3.connect(str(file) if file else ":memory:", timeout=2.0, isolation_level=None)
        try:
            self._ready()
        except BaseException:
            self.base.close()
            raise

    def _ready(self) -> None:
        version = self.base.execute("PRAGMA user_version").fetchone()[0]
        if version not in (0, VERSION):
            raise Damaged("another version")
        if self.file is not None:
            # A killed process leaves a whole index behind; the last changes may be missing after a power cut.
            self.base.execute("PRAGMA journal_mode = WAL")
            self.base.execute("PRAGMA synchronous = NORMAL")
        self.base.execute("PRAGMA cache_size = -8000")
        if version == 0:
            if self.base.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
                raise Damaged("half made")
            with self.change():
                for one in _TABLES.split(";\n"):
                    self.base.execute(one)
                self.say("folder", os.path.realpath(self.folder))
                self.base.execute(f"PRAGMA user_version = {VERSION}")
        elif self.said("folder") != os.path.realpath(self.folder):
            raise Damaged("another folder")

    def close(self) -> None:
        """Let go of the file."""
        with contextlib.suppress(sqlite3.Error):
            self.base.close()

    @contextlib.contextmanager
    def change(self) -> Iterator[None]:
        """All changes of the block, or none of them."""
        self.base.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            with contextlib.suppress(sqlite3.Error):
                self.base.execute("ROLLBACK")
            raise
        self.base.execute("COMMIT")

    def said(self, name: str) -> str:
        """A note about the index itself; nothing where there is none."""
        found = self.base.execute("SELECT said FROM meta WHERE name = ?", (name,)).fetchone()
        return str(found[0]) if found else ""

    def say(self, name: str, text: str) -> None:
        """Put down a note about the index itself."""
        self.base.execute("INSERT OR REPLACE INTO meta VALUES (?, ?)", (name, text))

    def put(self, rows: Iterable[Ready]) -> None:
        """Take rows in, each in place of what was there of its name; within a change."""
        marks = ", ".join("?" * len(_COLUMNS.split(", ")))
        for cells, tags, words in rows:
            self.drop([cells[0]])
            number = self.base.execute(f"INSERT INTO cases ({_COLUMNS}) VALUES ({marks})", cells).lastrowid
            if tags is not None:
                self.base.executemany("INSERT OR IGNORE INTO tags VALUES (?, ?, ?)", [(k, n, number) for k, n in tags])
                self.base.execute("INSERT INTO words (rowid, said) VALUES (?, ?)", (number, words))

    def drop(self, names: Iterable[str]) -> None:
        """Forget cases whose files are gone; within a change."""
        for name in names:
            found = self.base.execute("SELECT id, problems FROM cases WHERE name = ?", (name,)).fetchone()
            if found is None:
                continue
            if found[1] is None:
                self.base.execute("DELETE FROM words WHERE rowid = ?", found[:1])
                self.base.execute("DELETE FROM tags WHERE id = ?", found[:1])
            self.base.execute("DELETE FROM cases WHERE id = ?", found[:1])

    def touch(self, stamps: Iterable[Stamp]) -> None:
        """Put down that files were written anew with the same content; within a change."""
        for name, mtime, size, seen in stamps:
            found = self.base.execute(f"SELECT {_COLUMNS} FROM cases WHERE name = ?", (name,)).fetchone()
            if found is not None:
                seal = _seal((name, mtime, size, found[3], seen, *found[5:-1]))
                values = (mtime, size, seen, seal, name)
                self.base.execute("UPDATE cases SET mtime = ?, size = ?, seen = ?, seal = ? WHERE name = ?", values)

    def hashes(self, names: Iterable[str]) -> dict[str, bytes]:
        """The hashes of files as last read."""
        found = (self.base.execute("SELECT name, hash FROM cases WHERE name = ?", (n,)).fetchone() for n in names)
        return {row[0]: row[1] for row in found if row}

    def stamps(self) -> dict[str, tuple[int, int, int]]:
        """For each file its time and size as last read (ns, bytes), and when that was (ns)."""
        return {n: (m, s, w) for n, m, s, w in self.base.execute("SELECT name, mtime, size, seen FROM cases")}

    def stamp(self, name: str) -> tuple[int, int, int] | None:
        """The time and size of one file as last read, and when that was; None where it is not known."""
        found = self.base.execute("SELECT mtime, size, seen FROM cases WHERE name = ?", (name,)).fetchone()
        return None if found is None else (found[0], found[1], found[2])

    def names(self) -> set[str]:
        """The names of all files known."""
        return {row[0] for row in self.base.execute("SELECT name FROM cases")}

    def entries(self, where: str, values: Sequence[Any] = (), order: str = "c.began DESC") -> Iterator[Entry]:
        """Entries of readable cases that fit a condition on `cases c`, in an order. Raises Damaged."""
        columns = ", ".join(f"c.{name}" for name in _COLUMNS.split(", "))
        asked = f"SELECT {columns} FROM cases c WHERE c.problems IS NULL AND ({where}) ORDER BY {order}"
        for cells in self.base.execute(asked, tuple(values)):
            yield _entry(cells)

    def found(self, where: str, values: Sequence[Any], order: str, most: int) -> tuple[list[Entry], int]:
        """The first entries that fit, and how many there are in all; every match is gone through once only."""
        asked = f"SELECT c.id FROM cases c WHERE c.problems IS NULL AND ({where}) ORDER BY {order}"
        numbers = self.base.execute(asked, tuple(values)).fetchall()
        first = ",".join(str(row[0]) for row in numbers[:most])
        return list(self.entries(f"c.id IN ({first})", (), order)) if first else [], len(numbers)

    def count(self) -> int:
        """How many readable cases there are."""
        return int(self.base.execute("SELECT count(*) FROM cases WHERE problems IS NULL").fetchone()[0])

    def highest(self) -> int:
        """The highest number given to a row: at least as many as there are rows, and known at once."""
        return int(self.base.execute("SELECT max(id) FROM cases").fetchone()[0] or 0)

    def problems(self) -> list[Problem]:
        """What is wrong with the files that are no readable cases, by name."""
        found = self.base.execute("SELECT problems FROM cases WHERE problems IS NOT NULL ORDER BY name")
        return [Problem(*one) for row in found for one in json.loads(row[0])]

    def lately_closed(self, most: int) -> list[tuple[float, float, str, str, str]]:
        """Of the cases closed last: when begun and closed, symptom, place, and causes with line breaks between."""
        asked = """SELECT began, ended, symptom, about, (SELECT group_concat(name, char(10)) FROM tags t
          WHERE t.id = c.id AND t.kind = 3) FROM cases c WHERE closed = 1 ORDER BY ended DESC LIMIT ?"""
        return [(b, e, s, a, cs or "") for b, e, s, a, cs in self.base.execute(asked, (most,))]

    def begun_with(self, symptoms: Sequence[str], most: int) -> list[tuple[float, str, str]]:
        """When cases that ended with one of some symptoms began, their places and names, newest first."""
        marks = ", ".join("?" * len(symptoms))
        asked = f"SELECT began, about, name FROM cases WHERE symptom IN ({marks}) ORDER BY began DESC LIMIT ?"
        return list(self.base.execute(asked, (*symptoms, most)))

    def symptoms(self) -> list[str]:
        """Symptoms of closed cases, by name."""
        asked = "SELECT DISTINCT symptom FROM cases WHERE closed = 1 AND symptom <> '' ORDER BY symptom"
        return [row[0] for row in self.base.execute(asked)]

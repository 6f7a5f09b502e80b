"""How the columns and words of one log are to be read: what was said, what a saved mapping says, what is guessed.

A mapping names for each role (time, date, kind, name, state) a column by its number from 0 or by its head; time, name
and state are needed. Without any, roles are guessed from the heads or from what stands in the columns. Saved as a
small YAML file, a mapping is used again with the next log of the same computer.
"""

import csv
from collections.abc import Mapping as Table
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from troubleshoot.documents import Problem, Problems, nearest, read, validate, write
from troubleshoot.eventlog import clock
from troubleshoot.eventlog.words import KINDS, STATES, Lexicon, fold

FORMAT = 1
ROLES = ("time", "date", "kind", "name", "state")
NEEDED = ("time", "name", "state")
DELIMITERS: Table[str, str] = {"tab": "\t", "semicolon": ";", "pipe": "|", "comma": ","}
HEADS: Table[str, tuple[str, ...]] = {
    "time": ("time", "timestamp", "when", "clock", "datetime", "date time", "moment", "seconds", "ms"),
    "date": ("date", "day"),
    "kind": ("kind", "type", "device", "category", "class", "what"),
    "name": ("name", "id", "block", "item", "object", "address", "sensor", "where", "place"),
    "state": ("state", "value", "status", "event", "message", "to"),
}
"""Heads by which a role is known, when nothing was said."""
SAMPLE = 60
MOST_STATES = 10


@dataclass(frozen=True)
class Mapping:
    """What was said about a log; None and empty mean that it is guessed or not there."""

    columns: Table[str, int | str] = field(default_factory=dict)
    delimiter: str | None = None
    encoding: str | None = None
    header: bool | None = None
    times: str | None = None
    zone: str | None = None
    kind: str | None = None
    words: Table[str, str] = field(default_factory=dict)
    names: Table[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Plan:
    """A mapping with everything decided: columns as numbers from 0."""

    columns: Table[str, int]
    delimiter: str
    header: bool
    times: str


def load(path: Path) -> Mapping:
    """A saved mapping. Raises Problems."""
    from troubleshoot.eventlog.shapes import MappingShape

    shape = validate(read(path), MappingShape)
    return Mapping(
        columns={str(role): column for role, column in shape.columns.items()},
        delimiter=DELIMITERS.get(shape.delimiter or "", shape.delimiter),
        encoding=shape.encoding,
        header=None if shape.header is None else shape.header == "yes",
        times=shape.times,
        zone=shape.zone,
        kind=shape.kind,
        words=dict(shape.words),
        names=dict(shape.names),
    )


def save(path: Path, mapping: Mapping) -> None:
    """Save a mapping whole or not at all. Raises Problems."""
    spelled = {sign: word for word, sign in DELIMITERS.items()}
    data: dict[str, Any] = {
        "log-columns": FORMAT,
        "columns": dict(mapping.columns),
        "delimiter": spelled.get(mapping.delimiter or "", mapping.delimiter),
        "encoding": mapping.encoding,
        "header": None if mapping.header is None else "yes" if mapping.header else "no",
        "times": mapping.times,
        "zone": mapping.zone,
        "kind": mapping.kind,
        "words": dict(mapping.words),
        "names": dict(mapping.names),
    }
    write(path, {k: v for k, v in data.items() if v not in (None, {})})


def columns_said(text: str) -> dict[str, int | str]:
    """`time=0,name=Block,state=2` as columns. Raises ValueError with what is wrong."""
    found: dict[str, int | str] = {}
    for part in text.split(","):
        role, sign, column = part.partition("=")
        role, column = role.strip(), column.strip()
        if not sign or not column or role not in ROLES:
            close = nearest(role, ROLES)
            hint = f"; did you mean {close!r}?" if close else ""
            raise ValueError(f"{part.strip()!r} is no column; write such as time=0,kind=1,name=2,state=3{hint}")
        found[role] = int(column) if column.isascii() and column.isdigit() and len(column) < 4 else column
    return found


def words_said(text: str) -> dict[str, str]:
    """`belegt=occupied,frei=clear` as words. Raises ValueError with what is wrong."""
    found: dict[str, str] = {}
    for part in text.split(","):
        word, sign, means = part.rpartition("=")
        if not sign or not word.strip() or means.strip() not in (*KINDS, *STATES):
            known = ", ".join((*KINDS, *STATES))
            raise ValueError(f"{part.strip()!r} gives no meaning; write WORD=MEANING with one of {known}")
        found[word.strip()] = means.strip()
    return found


def cells(line: str, delimiter: str) -> list[str]:
    """One line of a file as its cells; a quoted cell may hold the delimiter, and ends with the line."""
    if '"' not in line:
        return line.split(delimiter)
    try:
        return next(csv.reader([line], delimiter=delimiter), [])
    except (csv.Error, StopIteration):
        return line.split(delimiter)


def plan(file: str, mapping: Mapping, lines: Sequence[str]) -> Plan:
    """Decide how a log is read, from what was said and from its first lines. Raises Problems with what is missing."""
    delimiter = mapping.delimiter or _delimiter(lines)
    rows = [[c.strip() for c in cells(line, delimiter)] for line in lines if line.strip()][:SAMPLE]
    lexicon = Lexicon(mapping.words)
    by_head = bool(rows) and any(isinstance(c, str) for c in mapping.columns.values())
    header = mapping.header if mapping.header is not None else by_head or _has_head(rows, lexicon)
    body = rows[1:] if header else rows
    said = _numbers(file, mapping.columns, rows[0] if header and rows else [])
    found = dict(said) or _by_head(rows[0] if header and rows else [])
    for role, column in _by_content(body, lexicon, mapping.times, set(found.values())).items():
        if role not in found and column not in found.values() and not (said and role in ("date", "kind")):
            found[role] = column
    if mapping.kind is not None and "kind" not in said:
        found.pop("kind", None)
    missing = [role for role in NEEDED if role not in found]
    if missing:
        if not rows:
            raise Problems((Problem(file, 0, 0, "is empty: nothing was logged, or it is the wrong file"),))
        first = f"; its first line is {lines[0].strip()[:60]!r}"
        what = " or the ".join(missing)
        text = f"no column looks like the {what}{first}; say which with --columns time=0,name=1,state=2"
        raise Problems((Problem(file, 0, 0, text),))
    times = mapping.times or clock.guess([_time_of(r, found) for r in body if _time_of(r, found)])
    if times is None:
        one = next((_time_of(r, found) for r in body), "")
        text = f"its times, such as {one[:40]!r}, cannot be read; say how they are written: --times '%d/%m/%Y %H:%M:%S'"
        raise Problems((Problem(file, 0, 0, text),))
    return Plan(found, delimiter, header, times)


def decided(mapping: Mapping, made: Plan) -> Mapping:
    """A mapping that says what was decided, so that saving it saves the guesses too."""
    return replace(mapping, columns=dict(made.columns), delimiter=made.delimiter, header=made.header, times=made.times)


def _time_of(row: Sequence[str], columns: Table[str, int]) -> str:
    parts = [row[columns[r]] for r in ("date", "time") if r in columns and columns[r] < len(row)]
    return " ".join(parts).strip()


def _delimiter(lines: Sequence[str]) -> str:
    """The sign that parts the lines into the same number of cells, three at best."""
    some = [line for line in lines if line.strip()][:SAMPLE]
    best: tuple[float, str] = (0.0, ",")
    for sign in DELIMITERS.values():
        counts = [len(cells(line, sign)) for line in some]
        usual = max(set(counts), key=counts.count) if counts else 1
        share = counts.count(usual) / len(counts) if counts else 0.0
        if usual >= 3 and share > best[0] + 0.05:
            best = (share, sign)
    return best[1]


def _has_head(rows: Sequence[Sequence[str]], lexicon: Lexicon) -> bool:
    """Whether the first row names columns: it has two heads that are known, and no state or time of its own."""
    if not rows:
        return False
    known = sum(any(fold(c) in words for words in HEADS.values()) for c in rows[0])
    return (
        known >= 2
        and clock.guess([rows[0][0]]) is None
        and not any(fold(c) not in sum(HEADS.values(), ()) and lexicon.is_state(c) for c in rows[0])
    )


def _numbers(file: str, columns: Table[str, int | str], head: Sequence[str]) -> dict[str, int]:
    """Columns that were said, as numbers."""
    found, problems = {}, []
    folded = [fold(h) for h in head]
    for role, said in columns.items():
        if isinstance(said, int):
            found[role] = said
        elif fold(said) in folded:
            found[role] = folded.index(fold(said))
        else:
            close = nearest(said, head)
            hint = f"; did you mean {close!r}?" if close else f"; it has {', '.join(head)}" if head else ""
            problems.append(Problem(file, 1, 0, f"has no column {said!r}{hint}"))
    if problems:
        raise Problems(problems)
    return found


def _by_head(head: Sequence[str]) -> dict[str, int]:
    found: dict[str, int] = {}
    for role, words in HEADS.items():
        for word in words:
            column = next((i for i, h in enumerate(head) if fold(h) == word and i not in found.values()), None)
            if column is not None and role not in found:
                found[role] = column
    if "time" not in found and "date" in found:
        found["time"] = found.pop("date")
    return found


def _by_content(rows: Sequence[Sequence[str]], lexicon: Lexicon, times: str | None, used: set[int]) -> dict[str, int]:
    """Roles by what stands in the columns: times, kinds, states; the name is the column with most that is left."""
    width = max(map(len, rows), default=0)
    found: dict[str, int] = {}
    free = [i for i in range(width) if i not in used]
    column = {i: [r[i] for r in rows if i < len(r) and r[i]] for i in free}
    for i in free:
        if "time" not in found and column[i] and (clock.guess(column[i]) if times in (None, *clock.FORMS) else False):
            found["time"] = i
    for role, judge in (("kind", lexicon.is_kind), ("state", lexicon.is_state)):
        scores = {i: sum(map(judge, column[i])) for i in free if i not in found.values() and column[i]}
        best = max(scores, key=lambda i: (scores[i], i), default=None)
        if best is not None and scores[best] * 2 > len(column[best]):
            found[role] = best
    left = [i for i in free if i not in found.values() and column[i]]
    few = min(left, key=lambda i: (len(set(column[i])), -i), default=None)
    if "state" not in found and few is not None and len(left) > 1 and len(set(column[few])) <= MOST_STATES:
        # its words are strange, and reading says which they are
        found["state"] = few
        left.remove(few)
    if left:
        found["name"] = max(left, key=lambda i: (len(set(column[i])), -i))
    return found

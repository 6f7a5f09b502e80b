"""Reading the file of a log, row by row. A bad row is counted and told with its line, and never stops the rest.

Each line of the file is a row of its own; every line is accounted for: head, blank, read or refused. The encoding is
found by the mark at the beginning, by trying UTF-8, or by the zeros of UTF-16, and is Latin-1 otherwise, so that
nothing is unreadable for its letters alone. Made to read a million rows in seconds without any library.
"""

import codecs
import io
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO

from troubleshoot.documents import Problem, Problems
from troubleshoot.eventlog import clock
from troubleshoot.eventlog.log import Log, Sighting, Track
from troubleshoot.eventlog.mapping import SAMPLE, Mapping, Plan, cells, decided, plan
from troubleshoot.eventlog.words import Lexicon, Meaning

MOST_BYTES = 2_000_000_000
MOST_NAMES = 20_000
"""More different names than this are no railway but a wrong column."""
FIRST = 65_536
TOLD = 8
"""So many reasons for refusing rows are told; the rest is counted."""
EVERY = 20_000
"""Rows between two reports of progress."""
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF32_LE, "utf-32"), (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"),
)  # fmt: skip

Progress = Callable[[float], object]


@dataclass
class Account:
    """What became of each line: `lines` are `heads`, `blank`, `read` and `refused` together."""

    file: str
    encoding: str = ""
    lines: int = 0
    heads: int = 0
    blank: int = 0
    read: int = 0
    refused: int = 0
    why: dict[str, list[int]] = field(default_factory=dict)
    late: int = 0
    mapping: Mapping = field(default_factory=Mapping)

    def refuse(self, line: int, why: str) -> None:
        """Count a row that cannot be used; of the first few reasons remember the first line and how many."""
        self.refused += 1
        if why in self.why:
            self.why[why][1] += 1
        elif len(self.why) < TOLD:
            self.why[why] = [line, 1]

    @property
    def reasons(self) -> list[Problem]:
        """The first few reasons, each at its first line."""
        more = {why: f" ({many - 1} more rows like it)" if many > 1 else "" for why, (_, many) in self.why.items()}
        return [Problem(self.file, line, 0, f"{why}{more[why]}") for why, (line, _) in self.why.items()]


def read(
    path: Path, mapping: Mapping | None = None, names: Callable[[str, str], str] | None = None,
    progress: Progress | None = None,
) -> tuple[Log, Account]:  # fmt: skip
    """A log and the account of its lines. `names` turns a track and a name as logged into the layout's name.

    Raises Problems when the file cannot be opened, or no column or time of it can be understood.
    """
    said, file = mapping or Mapping(), str(path)
    try:
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise Problems((Problem(file, 0, 0, "is larger than 2 GB; cut it into days"),))
        with path.open("rb") as raw:
            encoding = said.encoding or _encoding(raw)
            first = _first_lines(file, raw, encoding)
            made = plan(file, said, first)
            account = Account(file, encoding, mapping=decided(said, made))
            log = _Reading(said, made, account, names).run(_rows(raw, encoding, size, progress))
    except OSError as error:
        what = (error.strerror or "no").lower()
        raise Problems((Problem(file, 0, 0, f"cannot be read ({what}); check the name and the folder"),)) from error
    except ValueError as error:  # a zone or a name of a pattern that nobody knows
        raise Problems((Problem(file, 0, 0, str(error)),)) from error
    return log, account


def _encoding(raw: BinaryIO) -> str:
    """By its mark; else UTF-8 if all of it is; else UTF-16 by its zeros; else Latin-1."""
    start = raw.read(4096)
    for mark, name in _MARKS:
        if start.startswith(mark):
            return name
    zeros = [start[i::2].count(0) for i in (0, 1)]
    if start and max(zeros) > len(start) // 8 and min(zeros) < max(zeros) // 4:
        return "utf-16-le" if zeros[1] > zeros[0] else "utf-16-be"
    decoder, part = codecs.getincrementaldecoder("utf-8")(), start
    try:
        while part:
            decoder.decode(part)
            part = raw.read(1 << 20)
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return "latin-1"
    return "utf-8"


def _first_lines(file: str, raw: BinaryIO, encoding: str) -> list[str]:
    """The first lines; what stands for no letter must not end the reading."""
    raw.seek(0)
    chunk = raw.read(FIRST)
    try:
        lines = list(io.TextIOWrapper(io.BytesIO(chunk), encoding, "replace"))
    except LookupError:
        text = f"{encoding!r} is no encoding known here; it may be utf-8, latin-1, utf-16 or another"
        raise Problems((Problem(file, 0, 0, text),)) from None
    except UnicodeError:
        text = f"is not written in {encoding}; leave --encoding out, and it is found"
        raise Problems((Problem(file, 0, 0, text),)) from None
    # the last line of a full chunk may be cut in two
    return lines[: -1 if len(chunk) == FIRST and len(lines) > 1 else None][: SAMPLE + 1]


def _rows(raw: BinaryIO, encoding: str, size: int, progress: Progress | None) -> Iterator[str]:
    raw.seek(0)
    text = io.TextIOWrapper(raw, encoding, "replace")
    try:
        for number, line in enumerate(text):
            if progress is not None and number % EVERY == 0:
                progress(raw.tell() / max(size, 1))
            yield line
    finally:
        text.detach()  # the file is closed by whoever opened it
    if progress is not None:
        progress(1.0)


class _Reading:
    """One pass through the rows."""

    def __init__(self, mapping: Mapping, made: Plan, account: Account, names: Callable[[str, str], str] | None) -> None:
        self.mapping, self.plan, self.account = mapping, made, account
        self.names = names or (lambda _, name: name)
        self.lexicon = Lexicon(mapping.words)
        self.tracks: dict[str, dict[str, Track]] = {k: {} for k in ("block", "command", "report", "power")}
        self.by_name: dict[tuple[str, str], Track] = {}
        self.meanings: dict[tuple[str | None, str], Meaning | str] = {}
        self.trains: list[Sighting] = []

    def run(self, lines: Iterable[str]) -> Log:
        """Every line, then the log."""
        account, columns, delimiter = self.account, self.plan.columns, self.plan.delimiter
        when = clock.reader(self.plan.times, self.mapping.zone)
        at, date, name, state = columns["time"], columns.get("date"), columns["name"], columns["state"]
        kind, fixed = columns.get("kind"), self.mapping.kind
        widest, head, first = max(columns.values()), self.plan.header, ""
        for number, line in enumerate(lines, 1):
            account.lines = number
            row = cells(line.rstrip("\r\n"), delimiter)
            if len(row) <= widest:
                if not line.strip():
                    account.blank += 1
                elif head:
                    account.heads, head = 1, False
                else:
                    account.refuse(number, f"has {len(row)} columns where {widest + 1} are wanted")
                continue
            if head:
                account.heads, head = 1, False
                continue
            moment = row[at].strip() if date is None else f"{row[date].strip()} {row[at].strip()}"
            try:
                seconds = when(moment)
            except (ValueError, OverflowError) as error:
                account.refuse(number, f"the time {moment[:40]!r} cannot be read ({error})")
                continue
            try:
                self.take(seconds, fixed if kind is None else row[kind], row[name].strip(), row[state])
            except ValueError as error:
                account.refuse(number, str(error))
                continue
            account.read += 1
            first = first or moment
        return self.log(first)

    def take(self, when: float, kind: str | None, name: str, state: str) -> None:
        """One row. Raises ValueError with the reason why it cannot be used."""
        meaning = self.meanings.get((kind, state))
        if meaning is None:
            try:
                meaning = self.lexicon.meaning(kind, state)
            except ValueError as error:
                meaning = str(error)
            if len(self.meanings) < MOST_NAMES:
                self.meanings[kind, state] = meaning
        if isinstance(meaning, str):
            raise ValueError(meaning)
        if not name:
            raise ValueError("the name is missing")
        if meaning[0] == "train":
            where = state.strip()
            if not where:
                raise ValueError("the train is nowhere: the state should name a block")
            self.trains.append(Sighting(when, name, self.named("block", where)))
            return
        track = self.by_name.get((meaning[0], name))
        if track is None:
            if len(self.by_name) >= MOST_NAMES:
                raise ValueError(f"there are more than {MOST_NAMES} names; is this the column of names?")
            own = self.tracks[meaning[0]]
            track = self.by_name[meaning[0], name] = own.setdefault(self.named(meaning[0], name), Track())
        track.add(when, meaning[1])

    def named(self, track: str, name: str) -> str:
        """The layout's name of a thing."""
        said = self.mapping.names.get(name)
        return said if said is not None else self.names(track, name)

    def log(self, first: str) -> Log:
        """Everything in the order of time."""
        for group in self.tracks.values():
            for track in group.values():
                self.account.late += track.sort()
        form, starts = self.plan.times, [t.times[0] for g in self.tracks.values() for t in g.values()]
        shift = clock.offset(first, form, self.mapping.zone, min(starts)) if starts and form != "clock" else 0.0
        since_start = form in ("seconds", "milliseconds") and bool(starts) and min(starts) < 1e8
        return Log(
            blocks=self.tracks["block"],
            commands=self.tracks["command"],
            reports=self.tracks["report"],
            power=self.tracks["power"],
            trains=tuple(sorted(self.trains, key=lambda s: s.when)),
            dated=clock.dated(form) and not since_start,
            clocked=not since_start,
            offset=shift,
        )

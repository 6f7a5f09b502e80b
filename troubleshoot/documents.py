"""Strict YAML in, readable YAML out, and every problem at once with file and line.

Rules of this module:

- It is the only one that knows YAML. Whoever calls it sees plain dicts, lists, text and numbers.
- A file means what it looks like: `no`, `off`, `12:30`, `010` and dates are text; only plain decimals
  become numbers; an empty value is None; anything in quotes is text; keys are always text.
- Anchors, aliases, tags, merge keys, second documents and keys given twice are refused in words.
- Size, number of values and depth are limited while reading, before anything big is built.
- A file is replaced whole or not at all.

What a record or a rule pack must hold is left to the models of the callers: `validate` only puts their
findings into words and places them. Lines and columns count from 1; line 0 means the file as a whole.
"""

from __future__ import annotations

import contextlib
import difflib
import errno
import json
import math
import os
import re
import tempfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import yaml

if TYPE_CHECKING:
    from pydantic import BaseModel
    from pydantic_core import ErrorDetails

    Model = TypeVar("Model", bound=BaseModel)

MOST_BYTES = 2_000_000
MOST_VALUES = 200_000
MOST_DEPTH = 40
MOST_PROBLEMS = 100

Trail = tuple[str | int, ...]

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)  # about eight times faster where it exists
_INT = re.compile(r"[-+]?(?:0|[1-9][0-9]{0,17})")
_FLOAT = re.compile(r"[-+]?(?:0|[1-9][0-9]*)\.[0-9]{1,17}")
_UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]")


# --- problems -------------------------------------------------------------------------------------


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


# --- reading --------------------------------------------------------------------------------------


def read(path: str | os.PathLike[str]) -> Document:
    """Return the document in the file `path`; raises Problems for whatever is wrong with it."""
    return parse(read_text(path), os.fspath(path))


def read_text(path: str | os.PathLike[str]) -> str:
    """Return the text of a UTF-8 file of at most 2 MB (a byte order mark is dropped).

    Raises Problems, in words, when it is missing, a folder, unreadable, too large or not UTF-8.
    """
    file = os.fspath(path)
    try:
        with Path(file).open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except (OSError, ValueError) as failure:
        raise Problems([Problem(file, 0, 0, _why_unreadable(file, failure))]) from None
    if len(raw) > MOST_BYTES:
        raise Problems([_too_large(file)])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as failure:
        before = raw[: failure.start]
        line, column = before.count(b"\n") + 1, failure.start - before.rfind(b"\n")
        what = f"this is not UTF-8 text (byte 0x{raw[failure.start]:02x}); save the file as UTF-8"
        raise Problems([Problem(file, line, column, what)]) from None


def _why_unreadable(file: str, failure: OSError | ValueError) -> str:
    if isinstance(failure, FileNotFoundError):
        folder = Path(file).parent
        with contextlib.suppress(OSError):
            close = nearest(Path(file).name, sorted(entry.name for entry in folder.iterdir()))
            if close is not None:
                return f'there is no such file; did you mean "{folder / close}"?'
        return "there is no such file; check the name and the folder"
    if isinstance(failure, IsADirectoryError):
        return "this is a folder; name a file in it"
    if isinstance(failure, PermissionError):
        return "you are not allowed to read this file; ask its owner, or change its permissions"
    return f"this file cannot be read ({getattr(failure, 'strerror', None) or failure})"


def _too_large(file: str) -> Problem:
    return Problem(file, 0, 0, f"this is larger than {MOST_BYTES // 1_000_000} MB; split it into several")


def parse(text: str, file: str) -> Document:
    """Return what `text` says; `file` is only its name in messages. Raises Problems.

    Stops at the first place that is not YAML at all; everything else is collected.
    """
    text = text.removeprefix("\ufeff")
    if len(text) > MOST_BYTES or len(text.encode("utf-8", "replace")) > MOST_BYTES:
        raise Problems([_too_large(file)])
    odd = _UNPRINTABLE.search(text)
    if odd:
        before = text[: odd.start()]
        line, column = before.count("\n") + 1, odd.start() - before.rfind("\n")
        what = f"there is an invisible character here (U+{ord(odd[0]):04X}); delete it"
        raise Problems([Problem(file, line, column, what)])
    loader = _Loader(text)
    builder = _Builder(loader, file)
    try:
        data = builder.build()
    except yaml.MarkedYAMLError as failure:
        builder.problems.append(_in_words(failure, text, file))
    except (yaml.YAMLError, ValueError, OverflowError):
        line = builder.marks[builder.latest][0]
        builder.problems.append(Problem(file, line, 1, "this cannot be read as YAML from here on"))
    finally:
        loader.dispose()
    if builder.problems:
        raise Problems(builder.problems)
    return Document(file, data, builder.marks)


class _TooMuch(Exception):
    """Ends the reading; the reason stands in the list of problems."""


class _Builder:
    """Builds plain data from the parser's events, checking each as it comes."""

    def __init__(self, loader: Any, file: str) -> None:
        self.next = loader.get_event
        self.file = file
        self.marks: dict[Trail, tuple[int, int]] = {(): (1, 1)}
        self.problems: list[Problem] = []
        self.values = 0
        self.latest: Trail = ()

    def build(self) -> Any:
        self.next()  # start of stream
        if isinstance(self.next(), yaml.StreamEndEvent):
            return None
        try:
            data = self.value(self.next(), ())
            self.next()  # end of document
            after = self.next()
            if not isinstance(after, yaml.StreamEndEvent):
                self.refuse(after, 'a second document begins here ("---"); keep one document in a file')
        except _TooMuch:
            return None
        return data

    def refuse(self, event: Any, text: str) -> None:
        mark = event.start_mark
        self.problems.append(Problem(self.file, mark.line + 1, mark.column + 1, text))
        if len(self.problems) >= MOST_PROBLEMS:
            raise _TooMuch

    def value(self, event: Any, path: Trail) -> Any:
        self.values += 1
        if self.values > MOST_VALUES:
            self.refuse(event, f"there are more than {MOST_VALUES} values up to here; split the file")
            raise _TooMuch
        mark = event.start_mark
        self.marks[path] = (mark.line + 1, mark.column + 1)
        self.latest = path
        if event.__class__ is yaml.AliasEvent:
            self.refuse(event, f'"*{event.anchor}" is an alias, which is refused; write it out, or use quotes')
            return None
        if event.anchor is not None:
            self.refuse(event, f'"&{event.anchor}" is an anchor, which is refused; drop it, or use quotes')
        if event.tag is not None:
            self.refuse(event, f'"{_tag(event)}" is a tag, which is refused; drop it, or use quotes')
        if event.__class__ is yaml.ScalarEvent:
            return event.value if event.style else _plain(event.value)
        if len(path) >= MOST_DEPTH:
            self.refuse(event, f"this is nested more than {MOST_DEPTH} deep; make it flatter")
            raise _TooMuch
        return self.mapping(path) if event.__class__ is yaml.MappingStartEvent else self.sequence(path)

    def sequence(self, path: Trail) -> list[Any]:
        items: list[Any] = []
        while (event := self.next()).__class__ is not yaml.SequenceEndEvent:
            items.append(self.value(event, (*path, len(items))))
        return items

    def mapping(self, path: Trail) -> dict[str, Any]:
        entries: dict[str, Any] = {}
        while (event := self.next()).__class__ is not yaml.MappingEndEvent:
            key = self.key(event, path, entries)
            value = self.value(self.next(), (*path, key))
            entries.setdefault(key, value)
        return entries

    def key(self, event: Any, path: Trail, entries: dict[str, Any]) -> str:
        if event.__class__ is not yaml.ScalarEvent:
            self.value(event, (*path, "@key"))
            self.refuse(event, "a key must be a word or a few; a list, a mapping or an alias cannot be one")
            return ""
        key = str(event.value)
        if event.anchor is not None or event.tag is not None:
            self.refuse(event, f'the key "{_short(key)}" has an anchor or a tag, which are refused; drop it')
        if not event.style and key in ("", "<<"):
            merge = '"<<" is a merge key, which is refused; write the entries out'
            self.refuse(event, merge if key else "a name is missing before the colon")
        if key in entries:
            first = self.marks[(*path, key, "@key")][0]
            self.refuse(event, f'"{_short(key)}" was given already in line {first}; keep one of the two')
        else:
            mark: Any = event.start_mark
            self.marks[(*path, key, "@key")] = (mark.line + 1, mark.column + 1)
        return key


def _plain(text: str) -> str | int | float | None:
    if not text:
        return None
    if text[0] in "+-0123456789":
        if _INT.fullmatch(text):
            return int(text)
        if _FLOAT.fullmatch(text) and math.isfinite(number := float(text)):
            return number
    return text


def _tag(event: Any) -> str:
    return _short(str(event.tag).replace("tag:yaml.org,2002:", "!!"))


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."


# What the parser complains of -> what a person can do. The first match counts.
_WORDS = (
    (
        "mapping values are not allowed",
        'there is one ": " too many; put the text in quotes, or check the indentation',
    ),
    ("found unexpected end of stream", "the quote opened in line {opened} is never closed"),
    ("unexpected document indicator", "the quote opened in line {opened} is never closed"),
    ("unknown escape character", 'a "\\" in double quotes has a special meaning; use single quotes instead'),
    ("alphabetic or numeric", 'text that begins with "*" or "&" must stand in quotes'),
    ("nesting depth", f"this is nested more than {MOST_DEPTH} deep; make it flatter"),
    ("comment or line break", 'nothing may follow "|" or ">" on its line; begin the text on the next line'),
    ("',' or ']'", 'the "[" opened in line {opened} is never closed, or a comma is missing'),
    ("',' or '}'", 'the "{" opened in line {opened} is never closed, or a comma is missing'),
    ("cannot start any token", "text that begins with {sign} must stand in quotes"),
    ("expected ':'", 'a ":" is missing after the name in line {opened}'),
    ("'-' indicator", "this line is not in step with the list from line {opened} on; check its indentation"),
    ("block end", "this line is not in step with line {opened}; check indentation and quotes"),
    ("expected key", "this line is not in step with line {opened}; check indentation and quotes"),
    ("indentation indicators", 'nothing may follow "|" or ">" on its line; begin the text on the next line'),
    ("are not allowed here", "a list or a key cannot begin here; put it on a line of its own"),
    ("not allowed in this context", "a list or a key cannot begin here; put it on a line of its own"),
    ("undefined tag handle", "text that begins with an exclamation mark must stand in quotes"),
    ("directive", "text that begins with a percent sign must stand in quotes"),
    ("document start", "this line does not belong to what stands above it; check its indentation"),
)


def _in_words(failure: yaml.MarkedYAMLError, text: str, file: str) -> Problem:
    marks: Any = failure  # the fast parser's marks have a type of their own
    first, mark = marks.context_mark, marks.problem_mark or marks.context_mark
    line, column = (mark.line, mark.column) if mark else (0, 0)
    opened = str(first.line + 1 if first else line + 1)
    said = str(failure.problem or failure.context or "it breaks off")
    sign = [*re.split("\r\n|[\n\r\x85\u2028\u2029]", text), ""][line][column : column + 1]
    if sign == "\t":
        words = "there is a tab here; indent with spaces only"
    else:
        words = next((words for part, words in _WORDS if part in said), f"this cannot be read as YAML ({said})")
        if first and first.line == line and "not in step" in words:
            words = "this part of the line does not fit the part before it; put the whole text in quotes"
        words = words.replace("{sign}", f'"{sign}"').replace("{opened}", opened)
    return Problem(file, line + 1, column + 1, words)


# --- writing --------------------------------------------------------------------------------------

_ODD = re.compile("[^\n\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]")
_FIRST = r"(?!---|\.\.\.)(?:[^\s\-?:,\[\]{}#&*!|>'\"%@`]|-(?=\S))"
_PLAIN = re.compile(_FIRST + r"(?:[^:#\n]|:(?=\S)|(?<=\S)#)*(?<!\s)")
_LONGEST_KEY = 100


def dump(data: Any) -> str:
    """Return `data` (dicts, lists, text, numbers, None) as YAML that `parse` reads back as the same.

    Text stands in quotes only where the reader would take it for something else. A float keeps 17
    decimals. Raises ValueError for what a document cannot hold: truth values, nan, 19-digit integers.
    """
    text = _block(data, "")
    return text[1:] + "\n" if text.startswith(("\n", " ")) else text + "\n"


def _block(data: Any, pad: str) -> str:
    """Return what follows `key:` or `-`, so it begins with a space or a line break unless it is empty."""
    if len(pad) > 2 * MOST_DEPTH:
        raise ValueError(f"nested more than {MOST_DEPTH} deep")
    if isinstance(data, Mapping) and data:
        deeper = pad + "  "
        return "".join(f"\n{pad}{_key(str(key), pad)}:{_block(value, deeper)}" for key, value in data.items())
    if isinstance(data, list | tuple) and data:
        blocks = [_block(item, pad + "  ") for item in data]
        inner = f"\n{pad}  "
        # a mapping or list in a list begins beside its dash
        return "".join(f"\n{pad}-" + (f" {b[len(inner) :]}" if b.startswith(inner) else b) for b in blocks)
    if isinstance(data, str) and "\n" in data and _fits_literal(data):
        lines = data.removesuffix("\n").split("\n")
        body = "".join(f"\n{pad or '  '}{line}" if line else "\n" for line in lines)
        return f" |{'' if data.endswith(chr(10)) else '-'}{body}"
    return "" if data is None else f" {_scalar(data)}"


def _key(key: str, pad: str) -> str:
    word = key if key != "<<" and _PLAIN.fullmatch(key) and not _ODD.search(key) else _quoted(key)
    # YAML wants a long key marked, because it looks only so far ahead for the colon
    return word if len(word) <= _LONGEST_KEY else f"? {word}\n{pad}"


def _scalar(data: Any) -> str:
    if isinstance(data, str):
        plain = _PLAIN.fullmatch(data) and not _ODD.search(data) and isinstance(_plain(data), str)
        return data if plain else _quoted(data)
    if isinstance(data, Mapping):
        return "{}"
    if isinstance(data, list | tuple):
        return "[]"
    if isinstance(data, int) and not isinstance(data, bool) and abs(data) < 10**18:
        return str(int(data))
    if isinstance(data, float) and math.isfinite(data):
        shown = f"{Decimal(repr(float(data))):f}"
        return shown if _FLOAT.fullmatch(shown) else f"{Decimal(data):.17f}"
    raise ValueError(f"{data!r} cannot stand in a document")


def _quoted(text: str) -> str:
    return _ODD.sub(_escaped, json.dumps(text, ensure_ascii=False))


def _escaped(odd: re.Match[str]) -> str:
    # half a character, as a terminal hands on for a bad byte, cannot stand in a file
    return "\\ufffd" if "\ud800" <= odd[0] <= "\udfff" else f"\\u{ord(odd[0]):04x}"


def _fits_literal(text: str) -> bool:
    """Whether text of several lines keeps its form in a block that begins with `|`."""
    lines = text.removesuffix("\n").split("\n")
    firm = all(line.strip() or not line for line in lines) and lines[-1] and lines[0]
    return bool(firm) and not lines[0][0].isspace() and not _ODD.search(text)


def write(path: str | os.PathLike[str], data: Any) -> None:
    """Put `data` into the file `path` as YAML, whole or not at all; an old file keeps its permissions.

    Raises Problems, in words, when it cannot be written; the old file is then as it was.
    """
    file = os.fspath(path)
    text = dump(data).encode()
    if len(text) > MOST_BYTES:
        raise Problems([_too_large(file)])
    try:
        _replace(Path(os.path.realpath(file)), text)  # a link stays a link
    except (OSError, ValueError) as failure:
        raise Problems([Problem(file, 0, 0, _why_unwritable(failure))]) from None


def _replace(target: Path, text: bytes) -> None:
    if target.is_dir():
        raise IsADirectoryError(errno.EISDIR, "is a folder")
    if target.exists() and not os.access(target, os.W_OK):
        raise PermissionError(errno.EACCES, "write-protected")
    handle, draft = tempfile.mkstemp(prefix=".", suffix=".part", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(text)
            stream.flush()
            os.fchmod(stream.fileno(), _mode(target))
            os.fsync(stream.fileno())
        Path(draft).replace(target)
    except BaseException:  # Ctrl-C leaves no draft behind either
        with contextlib.suppress(OSError):
            Path(draft).unlink()
        raise
    with contextlib.suppress(OSError):  # some shared folders cannot be synchronised; the file itself is safe
        entry = os.open(target.parent, os.O_RDONLY)
        try:
            os.fsync(entry)
        finally:
            os.close(entry)


def _mode(target: Path) -> int:
    with contextlib.suppress(FileNotFoundError):
        return target.stat().st_mode & 0o7777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _why_unwritable(failure: OSError | ValueError) -> str:
    code = getattr(failure, "errno", None)
    if code in (errno.ENOSPC, errno.EDQUOT):
        why = "the disk is full; make room and save again"
    elif code in (errno.EROFS, errno.EACCES, errno.EPERM):
        why = "you may not write here; choose another folder, or change the permissions"
    elif code in (errno.ENOENT, errno.ENOTDIR):
        why = "there is no such folder; make it first, or choose another"
    elif code == errno.EISDIR:
        why = "this is a folder; name a file in it"
    else:
        why = getattr(failure, "strerror", None) or str(failure)
    return f"not saved: {why} (what stood there before is unchanged)"


# --- checking against a model ---------------------------------------------------------------------


def validate(document: Document, model: type[Model], base_path: Trail = ()) -> Model:
    """Return what stands at `base_path` as `model`, strictly; raises Problems, each in words at its place."""
    from pydantic import ValidationError

    data = document.data
    for step in base_path:
        data = data[step]
    try:
        # JSON is the strict mode in which a list may fill a tuple
        return model.model_validate_json(json.dumps(data), strict=True)
    except ValidationError as failure:
        errors = failure.errors(include_url=False)
        found = [_judged(document, model, data, tuple(base_path), error) for error in errors]
    raise Problems(sorted(dict.fromkeys(found), key=lambda problem: (problem.line, problem.column)))


def _judged(document: Document, model: type[Model], data: Any, base: Trail, error: ErrorDetails) -> Problem:
    path = _followed(data, error["loc"])
    kind, context, value = error["type"], error.get("ctx", {}), error["input"]
    name = str(error["loc"][-1]) if error["loc"] else ""
    if kind == "extra_forbidden":
        text = f'"{_short(name)}" is not known here{_hint(name, _known(model, error["loc"][:-1]))}'
        return document.problem((*base, *path, "@key"), text)
    if kind == "missing":
        return document.problem((*base, *path), f'{_called(path)} needs "{name}"; add it')
    at = (*base, *path)
    if name == "[key]":
        at, value, path = (*at, "@key"), error["loc"][-2], path[:-1]
    if value is None:
        return document.problem(at, f"{_called(path)} has no value; fill it in, or leave it out")
    if kind in ("literal_error", "enum"):
        allowed = re.findall(r"'([^']*)'", str(context["expected"]))
        return document.problem(at, f"{_called(path)} cannot be {_said(value)}{_hint(str(value), allowed)}")
    return document.problem(at, f"{_called(path)} {_wanted(kind, context, error['msg'])}, not {_said(value)}")


def _followed(data: Any, loc: Trail) -> Trail:
    """Return the steps of `loc` that the data has; a model adds names of its own where it has a choice."""
    path: Trail = ()
    for step in loc:
        if (isinstance(data, dict) and step in data) or (isinstance(data, list) and isinstance(step, int)):
            data, path = data[step], (*path, step)  # type: ignore[index]
    return path


def _known(model: Any, loc: Trail) -> list[str]:
    """Return the keys that the model at `loc` knows."""
    from typing import get_args

    from pydantic import BaseModel

    if isinstance(model, type) and issubclass(model, BaseModel):
        fields = {field.alias or name: field.annotation for name, field in model.model_fields.items()}
        if not loc:
            return list(fields)
        return _known(fields[str(loc[0])], loc[1:]) if str(loc[0]) in fields else []
    inner = [branch for branch in get_args(model) if branch is not type(None)]
    within = getattr(model, "__origin__", None) in (dict, list, tuple, Mapping) and loc
    return [key for branch in inner for key in _known(branch, loc[1:] if within else loc)]


def _hint(word: str, known: list[str]) -> str:
    close = nearest(word, known)
    meant = f'; did you mean "{close}"?' if close else ""
    listed = f"; allowed: {', '.join(known)}" if known and (len(known) <= 12 or not close) else ""
    return meant + listed.replace(";", "", 1 if meant else 0)


def _called(path: Trail) -> str:
    if not path:
        return "this"
    words = [f'"{_short(step)}"' for step in path if isinstance(step, str)]
    if isinstance(path[-1], int):
        return f"item {path[-1] + 1}" + (f" of {words[-1]}" if words else "")
    return words[-1]


def _said(value: Any) -> str:
    if isinstance(value, dict | list):
        return "a mapping" if isinstance(value, dict) else "a list"
    return f'"{_short(value)}"' if isinstance(value, str) else f"the number {value}"


def _wanted(kind: str, context: Mapping[str, Any], message: str) -> str:
    """Return what a value must be, from the kind of a finding of the model."""
    if kind in _WANTED:
        return _WANTED[kind].format_map({"min_length": 0, "max_length": 0, **context})
    return str(context.get("error") or message.replace("Input should", "must").replace("Value error, ", ""))


_WANTED = {
    "string_type": "must be text (put it in quotes if it looks like a number)",
    "int_type": "must be a whole number without quotes, unit or leading zero",
    "int_from_float": "must be a whole number",
    "float_type": "must be a plain number without quotes, unit or leading zero",
    "bool_type": "must be yes or no",
    "list_type": "must be a list",
    "tuple_type": "must be a list",
    "dict_type": "must be a mapping (name: value)",
    "model_type": "must be a mapping (name: value)",
    "greater_than": "must be more than {gt}",
    "greater_than_equal": "must be at least {ge}",
    "less_than": "must be less than {lt}",
    "less_than_equal": "must be at most {le}",
    "string_too_short": "must have at least {min_length} characters",
    "string_too_long": "must have at most {max_length} characters",
    "string_pattern_mismatch": "must follow the pattern {pattern}",
    "too_short": "must have at least {min_length} entries",
    "too_long": "must have at most {max_length} entries",
}

"""Strict YAML in: plain dicts, lists, text and numbers, each with its line; sizes limited while reading."""

from __future__ import annotations

import contextlib
import math
import os
import re
from pathlib import Path
from typing import Any

import yaml

from troubleshoot.documents.problems import Document, Problem, Problems, Trail, nearest, short

MOST_BYTES = 2_000_000
MOST_VALUES = 200_000
MOST_DEPTH = 40
MOST_PROBLEMS = 100

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)  # about eight times faster where it exists
WHOLE = re.compile(r"[-+]?(?:0|[1-9][0-9]{0,17})")
DECIMAL = re.compile(r"[-+]?(?:0|[1-9][0-9]*)\.[0-9]{1,17}")
_UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]")


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
        raise Problems([too_large(file)])
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


def too_large(file: str) -> Problem:
    """The problem of a file beyond the limit."""
    return Problem(file, 0, 0, f"this is larger than {MOST_BYTES // 1_000_000} MB; split it into several")


def parse(text: str, file: str) -> Document:
    """Return what `text` says; `file` is only its name in messages. Raises Problems.

    Stops at the first place that is not YAML at all; everything else is collected.
    """
    text = text.removeprefix("\ufeff")
    if len(text) > MOST_BYTES or len(text.encode("utf-8", "replace")) > MOST_BYTES:
        raise Problems([too_large(file)])
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
            return event.value if event.style else plain_value(event.value)
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
            self.refuse(event, f'the key "{short(key)}" has an anchor or a tag, which are refused; drop it')
        if not event.style and key in ("", "<<"):
            merge = '"<<" is a merge key, which is refused; write the entries out'
            self.refuse(event, merge if key else "a name is missing before the colon")
        if key in entries:
            first = self.marks[(*path, key, "@key")][0]
            self.refuse(event, f'"{short(key)}" was given already in line {first}; keep one of the two')
        else:
            mark: Any = event.start_mark
            self.marks[(*path, key, "@key")] = (mark.line + 1, mark.column + 1)
        return key


def plain_value(text: str) -> str | int | float | None:
    """What an unquoted scalar means: nothing, a plain decimal number, or the text as typed."""
    if not text:
        return None
    if text[0] in "+-0123456789":
        if WHOLE.fullmatch(text):
            return int(text)
        if DECIMAL.fullmatch(text) and math.isfinite(number := float(text)):
            return number
    return text


def _tag(event: Any) -> str:
    return short(str(event.tag).replace("tag:yaml.org,2002:", "!!"))


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

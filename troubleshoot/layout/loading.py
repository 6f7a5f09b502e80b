"""Record files to layouts and back to plain data.

Everything wrong with a file is told at once. The plain form is for a cache: it holds what was worked out
from the file, in JSON types only, so that a layout can be had again without checking. Whether a cached form
is still right is for the keeper of the cache to know.
"""

import contextlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from troubleshoot import keeping
from troubleshoot.documents import Document, Problem, Problems, parse, read_text, validate
from troubleshoot.layout.places import Part
from troubleshoot.layout.record import EMPTY, Layout

PLAIN_FORMAT = 2
"""Rises when the plain form changes, so that an older cache is never taken."""


def load(path: str | Path) -> Layout:
    """The layout of a record file. Raises Problems: all that is wrong, with file, line and likely repair.

    A record that has not changed since it was last checked is taken as it was kept.
    """
    text = read_text(path)
    mark = keeping.digest([f"layout {PLAIN_FORMAT} {path}".encode(), text.encode()])
    kept = keeping.take(mark)
    if kept is not None:
        with contextlib.suppress(ValueError):
            return from_plain(kept)
    layout = check(parse(text, str(path)))
    keeping.keep(mark, to_plain(layout))
    return layout


def check(document: Document) -> Layout:
    """The layout of a record that has been read. Raises Problems."""
    from troubleshoot.layout.building import Builder
    from troubleshoot.layout.checking import check_parts
    from troubleshoot.layout.shapes import RecordShape

    if not isinstance(document.data, dict):
        text = "is no layout record; it should begin with 'name:' and the layout's name"
        raise Problems([Problem(document.file, 0, 0, text)])
    problems: list[Problem] = []
    try:
        validate(document, RecordShape)
    except Problems as wrong_form:
        problems.extend(wrong_form.problems)
    spoken_for = {(p.line, p.column) for p in problems}
    built = Builder(document)
    notes = check_parts(built)
    problems.extend(p for p in built.problems if (p.line, p.column) not in spoken_for)
    if problems:
        raise Problems(sorted(set(problems), key=lambda p: (p.line, p.column, p.text)))
    says, scale = document.data.get("says"), document.data.get("scale")
    return Layout(built.name, str(says or ""), None if scale is None else str(scale), document.file, built.parts, notes)


def to_plain(layout: Layout) -> dict[str, Any]:
    """A layout as JSON-able data."""
    return {
        "format": PLAIN_FORMAT,
        "name": layout.name,
        "says": layout.says,
        "scale": layout.scale,
        "file": layout.file,
        "known": layout.known,
        "notes": list(layout.notes),
        "parts": [
            [
                p.kind,
                p.name,
                {k: list(v) for k, v in p.figures.items()},
                dict(p.words),
                {k: list(v) for k, v in p.lists.items()},
            ]
            for p in layout.parts.values()
        ],
    }


def from_plain(plain: Mapping[str, Any]) -> Layout:
    """The layout that `to_plain` was given. Raises ValueError on any other data: then read the file again."""
    try:
        if plain["format"] != PLAIN_FORMAT:
            raise ValueError(f"plain layout of format {plain['format']}, not {PLAIN_FORMAT}")
        if not plain["known"]:
            return EMPTY
        parts = {
            name: Part(
                kind,
                name,
                {k: (float(value), str(unit)) for k, (value, unit) in figures.items()},
                words,
                {k: tuple(v) for k, v in lists.items()},
            )
            for kind, name, figures, words, lists in plain["parts"]
        }
        scale = plain["scale"]
        return Layout(plain["name"], plain["says"], scale, plain["file"], parts, tuple(plain["notes"]))
    except (KeyError, TypeError, AttributeError) as error:
        raise ValueError(f"no plain layout: {error}") from error

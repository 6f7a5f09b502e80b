"""Readable YAML out, saved whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import json
import math
import os
import re
import tempfile
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

from troubleshoot.documents.problems import Problem, Problems
from troubleshoot.documents.reading import DECIMAL, MOST_BYTES, MOST_DEPTH, plain_value, too_large

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
        plain = _PLAIN.fullmatch(data) and not _ODD.search(data) and isinstance(plain_value(data), str)
        return data if plain else _quoted(data)
    if isinstance(data, Mapping):
        return "{}"
    if isinstance(data, list | tuple):
        return "[]"
    if isinstance(data, int) and not isinstance(data, bool) and abs(data) < 10**18:
        return str(int(data))
    if isinstance(data, float) and math.isfinite(data):
        shown = f"{Decimal(repr(float(data))):f}"
        return shown if DECIMAL.fullmatch(shown) else f"{Decimal(data):.17f}"
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
    text = dump(data)
    if len(text.encode()) > MOST_BYTES:
        raise Problems([too_large(os.fspath(path))])
    write_text(path, text)


def write_text(path: str | os.PathLike[str], said: str) -> None:
    """Put any text into the file `path` in the same way: a page, a drawing. Raises Problems, in words."""
    file, text = os.fspath(path), said.encode()
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

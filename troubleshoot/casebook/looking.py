"""Looking at the files of a shelf: which there are, which have changed, and what each holds or what is wrong with it.

Whatever a file looks like, reading it gives an entry or its problems, and never an upset. What is done with what was
read is left to `shelf`.
"""

import contextlib
import os
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from troubleshoot.casebook.entries import entry_of
from troubleshoot.casebook.files import digest_of, parsed
from troubleshoot.casebook.index import Ready, Row, Stamp, ready
from troubleshoot.documents import Problem, Problems, read_text

CHUNK = 500
LEFT_BEHIND = 86400.0
MANY = 3000
"""From so many files to read on, two processes read."""
File = tuple[str, Path, bytes]
"""A file to read: its name in the index, its path, and its hash as last read (empty where it is to be read anyhow)."""
Looked = tuple[list[Ready], list[Stamp], list[str]]


def _is_case(name: str) -> bool:
    return name.endswith(".yaml") and not name.startswith(".")


def _key(name: str) -> str:
    """A file's name without its ending, with what is no text in it written out."""
    if name.isascii():
        return name[: -len(".yaml")]
    return os.fsencode(name[: -len(".yaml")]).decode("utf-8", "backslashreplace")


def names_in(folder: Path) -> dict[str, str]:
    """The case files of a folder by name."""
    try:
        return {_key(n): n for n in os.listdir(folder) if _is_case(n)}  # noqa: PTH208  (three times quicker)
    except OSError:
        return {}


def looked_over(folder: Path) -> dict[str, tuple[str, int, int]]:
    """The case files of a folder by name, each with its time and size."""
    found: dict[str, tuple[str, int, int]] = {}
    with contextlib.suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.startswith(".") and entry.name.endswith(".part"):
                _swept(entry)
            elif _is_case(entry.name):
                with contextlib.suppress(OSError):
                    stat = entry.stat()
                    found[_key(entry.name)] = (entry.name, stat.st_mtime_ns, stat.st_size)
    return found


def _swept(entry: "os.DirEntry[str]") -> None:
    """Take away the draft of somebody who was killed while saving, once it is a day old."""
    with contextlib.suppress(OSError):
        if time.time() - entry.stat().st_mtime > LEFT_BEHIND:
            Path(entry.path).unlink()


def look(path: Path, name: str, mark: bytes = b"") -> Ready | Stamp | None:
    """One file as the index takes it; its name, time and size where its hash is still `mark`; None when it has gone.

    Whatever is wrong with a file becomes its problems.
    """
    seen = time.time_ns()
    try:
        stat = path.stat()
    except OSError:
        return None
    stamp = (name, stat.st_mtime_ns, stat.st_size, seen)
    try:
        text = read_text(path)
        now = bytes.fromhex(digest_of(text))[:16]
        if now == mark:
            return stamp
        entry, words = entry_of(parsed(path, text))
        return ready(Row(*stamp, now, entry, words))
    except Problems as found:
        problems = found.problems
    except (RecursionError, ValueError, TypeError, OSError) as error:
        problems = (Problem(str(path), 0, 0, f"cannot be read as a case ({error})"),)
    told = tuple(Problem(_shown(p.file), p.line, p.column, _shown(p.text)) for p in problems)
    return ready(Row(*stamp, b"", None, "", told))


def _shown(text: str) -> str:
    return text.encode("utf-8", "replace").decode()


def _read(files: Sequence[File]) -> Looked:
    """Files read: rows, those that are the same as before, and those that have gone."""
    rows, same, gone = list[Ready](), list[Stamp](), list[str]()
    for name, path, mark in files:
        found = look(path, name, mark)
        if found is None:
            gone.append(name)
        elif len(found) == 4:
            same.append(found)
        else:
            rows.append(found)
    return rows, same, gone


def read_in_turn(chunks: Sequence[Sequence[File]], count: int) -> Iterator[Looked]:
    """Chunks of files read one after the other, by two processes where there are many."""
    if count < MANY or (os.cpu_count() or 1) < 2:
        yield from map(_read, chunks)
        return
    from concurrent.futures import ProcessPoolExecutor

    with ProcessPoolExecutor(2) as pool:
        yield from pool.map(_read, chunks)

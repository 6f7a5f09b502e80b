"""Compiled forms kept by the hash of what they were made from, so that an unchanged start reads no YAML.

A kept form is named by its hash and carries it inside, with a hash of its own content: a stale or damaged one is
never used. A folder that cannot be written only costs time at the next start. What is kept is left to its makers.
"""

import contextlib
import hashlib
import json
import os
from collections.abc import Iterable
from pathlib import Path
from typing import Any

FORMAT = "3"
"""Changes whenever kept data change their meaning, so that older ones are left alone."""


def folder() -> Path:
    """Where compiled forms are kept (XDG cache; an empty or relative variable counts as unset)."""
    base = os.environ.get("XDG_CACHE_HOME", "")
    root = Path(base) if base.startswith("/") else Path.home() / ".cache"
    return root / "troubleshoot"


def digest(parts: Iterable[bytes]) -> str:
    """The hash of what a form is made from."""
    sha = hashlib.sha256(FORMAT.encode())
    for part in parts:
        sha.update(len(part).to_bytes(8, "big"))
        sha.update(part)
    return sha.hexdigest()


def _hash(body: bytes) -> str:
    return hashlib.blake2b(body, digest_size=16).hexdigest()


def take(mark: str, *further: Path) -> Any:
    """What was kept under a hash, from further folders first; None when there is nothing whole.

    The first line holds the mark and the hash of the second, which holds the data: one reading, one hash.
    """
    for where in (*further, folder()):
        try:
            head, _, body = (where / f"{mark}.json").read_bytes().partition(b"\n")
            if head.decode("ascii", "replace") == f"{mark} {_hash(body)}":
                return json.loads(body)
        except (OSError, ValueError):
            continue
    return None


def keep(mark: str, data: Any, where: Path | None = None) -> None:
    """Keep a JSON-able form under a hash; in silence if the folder cannot be written."""
    target = where or folder()
    part = target / f".{mark}.{os.getpid()}.part"
    body = json.dumps(data, separators=(",", ":")).encode()
    try:
        target.mkdir(parents=True, exist_ok=True)
        part.write_bytes(f"{mark} {_hash(body)}\n".encode() + body)
        part.replace(target / f"{mark}.json")
    except OSError:
        with contextlib.suppress(OSError):  # where there is no folder at all, there is no part of a file either
            part.unlink()

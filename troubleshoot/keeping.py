"""Compiled forms kept by the hash of what they were made from, so that an unchanged start reads no YAML.

A kept form is named by its hash and carries it inside, with a hash of its own content: a stale or damaged one is
never used. A folder that cannot be written only costs time at the next start. What is kept is left to its makers.
"""

import hashlib
import json
import os
from collections.abc import Iterable
from pathlib import Path
from typing import Any

FORMAT = "2"
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


def _whole(data: Any) -> str:
    body = json.dumps(data, sort_keys=True, separators=(",", ":"))
    return hashlib.blake2b(body.encode(), digest_size=16).hexdigest()


def take(mark: str, *further: Path) -> Any:
    """What was kept under a hash, from further folders first; None when there is nothing whole."""
    for where in (*further, folder()):
        try:
            kept = json.loads((where / f"{mark}.json").read_text(encoding="utf-8"))
        except (OSError, ValueError):
            continue
        if isinstance(kept, dict) and kept.get("digest") == mark and kept.get("whole") == _whole(kept.get("data")):
            return kept["data"]
    return None


def keep(mark: str, data: Any, where: Path | None = None) -> None:
    """Keep a JSON-able form under a hash; in silence if the folder cannot be written."""
    target = where or folder()
    part = target / f".{mark}.{os.getpid()}.part"
    kept = {"digest": mark, "whole": _whole(data), "data": data}
    try:
        target.mkdir(parents=True, exist_ok=True)
        part.write_text(json.dumps(kept, separators=(",", ":")), encoding="utf-8")
        part.replace(target / f"{mark}.json")
    except OSError:
        part.unlink(missing_ok=True)

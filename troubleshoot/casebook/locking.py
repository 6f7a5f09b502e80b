"""One writer at a time: a lock that also holds on shared folders, and that nobody's death leaves shut.

Two locks are taken. The system's own lock on the folder (flock) goes away with whoever held it, but network folders
do not always honour it. A small entry `.NAME.lock`, made so that only one can make it, holds there too: a link that
points to nothing and says who made it, whole from its first moment, or a file where folders keep no links. Whoever
was killed leaves it behind: on the same machine it is removed at once, because its process is gone; one of another
machine once it has stood unchanged for STALE seconds of waiting. What is done under the lock is left to `saving`.
"""

import contextlib
import os
import socket
import time
from collections.abc import Iterator
from pathlib import Path

STALE = 10.0
"""Seconds after which an unchanged lock of another machine is taken for left behind (a save takes well under one)."""
PAUSE = 0.02


class Busy(OSError):
    """Somebody else holds the lock and does not let go."""


@contextlib.contextmanager
def alone(path: Path) -> Iterator[None]:
    """Hold the lock of a file until the end of the block. Raises Busy when others keep it for too long."""
    handle = _folder_lock(path.parent)
    lock = path.with_name(f".{path.name}.lock")
    mark = f"{socket.gethostname()} {os.getpid()} {time.monotonic_ns()}"
    try:
        held = _take(lock, mark)
        try:
            yield
        finally:
            if held and _said(lock) == mark:
                with contextlib.suppress(OSError):
                    lock.unlink()
    finally:
        if handle is not None:
            os.close(handle)


def _folder_lock(folder: Path) -> int | None:
    """The system's lock on a folder; None where there is none."""
    with contextlib.suppress(OSError, ImportError):
        import fcntl

        handle = os.open(folder, os.O_RDONLY)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX)
        except OSError:
            os.close(handle)
            return None
        return handle
    return None


def _take(lock: Path, mark: str) -> bool:
    """Take the lock; False where none can be made (whoever may not write here is told so by the saving)."""
    began = since = time.monotonic()
    seen: str | None = None
    while True:
        try:
            _make(lock, mark)
        except FileExistsError:
            said, now = _said(lock), time.monotonic()
            if said != seen:
                seen, since = said, now
            if said is not None and (_dead(said) or now - since > STALE):
                _break(lock, said)
            elif now - began > 3 * STALE:
                raise Busy(f"{lock.name} is held by {said}") from None
            else:
                time.sleep(PAUSE)
        except OSError:
            return False
        else:
            return True


def _make(lock: Path, mark: str) -> None:
    """Make the lock, or raise FileExistsError; any other OSError where none can be made."""
    try:
        lock.symlink_to(mark)
    except FileExistsError:
        raise
    except OSError:
        with lock.open("x", encoding="utf-8") as stream:
            stream.write(mark)


def _said(lock: Path) -> str | None:
    """What a lock says; None when it has gone."""
    try:
        return str(lock.readlink())
    except OSError:
        pass
    try:
        return lock.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return None


def _dead(said: str) -> bool:
    """Whether a lock was made on this machine by a process that is gone."""
    host, _, rest = said.partition(" ")
    number = rest.partition(" ")[0]
    if host != socket.gethostname() or not number.isdigit():
        return False
    try:
        os.kill(int(number), 0)
    except ProcessLookupError:
        return True
    except (OSError, OverflowError):
        return False
    return False


def _break(lock: Path, said: str) -> None:
    """Take away a lock that was left behind; one that somebody has made anew meanwhile is put back."""
    aside = lock.with_name(f"{lock.name}.{os.getpid()}")
    try:
        lock.rename(aside)
    except OSError:
        return
    moved = _said(aside)
    if moved is not None and moved != said:
        with contextlib.suppress(OSError):
            _make(lock, moved)
    with contextlib.suppress(OSError):
        aside.unlink()

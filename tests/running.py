"""Running the tool for tests: inside this process, or as a process of its own, with real files either way."""

import contextlib
import io
import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from troubleshoot.cli import main
from troubleshoot.cli.session import resume
from troubleshoot.diagnosis import CheckStep

ROOT = Path(__file__).resolve().parents[1]
ORDINARY = """
import ctypes, os, sys
if os.geteuid() == 0:
    # An administrator may write everywhere; without these two capabilities permissions count for him too.
    class Head(ctypes.Structure):
        _fields_ = [("version", ctypes.c_uint32), ("pid", ctypes.c_int)]
    class Sets(ctypes.Structure):
        _fields_ = [("effective", ctypes.c_uint32), ("permitted", ctypes.c_uint32), ("inheritable", ctypes.c_uint32)]
    libc, head, sets = ctypes.CDLL(None, use_errno=True), Head(0x20080522, 0), (Sets * 2)()
    assert libc.capget(ctypes.byref(head), sets) == 0
    for name in ("effective", "permitted"):
        setattr(sets[0], name, getattr(sets[0], name) & ~0b110)
    assert libc.capset(ctypes.byref(head), sets) == 0
"""
"""Python that gives up an administrator's right to write into what is write-protected."""


@dataclass(frozen=True)
class Ran:
    """What came of a command."""

    code: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        """Standard output as JSON."""
        return json.loads(self.out)


def ran(*arguments: str, said: str = "") -> Ran:
    """Run a command in this process; `said` is typed into it."""
    out, err, before = io.StringIO(), io.StringIO(), sys.stdin
    sys.stdin = io.StringIO(said)
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            main(list(arguments))
    except SystemExit as ended:
        return Ran(ended.code if isinstance(ended.code, int) else 1, out.getvalue(), err.getvalue())
    finally:
        sys.stdin = before
    raise AssertionError("a command always leaves with an exit code")


def spawned(*arguments: str, said: str = "", before: str = "", env: dict[str, str] | None = None) -> Ran:
    """Run a command as a process of its own, after the Python in `before`."""
    code = f"{before}\nfrom troubleshoot.cli import main\nmain()\n"
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments],
        input=said.encode(),
        capture_output=True,
        check=False,
        cwd=ROOT,
        env={**os.environ, **(env or {})},
        timeout=120,
    )
    return Ran(done.returncode, done.stdout.decode(), done.stderr.decode())


def opened(shelf: Path, *more: str, symptom: str = "phantom-occupancy", about: str = "yard-2") -> str:
    """A fresh case on the club layout; its file."""
    done = ran("open", "--layout", "club", "--symptom", symptom, "--about", about, *more, "--json")
    assert done.code == 0, done.err
    assert Path(done.data["case"]).parent == shelf
    return str(done.data["case"])


def until_reading(path: str, unit: str) -> str:
    """Put questions of a case aside until a reading in `unit` is advised; its check."""
    session = resume(Path(path))
    for _ in range(60):
        step = session.diagnosis().step
        assert isinstance(step, CheckStep), step
        if step.check.unit == unit:
            return step.check.name
        session.add({"answer": step.check.name, "at": step.place.name, "aside": "not-sure"})
    raise AssertionError(f"no reading in {unit} is ever advised")

"""From the command to the first question, in fresh processes: with nothing changed, and after a pack was edited.

The command reads plain lines from a pipe; its clock stops when it waits for the first answer. After an edit nothing of
the whole core pack is kept compiled, which is the most that any edit can cost. Then every question is put aside until
the inquiry ends, and the peak memory is read from the process while it waits.
"""

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from tests.benchmarks.bench_answers import MEMORY, NEXT_QUESTION, ROOT, peak
from tests.benchmarks.lines import Line

UNCHANGED, EDITED = 0.6, 1.3
RUNS = 7
MOST_QUESTIONS = 60


@dataclass(frozen=True)
class Run:
    """One run: seconds to the first question by the clock and of the processor, peak MB, seconds to further ones."""

    first: float
    processor: float | None
    peak_first: float | None
    peak_last: float | None
    further: tuple[float, ...]


def _waits(process: "subprocess.Popen[bytes]") -> bool:
    """Read on until the command waits for an answer; False when it has ended."""
    assert process.stdout is not None
    tail = b""
    while not tail.endswith(b"\n> "):
        byte = process.stdout.read(1)
        if not byte:
            return False
        tail = (tail + byte)[-3:]
    return True


def processor(pid: int) -> float | None:
    """Seconds of processor time of a process, which other work on the machine hardly moves; None if not told."""
    try:
        told = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rsplit(")", 1)[1].split()
    except OSError:
        return None
    return (int(told[11]) + int(told[12])) / float(os.sysconf("SC_CLK_TCK"))


def start(cache: Path, whole: bool = False, shelf: Path | None = None, about: str = "yard-2") -> Run:
    """Run the command with a cache folder up to its first question, or on until every question is put aside.

    Cases are kept in `shelf`, which stays, or in a folder of their own.
    """
    cases = shelf or Path(tempfile.mkdtemp())
    command = [sys.executable, "-m", "troubleshoot", "start", "--plain", "--layout", "club", "--cases", str(cases)]
    command += ["--symptom", "phantom-occupancy", "--about", about]
    env = {**os.environ, "XDG_CACHE_HOME": str(cache)}
    pipe = subprocess.PIPE
    began = time.perf_counter()
    with subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=pipe, env=env, cwd=ROOT, bufsize=0) as process:
        if not _waits(process):
            raise RuntimeError(f"no question came: {process.stderr.read().decode() if process.stderr else ''}")
        first, memory, used = time.perf_counter() - began, peak(str(process.pid)), processor(process.pid)
        last, further = memory, list[float]()
        assert process.stdin is not None
        while whole and len(further) < MOST_QUESTIONS:
            began = time.perf_counter()
            process.stdin.write(b"u\n")
            if not _waits(process):
                break
            further.append(time.perf_counter() - began)
            last = peak(str(process.pid)) or last
        process.stdin.close()
        process.stdout.read() if process.stdout else b""
    if shelf is None:
        shutil.rmtree(cases)
    return Run(first, used, memory, last, tuple(further))


def measure() -> list[Line]:
    """Seconds to the first question (median and worst of some runs), and memory."""
    with tempfile.TemporaryDirectory() as kept:
        start(Path(kept))  # compiles the pack, and the modules where that was not done yet
        warm = [start(Path(kept)) for _ in range(RUNS)]
        whole = start(Path(kept), whole=True)
    edited = []
    for _ in range(RUNS):
        with tempfile.TemporaryDirectory() as empty:
            edited.append(start(Path(empty)))
    lines = []
    for what, runs, goal in (("nothing changed", warm, UNCHANGED), ("after an edit", edited, EDITED)):
        times = [r.first for r in runs]
        note = f"{len(runs)} fresh processes, club"
        lines.append(Line(f"first question, {what}, median", statistics.median(times), "s", goal, note))
        lines.append(Line(f"first question, {what}, worst", max(times), "s", goal, note))
        used = [r.processor for r in runs if r.processor is not None]
        if used:
            lines.append(Line(f"processor time to it, {what}, median", statistics.median(used), "s", None, note))
        memory = [r.peak_first for r in runs if r.peak_first is not None]
        if memory:
            lines.append(Line(f"peak memory at the first question, {what}", max(memory), "MB", MEMORY, note))
    note = f"{len(whole.further)} questions put aside in one inquiry: saved, diagnosed and drawn"
    for name, figure in (("median", statistics.median(whole.further)), ("worst", max(whole.further))):
        lines.append(Line(f"next question through the command, {name}", 1000.0 * figure, "ms", NEXT_QUESTION, note))
    if whole.peak_last is not None:
        lines.append(Line("peak memory, whole inquiry", whole.peak_last, "MB", MEMORY, note))
    return lines

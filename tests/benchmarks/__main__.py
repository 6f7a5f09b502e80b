"""Measure everything and print one table: python -m tests.benchmarks [--json] [--write FILE] [PART ...]."""

import argparse
import json
import os
import platform
import sys
from pathlib import Path

from tests.benchmarks import (
    bench_advice,
    bench_answers,
    bench_cases,
    bench_circuit,
    bench_drawing,
    bench_drift,
    bench_eventlog,
    bench_learning,
    bench_locating,
    bench_start,
    bench_survey,
    bench_year,
)
from tests.benchmarks.lines import Line, plain, table

PARTS = {
    "advice": bench_advice.measure,
    "start": bench_start.measure,
    "answers": bench_answers.measure,
    "drawing": bench_drawing.measure,
    "drift": bench_drift.measure,
    "eventlog": bench_eventlog.measure,
    "locating": bench_locating.measure,
    "survey": bench_survey.measure,
    "circuit": bench_circuit.measure,
    "cases": bench_cases.measure,
    "year": bench_year.measure,
    "learning": bench_learning.measure,
}


def main() -> int:
    """Measure the parts asked for; 1 when a goal is missed."""
    reader = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    reader.add_argument("parts", nargs="*", metavar="PART", help=f"only these of {', '.join(PARTS)}")
    reader.add_argument("--json", action="store_true", help="print JSON instead of a table")
    reader.add_argument("--write", type=Path, metavar="FILE", help="write the table to a Markdown file too")
    asked = reader.parse_args()
    if unknown := set(asked.parts) - set(PARTS):
        reader.error(f"no part {', '.join(sorted(unknown))}; there are {', '.join(PARTS)}")
    lines: list[Line] = []
    for name, measure in PARTS.items():
        if not asked.parts or name in asked.parts:
            print(f"measuring {name} ...", file=sys.stderr)
            lines += measure()
    drawn = table(lines)
    print(json.dumps(plain(lines), indent=2) if asked.json else drawn)
    if asked.write:
        asked.write.write_text(f"# Benchmarks\n\n{where()}\n\n{drawn}\n", encoding="utf-8")
    return int(any(line.met == "NO" for line in lines))


def where() -> str:
    """What the figures were measured on."""
    return (
        f"Measured with `python -m tests.benchmarks` on {platform.machine()}, {os.cpu_count()} cores, "
        f"{platform.python_implementation()} {platform.python_version()}, load {os.getloadavg()[0]:.1f}. "
        "Times by the clock move with the machine and its load."
    )


if __name__ == "__main__":
    sys.exit(main())

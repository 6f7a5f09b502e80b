"""From an answer to the next question: `diagnose` on the club layout for every symptom, in a process of its own.

For each symptom the place with the most suspects is complained about; the advice is followed, and each question gets
its likeliest outcome under the leading cause. The process prints its lines as JSON, so that its peak memory is that of
the tool and not of the benchmarks.
"""

import json
import statistics
import subprocess
import sys
import time
from pathlib import Path

from tests.benchmarks.lines import Line
from troubleshoot.belief import field_of
from troubleshoot.diagnosis import CheckStep, Diagnosis, diagnose
from troubleshoot.inquiry import Answer, Complaint, Inquiry
from troubleshoot.layout import Layout, Place, load
from troubleshoot.rulebook import Rulebook, rules_folder, short
from troubleshoot.rulebook import load as load_rules

ROOT = Path(__file__).resolve().parents[2]
NEXT_QUESTION, MEMORY = 100.0, 80.0
STEPS = 15


def widest(book: Rulebook, club: Layout, symptom: str) -> tuple[Place, int]:
    """The place with the most suspects for a symptom, and how many there are."""
    kind = book.symptoms[symptom].about
    places = club.places_of(kind) or (Place(kind, f"the {kind}"),)
    return max(
        ((p, len(field_of(book, club, symptom, p).suspects)) for p in places), key=lambda found: (found[1], found[0])
    )


def _likeliest(made: Diagnosis, book: Rulebook, step: CheckStep) -> str:
    """The likeliest outcome of a check under the leading cause."""
    finding = book.findings[step.check.finding]
    leader = made.leader.cause if made.leader else ""
    row = dict(step.separates).get(leader)
    return step.check.outcomes[row.index(max(row))] if row else finding.outcomes[finding.quiet]


def follow(book: Rulebook, club: Layout, symptom: str, place: Place) -> list[float]:
    """Milliseconds of each diagnosis of one inquiry; the first builds the symptom's rules."""
    inquiry, times = Inquiry((Complaint(symptom, place.name),)), []
    for _ in range(STEPS):
        began = time.perf_counter()
        made = diagnose(club, book, inquiry)
        times.append(1000.0 * (time.perf_counter() - began))
        if not isinstance(made.step, CheckStep):
            break
        outcome = _likeliest(made, book, made.step)
        inquiry = inquiry.and_then(Answer(made.step.check.name, made.step.place.name, outcome))
    return times


def peak(process: str = "self") -> float | None:
    """Peak memory of a process in MB; None where the system does not tell."""
    try:
        lines = Path(f"/proc/{process}/status").read_text(encoding="ascii").splitlines()
    except OSError:
        return None
    return next((int(line.split()[1]) / 1024.0 for line in lines if line.startswith("VmHWM")), None)


def run() -> list[dict[str, object]]:
    """Every symptom in this process: its place, suspects, times in ms; at last the peak memory in MB."""
    book, club = load_rules(), load(rules_folder() / "core" / "layouts" / "club.yaml")
    found: list[dict[str, object]] = []
    for symptom in sorted(book.symptoms):
        place, suspects = widest(book, club, symptom)
        times = follow(book, club, symptom, place)
        found.append({"symptom": short(symptom), "place": place.name, "suspects": suspects, "times": times})
    found.append({"peak": peak()})
    return found


def measure() -> list[Line]:
    """Worst and median times, by symptom and over all, measured in a fresh process."""
    command = [sys.executable, "-m", "tests.benchmarks.bench_answers"]
    told = subprocess.run(command, check=True, capture_output=True, text=True, cwd=ROOT).stdout
    *symptoms, last = json.loads(told)
    lines, every, first = [], [], []
    for one in symptoms:
        later = one["times"][1:] or one["times"]
        note = f"{one['suspects']} suspects at {one['place']}, {len(one['times'])} steps"
        lines.append(Line(f"next question, worst, {one['symptom']}", max(later), "ms", NEXT_QUESTION, note))
        every += later
        first.append(one["times"][0])
    note = f"{len(every)} steps of {len(symptoms)} symptoms"
    lines.append(Line("next question, median of all", statistics.median(every), "ms", NEXT_QUESTION, note))
    lines.append(Line("next question, worst of all", max(every), "ms", NEXT_QUESTION, note))
    lines.append(Line("first diagnosis of a symptom, worst", max(first), "ms", None, "builds the symptom's rules"))
    if last["peak"] is not None:
        what = "all symptoms worked through in one process"
        lines.append(Line("peak memory, every symptom", last["peak"], "MB", None, what))
    return lines


if __name__ == "__main__":
    print(json.dumps(run()))

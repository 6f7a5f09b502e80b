"""What the casebook brings into an inquiry: what it learned, what was here before, what is still open.

A big casebook is asked through its index and never read at the start; what the index does not hold yet is told on
standard error. Trouble with the casebook never keeps an inquiry from beginning.
"""

import re
import time
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from troubleshoot.documents import Problems
from troubleshoot.inquiry import Complaint
from troubleshoot.layout import Layout
from troubleshoot.rulebook import Rulebook, short
from troubleshoot.rulebook.tally import Tally
from troubleshoot.screen import Console

if TYPE_CHECKING:
    from troubleshoot.casebook.shelf import Shelf
    from troubleshoot.learning import Recall


def _glanced(folder: Path) -> "Shelf":
    """The shelf of a folder, with a quick look for new files."""
    from troubleshoot.casebook.shelf import Shelf

    shelf = Shelf(folder)
    left = shelf.glance()
    if left:
        click.echo(
            f"{'1 case' if left == 1 else f'{left} cases'} in {folder} {'has' if left == 1 else 'have'} not been read"
            " yet, and nothing is learned from there; "
            "to read them all: troubleshoot cases",
            err=True,
        )
    return shelf


def learned(
    folder: Path, rulebook: Rulebook, layout: Layout, symptoms: Iterable[str], but: str, on: str | None
) -> Tally:
    """What the closed cases of a folder teach about some symptoms; trouble with them is told, and teaches nothing."""
    if not folder.is_dir():
        return Tally()
    from troubleshoot.learning import learn

    try:
        with _glanced(folder) as shelf:
            return learn(shelf, rulebook, layout, symptoms, but, on or "")
    except Problems as found:
        _tell(found)
        return Tally()


def recalled(
    folder: Path, rulebook: Rulebook, layout: Layout, first: Mapping[str, Any], on: str | None
) -> "tuple[Recall | None, Tally]":
    """What was before, and what was learned, for a complaint that is being made."""
    symptom = str(first["symptom"])
    if not folder.is_dir():
        return None, Tally()
    from troubleshoot.learning import counted, recall, returns_of, taught

    about = first.get("about")
    complaint = Complaint(symptom, str(about) if about else None, tuple(first.get("sick") or ()))
    try:
        with _glanced(folder) as shelf:
            known = taught(shelf, rulebook, symptom)
            memory = recall(shelf, rulebook, layout, complaint, on or "", time.time(), known)
            return memory, counted([known], rulebook, layout, on or "", returns_of(shelf))
    except Problems as found:
        _tell(found)
        return None, Tally()


def _tell(found: Problems) -> None:
    for problem in found.problems:
        click.echo(f"{problem} (nothing is learned from earlier cases)", err=True)


def open_files(folder: Path, first: Mapping[str, Any]) -> Sequence[Path]:
    """Files of cases that may be open still about the same place, or about the same symptom; the newest first."""
    from troubleshoot.casebook.where import is_big

    about = str(first.get("about") or "")
    if is_big(folder):
        from troubleshoot.casebook.shelf import Shelf, Wanted

        with Shelf(folder) as shelf:
            shelf.glance()
            wanted = Wanted(place=about, symptom="" if about else str(first["symptom"]), open=True, most=20)
            return [shelf.path(entry.name) for entry in shelf.search(wanted)[0]]
    called = re.sub(r"[^a-z0-9]+", "-", (about or short(str(first["symptom"]))).lower()).strip("-")
    return sorted(folder.glob(f"*{called}*.yaml"), reverse=True)


def recall_data(memory: "Recall | None") -> dict[str, Any] | None:
    """What was here before, for scripts."""
    if not memory:
        return None
    return {
        "here": [{"case": a.entry.name, "alike": list(a.reasons)} for a in memory.here],
        "elsewhere": [{"case": a.entry.name, "alike": list(a.reasons)} for a in memory.near],
        "cures": [
            {
                "remedy": c.remedy,
                "at": c.spot or None,
                "times": c.times,
                "came_back": c.came_back,
                "cases": list(c.cases),
            }
            for c in memory.cures
        ],
        "season": None if memory.season is None else dict(zip(("name", "inside", "of"), memory.season, strict=True)),
        "did_not_hold": [{"case": case, "days": round(days, 1)} for case, days in memory.not_held],
    }


def show_recall(memory: "Recall | None", rulebook: Rulebook, out: Console) -> None:
    """Say what was here before, right after the complaint; nothing where there is nothing."""
    if memory:
        from troubleshoot.screen.shelf import recall_screen

        out.print(recall_screen(memory, rulebook))

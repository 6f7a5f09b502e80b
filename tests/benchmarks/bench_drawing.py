"""How long pictures and papers take: the tree of a layout far beyond any club, the club's page, a hand-over."""

import time
from collections.abc import Callable
from pathlib import Path

from tests.benchmarks.lines import Line
from tests.test_sketch_tree import big
from troubleshoot.cli.session import open_layout, resume
from troubleshoot.report.handover import handover
from troubleshoot.report.page import page
from troubleshoot.report.story import story_of
from troubleshoot.sketch import Mark, fold, picture_of
from troubleshoot.sketch.sheet import sheet

ROOT = Path(__file__).resolve().parents[2]
BLOCKS = 10_000


def measure() -> list[Line]:
    """Seconds for each, by the clock."""
    huge, club = big(BLOCKS), open_layout("club")
    marks = [Mark(f"b-{n}", "weak-spot", f"weak in its way number {n}", 0.5) for n in range(0, BLOCKS, 25)]
    session = resume(ROOT / "cases" / "2026-09-12-yard-2.yaml")

    def paper() -> object:
        return page(handover(story_of(session.case, session.layout, session.rulebook, session.tally)))

    what = f"{BLOCKS} blocks, {len(marks)} marks"
    return [
        Line("layout tree, folded to a screen", seconds(lambda: fold(picture_of(huge, marks), 200)), "s", 3.0, what),
        Line("layout tree on an A4 page", seconds(lambda: sheet(picture_of(huge, marks), "huge")), "s", 5.0, what),
        Line(
            "layout tree on an A4 page", seconds(lambda: sheet(picture_of(club), "club")), "s", 0.5, "the club layout"
        ),
        Line("hand-over of a case as a page", seconds(paper), "s", 1.0, "a sample case, its diagnosis included"),
    ]


def seconds(work: Callable[[], object]) -> float:
    """The quicker one of two runs."""
    took = []
    for _ in range(2):
        begin = time.perf_counter()
        work()
        took.append(time.perf_counter() - begin)
    return min(took)

"""Draws the pictures of this folder from the sample cases: real screens, made by the tool's own drawing code.

Run from anywhere: python cases/pictures/make.py. Needs the tool to be installed.
"""

from dataclasses import replace
from pathlib import Path

from troubleshoot import casebook, screen, sketch
from troubleshoot.cli.session import Session, open_layout, resume
from troubleshoot.diagnosis import CheckStep, Diagnosis, diagnose
from troubleshoot.inquiry import Answer, Inquiry, Mend
from troubleshoot.report.handover import handover
from troubleshoot.report.jobs import job_of, states_of, work_list
from troubleshoot.report.markdown import markdown
from troubleshoot.report.marks import marks_of
from troubleshoot.report.page import page
from troubleshoot.report.story import story_of
from troubleshoot.screen.picture import picture
from troubleshoot.screen.surveying import survey_lines
from troubleshoot.screen.tree import tree_lines
from troubleshoot.screen.worklist import work_list_screen
from troubleshoot.sketch.sheet import sheet
from troubleshoot.sketch.weak import weak_marks
from troubleshoot.survey import surveyed

HERE = Path(__file__).resolve().parent


def upto(made: Inquiry, answers: int) -> Inquiry:
    """The inquiry as it stood after so many answers."""
    left, kept = answers, []
    for record in made.records:
        if isinstance(record, Answer):
            if left == 0:
                break
            left -= 1
        kept.append(record)
    return Inquiry(tuple(kept))


def draw(name: str, session: Session, made: Diagnosis, seen: frozenset[str]) -> None:
    """One screen of a case into one file, with what the circuit says where the dialogue would show it."""
    rulebook, title = session.rulebook, f"Case {session.case.name}"
    step = screen.step_screen(rulebook, made, seen, session.by_circuit(made))
    parts = [screen.overview(rulebook, made, title), step]
    (HERE / f"{name}.svg").write_text(picture(*parts), encoding="utf-8")


def put(name: str, text: str) -> None:
    """One file of this folder."""
    (HERE / name).write_text(text, encoding="utf-8")


def layout_pictures() -> None:
    """The demo railway from its boosters to its blocks, with its weak spots, and the survey that finds them."""
    club = open_layout("club")
    put("layout-sheet.svg", sheet(sketch.picture_of(club, weak_marks(club)), club.name))
    put("layout-survey.svg", picture(survey_lines(club.name, surveyed(club), 92)))


def papers(sessions: list[Session]) -> None:
    """The tree of a case, its hand-over, and an evening's work list of the sample cases as they stood unmended."""
    first = sessions[0]
    marks = marks_of(first.rulebook, first.diagnosis())
    tree = sketch.fold(sketch.picture_of(first.layout, marks), 30)
    put(f"{first.case.name}-tree.svg", picture(tree_lines(tree, f"{first.layout.name}, case {first.case.name}", False)))
    paper = handover(story_of(first.case, first.layout, first.rulebook, first.tally))
    put(f"{first.case.name}-hand-over.html", page(paper))
    put(f"{first.case.name}-hand-over.md", markdown(paper))
    jobs = []
    for session in sessions:
        told = story_of(session.case, session.layout, session.rulebook, session.tally)
        mended = next(n for n, e in enumerate(told.events) if isinstance(e.record, Mend))
        jobs.append(job_of(replace(told, events=told.events[:mended], closed=False)))
    put("work-list.svg", picture(work_list_screen(work_list(jobs, states_of(first.rulebook), 120.0))))


def main() -> None:
    """All pictures."""
    paths = sorted(HERE.parent.glob("*.yaml"))
    layout_pictures()
    papers([resume(path) for path in paths])
    for path in paths:
        session = resume(path)
        asked = casebook.inquiry(session.case, session.rulebook)
        total = sum(isinstance(r, Answer) for r in asked.records)
        # What was spelt out on an earlier screen is only named on a later one, as in the dialogue.
        seen: frozenset[str] = frozenset()
        shots = {total - 1: "reading", total: "remedy"}
        for count in range(1, total + 1):
            made = diagnose(session.layout, session.rulebook, upto(asked, count), session.tally)
            if count in shots:
                draw(f"{path.stem}-{shots[count]}", session, made, seen)
            if isinstance(made.step, CheckStep):
                seen |= frozenset(made.step.prepared.cautions)
        made = diagnose(session.layout, session.rulebook, upto(asked, total), session.tally)
        ranking = picture(screen.full_ranking(made, 4))
        (HERE / f"{path.stem}-ranking.svg").write_text(ranking, encoding="utf-8")


if __name__ == "__main__":
    main()

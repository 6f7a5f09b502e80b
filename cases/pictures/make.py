"""Draws the pictures of this folder from the sample cases: real screens, made by the tool's own drawing code.

Run from anywhere: python cases/pictures/make.py. Needs the tool to be installed.
"""

from pathlib import Path

from troubleshoot import casebook, screen
from troubleshoot.cli.session import resume
from troubleshoot.diagnosis import CheckStep, Diagnosis, diagnose
from troubleshoot.inquiry import Answer, Inquiry
from troubleshoot.rulebook import Rulebook
from troubleshoot.screen.picture import picture

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


def draw(name: str, rulebook: Rulebook, made: Diagnosis, title: str, seen: frozenset[str]) -> None:
    """One screen into one file."""
    parts = [screen.overview(rulebook, made, title), screen.step_screen(rulebook, made, seen)]
    (HERE / f"{name}.svg").write_text(picture(*parts), encoding="utf-8")


def main() -> None:
    """All pictures."""
    for path in sorted(HERE.parent.glob("*.yaml")):
        session = resume(path)
        asked = casebook.inquiry(session.case, session.rulebook)
        total = sum(isinstance(r, Answer) for r in asked.records)
        # What was spelt out on an earlier screen is only named on a later one, as in the dialogue.
        seen: frozenset[str] = frozenset()
        shots = {total - 1: "reading", total: "remedy"}
        for count in range(1, total + 1):
            made = diagnose(session.layout, session.rulebook, upto(asked, count), session.tally)
            if count in shots:
                draw(f"{path.stem}-{shots[count]}", session.rulebook, made, f"Case {session.case.name}", seen)
            if isinstance(made.step, CheckStep):
                seen |= frozenset(made.step.prepared.cautions)
        made = diagnose(session.layout, session.rulebook, upto(asked, total), session.tally)
        ranking = picture(screen.full_ranking(made, 4))
        (HERE / f"{path.stem}-ranking.svg").write_text(ranking, encoding="utf-8")


if __name__ == "__main__":
    main()

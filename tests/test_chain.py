"""A cause that goes on in another family takes the inquiry there, and nothing is asked twice."""

import io
from pathlib import Path

from troubleshoot.cli.loop import Loop
from troubleshoot.cli.session import open_layout, open_rules, start
from troubleshoot.dialogue import PlainAsker
from troubleshoot.inquiry import Answer
from troubleshoot.screen import console


def test_the_inquiry_follows_a_chain_with_its_facts(tmp_path: Path) -> None:
    """A signal held by a turnout that is not proved leads to the turnout; the answers given stay facts there."""
    complaint = {"symptom": "core/signal-stays-at-danger", "about": "sig-1"}
    session = start("club", [], tmp_path, complaint, open_rules(), open_layout("club"))
    cause = session.rulebook.causes["core/turnout-not-proved"]
    telling = {f: next(iter(words)) for f, words in cause.shows.items() if "always" in words.values()}
    for check in sorted(session.rulebook.checks.values(), key=lambda c: c.name):
        if check.finding in telling and not check.unit:
            best = next(o for o, w in cause.shows[check.finding].items() if w == "always")
            session.add({"answer": check.name, "outcome": best, "how": "seen"})
    made = session.diagnosis()

    assert made.chain is not None
    assert made.chain[:2] == ("core/turnout-not-proved", "core/turnout-reports-nothing")

    before = [r for r in session.inquiry.records if isinstance(r, Answer)]
    said = io.StringIO("o\n1\n")
    Loop(session, PlainAsker(said, io.StringIO()), console(io.StringIO(), 80)).run()
    after = session.diagnosis()

    assert after.symptom == "core/turnout-reports-nothing"
    assert after.subject.kind == "turnout"
    assert [r for r in session.inquiry.records if isinstance(r, Answer)] == before

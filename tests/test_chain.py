"""A cause that goes on in another family takes the inquiry there, and nothing is asked twice."""

import io
import json
from pathlib import Path

from tests.running import ran
from troubleshoot import casebook
from troubleshoot.cli.loop import Loop
from troubleshoot.cli.session import Session, open_layout, open_rules, start
from troubleshoot.dialogue import PlainAsker
from troubleshoot.inquiry import Answer
from troubleshoot.screen import console


def held_by_a_turnout(folder: Path) -> Session:
    """An inquiry about a signal at danger whose answers speak for a turnout that is not proved."""
    complaint = {"symptom": "core/signal-stays-at-danger", "about": "sig-1"}
    session = start("club", [], folder, complaint, open_rules(), open_layout("club"))
    cause = session.rulebook.causes["core/turnout-not-proved"]
    telling = {f: next(iter(words)) for f, words in cause.shows.items() if "always" in words.values()}
    for check in sorted(session.rulebook.checks.values(), key=lambda c: c.name):
        if check.finding in telling and not check.unit:
            best = next(o for o, w in cause.shows[check.finding].items() if w == "always")
            session.add({"answer": check.name, "outcome": best, "how": "seen"})
    return session


def test_the_inquiry_follows_a_chain_with_its_facts(tmp_path: Path) -> None:
    """A signal held by a turnout that is not proved leads to the turnout; the answers given stay facts there."""
    session = held_by_a_turnout(tmp_path)
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


def test_a_chain_is_followed_by_a_command_too(shelf: Path) -> None:
    """Without a conversation the case goes on elsewhere the same way, and its answers are all kept."""
    session = held_by_a_turnout(shelf)
    path = str(session.case.path)
    before = [e for e in session.case.events if "answer" in e]

    told = ran("next", path)
    followed = ran("follow", path, "--json")
    after = json.loads(followed.out)
    again = ran("follow", path)

    assert f"troubleshoot follow {Path(path).stem}" in told.out
    assert followed.code == 0
    assert after["symptom"] == "core/turnout-reports-nothing"
    assert [e for e in casebook.read(Path(path)).events if "answer" in e] == before
    assert again.code == 1
    assert "no chain to follow" in again.err

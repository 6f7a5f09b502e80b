"""The demo cases: each is replayed by the rules of today, and still comes to the cause that it was."""

from pathlib import Path

import pytest

from tests.running import ROOT
from troubleshoot import casebook
from troubleshoot.cli.session import resume
from troubleshoot.diagnosis import diagnose
from troubleshoot.inquiry import Inquiry, Mend, ProofSeen
from troubleshoot.rulebook import short

OUTCOMES = {
    "2026-09-12-yard-2": "leak-through-ballast",
    "2026-10-17-station-4": "filter-on-track-side",
    "2026-11-07-t-314": "field-wire-broken",
}


def demo(name: str) -> Path:
    """The file of a demo case."""
    return ROOT / "cases" / f"{name}.yaml"


def test_every_demo_case_has_its_known_outcome() -> None:
    """No demo case is bundled that no test replays."""
    cases, problems = casebook.cases_in(ROOT / "cases")

    assert problems == []
    assert {c.name for c in cases} == set(OUTCOMES)


@pytest.mark.parametrize("name", OUTCOMES)
def test_a_demo_case_is_closed_and_proven(name: str) -> None:
    """Each ends with a remedy, its passed proof, nothing undone, and the closing."""
    session = resume(demo(name))

    made = session.diagnosis()

    assert session.case.closed
    assert made.state == "proven"
    assert made.in_force == ()
    assert [short(c) for c in session.case.events[-1]["causes"]] == [OUTCOMES[name]]
    assert session.case.head["case"] == name


@pytest.mark.parametrize("name", OUTCOMES)
def test_before_the_mend_the_true_cause_leads(name: str) -> None:
    """Replayed up to the remedy, the true cause stands first, more likely than all others together."""
    session = resume(demo(name))
    before = tuple(r for r in session.inquiry.records if not isinstance(r, Mend | ProofSeen))

    ranking = diagnose(session.layout, session.rulebook, Inquiry(before), session.tally).ranking

    assert short(ranking[0].cause) == OUTCOMES[name]
    assert ranking[0].chance > 0.5


def test_an_open_ohmmeter_does_not_blame_the_detector() -> None:
    """With a filter on the track side the ohmmeter reads open; the detector's own channel stays far behind."""
    session = resume(demo("2026-10-17-station-4"))

    assert [e["reading"] for e in session.case.events if "reading" in e] == ["OL"]
    shown = [e["shown"]["first"] for e in session.case.events if "shown" in e]
    assert "core/detector-channel-faulty" not in shown


def test_damp_ballast_reads_below_the_limit_of_this_layout() -> None:
    """2.9 kohm on a detector of 3 mA at 15 V is below 5.0 kohm; the remark about forgotten axles is made."""
    made = resume(demo("2026-09-12-yard-2")).diagnosis()

    assert any("axles read in the same range" in r.text for r in made.remarks)
    (ohms,) = [o for o in made.observed if o.check == "core/block-leak-ohms"]
    assert (ohms.said, ohms.outcome) == ("2.9k", "below-limit")

"""The core rules as an owner reads them: proofs that prove, questions that name a thing once and fit their symptom."""

import re
from functools import cache

import pytest

from tests.conftest import LAYOUTS
from troubleshoot.layout import Layout, Place, load
from troubleshoot.rulebook import Remedy, Rulebook
from troubleshoot.rulebook import load as load_rules
from troubleshoot.rulebook.rows import row

EXPLAINS = {
    "core/explain-the-two-lists",
    "core/hold-the-reading-with-a-resistor",
    "core/keep-the-boundary-clear",
    "core/leave-the-boosters-apart",
    "core/leave-the-reverser-as-it-is",
    "core/zero-before-restart",
}
"""Remedies after which nothing is different but what people know: their proof shows what was so all along."""


@cache
def core() -> Rulebook:
    """The core rules, read once."""
    return load_rules([])


@cache
def club() -> Layout:
    """The club layout, read once."""
    return load(LAYOUTS / "club.yaml")


def passes_unmended(remedy: Remedy) -> list[float]:
    """How likely the proof shows what it must although each cause still stands, under each of its symptoms."""
    finding = core().findings[core().checks[remedy.proof.check].finding]
    column = finding.outcomes.index(remedy.proof.outcome)
    return [
        row(core(), finding.name, core().causes[name], symptom)[column]
        for name in remedy.mends
        for symptom in core().causes[name].weights
        if finding.name in core().spoken_of(symptom)
    ]


@pytest.mark.parametrize("name", sorted(set(core().remedies) - EXPLAINS))
def test_a_proof_does_not_pass_while_the_fault_stands(name: str) -> None:
    """Where the rules say what the check of a proof shows under a cause, it shows something else than health."""
    assert min(passes_unmended(core().remedies[name]), default=0.0) < 0.9


def test_the_list_of_explaining_remedies_holds_no_other() -> None:
    """Whoever mends something is not on the list."""
    assert all(min(passes_unmended(core().remedies[name])) >= 0.9 for name in EXPLAINS)


def test_what_no_cause_speaks_of_is_a_proof() -> None:
    """A check that tells no causes apart is there because a remedy is proven by it."""
    spoken = {f for s in core().symptoms for f in core().spoken_of(s)}
    asked = {c for s in core().symptoms.values() for c in s.ask_first}
    proofs = {r.proof.check for r in core().remedies.values()}
    silent = {c.name for c in core().checks.values() if c.finding not in spoken} - asked

    assert silent
    assert silent <= proofs


@pytest.mark.parametrize("name", sorted(core().checks))
def test_a_question_names_a_thing_once(name: str) -> None:
    """With the name of a place in it, no question speaks of the motor of a motor or the settings of settings."""
    check = core().checks[name]
    kinds = {s.about for s in core().symptoms.values() if check.finding in core().spoken_of(s.name)}
    for about in sorted(kinds & {"block", "turnout", "signal", "district"}):
        places = club().related(check.relation, club().places_of(about)[0])
        for place in (*places[:1], Place(places[0].kind, f"the {places[0].kind}")):
            text = check.asks.replace("{place}", place.name).lower()
            noun = place.name.split()[-1].lower()
            assert not re.search(rf"\b{noun}( setting)? (of|at|in) (the )?[\w/-]*\s?{noun}\b", text), text


def test_a_stall_is_not_asked_about_as_a_trip() -> None:
    """Where a loco only stalls, nothing is asked about trips that nobody complained of."""
    asked = [c.asks for f in core().spoken_of("core/stalls-on-the-frog") for c in core().checks_for(f)]

    assert asked
    assert not [text for text in asked if re.search(r"\btrip", text)]


def test_a_programming_track_is_not_asked_about_lost_settings() -> None:
    """Where a track does not program, nothing is asked about settings that nobody has lost."""
    asked = [c.asks for f in core().spoken_of("core/programming-track-fails") for c in core().checks_for(f)]

    assert asked
    assert not [text for text in asked if re.search(r"settings (go|lost|read now)|lost their settings", text)]


def test_no_cause_is_known_by_a_sign_that_ends_the_inquiry() -> None:
    """A sign that calls for a stop belongs to no cause but seldom, or its cases could hardly be brought to an end."""
    stops = {
        (name, value)
        for d in core().deductions.values()
        if "stop" in d.then
        for name, values in d.when.items()
        for value in values
    }
    told = [
        (cause.name, finding, outcome)
        for cause in core().causes.values()
        for words in (cause.shows, *cause.under.values())
        for finding, stated in words.items()
        for outcome, word in stated.items()
        if (finding, outcome) in stops and word != "seldom"
    ]

    assert stops
    assert told == []


def test_a_plug_is_pushed_home_before_it_is_pulled() -> None:
    """Where the bus is dead beyond a point, plugs are pressed home first: pulling one hides that it was half out."""
    first = core().symptoms["core/bus-dead-beyond-a-point"].ask_first

    assert "core/plugs-pushed-home" in first
    assert "core/bus-cable-unplugged" not in core().checks["core/plugs-pushed-home"].set_up


def test_a_field_wire_that_is_off_at_both_ends_stops_nobody() -> None:
    """A wire that is joined to nothing is measured while trains run on."""
    check = core().checks["core/field-wire-ohms"]
    states = [core().set_ups[s] for s in check.set_up]

    assert {s.power for s in states} == {"off"}
    assert {check.keeps_waiting, *(s.stops for s in states)} == {"nothing"}


@pytest.mark.parametrize(
    "name", sorted(n for n, c in core().checks.items() if re.search(r"change.{0,60}\bover\b", c.asks))
)
def test_what_is_changed_over_for_a_trial_stands_among_what_is_to_undo(name: str) -> None:
    """Whoever changes wires or plugs over enters a state, which is listed until it is put back."""
    states = [core().set_ups[s] for s in core().checks[name].set_up]

    assert any("back" in s.undo for s in states)
    assert "back" not in core().checks[name].how


def test_at_a_plug_that_may_be_bad_both_halves_are_pushed_home() -> None:
    """Each family has its push: bus, baseboard plug, control cable, computer's cable; none of them unplugs."""
    pushes = {n for n, c in core().checks.items() if re.search(r"^Push (home both|both halves)", c.asks)}

    assert {core().checks[n].relation for n in pushes} == {"control-bus", "plug-of", "booster-of", "interface"}
    for name in pushes:
        assert core().checks[name].set_up == ()
        assert any(core().checks[name].finding in c.shows for c in core().causes.values())


def signal_remedies() -> list[str]:
    """The remedies that mend nothing but what symptoms of signals complain of."""
    families = {n: s.family for n, s in core().symptoms.items()}
    return [
        r.name
        for r in core().remedies.values()
        if {families[s] for c in r.mends for s in core().causes[c].weights} == {"signals"}
    ]


@pytest.mark.parametrize("name", signal_remedies())
def test_a_mend_of_a_signal_is_proven_at_the_signal(name: str) -> None:
    """Its proof looks at what the head shows, not at the work that was done on it."""
    check = core().checks[core().remedies[name].proof.check]

    assert re.search(r"\b(signals?|heads?|aspects?|clear)\b", f"{check.asks} {' '.join(check.labels.values())}")


@pytest.mark.parametrize("name", sorted(core().cautions))
def test_a_caution_is_a_title_and_two_sentences(name: str) -> None:
    """Screens show cautions often, so each is eight words and two sentences at most."""
    caution = core().cautions[name]

    assert len(caution.hazard.split()) <= 8
    assert len(re.findall(r"\.(?= |$)", caution.do)) <= 2

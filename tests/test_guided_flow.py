"""The way through an inquiry: words that name a place, an open case, cautions read before, set-ups at their place."""

import io
import re
from functools import cache
from pathlib import Path

import pytest

from tests.conftest import LAYOUTS
from tests.running import opened, ran
from troubleshoot import casebook, screen
from troubleshoot.cli.asking import check_prompt
from troubleshoot.cli.naming import places_in
from troubleshoot.diagnosis import CheckStep, Diagnosis, RemedyStep, diagnose
from troubleshoot.inquiry import AtHand, Complaint, Inquiry, PutAside, Record, SetUpChange
from troubleshoot.layout import Layout, Place, load
from troubleshoot.rulebook import Rulebook
from troubleshoot.rulebook import load as load_rules
from troubleshoot.screen import call_out

BLOCKS = ["yard-1", "yard-2", "yard-21", "loop-3"]
TURNOUTS = ["t-301", "t-302", "t-325"]
OFF, ON, EMPTY, LIFTED, LAMP = (
    f"core/{n}" for n in ("power-off", "power-on", "stock-off", "feed-lifted-at-detector", "lamp-in-series")
)


@cache
def core() -> Rulebook:
    """The core rules, read once."""
    return load_rules([])


def drawn(*parts: object, columns: int = 100) -> str:
    """What is drawn, as text."""
    out = io.StringIO()
    for part in parts:
        screen.console(out, columns).print(part)
    return out.getvalue()


# -- the place in the words ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "kind", "known", "found"),
    [
        ("yard 2 shows occupied", "block", BLOCKS, ["yard-2"]),
        ("Yard-2 shows occupied", "block", BLOCKS, ["yard-2"]),
        ("yard21 is dead", "block", BLOCKS, ["yard-21"]),
        ("something is wrong", "block", BLOCKS, []),
        ("yard 3 shows occupied", "block", BLOCKS, []),
        ("yard 1 and yard 2 show occupied", "block", BLOCKS, ["yard-1", "yard-2"]),
        ("turnout 302 does not throw", "turnout", TURNOUTS, ["t-302"]),
        ("points no. 325 stick", "turnout", TURNOUTS, ["t-325"]),
        ("throttle 302 does nothing", "turnout", TURNOUTS, []),
    ],
)
def test_a_place_is_found_in_the_words(words: str, kind: str, known: list[str], found: list[str]) -> None:
    """A name counts with a space, a hyphen or neither between its parts; a number only after the word for its kind."""
    assert places_in(words, kind, known) == found


def test_a_place_named_in_the_words_is_not_asked_again(shelf: Path) -> None:
    """Words that name one block lead straight to the first question about it."""
    done = ran("start", "--layout", "club", said="ghost train in yard 2\n1\n1\n")

    (path,) = shelf.glob("*.yaml")
    assert "yard-2, as you said" in done.out
    assert "Which block?" not in done.out
    assert casebook.read(path).events[0]["about"] == "yard-2"
    assert [e.get("outcome") for e in casebook.read(path).events[1:]] == ["none"]


# -- a case that is still open ---------------------------------------------------------------------------------


def test_an_open_case_about_the_same_place_is_offered(shelf: Path) -> None:
    """Beginning again where a case is open offers to go on with it; a new one is begun only on demand."""
    path = opened(shelf)
    start = ("start", "--layout", "club", "--symptom", "phantom-occupancy", "--about", "yard-2")

    on = ran(*start, said="1\n1\n")
    new = ran(*start, said="2\n")
    elsewhere = ran(*start[:-1], "yard-3", said="1\n")

    assert f"The case {Path(path).stem} is still open here" in on.out
    assert [e.get("outcome") for e in casebook.read(Path(path)).events if "answer" in e] == ["none"]
    assert "is still open here" in new.out
    assert "is still open here" not in elsewhere.out
    assert len(list(shelf.glob("*.yaml"))) == 3


def test_a_closed_case_is_not_offered_again(shelf: Path) -> None:
    """What is closed and proven is over; the same place begins a new case without a question."""
    path = opened(shelf)
    ran("mend", path, "dry-and-clean-ballast", "--result", "fixed", "--at", "yard-2")
    ran("proof", path, "dry-and-clean-ballast", "passed", "--quiet", "2 h")
    assert ran("close", path).code == 0

    again = ran("start", "--layout", "club", "--symptom", "phantom-occupancy", "--about", "yard-2", said="1\n")

    assert "is still open here" not in again.out
    assert len(list(shelf.glob("*.yaml"))) == 2


# -- screens ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("columns", [40, 60, 100])
def test_a_heading_is_never_cut(columns: int) -> None:
    """A title longer than the line is broken between words, not cut off."""
    title = "What was done on the layout between the last good run and the first sign of trouble?"
    text = drawn(screen.heading(title), columns=columns)

    assert " ".join(re.sub("[─ \n]+", " ", text).split()) == title
    assert max(map(len, text.split("\n"))) <= columns
    assert "─" in text


def ohms_of(block: str, *records: Record) -> CheckStep:
    """The check of the ohms across a block, as it stands after records of set-ups."""
    club = load(LAYOUTS / "club.yaml")
    inquiry = Inquiry((Complaint("core/phantom-occupancy", block), *records))
    while True:
        made = diagnose(club, core(), inquiry)
        own = [made.step] if isinstance(made.step, CheckStep) else []
        found = [s for s in (*own, *made.others, *made.together) if s.check.name == "core/block-leak-ohms"]
        if found:
            return found[0]
        assert own, "the ohms across a block are asked sooner or later"
        inquiry = inquiry.and_then(PutAside(own[0].check.name, own[0].place.name))


def test_every_caution_stands_on_every_screen_shorter_the_second_time() -> None:
    """The first time a caution tells hazard and remedy in full; later its first sentence stands, never nothing."""
    step = ohms_of("yard-2")
    first = drawn(*screen.check_lines(core(), step))
    later = drawn(*screen.check_lines(core(), step, frozenset(step.prepared.cautions)))

    assert step.prepared.cautions
    for name in step.prepared.cautions:
        caution = core().cautions[name]
        assert all(part.strip(" .") in _run_on(first) for part in " ".join(caution.do.split()).split(". "))
        assert " ".join(caution.hazard.split()) in _run_on(first)
        assert " ".join(screen.first_sentence(caution.hazard).split()) in _run_on(later)
    assert first.count("CAUTION") == later.count("CAUTION") == len(step.prepared.cautions)
    assert len(later.split("\n")) < len(first.split("\n")) - len(step.prepared.cautions)


def _run_on(text: str) -> str:
    return " ".join(text.replace("CAUTION", " ").split())


@pytest.mark.parametrize("name", sorted(core().cautions))
def test_the_short_form_of_a_caution_is_short_and_names_the_hazard(name: str) -> None:
    """One sentence, two rows at most."""
    short = screen.first_sentence(core().cautions[name].hazard)

    assert 20 <= len(short) <= 170
    assert short.endswith(".")


# -- set-ups at their place ------------------------------------------------------------------------------------


def test_a_set_up_at_another_block_makes_no_check_cheaper_here() -> None:
    """Stock taken off and a wire lifted at yard-2 are to be done again at loop-3; track power is off everywhere."""
    here = ohms_of("loop-3")
    away = ohms_of("loop-3", *(SetUpChange(s, "yard-2") for s in (OFF, EMPTY, LIFTED)))
    done = ohms_of("loop-3", *(SetUpChange(s, "loop-3") for s in (OFF, EMPTY, LIFTED)))

    assert set(here.prepared.enter) == {OFF, EMPTY, LIFTED}
    assert set(away.prepared.enter) == {EMPTY, LIFTED}
    assert done.prepared.enter == ()
    assert here.minutes > away.minutes > done.minutes == pytest.approx(here.check.minutes)


def test_a_lamp_behind_a_breaker_serves_its_whole_district() -> None:
    """What is lifted or put in series belongs to a thing; every place behind the same thing has it in force."""
    from troubleshoot.diagnosis.places import holds_at

    club = load(LAYOUTS / "club.yaml")
    lamp = core().set_ups[LAMP]

    def holds(entered: str, place: str) -> bool:
        return holds_at(club, lamp, club.place(entered), club.place(place))

    assert holds("yard-2", "yard-3")
    assert holds("yard-district breaker", "yard-3")
    assert not holds("yard-2", "loop-3")


def test_a_set_up_names_what_is_really_lifted() -> None:
    """The screen and the case name the zone whose wire comes out, not the block."""
    step = ohms_of("yard-2")

    assert step.at(LIFTED) == "yard-2 zone"
    assert "screw at yard-2 zone" in _run_on(drawn(*screen.check_lines(core(), step)))


# -- mends -----------------------------------------------------------------------------------------------------


def remedy_at(name: str, symptom: str, about: str, *records: Record) -> tuple[Diagnosis, RemedyStep]:
    """A remedy as the step of an inquiry, with its diagnosis."""
    from dataclasses import replace

    from troubleshoot.diagnosis.deciding import diagnose as made_of
    from troubleshoot.diagnosis.places import with_proof

    club: Layout = load(LAYOUTS / "club.yaml")
    made = made_of(club, core(), Inquiry((Complaint(symptom, about), *records)))
    remedy = core().remedies[f"core/{name}"]
    relation = core().causes[remedy.mends[0]].relation
    place = club.related(relation, made.subject)[0]
    stops = max(
        ("nothing", *(core().set_ups[s].stops for s in remedy.set_up)),
        key=["nothing", "block", "district", "layout"].index,
    )
    step = with_proof(club, core(), RemedyStep(remedy, place, 10.0, 0.9, 10.0, (), stops=stops), made.subject)
    return replace(made, step=step, kind="remedy"), step


def test_a_proof_names_the_place_where_it_is_made() -> None:
    """A remedy at a turnout that holds a signal is proven at the signal."""
    _, step = remedy_at("mend-the-turnout-report", "core/signal-stays-at-danger", "sig-1")

    assert step.place.kind == "turnout"
    assert step.proof_at == "sig-1"
    assert "sig-1" in screen.proof_text(core(), step)


def test_a_check_of_a_turnout_proves_a_turnout_that_trips_its_district() -> None:
    """A proof that symptoms of turnouts use is made at the turnout, though the complaint is about its district."""
    _, step = remedy_at("set-the-throw-to-both-ends", "core/district-trips-at-power-up", "yard-district")

    assert step.place.kind == "turnout"
    assert step.proof_at == step.place.name
    assert step.proof_at in screen.proof_text(core(), step)


def test_a_proof_by_meter_says_what_a_healthy_reading_is() -> None:
    """The figure stands in the proof, computed for this layout."""
    _, step = remedy_at("dry-and-clean-ballast", "core/phantom-occupancy", "yard-2")

    assert re.search(r"must show: sound \(above [\d.]+ k?ohm\)", screen.proof_text(core(), step))


def test_a_mend_that_stops_more_than_may_stop_says_so_with_a_stopgap_first() -> None:
    """Where only a block may wait, a mend that needs the whole layout without power is shown as that."""
    waiting = AtHand(None, "block")
    made, step = remedy_at("dry-and-clean-ballast", "core/phantom-occupancy", "yard-2", waiting)
    free, _ = remedy_at("dry-and-clean-ballast", "core/phantom-occupancy", "yard-2")
    text = drawn(screen.step_screen(core(), made))

    assert step.stops == "layout"
    assert text.index("This mend stops the whole layout") < text.index("stopgap") < text.index("Mend: dry and clean")
    assert "This mend stops" not in drawn(screen.step_screen(core(), free))


def test_a_place_reads_as_one_says_it() -> None:
    """At a block, on a vehicle, in a program."""
    assert screen.at(Place("block", "yard-2")) == "at yard-2"
    assert screen.at(Place("vehicle", "the vehicle")) == "on the vehicle"
    assert screen.at(Place("program", "the program")) == "in the program"


def test_no_named_vehicle_is_blamed_for_a_trouble_of_the_whole_layout() -> None:
    """The record names a few vehicles worth naming; which one spreads dirt is not among what it knows."""
    club = load(LAYOUTS / "club.yaml")

    assert [p.name for p in club.related("vehicle-in", club.itself)] == ["the vehicle"]


def test_everything_is_put_right_before_a_proof_that_needs_power(shelf: Path) -> None:
    """A state that keeps trains from running is asked for before such a proof; track power on is never asked for."""
    path = opened(shelf)
    ran("mend", path, "part-the-two-sensors", "--result", "fixed", "--at", "yard-2")
    ran("set-up", path, "power-on", "entered")
    ran("set-up", path, "breaker-output-lifted", "entered")

    done = ran("resume", path, said="1\n1\n-\n2 h\n1\n")

    assert done.out.count("All of it done now?") == 1
    assert done.out.index("All of it done now?") < done.out.index("How did the proof go?")
    assert "Leave track power as you want it" not in done.out
    assert casebook.read(Path(path)).closed, done.out


def test_what_a_proof_needs_is_put_right_before_its_quiet_time(shelf: Path) -> None:
    """A proof in ohms is made with power off; before trains are watched, power and wires are asked for."""
    path = opened(shelf)
    ran("mend", path, "dry-and-clean-ballast", "--result", "fixed", "--at", "yard-2")

    done = ran("resume", path, said="1\n1\n-\n2 h\n1\n")

    assert done.out.count("All of it done now?") == 1
    assert done.out.index("How did the proof go?") < done.out.index("All of it done now?")
    assert "Put the block wire back in yard-2 zone" in _run_on(done.out)
    assert casebook.read(Path(path)).closed, done.out


def test_the_call_to_the_others_names_the_minutes() -> None:
    """What to call out goes with the most that stands still."""
    step = ohms_of("yard-2")

    assert call_out(core(), step) == f"“All stop, track power goes off, {round(step.minutes)} minutes!”"
    assert check_prompt(step).typed

"""Before a remedy that could be wanted at any of several places, the tool asks which one it is."""

from pathlib import Path

import pytest

from tests.running import ran
from troubleshoot.belief import field_of
from troubleshoot.cli.asking import named_like
from troubleshoot.diagnosis import Diagnosis, RemedyStep, diagnose, goes_when_lifted, looked_for
from troubleshoot.diagnosis.placing import reaching
from troubleshoot.inquiry import Answer, Complaint, FoundAt, FoundNowhere, Inquiry, Mend, Record, SetUpChange
from troubleshoot.layout import Place
from troubleshoot.layout import load as load_layout
from troubleshoot.rulebook import load, rules_folder

BOOK = load()
CLUB = load_layout(rules_folder() / "core" / "layouts" / "club.yaml")
CROSSED = (
    Answer("core/danger-signs", "yard-district", "none", None, "seen"),
    Answer("core/what-changed", "yard-district", "wiring", None, "seen"),
    Answer("core/how-far-the-phase-is-wrong", "yard-district", "one-section", None, "seen"),
    Answer("core/which-lamp-goes", "yard-district", "breaker-only", None, "seen"),
    Answer("core/what-lies-beyond", "yard-district", "same-district", None, "seen"),
)


def made(*records: Record) -> Diagnosis:
    """The diagnosis of a district out of phase on the club layout, one section of it."""
    complaint = Complaint("core/boosters-out-of-phase", "yard-district")
    return diagnose(CLUB, BOOK, Inquiry((complaint, *CROSSED, *records)))


def share(found: Diagnosis, place: str) -> float:
    """The chance of the leading cause at a place."""
    return dict(found.ranking[0].places).get(place, 0.0)


def test_a_remedy_wanted_at_one_of_many_places_is_no_guess() -> None:
    """One of twelve feeders is crossed; before any is turned, the twelve are named."""
    found = made()

    assert isinstance(found.step, RemedyStep)
    assert len(found.unplaced) >= 8
    assert "yard-12 feeder" in found.unplaced


def test_the_place_that_was_found_leads_the_ranking() -> None:
    """Whoever looked and says yard-12 moves the remedy there, and is not asked again."""
    found = made(FoundAt("yard-12 feeder"))

    assert found.unplaced == ()
    assert isinstance(found.step, RemedyStep) and found.step.place.name == "yard-12 feeder"
    assert share(found, "yard-12 feeder") > 10 * share(found, "yard-1 feeder") > 0.0


def test_whoever_cannot_say_is_not_asked_again() -> None:
    """Not sure changes no belief, and the remedy is advised at the likeliest place."""
    found = made(FoundAt(""))

    assert found.unplaced == ()
    assert share(found, "yard-1 feeder") == pytest.approx(share(made(), "yard-1 feeder"))


def test_a_find_that_was_mended_in_vain_opens_the_question_again() -> None:
    """The wrong feeder was named and turned in vain; the others are named afresh, before the one that was turned."""
    found = made(FoundAt("yard-12 feeder"))
    assert isinstance(found.step, RemedyStep)
    tried = Mend(found.step.remedy.name, "yard-12 feeder", "not-fixed")

    again = made(FoundAt("yard-12 feeder"), tried)

    assert isinstance(again.step, RemedyStep) and "yard-1 feeder" in again.unplaced
    assert again.unplaced[-1] == "yard-12 feeder"
    assert share(again, "yard-12 feeder") < 0.7 * share(found, "yard-12 feeder")


def test_a_search_that_found_nothing_speaks_against_what_was_looked_for() -> None:
    """Every feeder was followed and none is crossed: the cause loses most of its chance, and is not searched again."""
    before = made()
    sought = looked_for(BOOK, before)
    assert sought == ("core/section-wired-crossed",)

    after = made(FoundNowhere(sought))

    line = next(r for r in after.ranking if r.cause == sought[0])
    assert line.chance < before.ranking[0].chance
    assert 10.0 ** (sum(e.decibans for e in line.evidence if e.finding == "found nowhere") / 10.0) == pytest.approx(
        0.15 / 0.95, rel=1e-6
    )
    assert after.unplaced == ()


def test_a_find_of_one_kind_of_place_does_not_answer_for_another() -> None:
    """A turnout was named for another cause; which feeder it is has still to be asked."""
    assert "yard-12 feeder" in made(FoundAt("t-314")).unplaced


def test_the_find_stands_in_the_evidence() -> None:
    """The ranking says that the place was found, and what that weighs."""
    found = made(FoundAt("yard-12 feeder"))

    assert any(e.finding == "found at" and "yard-12" in e.said for e in found.ranking[0].evidence)


def test_shorts_and_leaks_go_when_lifted_and_crossed_pairs_do_not() -> None:
    """Only what goes with the part it sits in can be located by lifting."""
    assert not goes_when_lifted(BOOK, made())


def test_the_command_takes_the_place_that_was_found(shelf: Path) -> None:
    """Told by command it is kept in the case, and the next step is at that place."""
    opened = ("open", "--layout", "club", "--symptom", "boosters-out-of-phase", "--about", "yard-district", "--json")
    case = str(next(iter([ran(*opened).data["case"]])))
    file = next(shelf.glob("*.yaml"))
    for answer in CROSSED:
        ran("answer", str(file), answer.check, str(answer.outcome))

    before = ran("next", str(file))
    ran("locate", str(file), "--found-at", "yard-12 feeder")
    after = ran("next", str(file), "--json").data

    assert case
    assert "First find which one" in before.out
    assert "--found-at NAME" in before.out
    assert after["step"]["at"] == "yard-12 feeder"
    assert "found-at: yard-12 feeder" in file.read_text(encoding="utf-8")


def test_track_power_is_put_right_last_of_all() -> None:
    """What was clipped or lifted last comes off first, and power comes on only when nothing is open any more."""
    entered = ("power-off", "stock-off", "breaker-output-lifted", "wire-clipped-across-rails")
    states = tuple(SetUpChange(f"core/{name}", "yard-2", True) for name in entered)

    order = [c.set_up for c in made(*states).in_force]

    assert order[0] == "core/wire-clipped-across-rails"
    assert order[-1] == "core/power-off"
    assert set(order) == {f"core/{name}" for name in entered}


def test_no_short_is_hunted_by_switching_on_again_and_again() -> None:
    """Where parts are tried in turn for a short, a lamp in series limits the current."""
    for name in ("short-by-unplugging", "turnouts-thrown", "moving-a-vehicle"):
        assert "core/lamp-in-series" in BOOK.checks[f"core/{name}"].set_up


# -- what else is sick ---------------------------------------------------------------------------------------------


def of_blocks(*, sick: tuple[str, ...] = (), healthy: tuple[str, ...] = ()) -> dict[str, dict[str, float]]:
    """Chances by cause and place for ridge-3 shown occupied while empty, beside other sick or healthy blocks."""
    complaint = Complaint("core/phantom-occupancy", "ridge-3", sick, 0.0, healthy)
    answer = Answer("core/danger-signs", "ridge-3", "none", None, "seen")
    return {r.cause: dict(r.places) for r in diagnose(CLUB, BOOK, Inquiry((complaint, answer))).ranking}


def test_the_gap_between_two_sick_blocks_is_likelier_than_the_gap_to_a_third() -> None:
    """Ridge-3 and ridge-4 are both sick: of the two gaps of ridge-3 the common one leads by eight to one."""
    gaps = of_blocks(sick=("ridge-4",))["core/gap-bridged-by-metal"]
    alone = of_blocks()["core/gap-bridged-by-metal"]

    assert alone["ridge-3/ridge-4"] == pytest.approx(alone["ridge-2/ridge-3"], rel=0.01)
    assert gaps["ridge-3/ridge-4"] == pytest.approx(8.0 * gaps["ridge-2/ridge-3"], rel=0.01)


def test_a_healthy_neighbour_speaks_against_the_gap_to_it() -> None:
    """Ridge-2 is surely healthy: the gap on its side loses against that on the other."""
    gaps = of_blocks(healthy=("ridge-2",))["core/gap-bridged-by-metal"]

    assert gaps["ridge-3/ridge-4"] > 3.0 * gaps["ridge-2/ridge-3"]


def test_sick_places_move_chance_between_places_and_not_between_causes() -> None:
    """Weighed among its own places only, a cause keeps its odds against a cause that has but one place."""
    field = diagnose(CLUB, BOOK, Inquiry((Complaint("core/phantom-occupancy", "ridge-3"),)))
    subject = Place("block", "ridge-3")
    made = field_of(BOOK, CLUB, "core/phantom-occupancy", subject, frozenset(field.deduced.ruled_out))

    ((_, weights),) = reaching(CLUB, made, subject, (Place("block", "ridge-4"),), (Place("block", "ridge-2"),))

    for cause in {s.cause for s in made.suspects}:
        own = [i for i, s in enumerate(made.suspects) if s.cause == cause]
        before = sum(made.prior[i] for i in own)
        assert sum(made.prior[i] * 10.0 ** (weights[i] / 10.0) for i in own) == pytest.approx(before)


def test_a_place_is_understood_without_its_signs_and_last_word() -> None:
    """Typed as it is spoken, it is still the one feeder; what fits two, or none, is asked again."""
    names = ("yard-1 feeder", "yard-7 feeder", "yard-12 feeder")

    assert named_like("yard 7", names) == "yard-7 feeder"
    assert named_like("Yard-1", names) == "yard-1 feeder"
    assert named_like("yard", names) == ""
    assert named_like("the teapot", names) == ""

"""The search for the place in an inquiry: lifts and healthy places as events, their weight, the advice, the screens."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import made as layout_of
from tests.running import opened, ran
from tests.test_packs import pack
from troubleshoot import casebook
from troubleshoot.casebook import record_of
from troubleshoot.cli.session import resume
from troubleshoot.diagnosis import CheckStep, Diagnosis, diagnose, hunt_of
from troubleshoot.inquiry import Complaint, Inquiry, Lifted, Mend, PlacesSeen, PutAside
from troubleshoot.layout import Layout
from troubleshoot.quantities import Unreadable
from troubleshoot.report.naming import Aliases
from troubleshoot.rulebook import Rulebook, load

TRIPS = "core/district-trips-at-power-up"


@pytest.fixture(scope="module")
def core() -> Rulebook:
    """The bundled rules."""
    return load()


def case(shelf: Path, *more: str) -> str:
    """A fresh case of a district that trips at power-up; its name."""
    return Path(opened(shelf, *more, symptom="district-trips-at-power-up", about="harbour-district")).stem


def told(layout: Layout, core: Rulebook, *records: Any) -> Diagnosis:
    """What follows for the harbour district from these records."""
    return diagnose(layout, core, Inquiry((Complaint(TRIPS, "harbour-district"), *records)))


def chance(made: Diagnosis, place: str) -> float:
    """The chance of all suspects at a place together."""
    return sum(c for line in made.ranking for p, c in line.places if p == place)


# --- events ------------------------------------------------------------------------------------------


def test_lifts_and_healthy_places_are_kept_as_events_and_old_events_still_load(shelf: Path) -> None:
    """The command writes a lift and the healthy places into the case; what older cases say reads as before."""
    name = case(shelf)
    ran("locate", name, "--gone-at", "plug-yard-harbour", "--healthy", "yard-district", "--json")
    events = resume(shelf / f"{name}.yaml").case.events

    assert [{k: v for k, v in e.items() if k != "when"} for e in events[1:]] == [
        {"healthy": ["yard-district"]},
        {"lifted": "plug-yard-harbour", "fault": "gone"},
    ]
    assert record_of({"symptom": "s", "about": "yard-2", "sick": ["yard-3"]}) == Complaint("s", "yard-2", ("yard-3",))
    assert record_of({"symptom": "s", "healthy": ["yard-3"]}) == Complaint("s", healthy=("yard-3",))
    assert record_of({"lifted": "p", "fault": "not-sure"}) == Lifted("p", None)
    assert record_of({"lifted-by-crane": "p"}) is None


@pytest.mark.parametrize("event", [{"lifted": "p", "fault": "perhaps"}, {"healthy": "yard-3"}, {"sick": {"a": 1}}])
def test_events_that_cannot_be_understood_are_refused(event: dict[str, Any]) -> None:
    """A slip of the pen in a case file is told, not passed over."""
    with pytest.raises(Unreadable):
        record_of(event)


def test_the_last_word_on_a_place_counts() -> None:
    """A place first said to be healthy and then sick is sick; a new complaint begins afresh."""
    first = Inquiry((Complaint("s", "a", ("b",), healthy=("c",)), PlacesSeen(("c",), ("b",))))

    assert first.looks == {"c": True, "b": False}
    assert first.and_then(Complaint("other", "a")).looks == {}


def test_lifts_are_of_the_fault_worked_on_now() -> None:
    """Lifts made before one of two faults was mended, or before the inquiry turned, prove nothing now."""
    lift, later = Lifted("p", True), Lifted("q", False)
    inquiry = Inquiry((Complaint("s", "a"), lift))

    assert inquiry.and_then(Mend("r", "a", "not-fixed"), later).lifts == (lift, later)
    assert inquiry.and_then(Mend("r", "a", "partly"), later).lifts == (later,)
    assert inquiry.and_then(Complaint("t", "a"), later).lifts == (later,)
    assert inquiry.and_then(Lifted("q", None)).lifts == (lift,)


# --- belief ----------------------------------------------------------------------------------------------


def test_a_lift_weighs_on_suspects_by_where_they_sit(club: Layout, core: Rulebook) -> None:
    """After `gone` at the plug the feeders behind it gain by 49 to 1 on those that are not; the account says why."""
    before, after = told(club, core), told(club, core, Lifted("plug-yard-harbour", True))

    def odds(made: Diagnosis) -> float:
        return chance(made, "harbour-1 feeder") / chance(made, "harbour-8 feeder")

    assert odds(before) == pytest.approx(1.0)
    assert odds(after) == pytest.approx(49.0)
    evidence = [e for e in after.ranking[0].evidence if e.finding == "lifted"]
    assert [e.said for e in evidence] == ["gone with plug-yard-harbour lifted"]


def test_what_was_never_lifted_changes_nothing(club: Layout, core: Rulebook) -> None:
    """Not sure, or a point of another district, leaves every chance as it was."""
    before = told(club, core)
    after = told(club, core, Lifted("plug-yard-harbour", None), Lifted("yard-3 feeder", True))

    assert after.ranking == before.ranking
    assert after.proven_clean is None


def test_the_order_of_lifts_does_not_matter_to_the_ranking(club: Layout, core: Rulebook) -> None:
    """The same lifts in another order give the same ranking to the bit."""
    lifts = [Lifted("plug-yard-harbour", True), Lifted("harbour-2", False), Lifted("harbour-4", True)]

    one, other = told(club, core, *lifts), told(club, core, *reversed(lifts))

    assert [(r.cause, r.chance, r.places) for r in one.ranking] == [
        (r.cause, r.chance, r.places) for r in other.ranking
    ]


def test_the_hunt_begins_with_the_belief_and_does_not_count_a_lift_twice(club: Layout, core: Rulebook) -> None:
    """Chances of parts come from the suspects; a feeder's odds against another are those of the ranking."""
    inquiry = Inquiry((Complaint(TRIPS, "harbour-district"), Lifted("plug-yard-harbour", True)))
    made = diagnose(club, core, inquiry)
    found = hunt_of(club, inquiry, made)
    assert found is not None
    turnouts = [found.chances[found.tree.index[n]] for n in ("t-309", "t-310")]

    assert turnouts[0] == pytest.approx(turnouts[1])
    behind = sum(
        p for i, p in enumerate(found.chances) if found.tree.beyond[found.tree.index["plug-yard-harbour"]] >> i & 1
    )
    assert behind > 0.9
    assert found.proven == 10
    assert made.proven_clean == (10, 23)


# --- advice ------------------------------------------------------------------------------------------------

FEEDERS = """
name: Two Ends
boosters: {b1: }
districts: {main: {booster: b1, breaker: electronic}}
blocks:
  a: {district: main, reach: hard}
  b: {district: main, reach: easy}
  c: {district: main, reach: easy}
"""


def chafed(folder: Path) -> Path:
    """A pack with a symptom of a district whose likeliest cause sits at any one feeder."""
    cause = {
        "stopgap": "Leave it off", "sources": ["common practice"], "best-check": "core/clears-when-feed-lifted",
        "explains": {"hums-when-on": 3},
    }  # fmt: skip
    shows = {"core/clears-when-feed-lifted": {"yes": "always"}}
    never = {"core/clears-when-feed-lifted": {"yes": "never"}}
    proof = {"check": "core/clears-when-feed-lifted", "outcome": "no"}
    symptom = {"says": "A district hums as soon as it is on", "also-said": ["humming district", "buzzing wires"],
               "about": "district", "family": "power", "where": ["one"], "when": ["always"]}  # fmt: skip
    return pack(
        folder,
        symptoms={"hums-when-on": symptom},
        causes={
            "feeder-chafed": {"says": "A feeder is chafed through", "sits-at": "feeder-of", "shows": shows, **cause},
            "bus-chafed": {"says": "The bus is chafed through", "sits-at": "bus-of", "shows": never, **cause},
        },
        remedies={
            "sleeve-the-feeder": {
                "mends": ["feeder-chafed"],
                "do": "Put a sleeve over it.",
                "minutes": 90,
                "proof": proof,
            },
            "sleeve-the-bus": {"mends": ["bus-chafed"], "do": "Put a sleeve over it.", "minutes": 90, "proof": proof},
        },
    )


def advised(layout: Layout, rules: Rulebook, records: Sequence[Any] = ()) -> CheckStep:
    """The check that is advised for the humming district."""
    step = diagnose(layout, rules, Inquiry((Complaint("club/hums-when-on", "main"), *records))).step
    assert isinstance(step, CheckStep)
    return step


def test_of_several_places_the_planner_takes_the_one_and_says_why(tmp_path: Path) -> None:
    """Three feeders are alike but for reach: the check is advised at an easy one, with its minutes as the reason."""
    layout, rules = layout_of(FEEDERS), load([chafed(tmp_path / "club")])

    first = advised(layout, rules)
    after = advised(layout, rules, [PutAside(first.check.name, first.place.name)])

    assert (first.check.name, first.place.name) == ("core/clears-when-feed-lifted", "b feeder")
    assert "minutes" in first.here_first
    assert after.place.name == "c feeder"


def test_lifts_lead_the_planner_to_another_place(tmp_path: Path) -> None:
    """After the fault stayed with two feeders lifted the check is advised at the third, hard to reach as it is."""
    layout, rules = layout_of(FEEDERS), load([chafed(tmp_path / "club")])

    step = advised(layout, rules, [Lifted("b feeder", False), Lifted("c feeder", False)])

    assert step.place.name == "a feeder"


def test_a_check_that_lifts_one_part_after_another_is_told_where_to_begin(shelf: Path) -> None:
    """The core's halving check comes with the part to lift first, and why, on the screen and from the planner."""
    name = case(shelf)
    session = resume(shelf / f"{name}.yaml")
    for _ in range(60):
        step = session.diagnosis().step
        assert isinstance(step, CheckStep)
        if step.check.lifts_in_turn:
            break
        session.add({"answer": step.check.name, "at": step.place.name, "aside": "not-sure"})
    found = hunt_of(session.layout, session.inquiry, session.diagnosis())
    assert found is not None and found.next is not None

    shown = ran("next", name, "--width", "100").out

    assert f"lift first {found.next.point.name}: " in shown


# --- screens and commands ---------------------------------------------------------------------------------


def test_what_is_proven_clean_stands_on_every_screen_and_after_resuming(shelf: Path) -> None:
    """The count of parts proven clean is on the next step's screen, from the file alone; taking back removes it."""
    name = case(shelf)
    ran("locate", name, "--gone-at", "plug-yard-harbour")

    assert "10 of 23 parts proven clean" in ran("next", name).out
    assert ran("next", name, "--json").data["proven_clean"] == {"clean": 10, "of": 23}
    assert "proven clean" not in ran("back", name).out


def test_a_hunt_goes_on_from_call_to_call_to_its_end(shelf: Path) -> None:
    """Each call takes one answer and names the next lift, until the part is pinned; the case holds all of it."""
    name, fault, calls = case(shelf), "t-310", 0
    data = ran("locate", name, "--json").data
    while data["hunt"]["next"] and calls < 20:
        point = data["hunt"]["next"]["lift"]
        parts = {p["part"]: p for p in data["hunt"]["parts"]}
        way = [fault]
        while parts[way[-1]]["fed_by"]:
            way.append(parts[way[-1]]["fed_by"])
        said = "--gone-at" if point in {parts[w]["lift"] for w in way} else "--stays-at"
        data, calls = ran("locate", name, said, point, "--json").data, calls + 1

    assert data["hunt"]["pinned"] == [fault]
    assert 4 <= calls < 20
    assert fault in ran("locate", name).out


def test_without_a_case_the_answers_are_given_in_the_call(shelf: Path) -> None:
    """A district of a record is enough: nothing is saved, the tree and the next lift are shown at 60 columns."""
    done = ran("locate", "--layout", "club", "--district", "yard-district", "--stays-at", "yard-3", "--width", "60")

    assert done.code == 0
    assert "Lift next" in done.out
    assert "3 of 35 parts proven clean" in done.out
    assert max(len(line) for line in done.out.splitlines()) <= 60
    assert not shelf.exists()


def test_what_the_sick_share_is_told_with_counts_and_reasons(shelf: Path) -> None:
    """Sick and healthy names give a ranked list, in words and as data."""
    asked = ["locate", "--layout", "club", "--sick", "yard-1,yard-3", "--sick", "harbour-2", "--healthy", "ridge-1"]

    shown, data = ran(*asked, "--width", "160").out, ran(*asked, "--json").data

    assert "All 3 sick places hang on det-west; ridge-1 does not" in shown
    first = data["shared"][0]
    assert (first["place"], first["explained"], first["contradicted"]) == ("det-west", 3, 0)


def test_healthy_places_can_be_told_when_a_case_is_opened(shelf: Path) -> None:
    """`open` takes them beside the sick ones, and the screen says what is shared."""
    path = opened(shelf, "--sick", "yard-3,yard-4", "--healthy", "harbour-5")
    made = resume(Path(path)).diagnosis()

    assert [p.name for p in made.healthy] == ["harbour-5"]
    assert made.shared[0].contradicted == 0
    assert "shared" in ran("next", Path(path).stem).out


def test_the_guided_inquiry_leads_from_lift_to_lift_and_takes_healthy_places(shelf: Path) -> None:
    """Key l shows the next lift and takes its answer, key h takes places; both are events of the case."""
    said = "l\n1\nh\n-\nnowhere\nyard-district\nl\n3\ns\n"
    done = ran("start", "--layout", "club", "--symptom", "district-trips-at-power-up", "--about", "harbour-district",
               "--plain", said=said)  # fmt: skip
    (path,) = shelf.glob("*.yaml")
    events = resume(path).case.events

    assert done.code == 5
    assert "has no place 'nowhere'" in done.out
    assert [e.get("fault") for e in events[1:]] == ["gone", None, "not-sure"]
    assert events[2]["healthy"] == ["yard-district"]
    assert "10 of 23 parts proven clean" in done.out


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--layout", "club"], "name a case"),
        (["--layout", "club", "--district", "yard-distric"], "did you mean 'yard-district'"),
        (["--layout", "club", "--district", "yard-district", "--gone-at", "yard-33"], "did you mean 'yard-3"),
        (["--layout", "club", "--sick", "yard-1", "--healthy", "yard-1"], "cannot be both"),
    ],
)
def test_slips_on_the_command_line_are_told_with_the_likely_repair(arguments: list[str], says: str) -> None:
    """Wrong usage says what, and what was probably meant."""
    done = ran("locate", *arguments)

    assert done.code == 2
    assert says in done.err


def test_where_nothing_can_be_lifted_it_is_said(shelf: Path) -> None:
    """A case without a record has no tree: no invented plan, a message, and the exit code for nothing found."""
    done = ran("open", "--layout", "none", "--symptom", "district-trips-at-power-up", "--json")
    name = Path(done.data["case"]).stem

    found = ran("locate", name)

    assert (found.code, found.out) == (3, "")
    assert "does not say what could be lifted" in found.err


def test_where_danger_ends_the_questioning_nothing_is_lifted(shelf: Path) -> None:
    """After a sign of danger the command shows the stop instead of a lift; a warm part comes before the plan."""
    name = case(shelf)
    ran("answer", name, "danger-signs", "burning-smell")
    stopped = ran("locate", name)
    ran("back", name)
    ran("answer", name, "danger-signs", "warm-part")
    warm = ran("locate", name)

    assert stopped.code == 3
    assert "STOP" in stopped.out and "Lift next" not in stopped.out
    assert warm.out.index("MAKE SAFE FIRST") < warm.out.index("Lift next")


def test_a_closed_case_takes_no_more_lifts(shelf: Path) -> None:
    """What is closed is shown, but not added to."""
    name = case(shelf)
    session = resume(shelf / f"{name}.yaml")
    casebook.add(session.case, {"closed": "proven"})

    assert ran("locate", name).code == 0
    assert ran("locate", name, "--gone-at", "plug-yard-harbour").code == 1


def test_a_report_without_names_names_no_point_that_was_lifted(club: Layout, core: Rulebook) -> None:
    """Lifts and places told later go by the same stand-in names as everything else, rails and all."""
    aliases = Aliases(club)
    records = (Lifted("yard-3 rails", True), Lifted("t-303 frog", None), PlacesSeen(("yard-1",), ("my shed",)))

    told = [aliases.record(r, core) for r in records]

    assert told[0] == Lifted("block 3 rails", True)
    assert not any(name in str(told) for name in ("yard", "t-303", "shed"))

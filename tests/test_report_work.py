"""The work list of an evening: what to do next everywhere, place by place, with minutes and what to bring."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import html5lib
import pytest

from tests.running import ROOT, ran, spawned
from tests.test_report import about, club_rules, demo, told
from troubleshoot.cli.session import open_layout
from troubleshoot.documents import write
from troubleshoot.inquiry import Answer, Mend, ProofSeen, SetUpChange
from troubleshoot.layout import Layout, Part
from troubleshoot.quantities import read_reading
from troubleshoot.report.evening import evening
from troubleshoot.report.jobs import Job, State, board_of, due_jobs, job_of, states_of, work_list
from troubleshoot.report.page import page
from troubleshoot.rounds import Taken, of

STATES = {"off": State("Track power off", 1.0), "lamp": State("Lamp in series", 2.0, ("lamp",))}
LEAK = "core/block-leak-ohms"


def shelve(shelf: Path, about: str, symptom: str = "phantom-occupancy") -> None:
    """An open case on the club layout, just begun."""
    shelf.mkdir(exist_ok=True)
    write(shelf / f"{about}.yaml", {"case": about, "layout": "club", "packs": {"core": "1.0.0"},
                                    "events": [{"symptom": f"core/{symptom}", "about": about}]})  # fmt: skip


def job(place: str, minutes: float = 4.0, board: str = "east", set_ups: tuple[str, ...] = (), **more: object) -> Job:
    """A job, with what is not said left plain."""
    made = Job("club", board, place, f"Look at {place}", "because", minutes, set_ups, ("multimeter",))
    return replace(made, **more)  # type: ignore[arg-type]


def test_jobs_at_one_board_under_one_state_are_done_in_one_go() -> None:
    """Two readings with power off at one board pay for switching off once; another board pays again."""
    jobs = [job("a", set_ups=("off",)), job("b", set_ups=("off",)), job("c", board="west", set_ups=("off",)), job("d")]
    made = work_list(jobs, STATES)

    groups = {(g.board, g.states): ([j.place for j in g.jobs], g.minutes) for g in made.groups}
    assert groups == {
        ("east", ("Track power off",)): (["a", "b"], 9.0),
        ("west", ("Track power off",)): (["c"], 5.0),
        ("east", ()): (["d"], 4.0),
    }
    assert made.minutes == 18.0


def test_groups_of_one_board_stand_together() -> None:
    """Nobody walks to the east end twice."""
    jobs = [job("a", 1.0), job("b", 2.0, "west"), job("c", 3.0, set_ups=("off",)), job("d", 4.0, "west", ("lamp",))]

    assert [g.board for g in work_list(jobs, STATES).groups] == ["east", "east", "west", "west"]


def test_danger_comes_first_then_what_is_undone_then_cases_then_the_shortest() -> None:
    """The order in which a crew should take things up."""
    jobs = [job("due", 1.0), job("long", 9.0, case="c1"), job("short", 2.0, case="c2"),
            job("lifted", 8.0, case="c3", undone=("Put the wire back",)),
            job("warm", 9.0, case="c4", danger=True)]  # fmt: skip

    assert [j.place for j in work_list(jobs, STATES).groups[0].jobs] == ["warm", "lifted", "short", "long", "due"]


@pytest.mark.parametrize(
    ("minutes", "taken"), [(0.0, []), (4.0, ["d"]), (10.0, ["d", "a"]), (60.0, ["d", "a", "b", "c"])]
)
def test_with_little_time_the_rest_waits(minutes: float, taken: list[str]) -> None:
    """What is taken fits into the minutes, the states counted in; the rest stands under another evening."""
    jobs = [job("a", 5.0, set_ups=("off",)), job("b", 5.0, set_ups=("off",)), job("c", 9.0), job("d", 4.0)]
    made = work_list(jobs, STATES, minutes)

    assert sorted(j.place for g in made.groups for j in g.jobs) == sorted(taken)
    assert len(made.later) == 4 - len(taken)
    assert made.minutes <= minutes


def test_danger_is_never_left_for_another_evening() -> None:
    """Ten minutes or none: what is warm is made safe tonight."""
    made = work_list([job("warm", 30.0, danger=True), job("b")], STATES, 5.0)

    assert [j.place for g in made.groups for j in g.jobs] == ["warm"]


def test_what_to_bring_is_said_once_with_what_the_states_need() -> None:
    """A multimeter for the readings, and the lamp that a state puts in series."""
    assert work_list([job("a", set_ups=("lamp",)), job("b")], STATES).bring == ("lamp", "multimeter")


# --- jobs of cases and of rounds --------------------------------------------------------------------


def test_an_open_case_gives_the_step_worth_taking_next() -> None:
    """The question or reading that the diagnosis advises, at its place and board, with why."""
    made = job_of(told(about()))

    assert made.place == "yard-2"
    assert made.board == "board-yard, the yard board"
    assert made.why == "A block shows occupied with nothing on it (yard-2)"
    assert not made.danger


def test_a_lifted_wire_is_carried_over_as_undone() -> None:
    """What must be put right stands with the job, in the words of the rules."""
    made = job_of(told(about(), SetUpChange("core/feed-lifted-at-detector", "yard-2")))

    assert len(made.undone) == 1
    assert "yard-2" in made.undone[0]


def test_a_mended_case_wants_its_proof_and_a_proven_one_wants_closing() -> None:
    """Nothing is done until it is proven, and then it is closed."""
    mend = Mend("core/dry-and-clean-ballast", "yard-2")
    proof = ProofSeen("core/dry-and-clean-ballast", "yard-2", True, 7200.0)

    assert job_of(told(about(), mend)).what.startswith("Prove the mend: Ohms from rail to rail in yard-2")
    assert job_of(told(about(), mend, proof)).what.startswith("Close the case")
    assert job_of(replace(demo("2026-09-12-yard-2"), closed=False)).what.startswith("Close the case")


def test_smoke_is_a_danger_and_no_step() -> None:
    """A stop is handed on as a stop."""
    rules = club_rules()
    smoke = next(o for o in rules.checks["core/danger-signs"].outcomes if "smoke" in o or "smell" in o)
    made = job_of(told(about(), Answer("core/danger-signs", None, smoke)))

    assert made.danger
    assert made.what.startswith("STOP")


def test_a_place_without_a_board_is_found_by_its_district_or_is_the_layout() -> None:
    """The crew is always told where to go."""
    club = open_layout("club")

    parts = [Part("district", "d"), Part("block", "b", words={"district": "d"})]
    bare = Layout("bare", parts={p.name: p for p in parts})

    assert board_of(club, club.place("t-301")) == "board-yard, the yard board"
    assert board_of(bare, bare.place("b")) == "d"
    assert board_of(club, club.place("railcar")) == "the layout"


def test_checks_that_are_due_are_jobs_with_their_reason() -> None:
    """A reading last taken half a year ago is due again, at its board and under its states."""
    reading = read_reading("900k", "ohm")
    history = of(open_layout("club"), club_rules(), [Taken(LEAK, "yard-2", date(2026, 3, 1), reading)])
    jobs = due_jobs(history, date(2026, 10, 1))

    assert [(j.place, j.board) for j in jobs] == [("yard-2", "board-yard, the yard board")]
    assert "2026-03-01" in jobs[0].why
    assert jobs[0].set_ups == club_rules().checks[LEAK].set_up
    assert jobs[0].bring == ("multimeter",)
    assert due_jobs(history, date(2026, 3, 2)) == ()


def test_what_a_round_left_lifted_is_a_job() -> None:
    """A wire that was lifted for readings and not put back is asked for."""
    lifted = (SetUpChange("core/feed-lifted-at-detector", "yard-2"),)
    history = replace(of(open_layout("club"), club_rules(), []), in_force=lifted)

    assert [j.undone[0] for j in due_jobs(history, date(2026, 3, 2))] == [
        club_rules().set_ups["core/feed-lifted-at-detector"].undo.replace("{place}", "yard-2")
    ]


def test_the_states_of_the_rules_have_their_minutes() -> None:
    """Entering and leaving are counted together."""
    off = club_rules().set_ups["core/power-off"]

    assert states_of(club_rules())["core/power-off"].minutes == off.enter + off.leave


# --- on paper and as a command ----------------------------------------------------------------------


def test_the_list_is_a_page_without_a_fault_and_without_markup_from_names() -> None:
    """Jobs have boxes to tick; a name that looks like markup is text."""
    text = page(evening(work_list([job("<b>a</b>", danger=True), job("b", set_ups=("off",))], STATES)))
    root = html5lib.HTMLParser(strict=True).parse(text)

    items = ["".join(li.itertext()) for li in root.iter("{http://www.w3.org/1999/xhtml}li")]
    assert any("DANGER. <b>a</b>" in item for item in items)
    assert text.count("<li><span></span>") == 2


def test_nothing_to_do_is_said() -> None:
    """An empty shelf is good news."""
    assert "No case is open and no check is due" in page(evening(work_list([], STATES)))


def test_an_empty_list_is_not_called_empty_when_cases_could_not_be_read() -> None:
    """Nobody goes home early because a file was damaged."""
    text = page(evening(work_list([], STATES, unread=2)))

    assert "2 cases or histories could not be read" in text
    assert "No case is open" not in text


def test_the_command_lists_open_cases_and_leaves_closed_ones_out(shelf: Path) -> None:
    """Two open cases at two boards, each with its step."""
    shelve(shelf, "yard-2")
    shelve(shelf, "t-314", "turnout-reports-nothing")
    (shelf / "done.yaml").write_text(
        (ROOT / "cases" / "2026-09-12-yard-2.yaml").read_text(encoding="utf-8"), encoding="utf-8"
    )
    done = ran("work-list", "--json")

    assert done.code == 0
    assert sorted(j["place"] for g in done.data["groups"] for j in g["jobs"]) == ["t-314", "yard-2"]


def test_a_case_that_cannot_be_read_never_hides_the_others(shelf: Path) -> None:
    """The list is printed, the bad file is named on standard error, and the exit code says so."""
    shelve(shelf, "yard-2")
    (shelf / "bad.yaml").write_text("case: bad\nevents: [{symptom: core/gone, about: x}]\n", encoding="utf-8")
    done = ran("work-list", "--width", "60")

    assert done.code == 4
    assert "yard-2" in done.out
    assert "1 case or history could not be read" in done.out
    assert "bad.yaml" in done.err
    assert max(len(line) for line in done.out.splitlines()) <= 60


def test_the_list_goes_into_files_and_works_without_colour(shelf: Path, tmp_path: Path) -> None:
    """A page and Markdown for the evening; NO_COLOR leaves no escape signs on the screen."""
    shelve(shelf, "yard-2")
    html, text = tmp_path / "list.html", tmp_path / "list.md"
    done = ran("work-list", "--html", str(html), "--markdown", str(text), "--minutes", "30")
    plain = spawned("work-list", env={"NO_COLOR": "1", "TROUBLESHOOT_CASES": str(shelf)})

    assert done.code == 0
    assert "of 30 min" in html.read_text(encoding="utf-8")
    assert "- [ ] yard-2" in text.read_text(encoding="utf-8")
    assert "\x1b" not in plain.out
    assert "yard-2" in plain.out


def test_checks_that_are_due_stand_in_the_list_of_the_command(shelf: Path) -> None:
    """Readings kept for the club half a year ago are due again; the round that keeps them is the real one."""
    kept = ran("round", "note", "block-leak-ohms", "mill-3", "900k", "--layout", "club", "--date", "2026-03-01")
    shelve(shelf, "yard-2")
    soon, late = (ran("work-list", "--json", "--on", day) for day in ("2026-03-05", "2026-10-01"))

    assert kept.code == soon.code == late.code == 0, kept.err
    assert [j["place"] for g in soon.data["groups"] for j in g["jobs"]] == ["yard-2"]
    jobs = [j for g in late.data["groups"] for j in g["jobs"]]
    assert [(j["place"], j["case"] == "") for j in jobs] == [("yard-2", False), ("mill-3", True)]
    assert "2026-03-01" in jobs[1]["why"]
    assert "multimeter" in late.data["bring"]

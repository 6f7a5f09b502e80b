"""Where people who did not know the tool stumbled: names, times, "not yet", cautions that fill a screen, proofs."""

import io
import re
from dataclasses import replace
from pathlib import Path

import pexpect
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from tests.conftest import LAYOUTS
from tests.running import opened, ran, until_reading
from tests.test_chain import held_by_a_turnout
from tests.test_guided_flow import core, drawn, ohms_of
from tests.test_terminal import begun, plain, the_case
from troubleshoot import casebook, screen
from troubleshoot.casebook.entries import entry_of
from troubleshoot.cli.calling import case_path
from troubleshoot.cli.closing import minutes_spent
from troubleshoot.cli.fitting import Fit
from troubleshoot.cli.loop import Loop
from troubleshoot.cli.naming import belongs_to, named_in
from troubleshoot.cli.session import Session, resume, start
from troubleshoot.diagnosis import CheckStep, diagnose
from troubleshoot.dialogue import COMMANDS, Option, Paused, PlainAsker, Prompt, ScriptedAsker, match, pick, rows, yes_no
from troubleshoot.documents import nearest
from troubleshoot.electrics import quantity
from troubleshoot.inquiry import Complaint, Inquiry, PutAside, SetUpChange
from troubleshoot.layout import Layout, Part, Place, load
from troubleshoot.learning.lessons import lesson_of
from troubleshoot.quantities import Unreadable
from troubleshoot.rulebook.search import find_causes
from troubleshoot.screen.cautions import sentences

PANELS = ["panel-yard", "panel-station", "panel-east"]
OFF = "core/power-off"


@pytest.fixture(scope="module")
def club() -> Layout:
    """The club layout."""
    return load(LAYOUTS / "club.yaml")


def first_of(shelf: Path) -> dict[str, object]:
    """The first event of the one case on the shelf."""
    (path,) = shelf.glob("*.yaml")
    return dict(casebook.read(path).events[0])


# -- the place -------------------------------------------------------------------------------------------------


def test_none_of_these_keeps_the_place_that_was_named(shelf: Path) -> None:
    """Words that led to no symptom are not forgotten: the block they named is not asked for again."""
    none = ran("find", "ghost train in yard 2").out.count("\n") + 1
    done = ran(
        "start",
        "--layout",
        "club",
        said=f"ghost train in yard 2\n{none}\nshown occupied though empty\ncore/phantom-occupancy\n",
    )

    assert first_of(shelf)["about"] == "yard-2", done.out
    assert "yard-2, as you said" in done.out


def test_words_for_a_place_that_the_record_does_not_know_are_kept(shelf: Path) -> None:
    """A dash after an unknown name means that this is what the person calls the place, not that there is none."""
    done = ran("start", "--layout", "club", "--symptom", "phantom-occupancy", said="the old siding\n-\n")

    assert first_of(shelf)["about"] == "the old siding"
    assert "the old siding, in your own words" in done.out


def test_a_dash_alone_still_means_that_the_place_has_no_name(shelf: Path) -> None:
    """Nobody has to name a place; not knowing it is said in plain words too."""
    ran("start", "--layout", "club", "--symptom", "phantom-occupancy", said="don't know\n")

    assert "about" not in first_of(shelf)


@pytest.mark.parametrize(
    ("symptom", "typed", "about"),
    [
        ("district-trips-at-power-up", "yard-2", "yard-district"),
        ("district-trips-at-power-up", "Yard 2", "yard-district"),
        ("district-trips-at-power-up", "t-301", "yard-district"),
        ("district-trips-at-power-up", "supply-a\n2", "harbour-district"),
    ],
)
def test_a_thing_of_another_kind_leads_to_what_it_belongs_to(shelf: Path, symptom: str, typed: str, about: str) -> None:
    """A block or turnout typed where a district is asked for stands for its district; of several, one is chosen."""
    done = ran("start", "--layout", "club", "--symptom", symptom, said=f"{typed}\n")

    assert first_of(shelf)["about"] == about, done.out
    assert "by the layout record" in done.out or "The record has 2 districts for supply-a" in done.out


def test_what_a_thing_belongs_to_comes_from_the_record_alone(club: Layout) -> None:
    """A block has one district, one detector and one board; a supply of two boosters has several districts."""
    assert belongs_to(club, Place("block", "yard-2"), "district") == ["yard-district"]
    assert belongs_to(club, Place("block", "yard-2"), "detector") == ["det-west"]
    assert len(belongs_to(club, Place("booster", "booster-a"), "district")) == 2
    assert named_in(club, "short somewhere in yard 2", "district") == (["yard-district"], "yard-2")
    assert named_in(club, "something is wrong", "district") == ([], "")


def test_enter_takes_the_name_that_was_suggested(shelf: Path) -> None:
    """A near miss is answered by Enter alone; nothing has to be typed a second time."""
    done = ran("start", "--layout", "club", "--symptom", "phantom-occupancy", said="yrad-2\n\n")

    assert first_of(shelf)["about"] == "yard-2"
    assert "did you mean yard-2? Enter takes yard-2" in done.out


def test_a_few_names_are_offered_by_number(shelf: Path) -> None:
    """Where the record has few of a kind, all are listed with what it says of them, and a number chooses."""
    done = ran("start", "--layout", "club", "--symptom", "throttles-do-not-respond", said="panel-lop\n2\n")

    assert "1  panel-yard (the yard panel)" in done.out
    assert "did you mean" not in done.out
    assert first_of(shelf)["about"] == "panel-station"


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("panel-lop", None),
        ("panel-loop", None),
        ("panel-yrd", "panel-yard"),
        ("pnael east", "panel-east"),
        ("station", "panel-station"),
        ("PANEL-STATOIN", "panel-station"),
        ("yrd panel", "panel-yard"),
        ("station.panel", "panel-station"),
        ("lop panel", None),
        ("panel", None),
    ],
)
def test_a_near_miss_is_near(typed: str, meant: str | None) -> None:
    """Few slips for the length, or whole parts of one name only; else there is no suggestion."""
    assert nearest(typed, PANELS) == meant


@given(st.sampled_from(["yard-2", "harbour-district", "block-leak-ohms"]), st.data())
def test_one_slip_of_a_letter_is_always_understood(name: str, data: st.DataObject) -> None:
    """One letter left out, doubled or swapped with the next leads back to the name."""
    at = data.draw(st.sampled_from([i for i in range(len(name) - 1) if name[i].isalpha() and name[i + 1].isalpha()]))
    slip = data.draw(
        st.sampled_from(
            [
                name[:at] + name[at + 1 :],
                name[:at] + name[at] + name[at:],
                name[:at] + name[at + 1] + name[at] + name[at + 2 :],
            ]
        )
    )

    assert nearest(slip, ["yard-2", "harbour-district", "block-leak-ohms", "panel-east"]) == name


def test_another_number_is_no_slip() -> None:
    """Who types yard-13 does not mean yard-1, yard-3 or yard-12."""
    assert nearest("yard-13", [f"yard-{i}" for i in range(1, 13)]) is None


# -- times -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("said", "seconds"),
    [
        ("5 min quiet", 300), ("1 day", 86400), ("24 hours", 86400), ("an hour", 3600), ("90 s", 90), ("2h30", 9000),
        ("half an hour", 1800), ("an hour and a half", 5400), ("1 day and 6 hours", 108000), ("2,5 h", 9000),
        ("at least 45 min", 2700), ("about 3 weeks", 1814400), ("quiet for two hours", 7200), ("3 d", 259200),
    ],
)  # fmt: skip
def test_times_are_understood_as_people_say_them(said: str, seconds: float) -> None:
    """Figures or words, whole units or pieces of them, with the words around that people put there."""
    assert casebook.period(said) == seconds


@pytest.mark.parametrize("said", ["5", "5 m", "a few hours", "30 min 2 h", "soon", "-5 min", "5 min or 2 h", "h"])
def test_what_is_no_time_is_told_with_what_is(said: str) -> None:
    """Nothing is guessed: no unit, two meanings or no figure are refused, with samples of what is understood."""
    with pytest.raises(Unreadable, match="write such as '45 min', '2 h', '1 d' or 'an hour and a half'"):
        casebook.period(said)


@given(st.integers(1, 10**8))
def test_a_period_is_read_as_it_is_written(seconds: int) -> None:
    """Whatever is kept in a case file comes back the same."""
    assert casebook.period(casebook.spell(seconds)) == seconds


def test_a_time_at_hand_may_have_a_unit(shelf: Path) -> None:
    """An hour and a half is ninety minutes; a bare number is minutes."""
    path = opened(shelf)
    ran("resume", path, said="m\nan hour and a half\n1\nm\n20\n1\n")

    assert [e["time"] for e in casebook.read(Path(path)).events if "time" in e] == [90.0, 20.0]


# -- not yet, not sure -----------------------------------------------------------------------------------------


def in_need_of_proof(shelf: Path) -> str:
    """A case that has been mended, with a block wire and power to be put right before its quiet time."""
    path = opened(shelf)
    assert ran("mend", path, "dry-and-clean-ballast", "--result", "fixed", "--at", "yard-2").code == 0
    return path


def test_not_yet_loses_nothing_and_leads_on(shelf: Path) -> None:
    """A slip at "all of it done now?" ends nothing: one may be asked again, and the case closes after all."""
    path = in_need_of_proof(shelf)
    done = ran("resume", path, said="1\n2\n1\n1\n-\n2 h\n1\n")

    assert f"Saved as it stands. To come back later: troubleshoot resume {Path(path).stem}" in done.out
    assert "Ask me again" in done.out
    assert casebook.read(Path(path)).closed, done.out


def test_not_yet_offers_another_step_and_leaving(shelf: Path) -> None:
    """A repair not made yet leads to another check or mend, or out with everything saved."""
    path = in_need_of_proof(shelf)
    other = ran("resume", path, said="u\n2\n")
    left = ran("resume", path, said="u\nleave\n")

    assert "What instead?" in other.out
    assert left.code == 5
    assert not casebook.read(Path(path)).closed


UNSURE = ["not sure", "Don't know", "dont know.", "no idea", "I don't know", "I'm not sure"]


@pytest.mark.parametrize("said", UNSURE)
@pytest.mark.parametrize(
    ("prompt", "meant"),
    [
        (Prompt("Ohms?", (Option("=sound", "only that it is: sound", "=1"),), COMMANDS, typed=True), "!not-sure"),
        (pick("Where?", [("one", "At one"), ("", "Not sure")]), ""),
        (yes_no("Right?"), "no"),
        (Prompt("Which block?", typed=True, unsure="-"), "-"),
    ],
)
def test_not_knowing_is_an_answer_everywhere(prompt: Prompt, meant: str, said: str) -> None:
    """It may be said in plain words, at choices and at lines to type into."""
    assert match(prompt, said) == meant


def test_a_note_may_say_that_nobody_knows() -> None:
    """Where any text is an answer, it is taken as it was typed."""
    assert match(Prompt("Your note", typed=True), "no idea") == "no idea"


@pytest.mark.parametrize("prompt", [yes_no("Right?"), Prompt("Which block?", typed=True, unsure="-")])
def test_a_question_mark_helps_at_every_question(prompt: Prompt) -> None:
    """Also where there are no commands; then the question waits on."""
    out = io.StringIO()
    with pytest.raises(Paused):
        PlainAsker(io.StringIO("?\n"), out).ask(prompt)

    assert '"Not sure" or "don\'t know" is an answer here too' in out.getvalue()


# -- numbers in sentences --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("value", "said"), [(0, "0 minutes"), (1, "1 minute"), (1.4, "1 minute"), (2, "2 minutes")])
def test_one_minute_is_one_minute(value: float, said: str) -> None:
    """Singular and plural follow the number that is shown."""
    assert screen.counted(value, "minute") == said


def test_no_screen_says_1_minutes(shelf: Path) -> None:
    """Nor any other one of several, over a whole inquiry answered by not sure."""
    done = ran("resume", opened(shelf), said="u\n" * 40)

    assert not re.search(r"\b1 (?:minutes|places|parts|days|cases|readings|checks|moves)\b", done.out)


def test_closing_tells_the_time_that_was_spent(shelf: Path) -> None:
    """What the rules reckon for all that was done, in minutes; by the clock too, since events carry times."""
    path = in_need_of_proof(shelf)
    done = ran("resume", path, said="1\n1\n-\n2 h\n1\n")

    spent = minutes_spent(resume(Path(path)))
    assert spent > core().remedies["core/dry-and-clean-ballast"].minutes
    assert f"{spent:.0f} minutes as planned for what was done (0 checks, 1 repair); 0 minutes by the clock" in _run_on(
        done.out
    )


# -- what is called out ----------------------------------------------------------------------------------------


def test_power_that_is_off_is_not_called_off_again() -> None:
    """The others are told when something changes for them, not that it stays as it is."""
    off = SetUpChange(OFF, "yard-2")
    step = ohms_of("yard-2", off)

    assert screen.call_out(core(), step, (off,)) == ""
    assert "track power goes off" in screen.call_out(core(), ohms_of("yard-2"))


def test_power_that_comes_on_is_called_out_as_such(shelf: Path) -> None:
    """A step that switches on warns of just that, when power was off; the others say nothing meanwhile."""
    session = resume(Path(opened(shelf)))
    session.add({"set-up": OFF, "at": "yard-2", "state": "entered"})
    told = {True: set[str](), False: set[str]()}
    for _ in range(40):
        made = session.diagnosis()
        if not isinstance(made.step, CheckStep):
            break
        comes_on = any(core().set_ups[s].power == "on" for s in made.step.prepared.enter)
        told[comes_on].add(screen.call_out(core(), made.step, made.in_force))
        session.add({"answer": made.step.check.name, "at": made.step.place.name, "aside": "not-sure"})

    assert told == {True: {"“Hands off the rails, track power comes on!”"}, False: {""}}


# -- cautions and the window -----------------------------------------------------------------------------------


class Reader:
    """Answers not sure until a meter is to be read; keeps how many rows each page before it and its screen took."""

    def __init__(self, out: screen.Console) -> None:
        self.out = out
        self.pages: list[str] = []
        self.told = ""
        self.step = ""
        self.rows = 0

    def ask(self, prompt: Prompt) -> str:
        """What a person would type."""
        assert isinstance(self.out.file, io.StringIO)
        told = self.out.file.getvalue().rstrip("\n")
        self.out.file.seek(0)
        self.out.file.truncate()
        self.told += _run_on(told)
        taken = told.count("\n") + 1 + rows(prompt, self.out.width)
        if prompt.topic == "cautions":
            assert taken <= self.out.size.height
            self.pages.append(_run_on(told))
            return "read"
        if "what does it read" in prompt.asks:
            self.step, self.rows = _run_on(told), taken
            raise Paused
        self.pages = []
        return prompt.default or "!not-sure"


def _run_on(text: str) -> str:
    """A drawn text without its styles, its labels and its line ends."""
    return " ".join(re.sub(r"\x1b\[[0-9;]*m", "", text).replace("CAUTION", " ").split())


def first_reading(folder: Path, symptom: str, about: str, columns: int, height: int = 45) -> tuple[Reader, Loop]:
    """The first step with a meter, as it stands in a window."""
    club = load(LAYOUTS / "club.yaml")
    session = start("club", (), folder, {"symptom": f"core/{symptom}", "about": about}, core(), club)
    out = Console(
        file=io.StringIO(),
        width=columns,
        height=height,
        force_terminal=True,
        highlight=False,
        markup=False,
        emoji=False,
    )
    reader = Reader(out)
    loop = Loop(session, reader, out)
    loop.run()
    return reader, loop


CROWDED = [
    ("coin-does-not-trip", "yard-1"),
    ("district-trips-crossing-a-gap", "yard-district"),
    ("neighbour-shows-too", "yard-1"),
    ("long-feeder-shows-occupied", "yard-1"),
]
"""The first readings that need most rows."""


@pytest.mark.parametrize(("symptom", "about"), CROWDED)
def test_a_step_is_read_without_scrolling_back(tmp_path: Path, symptom: str, about: str) -> None:
    """At 100 columns and 45 rows a step and its question fit, and so does every page of cautions before it."""
    reader, _ = first_reading(tmp_path, symptom, about, 100)

    assert 0 < reader.rows <= 45


@pytest.mark.parametrize("columns", [60, 100])
def test_a_page_of_cautions_tells_every_new_one_in_full(tmp_path: Path, columns: int) -> None:
    """What the step's own screen tells by its title alone has been told in full on a page or a screen before it."""
    reader, loop = first_reading(tmp_path, "coin-does-not-trip", "yard-1", columns)
    step = loop.session.diagnosis().step
    assert isinstance(step, CheckStep)

    assert reader.pages
    for name in step.prepared.cautions:
        caution = core().cautions[name]
        # what an earlier caution of the page says too is said once
        assert all(s in reader.told for s in sentences(caution.hazard) + sentences(caution.do)), name
        assert (
            name.removeprefix("core/").replace("-", " ") in reader.step or sentences(caution.hazard)[0] in reader.step
        )
    assert set(step.prepared.cautions) <= loop.seen


def test_danger_stands_above_the_step_behind_its_pages(tmp_path: Path) -> None:
    """What has to be made safe first is said again on the step's own screen, before anything else."""
    reader, _ = first_reading(tmp_path, "coin-does-not-trip", "yard-1", 100)

    assert reader.step.startswith("MAKE SAFE FIRST")


def test_a_roomy_window_shows_all_at_once(tmp_path: Path) -> None:
    """Pages and titles are for small windows only."""
    reader, loop = first_reading(tmp_path, "coin-does-not-trip", "yard-1", 100, 200)
    made = loop.session.diagnosis()

    assert not reader.pages
    assert loop.fit(made, ()) == Fit()


def test_mere_looking_does_not_count_as_having_read_a_caution(shelf: Path) -> None:
    """A question without hands or meter tells the hazard alone, so the caution is told in full when it matters."""
    session = resume(Path(opened(shelf)))
    loop = Loop(session, ScriptedAsker({}), Console(file=io.StringIO(), width=100))
    made = session.diagnosis()
    assert isinstance(made.step, CheckStep)
    assert screen.looking(made.step)
    loop.check(made, made.step)

    assert made.step.prepared.cautions
    assert not loop.seen


def test_a_sentence_of_two_cautions_is_told_once() -> None:
    """Cautions that say the same in part are merged; nothing else of them is lost."""
    rulebook, names = core(), ["core/hand-over", "core/mains-stays-shut"]
    both = [rulebook.cautions[n] for n in names]
    twice = {names[0]: both[0], names[1]: replace(both[1], do=f"{both[1].do} {both[0].do}")}
    told = _run_on(drawn(*screen.cautions_in_full(replace(rulebook, cautions=twice), names)))

    for sentence in sentences(both[0].do):
        assert told.count(sentence) == 1
    assert all(s in told for s in sentences(both[1].hazard) + sentences(both[1].do))


def test_a_key_tells_cautions_in_full_again(shelf: Path) -> None:
    """Also when they have been read before; the question comes back unanswered."""
    path = opened(shelf)
    until_reading(path, "ohm")
    done = ran("resume", path, said="f\n")
    step = resume(Path(path)).diagnosis().step
    assert isinstance(step, CheckStep)

    for name in step.prepared.cautions:
        assert _run_on(done.out).count(sentences(core().cautions[name].do)[0]) == 2
    assert "f cautions in full" in done.out


# -- the proof taken up again ----------------------------------------------------------------------------------


def test_a_passed_proof_is_not_asked_for_again(shelf: Path) -> None:
    """Left before the quiet time is over, a case asks for that alone when it is taken up again."""
    path = in_need_of_proof(shelf)
    left = ran("resume", path, said="1\n1\n-\n")
    again = ran("resume", path, said="2 h\n1\n")

    assert "How did the proof go?" in left.out
    assert "The proof passed already" in again.out
    assert "How did the proof go?" not in again.out
    assert "All of it done now?" not in again.out
    assert casebook.read(Path(path)).closed, again.out


def test_trouble_that_comes_back_in_the_quiet_time_fails_the_proof(shelf: Path) -> None:
    """The quiet time may end badly: that is an answer to how long it was quiet, and the inquiry goes on."""
    path = in_need_of_proof(shelf)
    ran("resume", path, said="1\n1\n-\n")
    ran("resume", path, said="x\n")

    assert [e["outcome"] for e in casebook.read(Path(path)).events if "proof" in e] == ["passed", "failed"]
    assert resume(Path(path)).diagnosis().state != "mended"


def test_a_page_of_cautions_in_a_terminal_is_left_with_enter(shelf: Path) -> None:
    """In a small window the cautions come first, on a page of their own; Enter goes on to the step."""
    path = opened(shelf, symptom="coin-does-not-trip", about="yard-1")
    until_reading(path, "ohm")
    child = begun(shelf, "resume", path, columns=100, height=45)
    child.expect("Before the step that follows")
    told = ""
    for _ in range(12):  # a page may be drawn twice before it is left
        if child.expect([r"2 Save and stop", "only that it is"]) == 1:
            told = plain(child.before or "")
            break
        child.send("\r")
    child.expect("save and stop")
    child.send("s\r")
    child.expect("Saved. Go on with")
    child.close()

    assert "MAKE SAFE FIRST" in told
    assert "f tells them in full" in " ".join(told.split())


# -- menus in a terminal ---------------------------------------------------------------------------------------


def begin(shelf: Path, columns: int) -> "pexpect.spawn[str]":
    """An inquiry at its second question, which has many long answers."""
    child = begun(shelf, "resume", opened(shelf), columns=columns)
    child.expect("save and stop")
    child.send("1\r")
    child.expect("What was done on the layout")
    child.expect("save and stop")
    return child


def left(child: "pexpect.spawn[str]") -> str:
    """What was told until the inquiry is saved and left."""
    child.send("s")
    child.expect("Saved. Go on with")
    told = plain(child.before or "")
    child.expect(pexpect.EOF)
    child.close()
    return told


def test_a_number_outside_a_menu_is_refused_on_the_screen(shelf: Path) -> None:
    """Typed in a terminal, 99 and Enter answer nothing; the screen says which numbers there are."""
    child = begin(shelf, 100)
    child.send("99\r")
    child.expect("no 99; choose")  # only what changes on the screen is sent
    left(child)

    assert sum("answer" in e for e in the_case(shelf).events) == 1


def test_a_key_without_meaning_leads_to_the_keys(shelf: Path) -> None:
    """A letter that is no command says where the commands are told, and answers nothing."""
    child = begin(shelf, 100)
    child.send("z")
    child.expect("shows the key")
    left(child)

    assert sum("answer" in e for e in the_case(shelf).events) == 1


@pytest.mark.parametrize("columns", [60, 100])
def test_no_word_is_broken_at_the_edge(shelf: Path, columns: int) -> None:
    """Answers longer than a line, and the lines that tell what was answered, are broken between words."""
    child = begin(shelf, columns)
    asked = the_case_session(shelf).diagnosis().step
    assert isinstance(asked, CheckStep)
    longest = max(asked.check.labels.values(), key=len)
    number = [*asked.check.labels.values()].index(longest) + 1
    child.send(f"{number}\r")
    child.expect("save and stop")
    told = plain(child.before or "")
    left(child)

    assert max(map(len, told.split("\n"))) <= columns
    assert f"   {longest}" in told or longest in " ".join(told.split())
    words = set(re.findall(r"[A-Za-z]{3,}", longest))
    assert words <= set(re.findall(r"[A-Za-z]{3,}", told))


def the_case_session(shelf: Path) -> Session:
    """The one case on the shelf, taken up."""
    (path,) = shelf.glob("*.yaml")
    return resume(path)


def test_plain_lines_in_a_terminal_are_broken_between_words(shelf: Path) -> None:
    """Plain lines keep to the window too, where there is one."""
    child = begun(shelf, "resume", opened(shelf), "--plain", columns=60)
    child.expect("> ")
    child.send("1\r")
    child.expect("What was done on the layout")
    child.expect("> ")
    told = plain(child.before or "")
    child.close()

    assert max(map(len, told.split("\n"))) <= 60


# -- a mend chosen, and its trial ------------------------------------------------------------------------------


def other_menu(path: str) -> list[str]:
    """The rows of the menu of other steps, without their numbers."""
    out = " ".join(ran("resume", path, said="o\n").out.split("What instead?")[1].split())
    return [row.strip() for row in re.split(r" \d+ (?=[A-Z])", out)]


def number_of(path: str, part: str) -> str:
    """The number under which a menu of other steps offers something."""
    lines = ran("resume", path, said="o\n").out.split("What instead?")[1].split("\n")
    return next(line.split()[0] for line in lines if part in line)


def test_a_mend_that_is_chosen_is_shown_before_it_is_asked_for(shelf: Path) -> None:
    """What to do, cautions and proof stand on the screen before the question whether it is done."""
    path = opened(shelf)
    told = _run_on(ran("resume", path, said=f"o\n{number_of(path, 'Mend now: dry and clean')}\n").out)
    remedy = core().remedies["core/dry-and-clean-ballast"]

    asked = told.index("Have you done it")
    assert remedy.cautions
    assert -1 < told.find(_run_on(sentences(remedy.do)[0])) < asked
    assert -1 < told.find("proof Ohms from rail to rail") < asked


@pytest.mark.parametrize("symptom", ["phantom-occupancy", "district-trips-at-power-up", "low-volts-far-from-the-feed"])
def test_no_mend_is_offered_twice(shelf: Path, symptom: str) -> None:
    """Causes that one remedy mends at one place give one row."""
    about = "yard-2" if symptom == "phantom-occupancy" else "yard-district"
    rows = [row for row in other_menu(opened(shelf, symptom=symptom, about=about)) if row.startswith("Mend now")]

    assert len(rows) > 1
    assert len(set(rows)) == len(rows)


def test_whether_the_trouble_is_gone_is_asked_when_all_is_put_right(shelf: Path) -> None:
    """With a wire lifted and power off nobody can tell: both are put right between the mend and its trial."""
    path = opened(shelf)
    for state in ("power-off", "feed-lifted-at-detector"):
        assert ran("set-up", path, state, "entered", "--at", "yard-2").code == 0
    session = resume(Path(path))
    out = io.StringIO()
    loop = Loop(session, PlainAsker(io.StringIO("1\n1\n1\n"), out), Console(file=out, width=100))
    made = session.diagnosis()
    place = session.layout.place("yard-2")
    loop.mended(made, "core/part-the-two-sensors", place, None)
    told = out.getvalue()

    assert told.index("Have you done it") < told.index("All of it done now?") < told.index("is the trouble gone?")
    assert "Yes, and the trouble is gone" not in told
    assert not session.inquiry.in_force
    assert [m.result for _, m in session.inquiry.mends] == ["fixed"]


def test_a_proof_by_meter_leaves_power_off_and_asks_nothing_of_the_trouble(shelf: Path) -> None:
    """Where the proof needs the wire lifted, it comes next; nothing is put back only to be lifted again."""
    path = opened(shelf)
    ran("set-up", path, "power-off", "entered", "--at", "yard-2")
    session, out = resume(Path(path)), io.StringIO()
    loop = Loop(session, PlainAsker(io.StringIO("1\n"), out), Console(file=out, width=100))
    loop.mended(session.diagnosis(), "core/dry-and-clean-ballast", session.layout.place("yard-2"), None)

    assert "its proof is made next, as things stand" in out.getvalue()
    assert "All of it done now?" not in out.getvalue()
    assert [c.set_up for c in session.inquiry.in_force] == [OFF]


# -- names of cases --------------------------------------------------------------------------------------------


def test_a_part_of_its_name_takes_a_case_up(shelf: Path) -> None:
    """The words of a name in any order find the one case that has them; several are told apart by name."""
    one, two = Path(opened(shelf)), Path(opened(shelf, about="yard-3"))

    assert case_path("yard-3") == two
    assert case_path("2 yard") == one
    assert ran("resume", "yard-3", said="s\n").code == 5
    both = ran("resume", "yard")
    assert both.code == 2
    assert one.stem in both.err
    assert two.stem in both.err


def test_resume_alone_lists_the_open_cases(shelf: Path) -> None:
    """Without a terminal the open cases are listed, with what to type; a folder without any says how to begin."""
    none = ran("resume")
    path = Path(opened(shelf))
    some = ran("resume")

    assert none.code == some.code == 2
    assert "troubleshoot start" in none.err
    assert f"{path.stem}: phantom occupancy" in some.out
    assert "troubleshoot resume NAME" in some.err


def test_resume_alone_offers_the_open_cases_in_a_terminal(shelf: Path) -> None:
    """Enter takes the newest one up, where it was left."""
    opened(shelf)
    child = begun(shelf, "resume", columns=100)
    child.expect("Which case")
    child.expect("then Enter")
    child.send("1\r")
    child.expect("sign of danger")
    child.expect("save and stop")
    left(child)


def test_a_case_in_another_folder_is_told_by_its_file_on_one_line(shelf: Path, tmp_path: Path) -> None:
    """Its path is never broken; a case of the usual folder goes by its short name."""
    other = tmp_path / ("a folder with a long name " * 3).strip().replace(" ", "-") / "cases"
    started = ("start", "--layout", "club", "--symptom", "phantom-occupancy", "--about", "yard-2", "--width", "60")
    away = ran(*started, "--cases", str(other), said="1\ns\n")
    here = ran(*started, said="1\ns\n")

    (path,) = other.glob("*.yaml")
    assert f"  troubleshoot resume {path}" in away.out.split("\n")
    assert f"Saved. Go on with: troubleshoot resume {path.stem}" in here.out
    assert str(shelf) not in here.out


# -- ways out --------------------------------------------------------------------------------------------------


def test_a_chain_can_be_followed_when_nothing_is_done_yet(shelf: Path) -> None:
    """Under o, and after "not yet", going on where the cause shows itself is a choice that names the place."""
    session = held_by_a_turnout(shelf)
    path = str(session.case.path)
    at = session.diagnosis().chain
    assert at is not None
    where = at[2][0].name
    assert f"Go on with {where} now, with all answers kept" in " ".join(ran("resume", path, said="o\n").out.split())

    out = io.StringIO()
    loop = Loop(session, PlainAsker(io.StringIO("3\n"), out), Console(file=out, width=100))
    loop.not_yet(session.diagnosis())

    assert f"3  Go on with {where} now" in out.getvalue()
    complaint = session.inquiry.complaint
    assert complaint is not None
    assert (complaint.symptom, complaint.about) == (at[1], where)


def test_what_was_found_by_hand_is_mended_and_proven(shelf: Path) -> None:
    """Plain words lead to the cause; its remedy counts as done, and its proof is asked for next."""
    path = opened(shelf)
    done = ran("resume", path, said="o\ni\nthe ballast was still damp\n1\n1\n")
    events = casebook.read(Path(path)).events

    assert "Which of these is it?" in done.out
    assert "Prove it mended" in done.out
    assert events[1]["note"] == "Found by hand: the ballast was still damp"
    assert (events[2]["remedy"], events[2]["at"]) == ("core/dry-and-clean-ballast", "yard-2")


def test_what_no_rule_names_closes_by_hand_and_teaches_nothing(shelf: Path) -> None:
    """The person's own words stay with the case; no learning counts it."""
    path = opened(shelf)
    done = ran("resume", path, said="o\ni\nqwertz uiop\n1\n1\n")
    case = casebook.read(Path(path))
    entry, _ = entry_of(case)

    assert done.code == 0
    assert "No cause fits these words" in done.out
    assert case.closed
    assert case.closed_by_hand
    assert any(e.get("note") == "Found by hand: qwertz uiop" for e in case.events)
    assert lesson_of(entry, core()) is None
    assert "found and mended by hand" in _run_on(ran("report", path).out)


def test_causes_of_the_symptom_come_before_all_others() -> None:
    """Words that fit causes of several symptoms list those of the one complained about first."""
    found = find_causes(core(), "damp ballast", "core/phantom-occupancy")
    own = ["core/phantom-occupancy" in core().causes[n].weights for n in found]

    assert found[0] == "core/leak-through-ballast"
    assert own == sorted(own, reverse=True)
    assert not find_causes(core(), "qwertz uiop", "core/phantom-occupancy")


def test_any_answer_can_be_looked_at_again(shelf: Path) -> None:
    """Not only the last answer: each is listed with what was said, and the one chosen is taken back."""
    path = opened(shelf)
    ran("resume", path, said="1\nu\n1\ns\n")
    given = [i for i, e in enumerate(casebook.read(Path(path)).events, 1) if "outcome" in e]
    done = ran("resume", path, said="o\na\n2\ns\n")

    assert "Which answer is taken back?" in done.out
    assert casebook.read(Path(path)).events[-1]["takes-back"] == given[0]


def test_another_symptom_keeps_every_answer(shelf: Path) -> None:
    """The inquiry turns to it; what was said stays."""
    path = opened(shelf)
    ran("resume", path, said="1\no\ny\ndistrict trips when I switch on\n1\nyard-district\ns\n")
    case = casebook.read(Path(path))

    assert case.events[-1]["symptom"].startswith("core/")
    assert case.events[-1]["symptom"] != "core/phantom-occupancy"
    assert any("outcome" in e for e in case.events)


# -- words and figures -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("place", "said"),
    [
        (Place("vehicle", "express-loco"), "The power district where it is done stands still meanwhile"),
        (Place("block", "yard-2"), "The power district of yard-2 stands still meanwhile"),
        (Place("district", "yard-district"), "The district yard-district stands still meanwhile"),
    ],
)
def test_a_vehicle_has_no_power_district(place: Place, said: str) -> None:
    """What waits is told in words that fit the kind of place."""
    step = replace(ohms_of("yard-2"), place=place)
    check = replace(step.check, keeps_waiting="district")
    step = replace(step, check=check, prepared=replace(step.prepared, enter=()))
    told = _run_on(drawn(*screen.steps.waits_lines(core(), step)))

    assert said in told
    assert ("No trains in this power district" in told) == (place.kind == "vehicle")


def test_a_multiple_of_a_quantity_is_shown_as_such(club: Layout) -> None:
    """Ten times 4.29 kohm is 42.9 kohm: the ten stands in the line that says what the limit comes from."""
    inquiry = Inquiry((Complaint("core/turnout-reports-nothing", "t-301"),))
    while isinstance(step := diagnose(club, core(), inquiry).step, CheckStep):
        if any("contact limit" in limit.formula for limit in step.limits):
            break
        inquiry = inquiry.and_then(PutAside(step.check.name, step.place.name))
    assert isinstance(step, CheckStep)
    told = _run_on(drawn(*screen.steps.reading_lines(core(), step)))

    assert "42.9 kohm" in told
    assert "from 10 x contact limit; contact limit = pull-up resistor x 0.3 / 0.7;" in told


def test_a_vehicle_goes_by_the_detectors_of_the_record(club: Layout) -> None:
    """Where no block is named, the record's detectors count and no assumption; the one that asks for most is named."""
    found = quantity("detector-threshold", club, Place("vehicle", "express-loco"))
    parts: dict[str, Part] = dict(club.parts)
    parts["det-west"] = replace(parts["det-west"], figures={**parts["det-west"].figures, "threshold": (0.006, "A")})
    uneven = quantity("detector-threshold", replace(club, parts=parts), Place("vehicle", "express-loco"))

    assert found.value == pytest.approx(0.003)
    assert not found.assumed
    assert uneven.value == pytest.approx(0.006)
    assert "det-west asks for most" in uneven.data[0].said


@pytest.mark.parametrize("said", ["all the time", "It was there all the time.", "always", "never quiet", "a"])
def test_a_trouble_that_was_never_quiet_is_understood_in_words(shelf: Path, said: str) -> None:
    """Its proof is its trial alone: no quiet time is waited for."""
    path = in_need_of_proof(shelf)
    done = ran("resume", path, said=f"1\n1\n{said}\n1\n")

    assert "How long has it been quiet?" not in done.out
    assert casebook.read(Path(path)).closed, done.out


def test_a_quiet_time_that_is_not_over_says_what_is_kept_and_when_to_come_back(shelf: Path) -> None:
    """A dash leaves the case open, with the mend and its proof saved; not knowing is not asked for a second time."""
    path = in_need_of_proof(shelf)
    first = ran("resume", path, said="1\n1\n-\n-\n")
    again = ran("resume", path, said="2 h\n1\n")

    assert "The mend and its passed proof are saved" in _run_on(first.out)
    assert re.search(r"come back on \w+day \d\d \w+ at \d\d:\d\d or later", _run_on(first.out))
    assert "How long was it quiet at most" not in again.out
    assert casebook.read(Path(path)).closed


@pytest.mark.parametrize(
    ("symptom", "about", "refused"),
    [
        ("low-volts-far-from-the-feed", "yard-district", True),
        ("dead-section", "yard-1", True),
        ("district-trips-at-power-up", "yard-district", False),
        ("phantom-occupancy", "yard-2", False),
    ],
)
def test_lifting_is_refused_where_the_fault_would_not_go(shelf: Path, symptom: str, about: str, refused: bool) -> None:
    """A loose screw or a thin wire stays where it is, whatever is lifted; a short or a leak goes."""
    path = opened(shelf, symptom=symptom, about=about)
    key = _run_on(ran("resume", path, said="l\n").out)
    command = ran("locate", path)

    assert ("does not go when something is lifted" in key) is refused
    assert ("does not go when something is lifted" in command.err) is refused

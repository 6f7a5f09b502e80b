"""Where people who did not know the tool stumbled: names, times, "not yet", cautions that fill a screen, proofs."""

import io
import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from tests.conftest import LAYOUTS
from tests.running import opened, ran, until_reading
from tests.test_guided_flow import core, drawn, ohms_of
from tests.test_terminal import begun, plain
from troubleshoot import casebook, screen
from troubleshoot.cli.closing import minutes_spent
from troubleshoot.cli.fitting import Fit
from troubleshoot.cli.loop import Loop
from troubleshoot.cli.naming import belongs_to, named_in
from troubleshoot.cli.session import resume, start
from troubleshoot.diagnosis import CheckStep
from troubleshoot.dialogue import COMMANDS, Option, Paused, PlainAsker, Prompt, ScriptedAsker, match, pick, rows, yes_no
from troubleshoot.documents import nearest
from troubleshoot.inquiry import SetUpChange
from troubleshoot.layout import Layout, Place, load
from troubleshoot.quantities import Unreadable
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

    assert f"Saved as it stands. To come back later: troubleshoot resume {path}" in done.out
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
        if child.expect([r"2 Save and stop", "what does it read"]) == 1:
            told = plain(child.before or "")
            break
        child.send("\r")
    child.expect("save and stop")
    child.send("s\r")
    child.expect("Saved. Go on with")
    child.close()

    assert "MAKE SAFE FIRST" in told
    assert "f tells them in full" in " ".join(told.split())

"""Asking one question: plain lines, a terminal, a script; none of them ever picks an answer by itself."""

import io
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import PipeInput, create_pipe_input
from prompt_toolkit.output import DummyOutput

from tests.running import opened, ran, until_reading
from troubleshoot import casebook
from troubleshoot.dialogue import (
    COMMANDS,
    Option,
    Paused,
    PlainAsker,
    Prompt,
    ScriptedAsker,
    TerminalAsker,
    asker,
    hints,
    match,
    pick,
    yes_no,
)
from troubleshoot.dialogue.terminal import JOINED, STRAY, _Number

WORSE = Prompt(
    "When is it worse?",
    (Option("damp", "On damp days"), Option("hot", "When it is hot"), Option("no-pattern", "There is no pattern")),
    COMMANDS,
    topic="when-worse@yard-2",
)
OHMS = Prompt("Ohms from rail to rail?", (Option("=sound", "only that it is: sound", "=1"),), COMMANDS, typed=True)
SURE = Prompt("Is that right?", (Option("yes", "Yes"), Option("no", "No, ask again")), default="yes")


def plain(prompt: Prompt, *lines: str) -> tuple[str, str]:
    """What the plain way makes of typed lines, and what it printed."""
    write = io.StringIO()
    said = PlainAsker(io.StringIO("".join(f"{line}\n" for line in lines)), write).ask(prompt)
    return said, write.getvalue()


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("2", "hot"), (" 3 ", "no-pattern"), ("damp", "damp"), ("DAMP", "damp"), ("On damp days", "damp"),
        ("no-p", "no-pattern"), ("b", "!back"), ("w", "!why"), ("u", "!not-sure"), ("?", "!help"),
        ("not-sure", "!not-sure"),
        ("S", "!save"), ("why this?", "!why"),
    ],
)  # fmt: skip
def test_a_line_means_a_number_a_word_or_a_command(typed: str, meant: str) -> None:
    """Numbers, values, labels, clear beginnings and command keys are all understood."""
    assert plain(WORSE, typed)[0] == meant


@pytest.mark.parametrize("typed", ["", "0", "4", "99", "-1", "banana", "²", "٣"])
def test_what_means_nothing_is_asked_again(typed: str) -> None:
    """A line that is none of the choices picks nothing; the question stays until a line means something."""
    said, printed = plain(WORSE, typed, typed, "1")

    assert said == "damp"
    assert printed.count("is none of these; type a number from 1 to 3, or ? for help") == 2


def test_an_ambiguous_beginning_picks_nothing() -> None:
    """Two answers that begin alike are not guessed between."""
    prompt = pick("Which?", [("block-side", "On the block side"), ("block-end", "At the end")])

    assert match(prompt, "block") is None


def test_an_empty_line_never_means_none_of_these() -> None:
    """A way out that stands for nothing is chosen by its number, not by Enter alone."""
    prompt = pick("Which of these is nearest?", [("a", "A"), ("", "None of these")])

    assert match(prompt, " ") is None
    assert match(prompt, "2") == ""


@pytest.mark.parametrize("prompt", [WORSE, OHMS, SURE, yes_no("Sure?")])
def test_the_end_of_input_pauses(prompt: Prompt) -> None:
    """No more lines means save and stop, even where Enter alone would mean something."""
    with pytest.raises(Paused):
        plain(prompt)


def test_what_enter_means_is_said_before_it_is_taken() -> None:
    """An offered answer is shown as such, so that Enter alone is a choice and no accident."""
    said, printed = plain(SURE, "")

    assert said == "yes"
    assert "Enter alone means: Yes" in printed
    assert "Enter alone" not in plain(WORSE, "1")[1]


def test_a_reading_is_taken_as_typed_and_figures_are_no_choices() -> None:
    """Where a figure is asked, 1 is a reading; the shorthand of an outcome and the commands still work."""
    assert plain(OHMS, "1")[0] == "1"
    assert plain(OHMS, "2.9k")[0] == "2.9k"
    assert plain(OHMS, "=1")[0] == "=sound"
    assert plain(OHMS, "t")[0] == "!already-tried"
    assert plain(OHMS, "", "OL")[0] == "OL"


def test_the_commands_are_told_once() -> None:
    """The list of commands stands under the first question only; ? brings help at any time."""
    write = io.StringIO()
    who = PlainAsker(io.StringIO("1\n2\n"), write)
    who.ask(WORSE)
    who.ask(WORSE)

    assert write.getvalue().count("also: u not sure, c can't do that here") == 1
    assert write.getvalue().count("  1  On damp days") == 2


@given(st.text(max_size=20))
def test_no_line_brings_anything_but_a_choice_or_a_command(typed: str) -> None:
    """Whatever is typed, the outcome is one of the values offered, or nothing."""
    offered = {o.value for o in (*WORSE.options, *WORSE.commands)}

    assert match(WORSE, typed) in offered | {None}


def test_every_command_has_a_key_of_its_own() -> None:
    """No two commands share a letter, and none is a figure."""
    keys = [o.key for o in COMMANDS]

    assert len(set(keys)) == len(keys)
    assert not any(k.isdigit() for k in keys)


def test_commands_fit_into_narrow_rows() -> None:
    """At 60 columns the rows of commands are no wider than they may be, and none is lost."""
    rows = hints(COMMANDS, 54)

    assert max(map(len, rows)) <= 54
    assert all(any(o.label in row for row in rows) for o in COMMANDS)


def test_a_script_answers_by_topic_and_place() -> None:
    """A check is scripted by name, or by name and place where it is asked at several; the rest is not sure."""
    who = ScriptedAsker({"when-worse": "damp", "ohms@yard-3": "2k"})

    assert who.ask(WORSE) == "damp"
    assert who.ask(Prompt("?", topic="ohms@yard-3", typed=True)) == "2k"
    assert who.ask(Prompt("?", topic="ohms@yard-4", typed=True)) == "!not-sure"
    assert who.ask(SURE) == "yes"
    assert who.used == {"when-worse", "ohms@yard-3"}


@pytest.fixture
def keyboard() -> Iterator[PipeInput]:
    """A terminal to type into, without a screen."""
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        yield pipe


@pytest.mark.parametrize(
    ("keys", "meant"),
    [
        ("2\r", "hot"), ("\r", "damp"), ("\x1b[B\r", "hot"), ("\x1b[B\x1b[B\r", "no-pattern"), ("b", "!back"),
        ("w", "!why"), ("?", "!help"), ("u", "!not-sure"), ("9z8\x1b[B\r", "hot"),
        ("3\x1b[A\r", "hot"), ("02\r", "hot"), ("2u", "!not-sure"),
    ],
)  # fmt: skip
def test_keys_choose_in_a_terminal(keyboard: PipeInput, keys: str, meant: str) -> None:
    """Figures and arrows point and Enter answers, letters act at once; keys without meaning are let pass."""
    keyboard.send_text(keys)

    assert TerminalAsker().ask(WORSE) == meant


def test_a_figure_alone_answers_nothing(keyboard: PipeInput) -> None:
    """A figure only points: without Enter the question stays, and a later figure corrects it."""
    keyboard.send_text("2")
    threading.Timer(JOINED + 0.2, lambda: keyboard.send_text("1\r")).start()

    assert TerminalAsker().ask(WORSE) == "damp"


@pytest.mark.parametrize("typed", ["7", "0", "99", "32", "4", "771"])
@pytest.mark.parametrize("prompt", [WORSE, SURE, yes_no("Sure?"), pick("Which?", [("one", "One")])])
def test_a_number_outside_the_list_is_refused_with_its_enter(keyboard: PipeInput, prompt: Prompt, typed: str) -> None:
    """Neither the number nor the Enter behind it answers anything, at any menu; the next key is a new beginning."""
    keyboard.send_text(f"{typed}\r")
    answered = threading.Timer(0.2, lambda: keyboard.send_text(f"{len(prompt.options)}\r"))
    answered.start()

    said = TerminalAsker().ask(prompt)
    assert not answered.is_alive()
    assert said == prompt.options[-1].value


def test_the_enter_of_habit_belongs_to_its_own_question(keyboard: PipeInput) -> None:
    """A figure and Enter answer one question, and the Enter answers none after it."""
    who = TerminalAsker()
    keyboard.send_text("2\r3\r")

    assert [who.ask(WORSE), who.ask(WORSE)] == ["hot", "no-pattern"]


def test_an_enter_right_behind_a_letter_is_swallowed(keyboard: PipeInput) -> None:
    """A command acts at once; Enter typed after it out of habit does not answer what comes next."""
    who = TerminalAsker()
    keyboard.send_text("u\r2\r")
    assert [who.ask(WORSE), who.ask(WORSE)] == ["!not-sure", "hot"]


def test_a_later_enter_is_no_stray_one(keyboard: PipeInput) -> None:
    """Enter alone, a while after a command, takes the choice that is pointed at."""
    who = TerminalAsker()
    keyboard.send_text("u\r")
    assert who.ask(WORSE) == "!not-sure"

    threading.Timer(STRAY + 0.3, lambda: keyboard.send_text("\r")).start()
    assert who.ask(WORSE) == "damp"


@pytest.mark.parametrize(
    ("typed", "number"),
    [("7", 7), ("10", 10), ("12", 12), ("13", 13), ("0", 0), ("99", 99), ("101", 101), ("1 2", 2), ("1 0", 0)],
)
def test_choices_beyond_nine_are_typed_as_numbers(typed: str, number: int) -> None:
    """The tenth choice is 10; figures after a pause begin a number anew, and none of a number is left out."""
    said = _Number(12)
    now = 0.0
    for figure in typed:
        now += 0.1 if figure != " " else 2.0
        number_now = said.after(figure, now) if figure != " " else 0

    assert number_now == number


@pytest.mark.parametrize(
    ("number", "says"), [("7", "there is no 7; choose 1 to 3"), ("99", "there is no 99; choose 1 to 3")]
)
def test_a_refusal_names_what_can_be_chosen(number: str, says: str) -> None:
    """The message says which number is missing and which there are."""
    typed = _Number(3)
    for figure in number:
        typed.after(figure, 0.0)

    assert typed.refusal == says


@pytest.mark.parametrize(
    ("keys", "meant"), [("2.9k\r", "2.9k"), ("\r\rOL\r", "OL"), ("=1\r", "=sound"), ("b\r", "!back")]
)
def test_a_line_is_typed_in_a_terminal(keyboard: PipeInput, keys: str, meant: str) -> None:
    """Readings are typed with Enter; an empty line is not taken for an answer."""
    keyboard.send_text(keys)

    assert TerminalAsker().ask(OHMS) == meant


@pytest.mark.parametrize("prompt", [WORSE, OHMS])
def test_ctrl_c_interrupts_in_a_terminal(keyboard: PipeInput, prompt: Prompt) -> None:
    """Ctrl-C is handed on, so that the loop can say how to go on."""
    keyboard.send_text("\x03")

    with pytest.raises(KeyboardInterrupt):
        TerminalAsker().ask(prompt)


def test_ctrl_d_pauses_in_a_terminal(keyboard: PipeInput) -> None:
    """The end of input pauses in a terminal too."""
    keyboard.send_text("\x04")

    with pytest.raises(Paused):
        TerminalAsker().ask(OHMS)


def test_a_pipe_gets_plain_lines() -> None:
    """Where either end is no terminal, or plain is wished, there are no arrows."""
    assert isinstance(asker(False, io.StringIO(), io.StringIO()), PlainAsker)
    assert isinstance(asker(True, io.StringIO(), io.StringIO()), PlainAsker)


def test_a_pipe_that_ends_saves_and_pauses(shelf: Path) -> None:
    """An inquiry whose input ends is saved with all answers, says how to go on, and leaves with 5."""
    done = ran("start", "--layout", "club", "--symptom", "phantom-occupancy", "--about", "yard-2", said="1\n")

    (path,) = shelf.glob("*.yaml")
    assert done.code == 5
    assert f"Saved. Go on with: troubleshoot resume {Path(path).stem}" in done.out
    assert [e.get("outcome") for e in casebook.read(path).events if "answer" in e] == ["none"]


def test_no_input_at_all_begins_nothing(shelf: Path) -> None:
    """Without a word about the symptom no case is made."""
    done = ran("start", "--layout", "club")

    assert done.code == 5
    assert "nothing was begun" in done.err
    assert not shelf.exists()


def test_the_symptom_is_found_by_words_and_the_place_by_its_name(shelf: Path) -> None:
    """Own words lead to a choice of symptoms, a mistyped place is asked back with the nearest."""
    done = ran("start", "--layout", "club", said="zzzz\nghost train\n1\nyrad-2\nyard-2\n")

    (path,) = shelf.glob("*.yaml")
    assert done.code == 5
    assert "No symptom fits these words" in done.out
    assert "did you mean yard-2?" in done.out
    assert casebook.read(path).events[0]["symptom"] == "core/phantom-occupancy"
    assert casebook.read(path).events[0]["about"] == "yard-2"


def test_commands_in_the_middle_lose_nothing(shelf: Path) -> None:
    """Why, ranking, card, help, note, time, undone, not sure and back all come back to a question."""
    path = opened(shelf)
    lines = ["w", "r", "p", "?", "d", "n", "a note [with brackets]", "m", "soon", "20", "2", "u", "b", "1", "s"]

    done = ran("resume", path, said="\n".join(lines) + "\n")

    events = casebook.read(Path(path)).events
    assert done.code == 5
    assert "Why this check" in done.out
    assert "The ranking, with its evidence" in done.out
    assert "At every question" in done.out
    assert "Nothing is left undone." in done.out
    assert "'soon' is no number of minutes" in done.out
    assert [next(k for k in e if k != "when") for e in events] == [
        "symptom",
        "note",
        "time",
        "answer",
        "takes-back",
        "answer",
    ]
    assert events[1]["note"] == "a note [with brackets]"
    assert (events[2]["time"], events[2]["may-stop"]) == (20.0, "block")


def test_saving_at_another_check_saves_and_stops(shelf: Path) -> None:
    """Save and stop means that at every question, also at a check that was chosen instead."""
    done = ran("resume", opened(shelf), said="o\n1\ns\n1\n1\n")

    assert done.code == 5
    assert done.out.count("Saved. Go on with") == 1


def test_another_check_or_a_mend_can_be_chosen(shelf: Path) -> None:
    """Instead of what is advised, another check is answered, or a remedy reported."""
    path = opened(shelf)
    first = ran("resume", path, said="o\n1\nu\n")
    mends = [line for line in ran("resume", path, said="o\n").out.splitlines() if "Mend now" in line]
    second = ran("resume", path, said=f"o\n{mends[0].split()[0]}\n3\n")

    events = casebook.read(Path(path)).events
    assert (first.code, second.code) == (5, 5)
    assert events[1]["aside"] == "not-sure"
    assert [e["result"] for e in events if "result" in e] == ["not-fixed"]


def test_an_unreadable_figure_is_asked_again_and_a_readable_one_echoed(shelf: Path) -> None:
    """A reading counts only after it was echoed as understood and agreed to."""
    path = opened(shelf)
    until_reading(path, "ohm")

    done = ran("resume", path, said="banana\n3 V\n2k9\nno\n2.9k\nyes\n")

    readings = [e["reading"] for e in casebook.read(Path(path)).events if "reading" in e]
    assert done.code == 5
    assert '"3 V" is volts; ohms are wanted here' in done.out
    assert done.out.count("Understood as 2.9 kohm. Is that right?") == 2
    assert readings == ["2.9k"]

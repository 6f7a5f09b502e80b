"""Journeys in a real terminal: a whole inquiry, an interruption, a narrow window."""

import os
import re
import sys
from pathlib import Path

import pexpect
import pytest

from tests.running import ROOT
from troubleshoot import casebook

ANSWERS = {
    "danger": "1\r", "What was done": "u", "How far does": "1\r", "When is it worse": "1\r",
    "How does it come": "1\r", "Search yard-2": "1\r", "while a train or loco stands": "1\r",
    "changed since it began": "3\r", "Watch the": "4\r", "Where does the leak": "3\r",
}  # fmt: skip
"""Keys by a part of the question, for a block whose ballast is damp; everything else is not sure."""
FIGURES = {"Humidity": "72\r", "Ohms from rail to rail": "2.9k\r"}
"""What is read there, by a part of the question."""


AGREE = r"2 (?:No, ask again|Not yet|No, part|Save and stop)"


def begun(shelf: Path, *arguments: str, columns: int = 80, height: int = 60) -> "pexpect.spawn[str]":
    """The tool in a terminal of its own."""
    env = {**os.environ, "TROUBLESHOOT_CASES": str(shelf), "TERM": "xterm", "PROMPT_TOOLKIT_NO_CPR": "1"}
    return pexpect.spawn(
        sys.executable, ["-m", "troubleshoot", *arguments], cwd=str(ROOT), env=env, encoding="utf-8",
        dimensions=(height, columns), timeout=30,
    )  # fmt: skip


def plain(text: str) -> str:
    """What a terminal was sent, without its steering; wherever the cursor jumps, a new line begins."""
    jumps = re.sub(r"\x1b\[[0-9;]*[A-HJKf]|\r", "\n", text)
    return re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]|\x1b[()][A-Z0-9]|\x1b[=>]", "", jumps)


def the_case(shelf: Path) -> casebook.Case:
    """The one case that was made."""
    (path,) = shelf.glob("*.yaml")
    return casebook.read(path)


def begin_phantom(shelf: Path, columns: int = 80) -> "pexpect.spawn[str]":
    """An inquiry about a phantom on yard-2, standing at its first question."""
    child = begun(
        shelf, "start", "--layout", "club", "--symptom", "phantom-occupancy", "--about", "yard-2", columns=columns
    )
    child.expect("sign of danger")
    child.expect("1 None|1 No")
    return child


def test_a_whole_inquiry_to_a_closed_case(shelf: Path) -> None:
    """In a terminal, from the first question by keys to a mended, proven and closed case."""
    child = begin_phantom(shelf)
    child.expect(r"\? help")
    child.send("1\r")
    for _ in range(60):
        # only a question that is being asked shows its choices; an answered one does not
        found = child.expect(
            [
                r"\? help",
                r"2 (?:No, ask again|Not yet|No, part|Save and stop)",
                r"was there all the time",
                "such as 45 min",
                "Kept in",
            ]
        )
        told = " ".join(plain(child.before or "").split()).rpartition("Suspects")[2]
        if found == 0 and "only that it is" in told:
            child.send(next((keys for part, keys in FIGURES.items() if part in told), "u\r"))
            child.expect(["Understood as", "Suspects"])
        elif found == 0 and ("Have you done it" in told or "How did the proof go" in told):
            child.send("1\r")
        elif found == 0:
            child.send(next((keys for part, keys in ANSWERS.items() if part in told), "u"))
        elif found == 4:
            break
        elif found == 1:
            child.send("1\r")
        else:
            # a line to type into is drawn twice; what follows tells that it was taken
            child.send({2: "-\r", 3: "3 d\r"}[found])
            child.expect({2: "has it been quiet", 3: "Suspects"}[found])
    child.expect(pexpect.EOF)
    child.close()

    case = the_case(shelf)
    assert child.exitstatus == 0
    assert case.closed
    assert case.events[-1]["causes"] == ["core/leak-through-ballast"]


def test_ctrl_c_saves_and_resume_goes_on_with_the_same_question(shelf: Path) -> None:
    """An interruption tells how to go on; the next start asks what was being asked."""
    child = begin_phantom(shelf)
    child.send("1\r")
    child.expect(r"What was done on the layout")
    child.expect("save and stop")
    child.sendcontrol("c")
    child.expect(r"every answer is saved. Go on with: troubleshoot resume")
    child.expect(pexpect.EOF)
    child.close()
    case = the_case(shelf)

    again = begun(shelf, "resume", str(case.path))
    again.expect(r"What was done on the layout")
    again.expect("save and stop")
    again.send("s")
    again.expect("Saved. Go on with")
    again.expect(pexpect.EOF)
    again.close()

    assert child.exitstatus == 130
    assert again.exitstatus == 5
    assert [e.get("outcome") for e in case.events if "answer" in e] == ["none"]
    assert casebook.read(case.path).events == case.events


@pytest.mark.parametrize("columns", [60, 120])
def test_nothing_is_wider_than_the_terminal(shelf: Path, columns: int) -> None:
    """At 60 columns as at 120, no line runs over the edge, and arrows choose as well as figures."""
    child = begin_phantom(shelf, columns)
    child.expect("save and stop")
    first = child.before
    child.send("\r")
    child.expect(r"What was done on the layout")
    child.expect("save and stop")
    told = plain(f"{first}\n{child.before}")
    child.sendcontrol("c")
    child.expect(pexpect.EOF)
    child.close()

    assert max(len(line) for line in told.split("\n")) <= columns
    assert [e.get("outcome") for e in the_case(shelf).events if "answer" in e] == ["none"]

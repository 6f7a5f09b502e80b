"""Asking one question and taking the answer; the only importer of questionary.

Three ways of asking share one form: a terminal with arrows and one-key commands, plain numbered lines where
standard input is no terminal or plain is wished, and a script of answers. None of them ever picks an answer by
itself: the end of input pauses the inquiry. In a terminal figures only point, Enter answers: so a slip is seen before
it counts, and the Enter of habit belongs to its own question. A letter acts at once; an Enter right behind it is
swallowed. What is asked, and what follows, is left to the loop in `cli`.
"""

from typing import TextIO

from troubleshoot.dialogue.plain import PlainAsker, ScriptedAsker
from troubleshoot.dialogue.prompts import (
    COMMANDS,
    Asker,
    Option,
    Paused,
    Prompt,
    help_text,
    match,
    pick,
    unknown,
    wants_help,
    yes_no,
)
from troubleshoot.dialogue.terminal import TerminalAsker, hints, rows

__all__ = [
    "COMMANDS",
    "Asker",
    "Option",
    "Paused",
    "PlainAsker",
    "Prompt",
    "ScriptedAsker",
    "TerminalAsker",
    "asker",
    "help_text",
    "hints",
    "match",
    "pick",
    "rows",
    "unknown",
    "wants_help",
    "yes_no",
]


def asker(plain: bool, read: TextIO, write: TextIO) -> Asker:
    """The way of asking that suits: a terminal only where both ends are one and plain is not wished."""
    if plain or not read.isatty() or not write.isatty():
        return PlainAsker(read, write)
    return TerminalAsker()

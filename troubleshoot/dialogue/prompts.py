"""A question with its choices and commands, and what a typed line means by it. How it is asked is left to others."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol


class Paused(Exception):
    """There is no more input: save and stop."""


@dataclass(frozen=True)
class Option:
    """One choice: what it stands for, how it reads, and a key of its own for commands."""

    value: str
    label: str
    key: str = ""


@dataclass(frozen=True)
class Prompt:
    """A question with its choices and commands; `typed` says that a text may be typed instead of a choice.

    `unsure` is what "don't know" means where neither a command nor a choice says that.
    """

    asks: str
    options: tuple[Option, ...] = ()
    commands: tuple[Option, ...] = ()
    typed: bool = False
    default: str = ""
    topic: str = ""
    unsure: str | None = None


COMMANDS: tuple[Option, ...] = (
    Option("!not-sure", "not sure", "u"),
    Option("!cant-do", "can't do that here", "c"),
    Option("!already-tried", "already tried", "t"),
    Option("!back", "back", "b"),
    Option("!why", "why this?", "w"),
    Option("!ranking", "the ranking in full", "r"),
    Option("!other", "another check, or mend something", "o"),
    Option("!locate", "locate by lifting", "l"),
    Option("!places", "others sick or healthy", "h"),
    Option("!cautions", "cautions in full", "f"),
    Option("!card", "step card to take along", "p"),
    Option("!time", "time at hand", "m"),
    Option("!undone", "what is still undone", "d"),
    Option("!note", "note", "n"),
    Option("!save", "save and stop", "s"),
    Option("!help", "help", "?"),
)


class Asker(Protocol):
    """Whoever takes answers."""

    def ask(self, prompt: Prompt) -> str:
        """The value of the option chosen, the command, or the text typed. Raises Paused at the end of input."""


_UNSURE = re.compile(
    r"(?:i )?(?:dont|do not|cannot|cant) (?:know|say|tell)|(?:im |i am )?(?:not sure|unsure)|no (?:idea|clue)|dunno"
)
"""How people say that they do not know, in small letters and without signs."""


def unknown(prompt: Prompt) -> str | None:
    """What "don't know" means at a question: its command, the choice that says so, or `unsure`."""
    if any(o.value == "!not-sure" for o in prompt.commands):
        return "!not-sure"
    said = [o.value for o in prompt.options if o.value in ("not-sure", "!not-sure") or o.label.lower() == "not sure"]
    return said[0] if said else prompt.unsure


def wants_help(prompt: Prompt, typed: str) -> bool:
    """Whether a line asks for help at a question that has no command for it."""
    said = typed.strip().lower() in ("?", "help")
    return said and all(o.value not in ("!help", "help") for o in (*prompt.commands, *prompt.options))


def help_text(prompt: Prompt) -> str:
    """What can be said at a question, in a few sentences."""
    if prompt.options and not prompt.typed:
        parts = [f"Choose one of the {len(prompt.options)}, by its number."]
    else:
        parts = ["Type what is asked for, then Enter."]
    taken = next((o.label for o in prompt.options if prompt.default and o.value == prompt.default), prompt.default)
    parts += [f"Enter alone means: {taken}."] if taken else []
    if unknown(prompt) is not None:
        parts.append('"Not sure" or "don\'t know" is an answer here too.')
    return " ".join([*parts, "Ctrl-C leaves; what has been saved stays saved."])


def match(prompt: Prompt, typed: str) -> str | None:
    """What a typed line means: a number, a command's key, an option's value; else the text itself where allowed."""
    said = typed.strip()
    if not said:
        return prompt.default or None
    low = said.lower()
    for option in prompt.commands:
        if low in (option.key.lower(), option.value, option.value.lstrip("!"), option.label.lower()):
            return option.value
    number = int(said) if said.isascii() and said.isdigit() and len(said) < 4 else 0
    if not prompt.typed and 1 <= number <= len(prompt.options):
        return prompt.options[number - 1].value
    for option in prompt.options:
        if low in (option.value.lower(), option.label.lower()) or (option.key and low == option.key):
            return option.value
    unsure = (low == "u" and not prompt.typed) or _UNSURE.fullmatch(re.sub(r"[^a-z ]", "", low).strip())
    if unsure and (meant := unknown(prompt)) is not None:
        return meant
    if prompt.typed:
        return said
    starts = [o.value for o in prompt.options if o.value.lower().startswith(low)]
    return starts[0] if len(starts) == 1 else None


def yes_no(asks: str, topic: str = "") -> Prompt:
    """A plain yes or no."""
    return Prompt(asks, (Option("yes", "Yes"), Option("no", "No")), topic=topic, unsure="no")


def pick(asks: str, options: Sequence[tuple[str, str]], topic: str = "", unsure: str | None = None) -> Prompt:
    """A choice among values with labels; `unsure` is what not knowing means."""
    return Prompt(asks, tuple(Option(v, label) for v, label in options), topic=topic, unsure=unsure)

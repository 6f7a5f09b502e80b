"""Asking one question and taking the answer; the only importer of questionary.

Three ways of asking share one form: a terminal with arrows and one-key commands, plain numbered lines where
standard input is no terminal or plain is wished, and a script of answers. None of them ever picks an answer by
itself: the end of input pauses the inquiry. In a terminal figures only point, Enter answers: so a slip is seen before
it counts, and the Enter of habit belongs to its own question. A letter acts at once; an Enter right behind it is
swallowed. What is asked, and what follows, is left to the loop in `cli`.
"""

import re
import shutil
import textwrap
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol, TextIO


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


@dataclass
class PlainAsker:
    """Numbered lines read from a file; also for screen readers and phones."""

    read: TextIO
    write: TextIO
    _greeted: bool = field(default=False, init=False)

    def ask(self, prompt: Prompt) -> str:
        """Print the question, read a line, until the line means something."""
        print(prompt.asks, file=self.write)
        for number, option in enumerate(prompt.options, 1):
            print(
                f"  {number}  {option.label}" if not prompt.typed else f"  {option.key or '-'}  {option.label}",
                file=self.write,
            )
        if prompt.commands and not self._greeted:
            self._greeted = True
            print("  also: " + ", ".join(f"{o.key} {o.label}" for o in prompt.commands), file=self.write)
        taken = next((o.label for o in prompt.options if prompt.default and o.value == prompt.default), "")
        if taken:
            print(f"  Enter alone means: {taken}", file=self.write)
        while True:
            print("> ", end="", file=self.write, flush=True)
            line = self.read.readline()
            if not line:
                print("", file=self.write)
                raise Paused
            if wants_help(prompt, line):
                print(f"  {help_text(prompt)}", file=self.write)
                continue
            value = match(prompt, line)
            if value is not None:
                return value
            wanted = f"a number from 1 to {len(prompt.options)}" if prompt.options else "an answer"
            print(
                f"{line.strip()!r} is none of these; type {wanted}, or ? for help",
                file=self.write,
            )


@dataclass
class ScriptedAsker:
    """Answers from a file, by the topic of the question; what the script does not say is 'not sure'."""

    answers: Mapping[str, Any]
    unsaid: str = "!not-sure"
    used: set[str] = field(default_factory=set)

    def ask(self, prompt: Prompt) -> str:
        """The script's answer to a topic, or the answer for what it does not say."""
        # A check is scripted by its name alone, or by name@place where it is asked at several places.
        for topic in (prompt.topic, prompt.topic.split("@")[0]):
            if topic in self.answers:
                self.used.add(topic)
                return str(self.answers[topic])
        if prompt.default:
            return prompt.default
        return self.unsaid


STRAY = 0.7
"""Seconds after a one-key answer in which Enter is taken for the end of that answer (estimate)."""
JOINED = 1.0
"""Seconds within which two figures are taken for one number, as in 10 (estimate)."""
HOW_TO_CHOOSE = "number or arrows, then Enter"


@dataclass
class TerminalAsker:
    """Arrows, numbers and one-key commands in a terminal."""

    _keyed_at: float = field(default=-STRAY, init=False)

    def ask(self, prompt: Prompt) -> str:
        """Ask in the terminal. Ctrl-C raises KeyboardInterrupt, so that the loop saves and leaves."""
        import questionary

        try:
            if prompt.typed or not prompt.options:
                return self._typed(prompt)
            while (said := self._chosen(prompt)) == _HELP:
                print(_broken(f"  {help_text(prompt)}", max(30, shutil.get_terminal_size().columns - 2)))
            return said
        except EOFError as error:
            raise Paused from error
        finally:
            del questionary

    def _typed(self, prompt: Prompt) -> str:
        import questionary

        width = max(30, shutil.get_terminal_size().columns - 2)
        rows = [f"  {o.key} {o.label}" for o in prompt.options] + [f"  {r}" for r in hints(prompt.commands, width - 2)]
        hint = "\n" + "\n".join(rows) + "\n " if rows else " "
        while True:
            said = questionary.text(_broken(prompt.asks, width), qmark="", instruction=hint).unsafe_ask()
            if wants_help(prompt, said):
                print(_broken(f"  {help_text(prompt)}", width))
                continue
            value = match(prompt, said)
            if value is not None:
                return value

    def _chosen(self, prompt: Prompt) -> str:
        import questionary
        from prompt_toolkit.key_binding import KeyBindings, merge_key_bindings
        from questionary.prompts.common import InquirerControl

        width = max(30, shutil.get_terminal_size().columns - 2)
        choices: list[Any] = [
            questionary.Choice(_wrapped(f"{i} {o.label}", width), value=o.value)
            for i, o in enumerate(prompt.options, 1)
        ]
        if prompt.commands:
            choices.append(questionary.Separator(f"  -- {HOW_TO_CHOOSE}; letters act at once --"))
            choices += [questionary.Choice(f"{o.key} {o.label}", value=o.value) for o in prompt.commands[:3]]
            choices += [questionary.Separator(f"   {row}") for row in hints(prompt.commands[3:], width - 4)]
        hint = " " if prompt.commands else f"\n  ({HOW_TO_CHOOSE})"
        question = questionary.select(_broken(prompt.asks, width), choices=choices, qmark="", instruction=hint)
        windows = question.application.layout.find_all_windows()
        shown = next(w.content for w in windows if isinstance(w.content, InquirerControl))
        question.application.key_bindings = merge_key_bindings(
            [question.application.key_bindings or KeyBindings(), self._keys(prompt, shown)]
        )
        chosen = question.unsafe_ask()
        if isinstance(chosen, _Keyed) and chosen != _HELP:
            self._keyed_at = time.monotonic()
            # The prompt shows what Enter took; what a key took is told here, so that a slip is seen at once.
            print("  " + next((o.label for o in (*prompt.options, *prompt.commands) if o.value == chosen), chosen))
        return str(chosen)

    def _keys(self, prompt: Prompt, shown: Any) -> Any:
        """Figures point at a choice, letters are commands; Enter right behind a letter means nothing more."""
        from prompt_toolkit.filters import Condition
        from prompt_toolkit.key_binding import KeyBindings

        keys, typed = KeyBindings(), _Number(len(prompt.options))
        for figure in "0123456789":

            def point(_: Any, figure: str = figure) -> None:
                self._keyed_at = -STRAY  # what follows a figure is no stray Enter
                number = typed.after(figure, time.monotonic())
                if number:
                    shown.pointed_at = number - 1

            keys.add(figure, eager=True)(point)
        for option in (o for o in (*prompt.commands, *prompt.options) if o.key):

            def leave(event: Any, value: str = option.value) -> None:
                event.app.exit(result=_Keyed(value))

            keys.add(option.key, eager=True)(leave)
        taken = {o.key for o in (*prompt.commands, *prompt.options)}
        for key, means in (("u", unknown(prompt)), ("?", _HELP)):
            if means is not None and key not in taken:
                keys.add(key, eager=True)(lambda event, means=means: event.app.exit(result=_Keyed(means)))
        stray = Condition(lambda: time.monotonic() - self._keyed_at < STRAY)
        keys.add("enter", eager=True, filter=stray)(lambda _: None)
        return keys


_HELP = "?"
"""What the key for help brings at a question that has no command for it."""


class _Keyed(str):
    """An answer given by one key."""

    __slots__ = ()


@dataclass
class _Number:
    """The number typed at one question, figure by figure; those that follow quickly belong together."""

    most: int
    figures: str = ""
    last: float = -JOINED

    def after(self, figure: str, now: float) -> int:
        """The number that stands after a further figure; 0 while it means none of the choices."""
        joined = self.figures + figure if now - self.last < JOINED else figure
        self.figures = next((f for f in (joined, figure) if 1 <= int(f) <= self.most), "")
        self.last = now
        return int(self.figures or 0)


def hints(commands: Sequence[Option], width: int) -> list[str]:
    """Commands with their keys, in as few rows as fit the width."""
    rows: list[str] = []
    for option in commands:
        text = f"{option.key} {option.label}"
        if rows and len(rows[-1]) + 2 + len(text) <= width:
            rows[-1] += "  " + text
        else:
            rows.append(text)
    return rows


def rows(prompt: Prompt, columns: int) -> int:
    """How many rows a question takes in a terminal, with its choices, its commands and the line for the answer."""
    width = max(30, columns - 2)
    asked = _broken(prompt.asks, width).count("\n") + 1
    if prompt.typed or not prompt.options:
        return asked + len(prompt.options) + len(hints(prompt.commands, width - 2)) + 1
    listed = sum(_wrapped(f"1 {o.label}", width).count("\n") + 1 for o in prompt.options)
    commands = 1 + len(prompt.commands[:3]) + len(hints(prompt.commands[3:], width - 4)) if prompt.commands else 1
    return asked + listed + commands + 1


def _wrapped(text: str, width: int) -> str:
    """A choice on as many lines as it needs, the later ones indented under the first."""
    return "\n     ".join(textwrap.wrap(text, width - 6)) or text


def _broken(text: str, width: int) -> str:
    """A question broken between words; its own lines stay lines."""
    return "\n".join("\n ".join(textwrap.wrap(line, width - 2)) or line for line in text.split("\n"))


def asker(plain: bool, read: TextIO, write: TextIO) -> Asker:
    """The way of asking that suits: a terminal only where both ends are one and plain is not wished."""
    if plain or not read.isatty() or not write.isatty():
        return PlainAsker(read, write)
    return TerminalAsker()


def yes_no(asks: str, topic: str = "") -> Prompt:
    """A plain yes or no."""
    return Prompt(asks, (Option("yes", "Yes"), Option("no", "No")), topic=topic, unsure="no")


def pick(asks: str, options: Sequence[tuple[str, str]], topic: str = "", unsure: str | None = None) -> Prompt:
    """A choice among values with labels; `unsure` is what not knowing means."""
    return Prompt(asks, tuple(Option(v, label) for v, label in options), topic=topic, unsure=unsure)

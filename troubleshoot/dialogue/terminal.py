"""Asking in a terminal: figures point, Enter answers, a letter acts at once and swallows the Enter right behind it.

A number that the list does not have points at nothing: it is refused, and so is the Enter behind it.
"""

import shutil
import textwrap
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from troubleshoot.dialogue.prompts import Option, Paused, Prompt, help_text, match, unknown, wants_help

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
        rows = [_wrapped(f"  {o.key} {o.label}", width) for o in prompt.options]
        rows += [f"  {r}" for r in hints(prompt.commands, width - 2)]
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
        acts = "; letters act at once" if prompt.commands else ""
        told = questionary.Separator(f"  -- {HOW_TO_CHOOSE}{acts} --")
        choices.append(told)
        if prompt.commands:
            choices += [questionary.Choice(f"{o.key} {o.label}", value=o.value) for o in prompt.commands[:3]]
            choices += [questionary.Separator(f"   {row}") for row in hints(prompt.commands[3:], width - 4)]
        question = questionary.select(
            _broken(prompt.asks, width), choices=choices, qmark="", instruction=" ", erase_when_done=True
        )
        windows = question.application.layout.find_all_windows()
        shown = next(w.content for w in windows if isinstance(w.content, InquirerControl))
        question.application.key_bindings = merge_key_bindings(
            [question.application.key_bindings or KeyBindings(), self._keys(prompt, shown, told)]
        )
        chosen = question.unsafe_ask()
        if isinstance(chosen, _Keyed) and chosen != _HELP:
            self._keyed_at = time.monotonic()
        # The menu goes away with its answer; question and answer are told again, so that a slip is seen at once.
        print(" " + _broken(prompt.asks, width))
        said = next((o.label for o in (*prompt.options, *prompt.commands) if o.value == chosen), str(chosen))
        if chosen != _HELP:
            print(_wrapped(f"   {said}", width))
        return str(chosen)

    def _keys(self, prompt: Prompt, shown: Any, told: Any) -> Any:
        """Figures point at a choice, letters are commands; Enter right behind a letter means nothing more.

        What cannot be taken is told in the line under the choices.
        """
        from prompt_toolkit.filters import Condition
        from prompt_toolkit.key_binding import KeyBindings
        from prompt_toolkit.keys import Keys

        keys, typed, usual = KeyBindings(), _Number(len(prompt.options)), told.title
        for figure in "0123456789":

            def point(_: Any, figure: str = figure) -> None:
                self._keyed_at = -STRAY  # what follows a figure is no stray Enter
                number = typed.after(figure, time.monotonic())
                if 1 <= number <= typed.most:
                    shown.pointed_at = number - 1
                typed.refused_at = None if 1 <= number <= typed.most else shown.pointed_at
                told.title = usual if typed.refused_at is None else f"  -- {typed.refusal} --"

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
        # A number that is none of the list answers nothing, whatever is pointed at; arrows after it point anew.
        refused = Condition(lambda: typed.refused_at is not None and typed.refused_at == shown.pointed_at)
        keys.add("enter", eager=True, filter=refused)(lambda _: typed.begin_anew())

        def no_key(event: Any) -> None:
            if event.data.isprintable():
                told.title = "  -- ? shows the keys --"

        keys.add(Keys.Any)(no_key)
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
    refused_at: int | None = None
    """What was pointed at when a number came that is none of the list."""

    def after(self, figure: str, now: float) -> int:
        """The number that stands after a further figure, whether the list has it or not."""
        self.figures = self.figures + figure if now - self.last < JOINED else figure
        self.last = now
        return int(self.figures)

    @property
    def refusal(self) -> str:
        """That the list has no such number, and which it has."""
        return f"there is no {self.figures}; choose 1" + (f" to {self.most}" if self.most > 1 else "")

    def begin_anew(self) -> None:
        """Forget the number that was refused."""
        self.figures, self.last, self.refused_at = "", -JOINED, None


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
        listed = sum(_wrapped(f"  {o.key} {o.label}", width).count("\n") + 1 for o in prompt.options)
        return asked + listed + len(hints(prompt.commands, width - 2)) + 1
    listed = sum(_wrapped(f"1 {o.label}", width).count("\n") + 1 for o in prompt.options)
    commands = 1 + len(prompt.commands[:3]) + len(hints(prompt.commands[3:], width - 4)) if prompt.commands else 1
    return asked + listed + commands + 1


def _wrapped(text: str, width: int) -> str:
    """A choice on as many lines as it needs, the later ones indented under the first."""
    return "\n     ".join(textwrap.wrap(text, width - 6, break_on_hyphens=False)) or text


def _broken(text: str, width: int) -> str:
    """A question broken between words; its own lines stay lines."""
    lines = (textwrap.wrap(line, width - 2, break_on_hyphens=False) or [line] for line in text.split("\n"))
    return "\n".join("\n ".join(line) for line in lines)

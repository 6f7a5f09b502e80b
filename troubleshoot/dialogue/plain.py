"""Asking in numbered lines, and answering from a script. Neither picks an answer by itself."""

import shutil
import textwrap
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, TextIO

from troubleshoot.dialogue.prompts import Paused, Prompt, help_text, match, wants_help


@dataclass
class PlainAsker:
    """Numbered lines read from a file; also for screen readers and phones."""

    read: TextIO
    write: TextIO
    _greeted: bool = field(default=False, init=False)

    def ask(self, prompt: Prompt) -> str:
        """Print the question, read a line, until the line means something."""
        self._print(prompt.asks)
        for number, option in enumerate(prompt.options, 1):
            self._print(f"  {option.key or '-' if prompt.typed else number}  {option.label}")
        if prompt.commands and not self._greeted:
            self._greeted = True
            self._print("  also: " + ", ".join(f"{o.key} {o.label}" for o in prompt.commands))
        taken = next((o.label for o in prompt.options if prompt.default and o.value == prompt.default), "")
        if taken:
            self._print(f"  Enter alone means: {taken}")
        while True:
            print("> ", end="", file=self.write, flush=True)
            line = self.read.readline()
            if not line:
                print("", file=self.write)
                raise Paused
            if wants_help(prompt, line):
                self._print(f"  {help_text(prompt)}")
                continue
            value = match(prompt, line)
            if value is not None:
                return value
            wanted = f"a number from 1 to {len(prompt.options)}" if prompt.options else "an answer"
            self._print(f"{line.strip()!r} is none of these; type {wanted}, or ? for help")

    def _print(self, text: str) -> None:
        """Print lines; in a terminal broken between words, for whatever reads them aloud or shows few columns."""
        width = shutil.get_terminal_size().columns - 1 if self.write.isatty() else 0
        for line in text.split("\n"):
            broken = textwrap.wrap(line, width, subsequent_indent="     ", break_on_hyphens=False) if width > 20 else []
            print("\n".join(broken) or line, file=self.write)


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

"""Asking in numbered lines, and answering from a script. Neither picks an answer by itself."""

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

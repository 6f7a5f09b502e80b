"""Answers files: a whole inquiry without a terminal.

    layout: club
    symptom: phantom-occupancy
    about: yard-2
    answers: {what-changed: not-sure, block-leak-ohms: 2.9k}
    remedies: {dry-and-clean-ballast: fixed}
    proofs: {dry-and-clean-ballast: passed}
    quiet: {dry-and-clean-ballast: 2 h}

A check is named alone, or as check@place where it is asked at several places. What the file does not say is
answered "not sure". Everything is judged before the inquiry begins, each problem with its line, because nobody is
there to be asked again.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from troubleshoot import casebook
from troubleshoot.cli.session import unknown_places
from troubleshoot.dialogue import ScriptedAsker
from troubleshoot.documents import Document, Problem, Problems, nearest, read
from troubleshoot.layout import Layout
from troubleshoot.quantities import Unreadable, read_reading
from troubleshoot.rulebook import Rulebook

KEYS = (
    "says", "layout", "symptom", "about", "sick", "healthy", "longest-quiet", "answers", "remedies", "proofs", "quiet",
)  # fmt: skip
PLACES = ("sick", "healthy")
MAPPINGS = ("answers", "remedies", "proofs", "quiet")
ASIDE = ("not-sure", "cant-do", "already-tried")
RESULTS: Mapping[str, tuple[str, ...]] = {
    "remedies": ("fixed", "partly", "not-fixed", *ASIDE),
    "proofs": ("passed", "failed"),
}
WORD: Mapping[str, str] = {"remedies": "remedy", "proofs": "proof", "quiet": "quiet"}


@dataclass(frozen=True)
class Script:
    """An answers file, read but not yet judged by the rules."""

    document: Document
    said: Mapping[str, Any]

    @property
    def folder(self) -> Path:
        """The folder that relative names in the file start from."""
        return Path(self.document.file).parent

    @property
    def sick(self) -> list[str]:
        """All places that show the symptom."""
        return [str(s) for s in self.said.get("sick") or ()]

    @property
    def healthy(self) -> list[str]:
        """Places that surely do not show it."""
        return [str(s) for s in self.said.get("healthy") or ()]

    def text(self, key: str) -> str | None:
        """One of the plain entries, or None."""
        said = self.said.get(key)
        return None if said is None else str(said)


def read_script(path: str) -> Script:
    """An answers file in form. Raises Problems."""
    document = read(Path(path))
    data = document.data
    if not isinstance(data, dict):
        raise Problems((document.problem((), "is no answers file; it has symptom, about and answers"),))
    problems = []
    for key, value in data.items():
        if key not in KEYS:
            hint = nearest(key, KEYS)
            also = f"; did you mean {hint!r}?" if hint else f"; known are {', '.join(KEYS)}"
            problems.append(document.problem((key, "@key"), f"{key!r} is not known in an answers file{also}"))
        elif key in MAPPINGS and not isinstance(value, dict | None):
            problems.append(document.problem((key,), f"{key!r} must be a mapping (name: value)"))
        elif key in PLACES and not isinstance(value, list | None):
            problems.append(document.problem((key,), f"{key!r} must be a list of places"))
        elif key not in MAPPINGS and key not in PLACES and isinstance(value, dict | list):
            problems.append(document.problem((key,), f"{key!r} must be a word or a sentence"))
    if problems:
        raise Problems(problems)
    return Script(document, data)


def scripted(script: Script, rulebook: Rulebook, layout: Layout) -> ScriptedAsker:
    """Whoever answers from the file. Raises Problems for everything in it that the rules cannot take."""
    problems = list(_places(script, layout))
    answers: dict[str, Any] = {}
    for key in MAPPINGS:
        for name, value in (script.said.get(key) or {}).items():
            told = _judged(rulebook, key, str(name), str(value))
            if told:
                problems.append(script.document.problem((key, name), told))
            topic = str(name) if key == "answers" else f"{WORD[key]} {name}"
            answers[topic] = f"!{value}" if value in ASIDE else value
    try:
        casebook.period(script.said.get("longest-quiet"))
    except Unreadable as error:
        problems.append(script.document.problem(("longest-quiet",), str(error)))
    if problems:
        raise Problems(problems)
    return ScriptedAsker(answers)


def _places(script: Script, layout: Layout) -> list[Problem]:
    about = script.text("about")
    problems = []
    listed = [((key, i), s) for key in PLACES for i, s in enumerate(script.sick if key == "sick" else script.healthy)]
    for where, name in [(("about",), about or ""), *listed]:
        for _, told in unknown_places(layout, [name] if name else []):
            problems.append(script.document.problem(where, told))
    for name in script.said.get("answers") or {}:
        place = str(name).partition("@")[2]
        for _, told in unknown_places(layout, [place] if place else []):
            problems.append(script.document.problem(("answers", name, "@key"), told))
    return problems


def _judged(rulebook: Rulebook, key: str, name: str, value: str) -> str | None:
    """What is wrong with one entry, or None."""
    bare = name.partition("@")[0]
    table: Mapping[str, Any] = rulebook.checks if key == "answers" else rulebook.remedies
    full = next((f"{p.name}/{bare}" for p in rulebook.packs if f"{p.name}/{bare}" in table), None)
    if full is None:
        hint = nearest(bare, [n.split("/")[1] for n in table])
        what = "check" if key == "answers" else "remedy"
        return f"{bare!r} is no known {what}" + (f"; did you mean {hint!r}?" if hint else "")
    if key in RESULTS:
        allowed = RESULTS[key]
        return None if value in allowed else f"{bare!r} cannot be {value!r}; it is one of {', '.join(allowed)}"
    try:
        if key == "quiet":
            casebook.period(value)
        elif value not in ASIDE and value not in table[full].outcomes:
            if table[full].unit is None:
                return f"{value!r} is no answer to {bare!r}; it has {', '.join(table[full].outcomes)}"
            read_reading(value, table[full].unit)
    except Unreadable as error:
        return f"{bare}: {error}" + (f" {error.ask}" if error.ask else "")
    return None

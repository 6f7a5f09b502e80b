"""The way in: from a person's own words to a symptom and its place, or by a short sorting where words fail."""

import re
from collections.abc import Sequence

from troubleshoot import screen
from troubleshoot.dialogue import Asker, Option, Prompt, pick
from troubleshoot.rulebook import Rulebook
from troubleshoot.rulebook.search import find, sort

FAMILIES = (
    ("occupancy", "Occupancy: a block or train is shown wrongly"),
    ("power", "Track power: something trips, is dead, weak or hot"),
    ("turnouts", "A turnout (set of points): throwing, reporting, shorts, stalls"),
    ("signals", "A signal: its aspect, its lamps, what it follows"),
    ("control-bus", "Throttles, panels, the computer, messages, settings"),
    ("rolling-stock", "One vehicle or train, programming, dirt"),
)
WHERE = (("one", "At one place or thing only"), ("several", "At several"), ("everywhere", "Everywhere"))
WHEN = (
    ("always", "All the time"),
    ("at-switch-on", "At switching on"),
    ("as-a-train-passes", "As a train or vehicle passes"),
    ("as-it-throws", "As a turnout throws"),
    ("now-and-then", "Now and then, without a pattern that I see"),
    ("after-a-while", "After some minutes of running, or when busy"),
    ("weather", "With damp, heat, cold or season"),
)


KINDS = {
    "block": "block|section|track|road",
    "turnout": "turnout|points?|switch",
    "signal": "signal|mast",
    "district": "district",
    "panel": "panel",
    "detector": "detector|board",
    "vehicle": "loco|locomotive|engine|car|coach|wagon",
}
"""Words that people say before the number of a place, in British and American English."""


def places_in(words: str, kind: str, known: Sequence[str]) -> list[str]:
    """The known places of a kind that a person's words name: `yard 2` for yard-2, `turnout 302` for t-302.

    >>> places_in("Yard 2 shows occupied", "block", ["yard-1", "yard-2", "yard-21"])
    ['yard-2']
    >>> places_in("turnout 302 does not throw", "turnout", ["t-301", "t-302"])
    ['t-302']
    """
    said = _words(words)
    named = [n for n in known if f" {_words(n)} " in f" {said} "]
    whole = [n for n in named if not any(n != o and f" {_words(n)} " in f" {_words(o)} " for o in named)]
    if whole:
        return whole
    numbers = {int(n) for n in re.findall(rf"\b(?:{KINDS.get(kind, kind)}) (?:no |number |nr )?(\d+)\b", said)}
    return [n for n in known if numbers & {int(d) for d in re.findall(r"\d+", n)}]


def _words(text: str) -> str:
    """Letters and figures only, each run of them a word."""
    return " ".join(re.findall(r"[^\W\d_]+|\d+", text.lower()))


def choose_symptom(rulebook: Rulebook, who: Asker, out: screen.Console) -> tuple[str, str]:
    """Ask what is seen, in the person's own words; a number sorts instead. The symptom, and the words for it."""
    families = [(f, text) for f, text in FAMILIES if any(s.family == f for s in rulebook.symptoms.values())]
    out.print(screen.heading("What do you see?"))
    for number, (_, text) in enumerate(families, 1):
        out.print(screen.block(f"{number}  {text}"))
    while True:
        said = who.ask(
            Prompt("Say it in your own words, or type the number of what is nearest", typed=True, topic="symptom")
        )
        if said.isascii() and said.isdigit() and len(said) < 4 and 1 <= int(said) <= len(families):
            chosen, said = _sorted(rulebook, families[int(said) - 1][0], who), ""
        else:
            found = [name for name, _ in find(rulebook, said)]
            if not found:
                out.print("No symptom fits these words; try others, or a number.")
                continue
            chosen = _nearest(rulebook, found, who)
        if chosen:
            return chosen, said


def _sorted(rulebook: Rulebook, family: str, who: Asker) -> str:
    """Where and when, then the symptoms of a family that fit best first."""
    names = sort(rulebook, family, None, None)
    if len(names) > 5:
        unsure = ("", "Not sure")
        where = who.ask(pick("Where does it show?", [*WHERE, unsure], "where"))
        when = who.ask(pick("When does it show?", [*WHEN, unsure], "when"))
        names = sort(rulebook, family, where or None, when or None)
    return _nearest(rulebook, names, who)


def _nearest(rulebook: Rulebook, names: list[str], who: Asker) -> str:
    options = [Option(n, rulebook.symptoms[n].says) for n in names] + [Option("", "None of these")]
    return who.ask(Prompt("Which of these is nearest?", tuple(options), topic="which"))

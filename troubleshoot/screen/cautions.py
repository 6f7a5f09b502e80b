"""Cautions on the screen: in full the first time in an inquiry, later by their first sentence or their title.

Never left out. What two cautions of one screen say alike is said once. Which cautions hold is left to `deduction`.
"""

import re
from collections.abc import Iterable, Sequence

from rich.console import RenderableType

from troubleshoot.rulebook import Caution, Rulebook
from troubleshoot.rulebook.wording import label
from troubleshoot.screen.drawing import line

KEY = "f"
"""The key that tells the cautions of a step, and what comes first, in full again."""


def first_sentence(text: str) -> str:
    """A text up to its first full stop: the short form of a caution that has been read before."""
    return sentences(text)[0]


def sentences(text: str) -> list[str]:
    """The sentences of a text, their blanks made even; one without a full stop at its end gets it."""
    even = " ".join(text.split())
    return re.split(r"(?<=[.!?])\s", even if even.endswith((".", "!", "?")) else f"{even}.")


def caution_lines(
    rulebook: Rulebook,
    names: Iterable[str],
    seen: frozenset[str] = frozenset(),
    looking: bool = False,
    titles: bool = False,
) -> list[RenderableType]:
    """Hazards and what to do about them, before the step itself: what is new in full, then what was read before.

    What was read before stands with its first sentence, or, where room is scarce, with its title alone. For mere
    looking a new hazard is told without what to do about it, and so does not count as read.
    """
    known = _known(rulebook, names)
    told = [c for c in known if c.name in seen]
    parts = _in_full([c for c in known if c.name not in seen], looking)
    if titles and told:
        names_ = "; ".join(label(c.name) for c in told)
        parts.append(line("CAUTION", f"{names_} (as read before; {KEY} tells them in full)", "yellow"))
    elif told:
        parts += [line("CAUTION", first_sentence(c.hazard), "yellow") for c in told]
    return parts


def cautions_in_full(rulebook: Rulebook, names: Iterable[str]) -> list[RenderableType]:
    """Cautions in full, without a heading."""
    return _in_full(_known(rulebook, names))


def _known(rulebook: Rulebook, names: Iterable[str]) -> list[Caution]:
    return [rulebook.cautions[n] for n in dict.fromkeys(names) if n in rulebook.cautions]


def _in_full(cautions: Sequence[Caution], hazard_only: bool = False) -> list[RenderableType]:
    """Each caution with all its sentences, but none that one before it has said already."""
    said: set[str] = set()
    parts: list[RenderableType] = []
    for entry in cautions:
        told = sentences(entry.hazard) if hazard_only else [*sentences(entry.hazard), *sentences(entry.do)]
        fresh = [s for s in told if s not in said]
        said.update(fresh)
        if fresh:
            parts.append(line("CAUTION", " ".join(fresh), "yellow"))
    return parts

"""What rules say, in the words that screens and papers share: names, places, chances, limits, spells of time, proofs.

Plain text without mark-up. How it is laid out is left to `screen` and `report`.
"""

import math

from troubleshoot.quantities import show
from troubleshoot.rulebook.kinds import Remedy, Rulebook, short
from troubleshoot.rulebook.words import spoken


def label(name: str) -> str:
    """A qualified name as a person reads it."""
    return short(name).replace("-", " ")


def counted(value: float, word: str) -> str:
    """A number of things as one says it: `1 minute`, `2 minutes`."""
    return f"{value:.0f} {word}{'' if f'{value:.0f}' == '1' else 's'}"


def at(text: str, place: str) -> str:
    """A text of the rules with the place put in."""
    return text.replace("{place}", place)


def chance(value: float) -> str:
    """A chance in number and word: `63 in 100, probable`."""
    hundredths = round(value * 100)
    return f"{'under 1' if hundredths < 1 else hundredths} in 100, {spoken(value)}"


def between(low: float, high: float, unit: str) -> str:
    """A band of a reading in words; SI limits, shown in the unit of the check."""
    if math.isinf(high):
        return f"above {show(low, unit)}" if low else "anything"
    return f"up to {show(high, unit)}" if low <= 0.0 else f"{show(low, unit)} to {show(high, unit)}"


def spell(seconds: float) -> str:
    """A spell of time in words: `45 min`, `2 h`, `3 d`."""
    for unit, size in (("d", 86400.0), ("h", 3600.0)):
        if seconds >= 2 * size or (seconds >= size and seconds % size == 0):
            return f"{seconds / size:.3g} {unit}"
    return f"{seconds / 60:.3g} min"


def proof(rulebook: Rulebook, remedy: Remedy, place: str, reads: tuple[float, float] | None = None) -> str:
    """The proof test of a remedy at a place, in a sentence; `reads` is what a healthy reading lies between, in SI."""
    test = remedy.proof
    check = rulebook.checks[test.check]
    shows = check.labels[test.outcome]
    if reads is not None:
        shows += f" ({between(*reads, check.unit or '')})"
    text = f"{at(check.asks, place)} must show: {shows}"
    if test.quiet_seconds:
        text += f"; and quiet for {spell(test.quiet_seconds)}"
    return text + (f"; and {test.also}" if test.also else "")

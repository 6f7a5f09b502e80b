"""How the papers word chances, limits, spells of time, proofs and states: plain text, no mark-up of any kind."""

import math
from collections.abc import Mapping

from troubleshoot.quantities import show
from troubleshoot.rulebook import Remedy, Rulebook, short
from troubleshoot.rulebook.words import spoken

STATES: Mapping[str, str] = {
    "open": "open: the cause is not settled yet",
    "lost": "open: nothing in the rules explains it well",
    "mended": "mended, and not proven yet",
    "proven": "mended and proven; to be closed",
    "partly": "partly mended: a second fault is looked for",
    "hand-over": "open: nothing more can be checked with what is at hand",
    "closed": "closed: mended and proven",
}
"""Where a case stands, in words."""

PRICES: Mapping[str, str] = {
    "nothing": "", "parts": ", and parts", "cuts-wire": "; it cuts a wire", "cuts-rail": "; it cuts the rail",
}  # fmt: skip


def plain(name: str) -> str:
    """A qualified name as a person reads it."""
    return short(name).replace("-", " ")


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


def minutes(value: float) -> str:
    """Minutes of work, never more exact than they are."""
    return f"about {value:.0f} min" if value >= 1 else "under a minute"


def proof(rulebook: Rulebook, remedy: Remedy, place: str) -> str:
    """The proof test of a remedy at a place, in a sentence."""
    check = rulebook.checks[remedy.proof.check]
    text = f"{at(check.asks, place)} must show: {check.labels[remedy.proof.outcome]}"
    if remedy.proof.quiet_seconds:
        text += f"; and quiet for {spell(remedy.proof.quiet_seconds)}"
    return text + (f"; and {remedy.proof.also}" if remedy.proof.also else "")


def at(text: str, place: str) -> str:
    """A text of the rules with the place put in."""
    return text.replace("{place}", place)

"""The one table in which likelihood words become numbers.

Rules speak in words because people are consistent about order and poor at decimals. No other module types
such a number. What is left to others: which word a cause deserves (the packs), and how the rest of a row is
shared (rows).
"""

from collections.abc import Mapping

LIKELIHOOD: Mapping[str, float] = {
    "always": 0.98,
    "usually": 0.85,
    "often": 0.65,
    "sometimes": 0.35,
    "seldom": 0.12,
    "never": 0.02,
}
UNDECIDED = "as-elsewhere"
AS_SOUND = "as-sound"

LOWEST = 0.02
"""No observation is impossible: people misobserve (common practice; nothing outside .02 to .98 is accepted)."""

QUESTION_ELSEWHERE = 0.25
READING_ELSEWHERE = 0.08
"""Chance of a telling outcome under causes nobody has judged; a blank taken as rare makes one over-confident."""

REPORTED_WRONG: Mapping[str, float] = {"typed": 0.02, "seen": 0.05, "remembered": 0.10, "thought": 0.25}
"""How often an answer is reported wrongly, by the way it was come by (estimates)."""

SOMETHING_ELSE = 0.05
"""Chance that no rule describes the fault: half quiet, half odd."""


def spoken(chance: float) -> str:
    """The word to say beside a chance; the number is always shown too (after a published list of estimates)."""
    for least, word in (
        (0.93, "almost certain"),
        (0.63, "probable"),
        (0.40, "about even"),
        (0.15, "probably not"),
    ):
        if chance >= least:
            return word
    return "unlikely" if chance >= 0.03 else "very unlikely"

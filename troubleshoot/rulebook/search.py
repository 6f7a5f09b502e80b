"""Finding the symptom that fits a person's words, in British and in American trade words.

Words are cut to their stems, trade words that mean the same are made one, and rare words count for more than
common ones. Only what packs say about a symptom is searched: its sentence and what is also said.
"""

import math
import re
from collections.abc import Mapping

from troubleshoot.rulebook.kinds import Rulebook

SAME: Mapping[str, str] = {
    "point": "turnout", "switch": "turnout", "switche": "turnout", "throttle": "handset", "controller": "handset",
    "cab": "handset", "railroad": "railway", "break": "gap", "tie": "sleeper", "wagon": "car", "coach": "car",
    "carriage": "car", "rollingstock": "car", "engine": "loco", "locomotive": "loco", "engin": "loco", "motiv": "loco",
    "throw": "throw", "thrown": "throw", "flip": "throw", "chang": "throw", "move": "throw", "section": "block",
    "zone": "block", "track": "track", "ghost": "phantom", "fals": "phantom", "cut": "trip", "short": "trip",
    "breaker": "trip", "trigger": "trip", "occupi": "occupied", "occup": "occupied", "busi": "occupied",
    "feedback": "report", "respons": "report", "indicat": "report", "signal": "signal", "semaphor": "signal",
    "lamp": "light", "led": "light", "bulb": "light", "dead": "dead", "noth": "nothing", "disappear": "vanish",
    "lost": "vanish", "lose": "vanish", "missing": "vanish", "unseen": "vanish", "undetect": "vanish", "wrong": "wrong",
    "incorrect": "wrong", "start": "start", "switchon": "start", "powerup": "start", "cold": "cold", "hot": "hot",
    "warm": "hot", "heat": "hot", "overheat": "hot", "slow": "slow", "crawl": "slow", "stall": "stall", "stop": "stall",
    "quarter": "coin", "penni": "coin", "shortcircuit": "trip", "adjac": "neighbour", "neighbor": "neighbour",
    "next": "neighbour", "board": "board", "empti": "nothing", "crossing": "frog", "unoccupi": "nothing",
}  # fmt: skip
IGNORED = frozenset(
    [
        "a",
        "an",
        "the",
        "is",
        "are",
        "was",
        "it",
        "its",
        "my",
        "our",
        "on",
        "in",
        "at",
        "of",
        "to",
        "and",
        "or",
        "when",
        "with",
        "for",
        "from",
        "by",
        "as",
        "i",
        "we",
        "you",
        "that",
        "this",
        "there",
        "do",
        "does",
        "not",
        "no",
        "nothing't",
        "has",
        "have",
        "be",
        "been",
        "but",
        "so",
        "up",
        "out",
        "off",
    ]
) - {"no", "not", "nothing", "off", "out", "up"}


def stem(word: str) -> str:
    """A word cut to its stem, crudely."""
    for ending in ("ings", "ing", "ied", "ies", "ed", "es", "s", "ly", "ion", "y", "e"):
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            return word[: -len(ending)]
    return word


def tokens(text: str) -> list[str]:
    """The meanings in a text, in order."""
    flat = re.sub(r"power(ed)?[- ]?up\b", "powerup", text.lower())
    flat = re.sub(r"switch(ed|ing)?[- ]on\b|turn(ed|ing)?[- ]on\b", "switchon", flat)
    flat = re.sub(
        r"\b(do|does|did|wo|ca|is|are)n'?t\b|\bcannot\b", "not", flat.replace("short circuit", "shortcircuit")
    )
    words = re.findall(r"[a-z0-9]+", flat)
    meanings = []
    for word in words:
        if word not in IGNORED:
            cut = stem(word)
            meanings.append(SAME.get(word, SAME.get(cut, cut)))
    return meanings


def find(rulebook: Rulebook, words: str, count: int = 5) -> list[tuple[str, float]]:
    """Symptoms that fit the words, best first, with a score above zero."""
    phrases = {name: [s.says, *s.also_said] for name, s in rulebook.symptoms.items()}
    bags = {name: [set(tokens(p)) for p in texts] for name, texts in phrases.items()}
    spread: dict[str, int] = {}
    for lists in bags.values():
        for token in set().union(*lists):
            spread[token] = spread.get(token, 0) + 1
    total = max(len(bags), 1)
    asked = set(tokens(words))
    scores = []
    for name, lists in sorted(bags.items()):
        every = set().union(*lists)
        score = sum(math.log(1.0 + total / spread[t]) for t in asked & every)
        best = max((len(asked & bag) / max(len(asked | bag), 1) for bag in lists), default=0.0)
        if score > 0.0:
            scores.append((name, score * (1.0 + 2.0 * best)))
    return sorted(scores, key=lambda pair: (-pair[1], pair[0]))[:count]


def sort(rulebook: Rulebook, family: str, where: str | None, when: str | None) -> list[str]:
    """The symptoms of a family, those first that fit where and when the trouble shows; ties by name.

    A symptom that says nothing of where or when fits anything, but less well than one that says so.
    """

    def misfit(name: str) -> int:
        entry = rulebook.symptoms[name]
        said = ((where, entry.where), (when, entry.when))
        return sum(0 if asked in told else 1 if not told else 3 for asked, told in said if asked is not None)

    names = [n for n, s in rulebook.symptoms.items() if s.family == family]
    return sorted(names, key=lambda n: (misfit(n), n))

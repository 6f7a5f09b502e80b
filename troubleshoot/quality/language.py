"""The language of a pack, looked at sentence by sentence: would an owner who never studied electronics follow it?

Looked for are sentences that are too long, engineers' words and short forms that the text does not explain, warnings in
the passive (nobody knows who is to act), words doubled, and British and American spelling in one text. A remark here is
a hint, never a refusal. Which words are which stands in `wording`; what may never be asked, in the floor of safety.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from troubleshoot.quality.wording import BOTH_SIDES, JARGON, KNOWN_SHORT, SPELLINGS, TAUTOLOGIES
from troubleshoot.rulebook import Rulebook

LONGEST = 30
"""Words in a sentence; a longer one is read twice (common practice of plain writing: 25 to 30)."""

_PASSIVE = re.compile(
    r"(?<!that )(?<!which )\b(?:must|should|(?:is|are) to|ha(?:s|ve) to|needs? to)(?: not| never| always)? be "
    r"(?:\w+ly )?(?!ten\b|open\b|even\b)"
    r"(?:\w+ed|\w+en|cut|put|held|kept|shut|set|made|left|built|bent|lit|told|worn|wound)\b",
    re.I,
)
_TWICE = re.compile(r"\b([a-z]{2,})\s+\1\b", re.I)
_TAUTOLOGY = re.compile(rf"\b(?:{'|'.join(TAUTOLOGIES)})\b")
_SHORT = re.compile(r"\b[A-Z]{2,}s?\b")
_JARGON = re.compile(rf"\b(?:{'|'.join(sorted(map(re.escape, JARGON), key=len, reverse=True))})\b", re.I)
_SIDES = re.compile(rf"\b(?:{'|'.join({*SPELLINGS, *SPELLINGS.values()} - BOTH_SIDES)})\b", re.I)
_EXPLAINS = r"(?:called|named|known as|marked|labelled|printed|such as|that is|which is|meaning|means|short for|sign)"


@dataclass(frozen=True)
class Text:
    """One text of a pack: whose, which field, what it says, whether it tells somebody what to do, and where it is.

    `whole` is everything its entry says: what one text of an entry explains, the others need not.
    """

    entry: str
    field: str
    says: str
    tells: bool
    whole: str
    file: str
    line: int


@dataclass(frozen=True)
class Slip:
    """One slip of language in a text, with the words concerned."""

    text: Text
    says: str


_FIELDS: Mapping[str, Callable[[Any], list[tuple[str, str, bool]]]] = {
    "symptoms": lambda s: [("says", s.says, False)],
    "checks": lambda c: [
        ("asks", c.asks, False),
        ("how", c.how, True),
        ("usual-mistake", c.usual_mistake, True),
        *((f"choice {o}", said, False) for o, said in c.labels.items()),
        *((f"remark {o}", said, False) for o, said in c.remarks.items()),
    ],
    "causes": lambda c: [("says", c.says, False), ("stopgap", c.stopgap.do if c.stopgap else "", True)],
    "remedies": lambda r: [("do", r.do, True), ("proof", r.proof.also, False)],
    "cautions": lambda c: [("hazard", c.hazard, False), ("do", c.do, True)],
    "set_ups": lambda u: [("says", u.says, False), ("do", u.do, True), ("undo", u.undo, True)],
    "deductions": lambda d: [
        ("because", d.because, False),
        *((k, v, True) for k, v in d.then.items() if isinstance(v, str)),
    ],
}


def texts(rulebook: Rulebook, pack: str) -> list[Text]:
    """Every text of a pack that a person may read, but for the phrases that are only searched."""
    found = []
    for section, fields in _FIELDS.items():
        for name, entry in sorted(getattr(rulebook, section).items()):
            if name.startswith(f"{pack}/"):
                parts = [part for part in fields(entry) if part[1]]
                whole = "\n".join(said for _, said, _ in parts)
                found += [Text(name, f, said, tells, whole, entry.file, entry.line) for f, said, tells in parts]
    return found


def sentences(said: str) -> list[str]:
    """The sentences of a text; parts that a semicolon parts count by themselves."""
    return [s.strip() for s in re.split(r"(?<=[.!?;])\s+", " ".join(said.split())) if s.strip()]


def long_ones(text: Text) -> Iterator[str]:
    """Sentences with more than LONGEST words."""
    for sentence in sentences(text.says):
        count = len(sentence.split())
        if count > LONGEST:
            yield f"{count} words: {sentence[:60]}..."


def unknown_words(text: Text) -> Iterator[str]:
    """Engineers' words that the text does not explain, with what an owner would say."""
    for word in dict.fromkeys(m.group().lower() for m in _JARGON.finditer(text.says)):
        if not explained(word, text.whole, JARGON[word]):
            yield f"{word}: say “{JARGON[word]}”"


def short_forms(text: Text) -> Iterator[str]:
    """Short forms in capitals that owners do not know and the text does not explain."""
    for word in dict.fromkeys(_SHORT.findall(text.says)):
        if word not in KNOWN_SHORT and word.removesuffix("s") not in KNOWN_SHORT and not explained(word, text.whole):
            yield word


def explained(word: str, said: str, plain: str = "") -> bool:
    """Whether a text explains a word: in brackets beside it, after `called`, or by saying the plain words too."""
    at = re.escape(word)
    ahead = rf"\b{at}s? ?\(|\b{at}s?\)|\b{at}s?\W+(?:which )?{_EXPLAINS}\b"
    behind = rf"\(\W?{at}s?\b|\b{_EXPLAINS}\W+(?:\w+\W+){{0,5}}{at}\b"
    return bool(re.search(f"{ahead}|{behind}", said, re.I)) or bool(plain and plain in said.lower())


def passives(text: Text) -> Iterator[str]:
    """Warnings and instructions in the passive: who is to act is left open."""
    if text.tells:
        yield from (m.group() for m in _PASSIVE.finditer(text.says))


def doubled(text: Text) -> Iterator[str]:
    """A word twice in a row, or a short form with the noun it already holds."""
    yield from (m.group() for m in _TWICE.finditer(text.says))
    yield from (m.group() for m in _TAUTOLOGY.finditer(text.says))


def mixed(text: Text) -> Iterator[str]:
    """British and American spelling in one text."""
    seen = {m.group().lower() for m in _SIDES.finditer(text.says)}
    british, american = sorted(seen & set(SPELLINGS)), sorted(seen - set(SPELLINGS))
    if british and american:
        yield f"{', '.join(british)} beside {', '.join(american)}"


LINTS: Mapping[str, Callable[[Text], Iterator[str]]] = {
    f"sentences over {LONGEST} words": long_ones,
    "words an owner would not know": unknown_words,
    "short forms not explained": short_forms,
    "instructions in the passive": passives,
    "words doubled": doubled,
    "British and American in one text": mixed,
}
"""What is looked for in every text, by the name it has in the table."""


def slips(every: list[Text]) -> dict[str, list[Slip]]:
    """All slips of language, by what is looked for."""
    return {name: [Slip(t, said) for t in every for said in lint(t)] for name, lint in LINTS.items()}

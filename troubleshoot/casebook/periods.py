"""Periods as people say them, read into seconds: `45 min`, `2 h 30`, `an hour and a half`, `1 day`, `5 min quiet`.

Nothing is guessed: a bare number, `m` (minutes or months?) and `a few` are refused with what is understood.
"""

import re
from typing import Any

from troubleshoot.quantities import Unreadable

LONGEST = 3650 * 86400.0
_SECONDS = {"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0}
_UNITS = (
    (r"s|secs?|seconds?", 1.0),
    (r"mins?|minutes?", 60.0),
    (r"h|hrs?|hours?", 3600.0),
    (r"d|days?", 86400.0),
    (r"w|wks?|weeks?", 7 * 86400.0),
)
_WORDS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_NUMBERS = {
    **{word: float(i) for i, word in enumerate(_WORDS, 1)},
    "a": 1.0,
    "an": 1.0,
    "half a": 0.5,
    "half an": 0.5,
    "a couple of": 2.0,
}
_BEFORE = re.compile(r"^(?:(?:for|about|around|roughly|some|at least|at most|more than|over|the last|quiet|~|>)\s*)+")
_AFTER = re.compile(r"(?:\s*(?:quiet|of quiet|of silence|long|so far|now|or so|or more|at least|at most))+$")
_PIECE = re.compile(
    rf"\s*(?:and |, ?)?(?P<number>[0-9]{{1,9}}(?:[.,][0-9]{{1,9}})?|(?:{'|'.join(sorted(_NUMBERS, key=len)[::-1])})\b)"
    rf"\s*(?P<unit>{'|'.join(units for units, _ in _UNITS)})(?![a-z])\.?(?P<half> and a half)?"
)
_HOURS = re.compile(r"([0-9]{1,3}) ?h ?([0-9]{2})(?: ?min)?")


def period(text: Any) -> float:
    """A period such as `45 min` or `an hour` in seconds; 0 for nothing. Raises Unreadable with what is understood."""
    if text in (None, ""):
        return 0.0
    said = _AFTER.sub("", _BEFORE.sub("", " ".join(str(text)[:120].lower().split())))
    seconds = _added(_HOURS.sub(r"\1 h \2 min", said) if _HOURS.fullmatch(said) else said)
    if seconds is None:
        bare = re.fullmatch(r"[0-9]{1,9}(?:[.,][0-9]{1,9})?\s*(m)?", said)
        asks = f" ({said} of what?)" if bare and not bare[1] else " (m may be minutes or months)" if bare else ""
        raise Unreadable(f"{text!r} is no period{asks}; write such as '45 min', '2 h', '1 d' or 'an hour and a half'")
    if seconds > LONGEST:
        raise Unreadable(f"{text!r} is longer than ten years; look for a slip")
    return seconds


def _added(said: str) -> float | None:
    """The pieces of a period added up, each of a smaller unit than the one before; None where it is none."""
    total, at, last = 0.0, 0, float("inf")
    while at < len(said):
        piece = _PIECE.match(said, at)
        if piece is None:
            return None
        size = next(s for units, s in _UNITS if re.fullmatch(units, piece["unit"]))
        if size >= last:
            return None
        number = _NUMBERS.get(piece["number"]) or float(piece["number"].replace(",", "."))
        total += (number + (0.5 if piece["half"] else 0.0)) * size
        at, last = piece.end(), size
    return total if at else None


def spell(seconds: float) -> str:
    """Seconds as a period that `period` reads."""
    for unit in ("d", "h", "min"):
        if seconds >= _SECONDS[unit] and (seconds / _SECONDS[unit]) % 1 == 0:
            return f"{seconds / _SECONDS[unit]:.0f} {unit}"
    return f"{seconds:.3f}".rstrip("0").rstrip(".") + " s"

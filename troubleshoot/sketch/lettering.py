"""How much room words take in a drawing: widths by kind of letter, clipping and wrapping, without any font at hand.

The widths are those of the wider ones of common sans-serif faces (estimate), so that words rather end early than run
over an edge. Units are those of the drawing.
"""

import unicodedata
from functools import lru_cache

_SHARES = {
    **dict.fromkeys("ijlI.,:;'| !", 0.34), **dict.fromkeys('tfr()[]/\\"-`', 0.43), **dict.fromkeys("mMW@%—…", 1.0),
    **dict.fromkeys("w<>=+~^#&", 0.84),
}  # fmt: skip
"""Widths of single letters in parts of the size; all others by their kind."""


def width_of(text: str, size: float, bold: bool = False) -> float:
    """The width of a line of text at a size."""
    return size * _shares(text) * (1.13 if bold else 1.0)


@lru_cache(maxsize=16384)
def _shares(text: str) -> float:
    return sum(map(_share, text))


@lru_cache(maxsize=4096)
def _share(sign: str) -> float:
    if unicodedata.east_asian_width(sign) in "WF":
        return 1.0
    if sign in _SHARES:
        return _SHARES[sign]
    return 0.76 if sign.isupper() else 0.63


def clip(text: str, width: float, size: float, bold: bool = False) -> str:
    """The text, or as much of it as fits before an ellipsis."""
    if width_of(text, size, bold) <= width:
        return text
    room = width - width_of("…", size, bold)
    for end in range(len(text)):
        room -= width_of(text[end], size, bold)
        if room < 0:
            return text[:end].rstrip() + "…"
    return text


def wrap(text: str, width: float, size: float) -> list[str]:
    """The text in lines that fit; a word that is longer than a line is cut where the line ends."""
    lines, used, space = [""], 0.0, width_of(" ", size)
    for word in text.split():
        rest, needs = word, width_of(word, size) + (space if lines[-1] else 0.0)
        if used + needs <= width:
            lines[-1], used = f"{lines[-1]} {rest}" if lines[-1] else rest, used + needs
            continue
        if lines[-1]:
            lines.append("")
        while width_of(rest, size) > width and len(rest) > 1:
            end = next((n for n in range(len(rest), 1, -1) if width_of(rest[:n], size) <= width), 1)
            lines[-1] = rest[:end]
            lines.append("")
            rest = rest[end:]
        lines[-1], used = rest, width_of(rest, size)
    return lines

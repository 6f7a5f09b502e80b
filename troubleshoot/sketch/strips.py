"""Strips of time: one row a thing, time from left to right, as plain data and drawn as SVG.

A stretch in which a block was taken is a filled box; a moment (a command, a report, a trip) is a mark with a letter of
its own, so that no colour stands alone. Which window and which rows are worth showing is left to those who ask.
"""

import textwrap
from dataclasses import dataclass

from troubleshoot.sketch.svg import DOUBTFUL, FAINT, INK, SERIOUS, SOUND, Page

INKS = {"c": DOUBTFUL, "r": SOUND, "x": SERIOUS, "o": SOUND}
"""Ink of marks: c commanded, r reported, x tripped, o restored."""
SAYS = {"c": "commanded", "r": "reported", "x": "power trips", "o": "power back"}
"""What the letters of marks stand for."""
WIDTH, LEFT, RIGHT, TOP, ROW = 760.0, 150.0, 20.0, 46.0, 22.0
TITLE = 110
"""Letters of a title's line that fit the width."""


@dataclass(frozen=True)
class Row:
    """One thing: stretches taken (from, to) in seconds, and marks as (moment, letter)."""

    name: str
    held: tuple[tuple[float, float], ...] = ()
    marks: tuple[tuple[float, str], ...] = ()


@dataclass(frozen=True)
class Strips:
    """Rows over one window of time in seconds; `ticks` are moments with what is written at them."""

    title: str
    start: float
    end: float
    rows: tuple[Row, ...]
    ticks: tuple[tuple[float, str], ...] = ()
    moment: float | None = None


def draw(strips: Strips) -> str:
    """The strips as the text of an SVG file."""
    height = TOP + ROW * len(strips.rows) + 40
    page = Page(WIDTH, height, strips.title)
    foot = TOP + ROW * len(strips.rows)
    span = max(strips.end - strips.start, 1e-9)

    def across(moment: float) -> float:
        share = min(1.0, max(0.0, (moment - strips.start) / span))
        return LEFT + share * (WIDTH - LEFT - RIGHT)

    for number, text in enumerate(textwrap.wrap(strips.title, TITLE)[:2]):
        page.words(10, 16 + 13 * number, text, 11, bold=True)
    if strips.moment is not None:
        page.line(across(strips.moment), TOP - 8, across(strips.moment), foot, SERIOUS, 0.6)
    for moment, text in strips.ticks:
        page.line(across(moment), foot, across(moment), foot + 4, FAINT)
        page.words(across(moment), foot + 15, text, 9, FAINT, "end" if moment >= strips.end else "middle")
    for number, row in enumerate(strips.rows):
        y = TOP + ROW * number
        page.words(LEFT - 8, y + 14, row.name, 10, INK, "end")
        page.line(LEFT, y + ROW - 3, WIDTH - RIGHT, y + ROW - 3, FAINT, 0.4)
        for start, end in row.held:
            page.box(across(start), y + 4, max(across(end) - across(start), 0.8), ROW - 8, INK, INK, 0.4)
        for moment, letter in row.marks:
            ink = INKS.get(letter, INK)
            page.line(across(moment), y + 3, across(moment), y + ROW - 3, ink, 1.4)
            page.words(across(moment) + 2, y + 12, letter, 9, ink, bold=True)
    page.words(10, height - 6, legend(strips), 9, FAINT)
    return page.text()


def legend(strips: Strips) -> str:
    """What boxes and letters of these strips mean, in a line."""
    letters = sorted({letter for row in strips.rows for _, letter in row.marks})
    return "; ".join(["filled: occupied", *(f"{letter}: {SAYS.get(letter, letter)}" for letter in letters)])

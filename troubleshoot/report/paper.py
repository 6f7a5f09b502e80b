"""A paper as plain data: sides of sections, sections of blocks, every leaf a line of text or a picture's tree.

The same paper becomes a page (`page`) or Markdown (`markdown`), and a list of plain data for scripts. How many lines
it takes is reckoned here too, so that a side fits on a sheet of A4.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from troubleshoot.sketch import Node, as_data
from troubleshoot.sketch.sheet import height_of

SIZES = (9.5, 9.0, 8.5, 8.0, 7.5, 7.0, 6.5)
"""Sizes of letters in points, the largest first; none is too small to read on paper."""
WIDE, TALL = 527.0, 776.0
"""Points between the margins of A4."""
LINE, LETTER = 1.28, 0.5
"""Height of a line and mean width of a letter in parts of the size (estimate for common sans-serif faces)."""
DRAWN = 520.0
"""Width of pictures in their own units."""


@dataclass(frozen=True)
class Words:
    """Paragraphs."""

    lines: tuple[str, ...]


@dataclass(frozen=True)
class Pairs:
    """Labelled lines."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Items:
    """A list; `ticks` gives each item a box to tick."""

    lines: tuple[str, ...]
    ticks: bool = False


@dataclass(frozen=True)
class Table:
    """Rows under heads; `shares` are the widths of the columns in parts of 100."""

    heads: tuple[str, ...]
    shares: tuple[int, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Picture:
    """A part of the layout with its marks."""

    tree: Node
    title: str


Block = Words | Pairs | Items | Table | Picture


@dataclass(frozen=True)
class Section:
    """A titled group of blocks; `tone` is empty, `danger` or `undone`."""

    title: str
    blocks: tuple[Block, ...]
    tone: str = ""


@dataclass(frozen=True)
class Paper:
    """A whole paper: each side begins on a sheet of its own; `smallest` is the least size of its letters in points."""

    title: str
    subtitle: str
    sides: tuple[tuple[Section, ...], ...]
    foot: str = ""
    smallest: float = 6.5


def plain_data(paper: Paper) -> dict[str, Any]:
    """The paper as plain data for scripts."""
    return {
        "title": paper.title,
        "subtitle": paper.subtitle,
        "sides": [[_section(s) for s in side] for side in paper.sides],
        "foot": paper.foot,
    }


def _section(section: Section) -> dict[str, Any]:
    return {"title": section.title, "tone": section.tone, "blocks": [_block(b) for b in section.blocks]}


def _block(block: Block) -> dict[str, Any]:
    if isinstance(block, Picture):
        return {"picture": as_data(block.tree), "title": block.title}
    if isinstance(block, Table):
        return {"heads": list(block.heads), "rows": [list(r) for r in block.rows]}
    if isinstance(block, Pairs):
        return {"pairs": [list(r) for r in block.rows]}
    return {"items" if isinstance(block, Items) else "words": list(block.lines)}


def letters(side: Sequence[Section], last: bool = False) -> float:
    """The largest of SIZES in which a side fits on a sheet of A4, or 0 where none does; the last side has the foot."""
    fits = (size for size in SIZES if _height(side, size) + size * (9.0 if last else 3.5) <= TALL)
    return next(fits, 0.0)


def _height(side: Sequence[Section], size: float) -> float:
    """Points that a side takes in letters of a size (a reckoning that errs on the safe side)."""
    return sum(2.5 * size + sum(_tall(b, size) for b in section.blocks) for section in side)


def _tall(block: Block, size: float) -> float:
    columns = WIDE / (LETTER * size)
    if isinstance(block, Picture):
        return height_of(block.tree, DRAWN) * WIDE / DRAWN + 0.5 * size
    if isinstance(block, Pairs):
        return LINE * size * sum(_lines(text, columns * 0.83) for _, text in block.rows)
    if isinstance(block, Table):
        rows = [block.heads, *block.rows]
        tall = (max(_lines(c, columns * s / 107) for c, s in zip(row, block.shares, strict=True)) for row in rows)
        return size * sum(LINE * lines + 0.22 for lines in tall)
    return size * sum(LINE * _lines(text, columns * 0.96) + 0.1 for text in block.lines)


def _lines(text: str, columns: float) -> int:
    return sum(max(1, -(-len(line) // max(1, int(columns)))) for line in text.split("\n"))

"""A paper as Markdown that reads well as plain text too. No sign in the text of a person becomes mark-up.

Pictures become nested lists, since Markdown has none of its own.
"""

import re
from collections.abc import Iterator

from troubleshoot.report.paper import Block, Items, Pairs, Paper, Picture, Section, Table
from troubleshoot.sketch import SIGNS, WORDS, Node
from troubleshoot.sketch.sheet import counted, unseen
from troubleshoot.sketch.svg import clean

_SIGNS = re.compile(r"([\\`*_\[\]<>#|~!&])")
_FIRST = re.compile(r"^([-+](?=\s|$)|[-=]+$|\d+[.)](?=\s|$))")


def literal(text: str) -> str:
    """Text in one line that Markdown shows as it is."""
    said = _SIGNS.sub(r"\\\1", " ".join(clean(text).split()))
    said = said.replace("\\<", "&lt;").replace("\\>", "&gt;").replace("\\&", "&amp;")
    return _FIRST.sub(lambda m: f"{m[1][:-1]}\\{m[1][-1]}", said)


def markdown(paper: Paper) -> str:
    """The whole paper."""
    lines = [f"# {literal(paper.title)}", "", literal(paper.subtitle)]
    for side in paper.sides:
        for section in side:
            lines += ["", f"## {literal(section.title)}", "", *_section(section)]
    if paper.foot:
        lines += ["", "---", "", literal(paper.foot)]
    return "\n".join(lines) + "\n"


def _section(section: Section) -> Iterator[str]:
    for number, block in enumerate(section.blocks):
        if number:
            yield ""
        yield from _block(block)


def _block(block: Block) -> Iterator[str]:
    if isinstance(block, Picture):
        yield from _tree(block.tree, 0)
    elif isinstance(block, Pairs):
        yield from (f"- **{literal(name)}:** {literal(text)}" for name, text in block.rows)
    elif isinstance(block, Items):
        box = "[ ] " if block.ticks else ""
        yield from (f"- {box}{literal(line)}" for line in block.lines)
    elif isinstance(block, Table):
        yield f"| {' | '.join(literal(h) for h in block.heads)} |"
        yield f"|{'---|' * len(block.heads)}"
        yield from (f"| {' | '.join(literal(cell) for cell in row)} |" for row in block.rows)
    else:
        for number, line in enumerate(block.lines):
            yield from ([""] if number else [])
            yield literal(line)


def _tree(node: Node, depth: int) -> Iterator[str]:
    more = "; ".join(s for s in (node.says, counted(node.hidden), unseen(node)) if s)
    yield f"{'  ' * depth}- **{literal(node.name)}** {literal(more)}".rstrip()
    for mark in node.marks:
        where = f", {mark.place}" if mark.place != node.name else ""
        text = f"{WORDS.get(mark.kind, mark.kind)}{where}: {mark.text}"
        yield f"{'  ' * (depth + 1)}- {SIGNS.get(mark.kind, '·')} {literal(text)}"
    for child in node.children:
        yield from _tree(child, depth + 1)

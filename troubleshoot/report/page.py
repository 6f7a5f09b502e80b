"""A paper as one HTML page that stands by itself: no script, no font, no picture, no style from anywhere else.

Every text goes through one function that escapes it; only what that function has made is markup. Each side is set in
the largest of a few sizes of letters in which it fits on A4, by a reckoning that errs on the safe side.
"""

from xml.sax.saxutils import escape, quoteattr

from troubleshoot.report.paper import DRAWN, SIZES, Block, Items, Pairs, Paper, Picture, Section, Table, letters
from troubleshoot.sketch.sheet import piece
from troubleshoot.sketch.svg import clean

STYLE = """
@page { size: A4; margin: 11mm 12mm; }
* { box-sizing: border-box; }
html { background: #fff; color: #1b1b1b; font-family: "Liberation Sans", Arial, Helvetica, sans-serif; }
body { margin: 0 auto; max-width: 186mm; padding: 4mm 0; line-height: 1.28; }
header { display: flex; justify-content: space-between; align-items: baseline; border-bottom: 1.5pt solid #1b1b1b; }
h1 { font-size: 1.5em; margin: 0; } header p { margin: 0; text-align: right; }
p.side-of { text-align: right; color: #555; }
h2 { font-size: 1.12em; margin: .75em 0 .15em; border-bottom: .5pt solid #8a8a8a; }
p { margin: .1em 0; overflow-wrap: anywhere; }
dl { display: grid; grid-template-columns: 15% 1fr; margin: 0; }
dt { color: #555; padding-right: .6em; } dd { margin: 0; overflow-wrap: anywhere; }
ul { margin: 0; padding-left: 1.3em; overflow-wrap: anywhere; } ul.ticks { list-style: none; padding-left: 0; }
ul.ticks span { display: inline-block; width: .8em; height: .8em; border: .8pt solid #1b1b1b; margin-right: .5em; }
table { border-collapse: collapse; width: 100%; table-layout: fixed; }
th { text-align: left; font-weight: normal; color: #555; }
th, td { padding: .07em .5em .07em 0; vertical-align: top; overflow-wrap: anywhere; }
td { border-top: .4pt solid #bbb; }
svg { display: block; width: 100%; height: auto; }
section.danger, section.undone { border: 1.5pt solid #a3231f; padding: .1em .6em .3em; margin-top: .6em; }
section.undone { border-color: #9a6a00; } section.danger h2, section.undone h2 { border: 0; margin-top: .2em; }
footer { margin-top: .8em; border-top: .5pt solid #8a8a8a; color: #555; font-size: .92em; }
@media screen { div.side + div.side { margin-top: 8mm; } }
@media print { body { padding: 0; max-width: none; } div.side + div.side { break-before: page; }
  section { break-inside: auto; } tr, li, dd, svg { break-inside: avoid; } h2 { break-after: avoid; } }
"""


class Markup(str):
    """Text that is HTML already; only `tag` and the drawings make it."""

    __slots__ = ()


def tag(name: str, *inside: str, **attributes: str) -> Markup:
    """An element; what is inside is escaped unless it is markup already."""
    said = "".join(f" {key.rstrip('_')}={quoteattr(clean(value))}" for key, value in attributes.items())
    held = "".join(part if isinstance(part, Markup) else escape(clean(part)) for part in inside)
    return Markup(f"<{name}{said}>{held}</{name}>")


def page(paper: Paper) -> str:
    """The whole page."""
    head = tag("header", tag("h1", paper.title), tag("p", paper.subtitle))
    foot = tag("footer", paper.foot) if paper.foot else Markup("")
    sides = []
    for number, side in enumerate(paper.sides):
        over = head if number == 0 else tag("p", f"{paper.title}, side {number + 1}", class_="side-of")
        under = foot if number == len(paper.sides) - 1 else Markup("")
        size = max(paper.smallest, letters(side, bool(under)) or SIZES[-1])
        parts = (over, *(_section(s) for s in side), under)
        sides.append(tag("div", *parts, class_="side", style=f"font-size: {size:g}pt"))
    title = tag("title", f"{paper.title}: {paper.subtitle}")
    meta = Markup('<meta charset="utf-8"><meta name="viewport" content="width=device-width">')
    return (
        '<!DOCTYPE html>\n<html lang="en"><head>'
        + f"{meta}{title}<style>{STYLE}</style></head>\n{tag('body', *sides)}</html>\n"
    )


def _section(section: Section) -> Markup:
    blocks = (_block(b) for b in section.blocks)
    return tag("section", tag("h2", section.title), *blocks, **({"class_": section.tone} if section.tone else {}))


def _block(block: Block) -> Markup:
    if isinstance(block, Picture):
        return Markup(piece(block.tree, block.title, DRAWN))
    if isinstance(block, Pairs):
        return tag("dl", *(tag(t, text) for row in block.rows for t, text in zip(("dt", "dd"), row, strict=True)))
    if isinstance(block, Items):
        box = (tag("span"),) if block.ticks else ()
        lines = (tag("li", *box, line) for line in block.lines)
        return tag("ul", *lines, **({"class_": "ticks"} if block.ticks else {}))
    if isinstance(block, Table):
        heads = (tag("th", h, style=f"width: {s}%") for h, s in zip(block.heads, block.shares, strict=True))
        body = (tag("tr", *(tag("td", cell) for cell in row)) for row in block.rows)
        return tag("table", tag("thead", tag("tr", *heads)), tag("tbody", *body))
    return Markup("".join(tag("p", line) for line in block.lines))

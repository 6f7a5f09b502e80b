"""The tree of a layout in the terminal: each part on a line, its marks in words below it, sound branches counted.

Which parts are drawn is decided in `sketch`; here they are only worded and drawn, from 60 columns on.
"""

from rich.console import Group, RenderableType
from rich.text import Text
from rich.tree import Tree

from troubleshoot.screen.drawing import block, heading, printable
from troubleshoot.sketch import ORDER, SIGNS, WORDS, Mark, Node
from troubleshoot.sketch.sheet import counted, unseen

_STYLES = {"suspect": "bold red", "sick": "red", "reading": "bold", "weak-spot": "yellow", "clean": "green"}
_BOLD = ("layout", "booster", "district")


def tree_lines(tree: Node, title: str, whole: bool) -> RenderableType:
    """The tree with its legend; `whole` says that nothing was folded, so nothing need be said of folding."""
    kinds = {m.kind for m in _marks(tree)}
    signs = ", ".join(f"{SIGNS[k]} {WORDS[k]}" for k in ORDER if k in kinds)
    legend = f"Signs: {signs}." if signs else "Nothing is marked."
    folded = "" if whole else " Sound branches are counted only; --all draws every part."
    return Group(heading(title), _grown(tree), block(legend + folded, "dim", 0))


def _grown(node: Node) -> Tree:
    told: set[Mark] = set()
    tree = Tree(_label(node, told), guide_style="dim")
    _grow(tree, node, told)
    return tree


def _grow(tree: Tree, node: Node, told: set[Mark]) -> None:
    for child in node.children:
        _grow(tree.add(_label(child, told)), child, told)


def _label(node: Node, told: set[Mark]) -> Text:
    """The name of a part with what is known of it, and a line for each of its marks; none is spelt out twice."""
    text = Text(printable(node.name), style="bold" if node.kind in _BOLD else "")
    said = "; ".join(s for s in (node.says, counted(node.hidden), unseen(node)) if s)
    if said:
        text.append(f"  {printable(said)}", style="not bold dim")
    for mark in node.marks:
        text.append(f"\n{SIGNS.get(mark.kind, '*')} ", style=_STYLES.get(mark.kind, "bold"))
        text.append(printable(_worded(node, mark, mark in told)), style="not bold")
    told.update(node.marks)
    return text


def _worded(node: Node, mark: Mark, again: bool) -> str:
    where = f", {mark.place}" if mark.place != node.name else ""
    return f"{WORDS.get(mark.kind, mark.kind)}{where}: {'as above' if again else mark.text}"


def _marks(node: Node) -> list[Mark]:
    return [*node.marks, *(m for child in node.children for m in _marks(child))]

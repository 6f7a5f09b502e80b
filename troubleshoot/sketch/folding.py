"""Cutting a tree down to what a reader can take in: sound branches become one line that counts what is in them.

Nothing marked is folded away as long as there is room; where there is not, the most telling marks stay and the others
are counted. The tree that comes out is a tree like the one that went in. Where it is drawn is left to others.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from troubleshoot.sketch.tree import ORDER, Kinds, Mark, Node, rank

DEEPEST = 5
"""Levels of parts below the root: booster, district, detector, block, and what is in a block."""

_TO = " to "


def lines_of(node: Node) -> int:
    """Lines that a tree takes when each part has one and each mark one more."""
    return 1 + len(node.marks) + bool(node.unseen) + sum(lines_of(child) for child in node.children)


def fold(tree: Node, most: int, deepest: int = DEEPEST) -> Node:
    """The tree in at most about so many lines: sound branches are folded first, then the least telling marks.

    `deepest` is how many levels of sound parts are drawn at most; 0 draws only what is marked.
    """
    marks = sorted(set(_all_marks(tree)), key=rank)
    folded = tree
    for level in range(deepest, -1, -1):  # what was folded is folded on: a large tree is gone through once
        folded = _folded(folded, level, frozenset(marks))
        if lines_of(folded) <= most:
            return folded
    few, many = 0, len(marks)
    while few < many:  # the greatest number of marks that still fits
        half = (few + many + 1) // 2
        if lines_of(_folded(folded, 0, frozenset(marks[:half]))) <= most:
            few = half
        else:
            many = half - 1
    return _folded(folded, 0, frozenset(marks[:few]))


def _all_marks(node: Node) -> Iterable[Mark]:
    yield from node.marks
    for child in node.children:
        yield from _all_marks(child)


def _folded(tree: Node, level: int, kept: frozenset[Mark]) -> Node:
    wanted: set[int] = set()
    _want(tree, kept, wanted)
    return _cut(tree, level, kept, wanted)


def _want(node: Node, kept: frozenset[Mark], wanted: set[int]) -> bool:
    """Note every part that has a kept mark or leads to one."""
    below = [_want(child, kept, wanted) for child in node.children]
    if any(below) or any(m in kept for m in node.marks):
        wanted.add(id(node))
        return True
    return False


def _cut(node: Node, level: int, kept: frozenset[Mark], wanted: set[int]) -> Node:
    """A part with what is drawn below it; runs of like parts that are not drawn become one line each."""
    children: list[Node] = []
    run: list[Node] = []
    for child in node.children:
        drawn = level > 0 or id(child) in wanted
        if run and (drawn or _kind(run[-1]) != _kind(child)):
            children.append(_one(run))
            run = []
        if drawn:
            children.append(_cut(child, level - 1, kept, wanted))
        else:
            run.append(child)
    if run:
        children.append(_one(run))
    return replace(
        node,
        marks=tuple(m for m in node.marks if m in kept),
        children=tuple(children),
        unseen=_counted(Counter(m.kind for m in node.marks if m not in kept) + Counter(dict(node.unseen))),
    )


def _one(run: Sequence[Node]) -> Node:
    """One line for several parts, or for one part and all that is in it."""
    below = _Below()
    for node in run:
        below.add(node)
    if len(run) == 1:
        below.parts.pop((run[0].kind, run[0].name), None)
        return replace(run[0], marks=(), children=(), hidden=below.hidden, unseen=below.unseen)
    name = _TO.join((run[0].name.split(_TO)[0], run[-1].name.split(_TO)[-1]))
    return Node("several", name, "", (), (), below.hidden, below.unseen)


def _kind(node: Node) -> str:
    """The kind of a part, or of the parts that one line stands for."""
    return node.hidden[0][0] if node.kind == "several" and node.hidden else node.kind


@dataclass
class _Below:
    """What is in branches that are not drawn: each part and mark once, even where it stands in two branches."""

    parts: dict[tuple[str, str], None] = field(default_factory=dict)
    marks: set[Mark] = field(default_factory=set)
    folded: Counter[str] = field(default_factory=Counter)
    lost: Counter[str] = field(default_factory=Counter)

    def add(self, node: Node) -> None:
        """Count a branch, also one that was folded before."""
        if node.kind not in ("limb", "several"):
            self.parts[node.kind, node.name] = None
        self.marks.update(node.marks)
        self.folded.update(dict(node.hidden))
        self.lost.update(dict(node.unseen))
        for child in node.children:
            self.add(child)

    @property
    def hidden(self) -> Kinds:
        """Parts by kind, in the order in which the kinds are met."""
        return tuple((Counter(kind for kind, _ in self.parts) + self.folded).items())

    @property
    def unseen(self) -> Kinds:
        """Marks by kind."""
        return _counted(Counter(m.kind for m in self.marks) + self.lost)


def _counted(found: Counter[str]) -> Kinds:
    return tuple((k, found[k]) for k in sorted(found, key=lambda k: ORDER.index(k) if k in ORDER else len(ORDER)))

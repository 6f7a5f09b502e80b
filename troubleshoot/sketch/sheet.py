"""The tree on paper: a set of pigeon-holes, one for each block, on lines that grow thinner from the booster on.

Rules: one A4 page, upright or on its side, whichever takes larger letters; no letters under six points; what does not
fit is folded until it does. Each mark is a sign with a number, and the numbers are spelt out below in words. Parts
that bear a mark have a frame of their own strength besides its colour. Units are points.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from troubleshoot.sketch.folding import fold
from troubleshoot.sketch.lettering import clip, width_of, wrap
from troubleshoot.sketch.svg import DOUBTFUL, FAINT, INK, SERIOUS, SOUND, Page
from troubleshoot.sketch.tree import ORDER, SIGNS, WORDS, Kinds, Mark, Node, rank

A4 = (595.3, 841.9)
MARGIN = 30.0
SMALLEST = 6.0
"""Points of the smallest letters that can be read on paper at arm's length (common practice)."""

_SIZES = (11.0, 10.0, 9.0, 8.0, 7.0, 6.5, SMALLEST)
_ROOM = (1000, 500, 320, 220, 160, 130, 110, 95, 80, 70, 60, 52, 44, 36, 30, 24, 20)
"""Lines that the tree is folded to, one after the other, until it fits on the page."""

_INKS: Mapping[str, tuple[str, float]] = {
    "suspect": (SERIOUS, 1.8), "sick": (SERIOUS, 1.4), "reading": (INK, 1.2), "weak-spot": (DOUBTFUL, 1.2),
    "clean": (SOUND, 0.9),
}  # fmt: skip
_BRANCH: Mapping[str, float] = {"layout": 0.0, "booster": 3.2, "district": 1.8, "detector": 0.9, "limb": 0.5}
_PLURAL = {
    "supply": "supplies", "control-bus": "control buses", "turnout": "turnouts", "accessory": "accessories"
}  # fmt: skip


def sheet(tree: Node, title: str, most: int = _ROOM[0]) -> str:
    """The tree as an SVG that prints on one A4 page; sound branches are folded as far as the page makes needful."""
    folded = tree
    for room in [n for n in (most, *_ROOM) if n <= most]:
        folded = fold(folded, room)
        for size in _SIZES:
            for wide in (True, False):
                width, height = A4[::-1] if wide else A4
                drawn = _Drawing(title, width, size)
                if drawn.draw(folded) <= height - MARGIN:
                    paper = ("297mm", "210mm") if wide else ("210mm", "297mm")
                    return drawn.page(height, paper).text()
    return drawn.page(height, paper=("297mm", "210mm")).text()  # twenty lines fit, whatever they say


def piece(tree: Node, title: str, width: float, size: float = 7.0) -> str:
    """A tree, folded already, as an SVG of a given width, to stand inside another page."""
    drawn = _Drawing(title, width, size, margin=2.0, head=False)
    height = drawn.draw(tree)
    return drawn.page(height + 2.0).text()


def height_of(tree: Node, width: float, size: float = 7.0) -> float:
    """The height of such a piece."""
    return _Drawing("", width, size, margin=2.0, head=False).draw(tree) + 2.0


def counted(kinds: Kinds) -> str:
    """Counts in words: `12 blocks, 8 turnouts`."""
    return ", ".join(f"{n} {_many(kind) if n != 1 else kind.replace('-', ' ')}" for kind, n in kinds)


def _many(kind: str) -> str:
    return _PLURAL.get(kind, kind.replace("-", " ") + "s")


def unseen(node: Node) -> str:
    """The marks that are only counted, in words: `3 suspects`."""
    return ", ".join(f"{n} more marked '{WORDS.get(kind, kind)}'" for kind, n in node.unseen)


@dataclass
class _Drawing:
    """One drawing at one size of letters: shapes are noted first, since the height is known only at the end."""

    title: str
    width: float
    size: float
    margin: float = MARGIN
    head: bool = True
    numbers: dict[Mark, int] = field(default_factory=dict)
    shapes: list[tuple[str, tuple[object, ...]]] = field(default_factory=list)
    hole: float = 0.0

    @property
    def small(self) -> float:
        """The size of what stands inside pigeon-holes."""
        return max(SMALLEST, self.size * 0.86)

    def page(self, height: float, paper: tuple[str, str] | None = None) -> Page:
        """The drawing on a page of its own."""
        page = Page(self.width, height, self.title, paper)
        for shape, arguments in self.shapes:
            getattr(page, shape)(*arguments)
        return page

    def draw(self, tree: Node) -> float:
        """Note every shape; returns how far down the drawing goes."""
        self.numbers = {m: n for n, m in enumerate(sorted(set(_marks(tree)), key=rank), 1)}
        names = [width_of(n.name, self.size) for n in _nodes(tree) if _is_hole(n) and n.kind != "several"]
        usable = self.width - 2 * self.margin
        self.hole = min(max([*names, 5 * self.size]) + self.size, usable / 4)
        y = self.margin
        if self.head:
            self._words(self.margin, y + 1.5 * self.size, self.title, 1.5 * self.size, usable, bold=True)
            y += 1.8 * self.size
        y = self._branch(tree, self.margin, y)
        return self._callouts(y + self.size, any(n.unseen for n in _nodes(tree)))

    # -- branches --------------------------------------------------------------------------------------------

    def _branch(self, node: Node, x: float, y: float) -> float:
        """A part with a line of its own, and below it what it feeds. Returns where the next one may begin."""
        size, step = self.size, 1.5 * self.size
        y += 1.35 * size
        name = "" if self.head and node.kind == "layout" and node.name == self.title else node.name
        end = self._words(x, y, name, size, self.width - self.margin - x, bold=True)
        end = self._flags(end + 0.5 * size if name else end, y, node.marks, size)
        more = "; ".join(s for s in (node.says, counted(node.hidden), unseen(node)) if s)
        self._words(end + 0.5 * size, y, more, self.small, self.width - self.margin - end - 0.5 * size, FAINT)
        top, last = y + 0.3 * size, y
        y += 0.35 * size
        holes: list[Node] = []
        for child in (*node.children, None):
            if child is not None and _is_hole(child):
                holes.append(child)
                continue
            if holes:
                last = y + 0.8 * size
                self.shapes.append(("line", (x + 2, last, x + step, last, INK, 0.5)))
                y, holes = self._holes(holes, x + step, y), []
            if child is not None:
                last = y + 1.1 * size
                self.shapes.append(("line", (x + 2, last, x + step - 2, last, INK, self._wide(child))))
                y = self._branch(child, x + step, y)
        if node.children:
            self.shapes.append(("line", (x + 2, top, x + 2, last, INK, max(self._wide(node), 0.5))))
        return y

    def _wide(self, node: Node) -> float:
        return _BRANCH.get(node.kind, 0.5)

    # -- pigeon-holes ----------------------------------------------------------------------------------------

    def _holes(self, nodes: Sequence[Node], x: float, y: float) -> float:
        """Pigeon-holes in rows. Returns where the next thing may begin."""
        room = self.width - self.margin - x
        row: list[tuple[float, float, Node, list[_Line]]] = []
        at = 0.0
        for node in nodes:
            lines = self._lines(node)
            wide = self.hole
            while wide < room and max(line.width for line in lines) + self.size > wide:
                wide += self.hole
            wide = min(wide, room)
            if row and at + wide > room + 0.1:
                y = self._row(row, x, y)
                row, at = [], 0.0
            row.append((at, wide, node, lines))
            at += wide
        return self._row(row, x, y)

    def _row(self, row: Sequence[tuple[float, float, Node, list["_Line"]]], x: float, y: float) -> float:
        step = 1.2 * self.size
        height = step * max(len(lines) for *_, lines in row) + 0.4 * self.size
        for at, wide, node, lines in row:
            frame, ink, gap = _frame(node), _frame_ink(node), 1.2
            self.shapes.append(("box", (x + at, y, wide - gap, height - gap, "none", ink, frame)))
            for number, line in enumerate(lines, 1):
                left = x + at + 0.35 * self.size
                end = self._words(left, y + number * step, line.text, line.size, wide - 0.8 * self.size, line.ink)
                self._flags(end + 0.4 * self.size, y + number * step, line.marks, line.size)
        return y + height

    def _lines(self, node: Node) -> list["_Line"]:
        """What stands in a pigeon-hole: its name, and what is in it."""
        lines = [self._line(node.name, self.size, INK, node.marks)]
        if node.hidden or node.unseen:
            said = "; ".join(s for s in (counted(node.hidden), unseen(node)) if s)
            lines.append(self._line(said, self.small, FAINT, ()))
        return [*lines, *self._inside(node.children)]

    def _inside(self, nodes: Sequence[Node]) -> Iterator["_Line"]:
        """What is in a block: one after the other as far as a line goes, and what is marked on a line of its own."""
        said = ""
        for node in nodes:
            text = node.name if node.kind != "several" else counted(node.hidden)
            joined = f"{said}, {text}" if said else text
            if said and (node.marks or width_of(joined, self.small) > self.hole - self.size):
                yield self._line(said, self.small, FAINT, ())
                joined = text
            said = joined
            if node.marks:
                yield self._line(text, self.small, INK, node.marks)
                said = ""
        if said:
            yield self._line(said, self.small, FAINT, ())

    def _line(self, text: str, size: float, ink: str, marks: Sequence[Mark]) -> "_Line":
        flags = sum(width_of(self._flag(m), size, True) + 0.4 * size for m in marks)
        return _Line(text, size, ink, tuple(marks), width_of(text, size) + (0.4 * size + flags if marks else 0.0))

    # -- marks -----------------------------------------------------------------------------------------------

    def _flag(self, mark: Mark) -> str:
        return f"{SIGNS.get(mark.kind, '*')}{self.numbers[mark]}"

    def _flags(self, x: float, y: float, marks: Iterable[Mark], size: float) -> float:
        for mark in marks:
            ink = _INKS.get(mark.kind, (INK, 1.0))[0]
            x = self._words(x, y, self._flag(mark), size, self.width, ink, bold=True) + 0.4 * size
        return x

    def _callouts(self, y: float, more: bool) -> float:
        """What each number says, in columns, and what the signs mean."""
        count = 1 if self.width < 1.2 * A4[0] and self.width < 400 else 2 if self.width <= A4[0] else 3
        wide = (self.width - 2 * self.margin) / count
        tall = [(m, wrap(self._spelt(m), wide - self.size, self.size)) for m in self.numbers]
        total, step = sum(len(lines) for _, lines in tall), 1.25 * self.size
        column, at, lowest = 0, 0, y
        for mark, lines in tall:
            if at >= -(-total // count) and column < count - 1:
                column, at = column + 1, 0
            for number, line in enumerate(lines):
                ink = _INKS.get(mark.kind, (INK, 1.0))[0] if number == 0 else INK
                self._words(self.margin + column * wide, y + (at + 1) * step, line, self.size, wide, ink)
                at += 1
            lowest = max(lowest, y + at * step)
        kinds = [k for k in ORDER if any(m.kind == k for m in self.numbers)]
        legend = "Signs: " + ", ".join(f"{SIGNS[k]} {WORDS[k]}" for k in kinds) if kinds else "Nothing is marked."
        legend = legend if kinds or not more else "Marks are only counted here."
        lowest += 1.6 * self.small
        said = f"{legend.rstrip('.')}. The nearer to the booster, the thicker the line."
        self._words(self.margin, lowest, said, self.small, self.width - 2 * self.margin, FAINT)
        return lowest + 0.4 * self.size

    def _spelt(self, mark: Mark) -> str:
        return f"{self._flag(mark)} {WORDS.get(mark.kind, mark.kind)}, {mark.place}: {mark.text}"[:400]

    def _words(
        self, x: float, y: float, text: str, size: float, room: float, ink: str = INK, bold: bool = False
    ) -> float:
        """Note a line of text, clipped to its room; returns where it ends."""
        said = clip(text, room, size, bold)
        if said and (said != "…" or text == said):
            self.shapes.append(("words", (x, y, said, size, ink, "start", bold)))
        return x + width_of(said, size, bold)


@dataclass(frozen=True)
class _Line:
    """One line in a pigeon-hole."""

    text: str
    size: float
    ink: str
    marks: tuple[Mark, ...]
    width: float


def _is_hole(node: Node) -> bool:
    """Whether a part is drawn as a pigeon-hole; whatever feeds others has a line of its own."""
    if node.kind == "several":
        return node.hidden[0][0] not in _BRANCH if node.hidden else False
    return node.kind not in _BRANCH


def _nodes(node: Node) -> Iterator[Node]:
    yield node
    for child in node.children:
        yield from _nodes(child)


def _marks(tree: Node) -> Iterator[Mark]:
    for node in _nodes(tree):
        yield from node.marks


def _frame_ink(node: Node) -> str:
    marks = sorted(_marks(node), key=rank)
    return _INKS.get(marks[0].kind, (INK, 1.0))[0] if marks else FAINT


def _frame(node: Node) -> float:
    marks = sorted(_marks(node), key=rank)
    return _INKS.get(marks[0].kind, (INK, 1.0))[1] if marks else 0.4

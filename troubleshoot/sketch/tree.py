"""The layout as a tree, as plain data: boosters, their districts, detectors, blocks and turnouts, with marks.

Power goes from the root to the leaves. A part that belongs to another (a feeder, a breaker, a motor) shows its marks
on that other part; a mark keeps its own place. Every mark that is given stands somewhere in the tree: what has no
place in it hangs on a limb of its own. How much of it is drawn is left to `folding`, the drawing to others.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from troubleshoot.layout import Layout, Part, Place
from troubleshoot.quantities import show

ORDER: tuple[str, ...] = ("suspect", "sick", "reading", "weak-spot", "clean")
"""Kinds of marks, the most telling first."""

SIGNS: Mapping[str, str] = {"suspect": "?", "sick": "x", "reading": "=", "weak-spot": "!", "clean": "+"}
WORDS: Mapping[str, str] = {
    "suspect": "suspect", "sick": "shows the fault", "reading": "read", "weak-spot": "weak spot", "clean": "sound",
}  # fmt: skip
"""The word that stands beside each sign, so that no colour says anything alone."""

_NUMBERED = re.compile(r"([^0-9]*)([0-9]{0,9})")

Kinds = tuple[tuple[str, int], ...]
"""How many of each kind."""


@dataclass(frozen=True)
class Mark:
    """Something to show at a place: kind (see ORDER), what it says, and a weight from 0 to 1 within its kind."""

    place: str
    kind: str
    text: str
    weight: float = 0.0


@dataclass(frozen=True)
class Node:
    """A part in the tree. `hidden` and `unseen` count parts and marks below it that are not drawn."""

    kind: str
    name: str
    says: str = ""
    marks: tuple[Mark, ...] = ()
    children: tuple["Node", ...] = ()
    hidden: Kinds = ()
    unseen: Kinds = ()


def picture_of(layout: Layout, marks: Iterable[Mark] = (), more: Sequence[str] = ()) -> Node:
    """The tree of a layout with marks; `more` may ask for `signals` and `decoders` besides what carries the track."""
    return _Grower(layout, tuple(dict.fromkeys(marks)), frozenset(more)).tree()


def as_data(node: Node) -> dict[str, Any]:
    """A tree as plain data for scripts."""
    return {
        "kind": node.kind,
        "name": node.name,
        "says": node.says,
        "marks": [{"at": m.place, "kind": m.kind, "says": m.text, "weight": round(m.weight, 4)} for m in node.marks],
        "parts": [as_data(child) for child in node.children],
        "hidden": dict(node.hidden),
        "unseen_marks": dict(node.unseen),
    }


@dataclass
class _Grower:
    """One tree while it grows: what refers to what, and which marks stand where."""

    layout: Layout
    marks: tuple[Mark, ...]
    more: frozenset[str]
    users: dict[tuple[str, str, str], list[Part]] = field(default_factory=dict)
    at: dict[str, list[Mark]] = field(default_factory=dict)
    extra: dict[str, list[Node]] = field(default_factory=dict)
    elsewhere: dict[str, Node] = field(default_factory=dict)

    def tree(self) -> Node:
        """The whole tree."""
        for part in self.layout.parts.values():
            for key in ("booster", "district", "detector", "block", "decoder", "driver", "supply"):
                if key in part.words:
                    self.users.setdefault((part.kind, key, part.words[key]), []).append(part)
        for mark in self.marks:
            self._put(mark)
        limbs = [self._booster(p) for p in self._of("booster")]
        limbs += [self._district(p) for p in self._of("district") if not self._known(p, "booster")]
        limbs += self._limb("blocks of no named district", self._trays(self._homeless("block", "district")))
        limbs += self._limb("turnouts in no named block", map(self._leaf, self._homeless("turnout", "block")))
        if "decoders" in self.more:
            limbs += self._limb("accessory decoders", map(self._leaf, self._of("decoder")))
        if "signals" in self.more:
            limbs += self._limb("signals at no named block", map(self._leaf, self._homeless("signal", "block")))
        limbs += self._limb("elsewhere", self.elsewhere.values())
        says = self.layout.says if self.layout.known else "no layout record: only what was named is shown"
        return Node("layout", self.layout.name, says, self._marks(self.layout.name), tuple(limbs))

    # -- where a mark stands ---------------------------------------------------------------------------------

    def _put(self, mark: Mark) -> None:
        """Find the drawn part that a mark belongs to; what is nowhere in the tree goes elsewhere."""
        part = self.layout.parts.get(mark.place)
        while part is not None and (owner := self._owner(part)) is not None:
            part = owner
        if part is None:
            self._away("place", mark.place, mark)
        elif part.kind == "joint":
            self._hang(part, next(iter(part.lists.get("between", ())), ""), mark)
        elif part.kind == "signal" and "signals" not in self.more:
            self._hang(part, part.words.get("block", ""), mark)
        elif self._drawn(part):
            self.at.setdefault(part.name, []).append(mark)
        else:
            self._away(part.kind, part.name, mark)

    def _owner(self, part: Part) -> Part | None:
        """The part on which another shows its marks: its owner, or the one booster that a supply feeds."""
        if part.owner:
            return self.layout.parts.get(part.owner)
        fed = self.users.get(("booster", "supply", part.name), []) if part.kind == "supply" else []
        return fed[0] if len(fed) == 1 else None

    def _drawn(self, part: Part) -> bool:
        if part.kind == "detector":
            return ("block", "detector", part.name) in self.users
        asked = {"signals": "signal", "decoders": "decoder"}
        return part.kind in {"layout", "booster", "district", "block", "turnout", *(asked[m] for m in self.more)}

    def _hang(self, part: Part, parent: str, mark: Mark) -> None:
        """Put a part that is not drawn by itself, such as a joint, beside the block it belongs to."""
        if parent not in self.layout.parts:
            self._away(part.kind, part.name, mark)
            return
        beside = self.extra.setdefault(parent, [])
        for index, node in enumerate(beside):
            if node.name == part.name:
                beside[index] = replace(node, marks=_sorted((*node.marks, mark)))
                return
        beside.append(Node(part.kind, part.name, "", (mark,)))

    def _away(self, kind: str, name: str, mark: Mark) -> None:
        node = self.elsewhere.setdefault(name, Node(kind, name))
        self.elsewhere[name] = replace(node, marks=_sorted((*node.marks, mark)))

    def _marks(self, name: str) -> tuple[Mark, ...]:
        return _sorted(self.at.get(name, ()))

    # -- the parts -------------------------------------------------------------------------------------------

    def _of(self, kind: str) -> list[Part]:
        return [self.layout.parts[p.name] for p in self.layout.places_of(kind)]

    def _known(self, part: Part, key: str) -> bool:
        return part.words.get(key) in self.layout.parts

    def _homeless(self, kind: str, key: str) -> list[Part]:
        return [p for p in self._of(kind) if not self._known(p, key)]

    def _limb(self, name: str, nodes: Iterable[Node]) -> list[Node]:
        found = tuple(nodes)
        return [Node("limb", name, "", (), found)] if found else []

    def _booster(self, part: Part) -> Node:
        fed = tuple(self._district(d) for d in self.users.get(("district", "booster", part.name), ()))
        return Node("booster", part.name, self._said(part, _BOOSTER), self._marks(part.name), fed)

    def _district(self, part: Part) -> Node:
        blocks = self.users.get(("block", "district", part.name), [])
        return Node(
            "district", part.name, self._said(part, _DISTRICT), self._marks(part.name), tuple(self._trays(blocks))
        )

    def _trays(self, blocks: Sequence[Part]) -> list[Node]:
        """Blocks by the detector that watches them, in the order of the record; unwatched ones by themselves."""
        by: dict[str, list[Part]] = {}
        for block in blocks:
            by.setdefault(block.words.get("detector", "") if self._known(block, "detector") else "", []).append(block)
        trays: list[Node] = []
        for name, some in by.items():
            leaves = tuple(self._block(b) for b in some)
            if not name:
                trays += leaves
                continue
            says = [self._said(self.layout.parts[name], _DETECTOR), _zones(some)]
            trays.append(Node("detector", name, ", ".join(s for s in says if s), self._marks(name), leaves))
        return trays

    def _block(self, part: Part) -> Node:
        inside = [self._leaf(t) for t in self.users.get(("turnout", "block", part.name), ())]
        if "signals" in self.more:
            inside += [self._leaf(s) for s in self.users.get(("signal", "block", part.name), ())]
        inside += self.extra.get(part.name, [])
        return Node("block", part.name, self._said(part, _BLOCK), self._marks(part.name), tuple(inside))

    def _leaf(self, part: Part) -> Node:
        return Node(part.kind, part.name, self._said(part, _LEAF.get(part.kind, ())), self._marks(part.name))

    def _said(self, part: Part, rows: Sequence[Callable[[Layout, Part], str]]) -> str:
        said = [row(self.layout, part) for row in rows]
        return ", ".join(s for s in (*said, part.words.get("says", ""), part.words.get("where", "")) if s)


def _sorted(marks: Iterable[Mark]) -> tuple[Mark, ...]:
    """Marks in the order in which they matter."""
    return tuple(sorted(marks, key=rank))


def rank(mark: Mark) -> tuple[int, float, list[tuple[str, int]], str, str]:
    """Sorts marks: by kind, then the heaviest first, then by place with numbers as numbers."""
    kind = ORDER.index(mark.kind) if mark.kind in ORDER else len(ORDER)
    place = [(words, int(number or 0)) for words, number in _NUMBERED.findall(mark.place)]
    return kind, -mark.weight, place, mark.place, mark.text


def _zones(blocks: Sequence[Part]) -> str:
    numbers = sorted(int(z) for b in blocks if (z := b.words.get("zone", "")).isdecimal() and len(z) < 6)
    if not numbers:
        return ""
    return f"zone {numbers[0]}" if len(numbers) == 1 else f"zones {numbers[0]} to {numbers[-1]}"


def _figure(kind: str, name: str, words: str) -> Callable[[Layout, Part], str]:
    """A figure that the record gives or that is assumed; `words` says it, with {} for the value."""

    def said(layout: Layout, part: Part) -> str:
        found = layout.figure(Place(kind, part.name if kind == part.kind else f"{part.name} {kind}"), name)
        if found is None:
            return ""
        return words.format(show(found.value, found.unit)) + (" assumed" if found.assumed else "")

    return said


def _given(name: str, words: str) -> Callable[[Layout, Part], str]:
    """A figure of the part itself, only where the record gives it."""

    def said(_: Layout, part: Part) -> str:
        value, unit = part.figures.get(name, (0.0, ""))
        return words.format(show(value, unit)) if unit else ""

    return said


def _word(name: str, words: str = "{}") -> Callable[[Layout, Part], str]:
    """A single word of the record, in a sentence."""
    return lambda _, part: words.format(part.words[name]) if part.words.get(name, "unknown") != "unknown" else ""


def _breaker(layout: Layout, part: Part) -> str:
    if part.words.get("breaker") == "none":
        return "no breaker"
    return _figure("breaker", "trip", "breaker trips at {}")(layout, part)


def _reversing(_: Layout, part: Part) -> str:
    return "reversing section" if part.words.get("reversing") == "yes" else ""


_BOOSTER = (_figure("booster", "limit", "up to {}"), _word("supply", "fed by {}"))
_DISTRICT = (_breaker, _figure("bus", "length", "bus {}"))
_DETECTOR = (_word("kind"), _figure("detector", "threshold", "{}"))
_BLOCK = (_given("length", "{}"), _reversing)
_LEAF: Mapping[str, Sequence[Callable[[Layout, Part], str]]] = {
    "turnout": (_word("motor", "{} motor"), _word("decoder", "on {}")),
    "signal": (_word("driver", "on {}"),),
    "decoder": (_given("address", "address {}"), _word("supply", "fed by {}")),
}
"""What stands beside the name of each kind of part."""

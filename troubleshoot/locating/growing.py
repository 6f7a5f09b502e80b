"""Growing the tree of a place from the layout record.

Order from the feed outwards: breaker, stretches of bus, the detector where all its zones hang on one input, the plugs
a feeder goes through, the feeder, the rails, and what is fed from the rails. Where a block hangs on a bus of several
stretches is not in the record: blocks are spread along it in the record's order, by length, and the tree says so.
Minutes to lift and to put back are those of the core set-ups (estimates); so are the weights.
"""

from collections.abc import Iterable, Sequence
from functools import lru_cache

from troubleshoot.layout import Layout, Place
from troubleshoot.locating.tree import Limb, Tree

LOOK = 1.0
"""Minutes to look whether the fault has gone: lamp or meter clipped on, power on and off (estimate)."""
LIFT = {"breaker": 3.0, "bus": 5.0, "plug": 0.5, "detector": 2.0, "feeder": 2.0, "rails": 5.0, "frog": 3.0,
        "accessory": 2.0}  # fmt: skip
"""Minutes to disconnect each kind of point, and as many to put it back; breaker, bus, feeder at the detector, feeder
at the rails and motor or frog leads as in the core set-ups, the rest by comparison with them (estimate)."""
REACH = {"easy": 0.0, "awkward": 2.0, "hard": 5.0}
"""Minutes more for a point that is awkward or hard to reach (estimate)."""
HOP = 1.0
"""Minutes from one baseboard to the next (estimate)."""
PER_METRE, PER_JOINT, PER_RAIL_METRE = 0.1, 0.5, 0.5
"""Weights: a metre of wire, a joint, screw or splice, a metre of track that metal may fall across (estimates)."""
WEIGHTS = {"breaker": 2.0, "detector": 1.0, "plug": 1.0, "turnout": 3.0, "accessory": 2.0}
"""Weights of parts that no length describes: a device, a plug's pins, a turnout's frog and blades (estimates)."""
FROG_FED = ("by-points", "by-contact", "by-relay", "by-reverser")
FROM_DISTRICT = ("breaker", "bus", "bus-segment", "joint", "plug", "duct")
"""Kinds of place that are looked for in the tree of their district; the rest in that of their block."""


@lru_cache(maxsize=64)
def tree_of(layout: Layout, place: Place) -> Tree | None:
    """The tree that feeds a place, or None where the record knows too little of it for two parts to be told apart."""
    scope = scope_of(layout, place)
    if scope is None:
        return None
    grown = _Grower(layout, scope)
    return Tree(scope, tuple(grown.limbs), tuple(grown.notes), _hops(layout)) if len(grown.limbs) > 2 else None


def scope_of(layout: Layout, place: Place) -> Place | None:
    """The place whose tree is meant: a booster, district or block itself, else the block or district it belongs to."""
    if not layout.known:
        return None
    if place.kind in ("booster", "district", "block"):
        return place if _named(layout, place) else None
    for relation in ("district-of",) if place.kind in FROM_DISTRICT else ("own-block", "district-of"):
        near = layout.related(relation, place)
        if len(near) == 1 and _named(layout, near[0]):
            return near[0]
    return None


def _named(layout: Layout, place: Place) -> bool:
    part = layout.parts.get(place.name)
    return part is not None and part.kind == place.kind


def _hops(layout: Layout) -> dict[tuple[str, str], float]:
    """Minutes between every two boards that plugs join, by the fewest plugs in between."""
    beside: dict[str, list[str]] = {}
    for plug in layout.places_of("plug"):
        ends = layout.words(plug, "between")
        for one in ends:
            beside.setdefault(one, []).extend(e for e in ends if e != one)
    found = {}
    for start in beside:
        seen, edge, minutes = {start}, [start], 0.0
        while edge:
            minutes += HOP
            edge = [n for n in dict.fromkeys(b for e in edge for b in beside[e]) if n not in seen]
            seen.update(edge)
            found.update({(start, n): minutes for n in edge})
    return found


class _Grower:
    """A tree while it grows: limbs in order, each after the one that feeds it."""

    def __init__(self, layout: Layout, scope: Place) -> None:
        self.layout = layout
        self.limbs: list[Limb] = []
        self.notes: list[str] = []
        if scope.kind == "booster":
            root = self._add(Limb(scope.name, "booster", -1, weight=WEIGHTS["breaker"]))
            for district in self._of("district", scope):
                self._district(district, root)
        elif scope.kind == "district":
            self._district(scope, -1)
        else:
            feed = layout.related("bus-of", scope)[0]
            self._hang([scope], self._add(Limb(feed.name, feed.kind, -1, weight=WEIGHTS["breaker"])))

    def _add(self, limb: Limb) -> int:
        self.limbs.append(limb)
        return len(self.limbs) - 1

    def _of(self, kind: str, scope: Place) -> list[Place]:
        """The blocks or districts of a scope, in the record's order."""
        near = set(self.layout.related({"block": "own-block", "district": "district-of"}[kind], scope))
        return [p for p in self.layout.places_of(kind) if p in near]

    def _length(self, place: Place, else_: float = 0.0) -> float:
        figure = self.layout.figure(place, "length")
        return figure.value if figure else else_

    # -- from the breaker to the last stretch of bus ---------------------------------------------------------

    def _district(self, district: Place, root: int) -> None:
        """A district: its breaker, and behind it the stretches of bus with the blocks that hang on each."""
        blocks = self._of("block", district)
        breaker = next((p for p in self.layout.related("breaker-of", district) if _named(self.layout, p)), None)
        if breaker is not None:
            root = self._add(Limb(breaker.name, "breaker", root, weight=WEIGHTS["breaker"]))
        elif root < 0:
            feed = self.layout.related("booster-of", district)[0]
            root = self._add(Limb(feed.name, "booster", -1, weight=WEIGHTS["breaker"]))
        for name, kind, up, hung, metres, through in self._stretches(district, blocks, root):
            point, how, lift = name, f"open both wires where {name} begins", LIFT["bus"]
            if up == root and breaker is not None:
                point, how, lift = breaker.name, f"lift both output wires of {breaker.name}", LIFT["breaker"]
            if through is not None:
                point, how, lift = through, f"pull {through}", LIFT["plug"]
            board = self._board(hung[0]) if hung else None
            weight = PER_METRE * metres + PER_JOINT * (1 + len(hung))
            own = self._add(Limb(name, kind, up, point, how, 2 * lift + LOOK, board, weight))
            self._hang(hung, own)

    def _stretches(
        self, district: Place, blocks: Sequence[Place], root: int
    ) -> Iterable[tuple[str, str, int, list[Place], float, str | None]]:
        """Stretches of a district's bus from the feed on: name, kind, fed by, blocks, metres, the plug before it."""
        named = self.layout.related("bus-of", district)[0]
        segments = [p for p in self.layout.places_of("bus-segment") if self.layout.word(p, "of") == district.name]
        boards = list(dict.fromkeys(b for b in map(self._board_of_block, blocks) if b))
        if len(boards) > 1 and len(segments) in (0, 1, len(boards)):
            yield from self._by_board(named, segments, blocks, boards, root)
            return
        if len(segments) < 2:
            yield named.name, "bus", root, list(blocks), self._length(named), None
            return
        self.notes.append(f"where each block hangs on {named.name} is assumed: in the record's order, by length")
        lengths = [self._length(s, 1.0) for s in segments]
        total, taken, gone = sum(lengths), 0, 0.0
        up = root
        for segment, length in zip(segments, lengths, strict=True):
            gone += length
            upto = round(len(blocks) * gone / total)
            hung, taken = list(blocks[taken:upto]), upto
            at = len(self.limbs)
            yield segment.name, "bus-segment", up, hung, length, None
            up = at

    def _by_board(
        self, bus: Place, segments: Sequence[Place], blocks: Sequence[Place], boards: Sequence[str], root: int
    ) -> Iterable[tuple[str, str, int, list[Place], float, str | None]]:
        """One stretch of bus on each baseboard, from that of the first block on, with the plugs between them."""
        self.notes.append(f"{bus.name} is assumed to begin at {boards[0]} and to cross to each board by the plugs")
        at: dict[str, int] = {}
        metres = self._length(bus) / len(boards)
        for number, board in enumerate(boards):
            hung = [b for b in blocks if (self._board_of_block(b) or boards[0]) == board]
            stretch = segments[number] if len(segments) == len(boards) else None
            plug, before = self._plug_to(board, at)
            name = stretch.name if stretch else f"{bus.name} on {board}"
            own = len(self.limbs)
            up = at[before] if before else at[boards[0]] if number else root
            length = self._length(stretch, metres) if stretch else metres
            yield name, "bus-segment" if stretch else "bus", up, hung, length, plug
            at[board] = own

    def _plug_to(self, board: str, at: Iterable[str]) -> tuple[str | None, str | None]:
        """The plug that joins a board with one that is in the tree already, and that board."""
        done = list(at)
        for plug in self.layout.places_of("plug"):
            ends = self.layout.words(plug, "between")
            near = [e for e in ends if e in done]
            if board in ends and near:
                return plug.name, near[0]
        return None, None

    # -- from the bus to the rails --------------------------------------------------------------------------

    def _hang(self, blocks: Sequence[Place], bus: int) -> None:
        """Blocks on a stretch of bus: behind detectors with one input for all zones, and behind plugs."""
        made: dict[tuple[int, str], int] = {}
        for block in blocks:
            feeder, up = self.layout.related("feeder-of", block)[0], bus
            detector = self.layout.related("detector-of", block)[0]
            if self.layout.word(detector, "kind") == "diode-drop":
                up = self._shared(made, up, detector.name, "detector", self._board(detector))
            for plug in self._plugs(feeder):
                ends = self.layout.words(Place("plug", plug), "between")
                up = self._shared(made, up, plug, "plug", ends[0] if ends else None)
            self._block(block, feeder, up)

    def _shared(self, made: dict[tuple[int, str], int], up: int, name: str, kind: str, board: str | None) -> int:
        """A detector or plug before several feeders, once for each stretch of bus."""
        if (up, name) not in made:
            what = f"pull {name}" if kind == "plug" else f"lift the track feed of {name}"
            minutes = 2 * LIFT[kind] + LOOK
            mark = name if name not in {limb.name for limb in self.limbs} else f"{name} behind {self.limbs[up].name}"
            point = name if kind == "plug" else mark
            made[up, name] = self._add(Limb(mark, kind, up, point, what, minutes, board, WEIGHTS[kind]))
        return made[up, name]

    def _plugs(self, feeder: Place) -> tuple[str, ...]:
        one = self.layout.word(feeder, "plug")
        return self.layout.words(feeder, "plug") or ((one,) if one else ())

    def _block(self, block: Place, feeder: Place, up: int) -> None:
        """A feeder, the rails behind it, and what is fed from the rails."""
        reach = REACH.get(self.layout.word(block, "reach") or "easy", 0.0)
        detector = self.layout.related("detector-of", block)[0]
        watched = _named(self.layout, detector)
        board = self._board(detector) if watched else self._board(block)
        first = LIFT["feeder"] * 2 + LOOK + (0.0 if watched else reach)
        end = (
            f"lift the wire of {block.name} at {detector.name}"
            if watched
            else f"lift {feeder.name} where it leaves the bus"
        )
        weight = PER_METRE * self._length(feeder, 1.0) + 2 * PER_JOINT
        wire = self._add(Limb(feeder.name, "feeder", up, feeder.name, end, first, board, weight))
        here, weight = self._board(block), PER_RAIL_METRE * self._length(block, 1.0)
        at, how, minutes = (
            f"{block.name} rails",
            f"lift {feeder.name} at the rails, every drop",
            LIFT["rails"] * 2 + LOOK + reach,
        )
        rails = self._add(Limb(block.name, "block", wire, at, how, minutes, here, weight))
        for turnout in self.layout.related("turnout-in", block):
            if self.layout.word(turnout, "block") != block.name:
                continue
            fed = self.layout.word(turnout, "frog") in FROG_FED
            frog = self.layout.related("frog-of", turnout)[0].name if fed else None
            minutes = LIFT["frog"] * 2 + LOOK + reach
            how, weight = f"lift the frog wire of {turnout.name}", WEIGHTS["turnout"]
            self._add(Limb(turnout.name, "turnout", rails, frog, how, minutes, here, weight))
        for name in self.layout.words(block, "accessories"):
            minutes = LIFT["accessory"] * 2 + LOOK + reach
            weight = WEIGHTS["accessory"]
            self._add(Limb(name, "accessory", rails, name, f"lift one lead of {name}", minutes, here, weight))

    def _board(self, place: Place) -> str | None:
        return self.layout.word(place, "board")

    def _board_of_block(self, block: Place) -> str | None:
        """The board of a block, unless its feeder comes through a plug: then the bus need not reach that board."""
        return None if self._plugs(self.layout.related("feeder-of", block)[0]) else self._board(block)

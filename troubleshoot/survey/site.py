"""One record laid out for surveying: who belongs to whom, and each figure with its plausible range.

Everything is looked up once and kept, so that a survey takes time in proportion to the record. Nothing is guessed: a
part that the record does not name is not there. Which figures matter is left to the looks.
"""

from collections.abc import Iterator, Mapping
from functools import cached_property

from troubleshoot.electrics import cables
from troubleshoot.layout import Figure, Layout, Part, Place
from troubleshoot.survey.plausible import FOLLOWS, SPACING, spread, usual, where
from troubleshoot.survey.spots import Datum

Data = dict[str, Datum]


class Site:
    """A layout as a survey sees it."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.of_kind: dict[str, list[Part]] = {}
        self._users: dict[tuple[str, str, str], list[Part]] = {}
        self._known: dict[tuple[str, str], Datum | None] = {}
        self._trade: dict[str, Datum] = {}
        for part in layout.parts.values():
            self.of_kind.setdefault(part.kind, []).append(part)
            for key, word in part.words.items():
                self._users.setdefault((part.kind, key, word), []).append(part)
            for key, words in part.lists.items():
                for word in dict.fromkeys(words):
                    self._users.setdefault((part.kind, key, word), []).append(part)

    # -- parts ----------------------------------------------------------------------------------------------

    def all(self, kind: str) -> Iterator[Part]:
        """The parts of a kind, in the order of the record."""
        return iter(self.of_kind.get(kind, ()))

    def named(self, name: str | None, kind: str) -> Part | None:
        """The part of a name, if it is of that kind."""
        part = self.layout.parts.get(name or "")
        return part if part is not None and part.kind == kind else None

    def own(self, owner: str, kind: str) -> Part | None:
        """The part of a kind that belongs to an owner, such as its feeder."""
        return next(iter(self.all_own(owner, kind)), None)

    def all_own(self, owner: str, kind: str) -> list[Part]:
        """All parts of a kind that belong to an owner, such as the stretches of its bus."""
        return self.users(kind, "of", owner)

    def users(self, kind: str, key: str, name: str) -> list[Part]:
        """The parts of a kind that name another under a key."""
        return self._users.get((kind, key, name), [])

    def word(self, part: Part, key: str) -> str | None:
        """What a part says under a key, unless it says that this is unknown."""
        said = part.words.get(key)
        return None if said == "unknown" else said

    def said(self, key: str) -> str | None:
        """What the record says of the layout as a whole, such as of its stock."""
        return self.word(self.top, key) if self.top else None

    @cached_property
    def top(self) -> Part | None:
        """The layout as a part."""
        return self.layout.parts.get(self.layout.name)

    def district(self, block: Part) -> Part | None:
        """The district that feeds a block."""
        return self.named(block.words.get("district"), "district")

    def booster(self, district: Part | None) -> Part | None:
        """The booster that feeds a district."""
        return self.named(district.words.get("booster"), "booster") if district else None

    def detector(self, block: Part) -> Part | None:
        """The detector that watches a block."""
        return self.named(block.words.get("detector"), "detector")

    def sides(self, joint: Part) -> tuple[Part, Part] | None:
        """The two blocks that a joint parts."""
        found = [b for n in joint.lists.get("between", ()) if (b := self.named(n, "block"))]
        return (found[0], found[1]) if len(found) == 2 else None

    # -- figures --------------------------------------------------------------------------------------------

    def datum(self, part: Part, name: str) -> Datum:
        """A figure of a part. Raises KeyError where there is none and nothing sensible can be assumed."""
        key = (part.name, name)
        if key not in self._known:
            self._known[key] = self._made(part, name)
        found = self._known[key]
        if found is None:
            raise KeyError(f"{part.name} has no {name}")
        return found

    def stock(self, name: str) -> Datum:
        """A figure of the layout as a whole or of its stock. Raises KeyError as `datum` does."""
        if self.top is None:
            raise KeyError(name)
        return self.datum(self.top, name)

    def given(self, part: Part, name: str) -> bool:
        """Whether the record itself gives a figure."""
        return name in part.figures

    def trade(self, name: str) -> Datum:
        """A figure that no record gives."""
        if name not in self._trade:
            figure, low, high = usual(name, self.layout.scale)
            self._trade[name] = Datum(figure, low, high)
        return self._trade[name]

    def count(self, number: float, said: str) -> Datum:
        """A number that the record tells by what it lists."""
        return Datum(Figure(float(number), "count", False, said), float(number), float(number))

    def choice(self, part: Part, key: str, values: Mapping[str, float], usual_word: str, said: str) -> Datum:
        """A word of the record as a number, so that a missing word has a range as a missing figure has.

        `values` gives a number for each word, `usual_word` names the one that is assumed, `said` is what a person
        calls it.
        """
        word = self.word(part, key)
        if word is not None and word in values:
            return Datum(Figure(values[word], "", False, f"{said} of {part.name}: {word}"), values[word], values[word])
        figure = Figure(values[usual_word], "", True, f"{said} of {part.name}")
        lowest, highest = min(values.values()), max(values.values())
        return Datum(figure, lowest, highest, where(part.kind, key), (part.kind, key), part.name)

    def _made(self, part: Part, name: str) -> Datum | None:
        figure = self.layout.figure(Place(part.kind, part.name), name)
        if figure is None:
            return None
        value = figure.value
        if not figure.assumed:
            return Datum(figure, value, value, of=(part.kind, name), place=part.name)
        inferred = self._inferred(part, name, value)
        if inferred is not None:
            return Datum(figure, *inferred, of=(part.kind, name), place=part.name)
        low, high = spread(part.kind, name)
        return Datum(figure, value * low, value * high, where(part.kind, name), (part.kind, name), part.name)

    def _inferred(self, part: Part, name: str, value: float) -> tuple[float, float] | None:
        """The range of a figure that follows from something else the record gives, or None."""
        if (part.kind, name) == ("feeder", "capacitance") and part.words.get("spacing") in SPACING:
            low, high = SPACING[part.words["spacing"]]
            return value * low, value * high
        if (part.kind, name) == ("block", "rail-ohms") and "rail-code" in part.figures:
            code = int(part.figures["rail-code"][0])
            low, high = cables.RAIL_OHM_PER_METRE.get(code, (value * 0.7, value * 1.4))
            return min(low, value), max(high, value)
        if (part.kind, name) == ("booster", "output") and self.top and "track-volts" in self.top.figures:
            return value * FOLLOWS[0], value * FOLLOWS[1]
        if (part.kind, name) == ("joint", "gap"):
            sides = self.sides(part)
            if sides and any("gap" in s.figures for s in sides):
                return value, value
        return None

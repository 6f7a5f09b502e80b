"""What a weak spot means for an inquiry: causes that it makes likelier, at the very places it names.

A cause names the kinds of weak spot that make it likelier. It is raised at the suspect's place where the survey finds
such a spot there, or at a part that the suspect's place belongs to, and only if the spot concerns the thing complained
about. How the raised causes are weighed is left to `belief`, how it is worded to `screen`.
"""

from collections.abc import Iterable
from functools import cached_property, lru_cache

from troubleshoot.layout import KIND_OF_RELATION, Layout, Place, unnamed
from troubleshoot.survey.spots import WeakSpot
from troubleshoot.survey.surveying import survey

FACTOR = 3.0
"""How much likelier a weak spot makes its causes (estimate: 2 to 5 times for a look at the record that fails)."""

REMARK_FACTOR = 1.5
"""The same for a mere remark (estimate)."""


def factor(spots: Iterable[WeakSpot]) -> float:
    """How much likelier the gravest of some weak spots makes a cause. Units: ratio."""
    return max((REMARK_FACTOR if s.severity == "remark" else FACTOR for s in spots), default=1.0)


def account(spot: WeakSpot) -> str:
    """What a ranking says of a weak spot: that the survey finds it, and what that counts."""
    return f"the survey finds: {spot.says}. That makes it {factor((spot,)):g} times as likely here (an estimate)"


class Raising:
    """The weak spots that concern one thing complained about, and the suspects that they raise."""

    def __init__(self, layout: Layout, subject: Place) -> None:
        self.layout, self.subject = layout, subject

    @cached_property
    def spots(self) -> tuple[WeakSpot, ...]:
        """The weak spots that stand in some relation to the thing complained about."""
        return tuple(s for s in survey(self.layout) if self._concerns(s.place))

    def found(self, kinds: Iterable[str], relation: str, place: Place) -> tuple[WeakSpot, ...]:
        """The weak spots of some kinds that raise a suspect: a cause that sits in a relation, at a place."""
        wanted = frozenset(kinds)
        if not wanted:
            return ()
        return tuple(s for s in self.spots if s.kind in wanted and self._reaches(s.place, relation, place))

    def _concerns(self, at: Place) -> bool:
        if at == self.subject or "layout" in (at.kind, self.subject.kind):
            return True
        if at.kind == "bus-segment":
            at = Place("district", self.layout.word(at, "of") or "")
        leads = (r for r, kind in KIND_OF_RELATION.items() if kind == at.kind)
        return any(at in self.layout.related(relation, self.subject) for relation in leads)

    def _reaches(self, at: Place, relation: str, place: Place) -> bool:
        if at == place:
            return True
        if at.kind == "layout" and place == unnamed(place.kind):
            return True
        return place in self.layout.related(relation, at)


@lru_cache(maxsize=64)
def raising(layout: Layout, subject: Place) -> Raising:
    """The weak spots that concern a thing complained about; kept, as layouts never change."""
    return Raising(layout, subject)

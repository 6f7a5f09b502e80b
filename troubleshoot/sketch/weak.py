"""Weak spots of the survey as marks for a picture, the gravest the heaviest."""

from collections.abc import Iterable, Mapping

from troubleshoot.layout import Layout, Place
from troubleshoot.sketch.tree import Mark
from troubleshoot.survey import SEVERITIES, survey

_WEIGHT: Mapping[str, float] = {s: 1.0 - n / len(SEVERITIES) for n, s in enumerate(SEVERITIES)}
_NEAR = (
    "itself", "own-block", "feeder-of", "zone-of", "joint-of", "detector-of", "district-of", "breaker-of", "bus-of",
    "booster-of", "supply-of", "turnout-in", "decoder-of", "driver-of", "motor-of",
)  # fmt: skip
"""What stands on the way of the power to a place, or beside it."""


def weak_marks(layout: Layout, near: Place | None = None) -> tuple[Mark, ...]:
    """A mark for every weak spot of a layout, or for those on the way to a place and beside it."""
    wanted = set(_around(layout, near)) if near else None
    return tuple(
        Mark(spot.place.name, "weak-spot", f"{spot.says} ({spot.severity})", _WEIGHT[spot.severity])
        for spot in survey(layout)
        if wanted is None or spot.place.name in wanted
    )


def _around(layout: Layout, near: Place) -> Iterable[str]:
    for relation in _NEAR:
        yield from (place.name for place in layout.related(relation, near))

"""Which missing figure would sharpen a computed reading most.

Rules: every figure that is assumed at the places a reading rests on is moved by a plain factor, one at a time, and
the reading worked out again; the one that moves it most is worth asking for. What to do with it is left to
others.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from troubleshoot.circuit.probing import Probe
from troubleshoot.circuit.reading import Fault, Model
from troubleshoot.layout import FIGURES, Figure, Layout, Part, Place

DOUBT = 1.5
"""By how much an assumed figure may be out (estimate)."""
WORTH = 0.05
"""A figure that moves the reading by less than this is not worth asking for."""
_ON_THE_WAY = ("own-block", "feeder-of", "detector-of", "district-of", "breaker-of", "bus-of", "booster-of")


@dataclass(frozen=True)
class Missing:
    """An assumed figure, the place that it belongs to, and the ratio by which it may move the reading."""

    figure: Figure
    place: Place
    name: str
    moves: float


def missing(
    layout: Layout, probe: Probe, place: Place, fault: Fault | None = None, at: Place | None = None
) -> Missing | None:
    """The assumed figure that moves a reading most, or None where every figure that matters is given."""
    before = _centre(layout, probe, place, fault, at)
    if before is None:
        return None
    best: Missing | None = None
    for home, name, figure in _assumed(layout, place):
        after = _centre(_given(layout, home, name, figure, DOUBT), probe, place, fault, at)
        if after is None or after <= 0.0 or before <= 0.0:
            continue
        moves = math.exp(abs(math.log(after / before)))
        if moves > 1.0 + WORTH and (best is None or moves > best.moves + 1e-9):
            best = Missing(figure, home, name, moves)
    return best


def _centre(layout: Layout, probe: Probe, place: Place, fault: Fault | None, at: Place | None) -> float | None:
    reads = Model(layout).reads(probe, place, fault, at, 1)
    finite = [v for v in reads.values if v < math.inf] if reads else []
    return math.fsum(finite) / len(finite) if finite else None


def _assumed(layout: Layout, place: Place) -> Iterator[tuple[Place, str, Figure]]:
    """Assumed figures on the way from the booster to a place, each with the part that it belongs to."""
    homes = [layout.related(relation, place)[0] for relation in _ON_THE_WAY]
    for home in dict.fromkeys(homes):
        if home.name not in layout.parts:
            continue
        for name in FIGURES.get(home.kind, {}):
            figure = layout.figure(home, name)
            if figure is not None and figure.assumed and figure.value > 0.0:
                yield home, name, figure


def _given(layout: Layout, home: Place, name: str, figure: Figure, factor: float) -> Layout:
    """The layout with one figure given, moved by a factor."""
    part = layout.parts[home.name]
    told = Part(
        part.kind, part.name, {**part.figures, name: (figure.value * factor, figure.unit)}, part.words, part.lists
    )
    return replace(layout, parts={**layout.parts, home.name: told})

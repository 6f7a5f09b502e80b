"""Answers judged: which band of a check a reading falls into on this layout, softly near a limit.

The limits are those of `electrics`. What follows from an observation is left to deduction and belief.
"""

import math
from dataclasses import dataclass

from troubleshoot.electrics import Limits, limits, meter_error
from troubleshoot.inquiry.course import Inquiry
from troubleshoot.inquiry.places import about, where
from troubleshoot.inquiry.records import Answer, PutAside
from troubleshoot.layout import Layout, Place
from troubleshoot.quantities import Reading
from troubleshoot.rulebook import Check, Rulebook
from troubleshoot.rulebook.words import REPORTED_WRONG

ASSUMED_SPREAD = 0.15
"""Log spread of a limit that rests on an assumed figure (estimate)."""


@dataclass(frozen=True)
class Observation:
    """One judged answer: weights over the outcomes of its finding, and the chance that it was reported wrongly."""

    check: str
    finding: str
    place: Place
    outcome: str
    weights: tuple[float, ...]
    error: float
    order: int
    said: str
    value: float | None = None
    """The reading in SI where a plain figure was typed, inf where the meter was over range."""


def edges(layout: Layout, check: Check, place: Place) -> Limits:
    """The limits of a reading's bands at a place, in SI, with the figures they come from."""
    bands = tuple((b.outcome, b.factor, b.quantity, b.plain) for b in check.bands)
    return limits(layout, place, bands, check.unit or "")


def _tail(x: float) -> float:
    return 0.5 * math.erfc(-x / math.sqrt(2.0))


def weigh(layout: Layout, check: Check, place: Place, reading: Reading) -> tuple[float, ...]:
    """How much a reading speaks for each band: all for one far from the limits, shared softly near one."""
    outcomes = check.outcomes
    if reading.over_range:
        return tuple(1.0 if o == check.over_range else 0.0 for o in outcomes)
    bounds = edges(layout, check, place)
    if reading.bound in ("<", ">"):
        return _bounded(bounds, reading, len(outcomes))
    blur = (2.0 if reading.bound == "~" else 1.0) * meter_error(layout, check.unit or "")
    own = [max(s, ASSUMED_SPREAD if bounds.assumed else 0.0) for s in bounds.spread]
    value = abs(reading.value)
    if value <= 0.0:
        return tuple(1.0 if i == 0 else 0.0 for i in range(len(outcomes)))
    below = [
        _tail((math.log(max(e, 1e-30)) - math.log(value)) / math.hypot(blur, s))
        for e, s in zip(bounds.edges, own, strict=True)
    ]
    shares = [b - a for a, b in zip([0.0, *below], [*below, 1.0], strict=True)]
    return tuple(max(0.0, s) for s in shares)


def _bounded(bounds: Limits, reading: Reading, count: int) -> tuple[float, ...]:
    """A reading given only as below or above a figure speaks alike for every band that it leaves open."""
    lows, highs = (0.0, *bounds.edges), (*bounds.edges, math.inf)
    value = abs(reading.value)
    open_ = [lo < value if reading.bound == "<" else hi > value for lo, hi in zip(lows, highs, strict=True)]
    total = sum(open_) or 1
    return tuple(1.0 / total if o else 0.0 for o in open_[:count])


def observations(layout: Layout, rulebook: Rulebook, inquiry: Inquiry) -> tuple[Observation, ...]:
    """Every answered check, judged, in a fixed order that does not depend on when it was answered."""
    subject = about(layout, inquiry, rulebook)
    last: dict[tuple[str, Place], tuple[int, Answer | PutAside]] = {}
    for (name, said_place), (order, record) in inquiry.latest.items():
        if name in rulebook.checks:
            # The same check with its place named and with the place going without saying is one check.
            key = name, where(layout, rulebook.checks[name], said_place, subject)
            last[key] = max(last.get(key, (-1, record)), (order, record), key=lambda word: word[0])
    judged = [
        _judge(layout, rulebook, rulebook.checks[name], place, record, order)
        for (name, place), (order, record) in last.items()
        if isinstance(record, Answer)
    ]
    seen = [one for one in judged if one is not None]
    return tuple(sorted(seen, key=lambda o: (o.finding, o.place.name, o.check)))


def _judge(
    layout: Layout, rulebook: Rulebook, check: Check, place: Place, record: Answer, order: int
) -> Observation | None:
    finding = rulebook.findings[check.finding]
    if record.reading is not None and check.unit:
        shares = weigh(layout, check, place, record.reading)
        by_outcome = dict(zip(check.outcomes, shares, strict=True))
        said, value = record.reading.said, _plain(record.reading)
    elif record.outcome in check.outcomes:
        by_outcome = {o: 1.0 if o == record.outcome else 0.0 for o in check.outcomes}
        said, value = check.labels[str(record.outcome)], None
    else:
        return None
    weights = tuple(by_outcome[o] for o in finding.outcomes)
    outcome = finding.outcomes[max(range(len(weights)), key=lambda i: weights[i])]
    how = record.how if record.how in REPORTED_WRONG else "seen"
    return Observation(check.name, check.finding, place, outcome, weights, REPORTED_WRONG[how], order, said, value)


def _plain(reading: Reading) -> float | None:
    """A typed figure that can be compared by size; none where only a bound or a nought was given."""
    if reading.over_range:
        return math.inf
    value = abs(reading.value)
    return value if value > 0.0 and reading.bound not in ("<", ">") else None

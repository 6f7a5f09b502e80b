"""What the layout record says about the names in a log: neighbours, shared boards and supplies, outages, motors.

Without a record nothing is known: no neighbours, no groups but all blocks together, and an outage may be anywhere.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from troubleshoot.eventlog.log import TRIP, Log, changes
from troubleshoot.eventlog.pulses import Outages
from troubleshoot.eventlog.volleys import LEAST_BLOCKS, Group
from troubleshoot.layout import Layout, Place, Unknown, unnamed

SHARED: tuple[tuple[str, str], ...] = (
    ("detector-of", "board"),
    ("plug-of", "shared"),
    ("district-of", "shared"),
    ("booster-of", "shared"),
)
"""What blocks may share, and the sign it makes when they change together; supplies of detectors are added."""
AFTER_RESTORE, LONGEST_OUTAGE = 1.5, 60.0
"""Seconds after an outage in which reports say nothing yet (estimate); without a restore it ends so late."""
POWER_KINDS = ("district", "booster", "breaker", "supply")


@dataclass(frozen=True, eq=False)
class Surroundings:
    """What is known about the things in one log."""

    neighbours: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    groups: tuple[Group, ...] = ()
    outages: Mapping[str, Outages] = field(default_factory=dict)
    fed: Mapping[str, frozenset[str]] = field(default_factory=dict)
    motors: Mapping[str, str] = field(default_factory=dict)
    without_feedback: frozenset[str] = frozenset()
    unknown: tuple[str, ...] = ()


def surroundings(log: Log, layout: Layout) -> Surroundings:
    """What a record says about a log."""
    blocks = {name: place for name in log.blocks if (place := _place(layout, name, "block"))}
    turnouts = {n: place for n in {*log.commands, *log.reports} if (place := _place(layout, n, "turnout"))}
    fed = {name: _fed(layout, name, log, blocks) for name in log.power}
    return Surroundings(
        neighbours={n: tuple(b for b in _names(layout, "neighbour-of", p) if b in blocks) for n, p in blocks.items()},
        groups=_groups(layout, log, blocks),
        outages=_outages(log, fed),
        fed=fed,
        motors={n: layout.word(p, "motor") or "" for n, p in turnouts.items()},
        without_feedback=frozenset(n for n, p in turnouts.items() if layout.word(p, "feedback") == "none"),
        unknown=_unknown(log, layout, blocks, turnouts),
    )


def _place(layout: Layout, name: str, kind: str) -> Place | None:
    try:
        place = layout.place(name)
    except Unknown:
        return None
    return place if place.kind == kind else None


def _names(layout: Layout, relation: str, about: Place) -> list[str]:
    places = layout.related(relation, about)
    return [p.name for p in places if p != unnamed(p.kind)]


def _unknown(log: Log, layout: Layout, blocks: Mapping[str, Place], turnouts: Mapping[str, Place]) -> tuple[str, ...]:
    """Names in the log that the record does not have."""
    if not layout.known:
        return ()
    strange = [n for n in log.blocks if n not in blocks]
    return tuple(sorted({*strange, *(n for n in (*log.commands, *log.reports) if n not in turnouts)}))


def _groups(layout: Layout, log: Log, blocks: Mapping[str, Place]) -> tuple[Group, ...]:
    members: dict[tuple[str, str], set[str]] = {}
    for name, place in blocks.items():
        detectors = _names(layout, "detector-of", place)
        for relation, sign in SHARED:
            for shared in _names(layout, relation, place):
                members.setdefault((sign, shared), set()).add(name)
        for detector in detectors:
            for supply in _names(layout, "supply-of", layout.place(detector)):
                members.setdefault(("shared", supply), set()).add(name)
    every = frozenset(log.blocks)
    known = [Group(sign, name, frozenset(m)) for (sign, name), m in sorted(members.items()) if len(m) >= LEAST_BLOCKS]
    # what all blocks share is no better a name than "all blocks"
    return (*(g for g in known if g.blocks != every or g.kind == "board"), Group("at-once", "", every))


def _fed(layout: Layout, power: str, log: Log, blocks: Mapping[str, Place]) -> frozenset[str]:
    """The blocks that lose power with a thing; all of them where the record does not know it."""
    relations = ("district-of", "breaker-of", "booster-of", "supply-of")
    fed = {n for n, p in blocks.items() if any(power in _names(layout, r, p) for r in relations[:3])}
    for name, place in blocks.items():
        for booster in _names(layout, "booster-of", place):
            if power in _names(layout, "supply-of", layout.place(booster)):
                fed.add(name)
    return frozenset(fed or log.blocks)


def _outages(log: Log, fed: Mapping[str, frozenset[str]]) -> dict[str, Outages]:
    """For each block the stretches around its outages."""
    found: dict[str, list[tuple[float, float]]] = {}
    for name, track in log.power.items():
        rows = changes(track)
        for i, (when, state) in enumerate(rows):
            if state == TRIP:
                restored = rows[i + 1][0] if i + 1 < len(rows) else when + LONGEST_OUTAGE
                end = min(restored, when + LONGEST_OUTAGE) + AFTER_RESTORE
                for block in fed[name]:
                    found.setdefault(block, []).append((when, end))
    return {block: sorted(stretches) for block, stretches in found.items()}

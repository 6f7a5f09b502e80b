"""When a fault comes: more with the time since switching on, less with it, or at a certain hour of the day.

Asked only of what has been found already, of the moments alone and not of their number, so that asking costs no false
finding twice. Time is counted by opportunity: by trains for what needs a train, by throws for what needs a throw, by
running time for the rest; so a busy second half of an evening is no trend. Whether those opportunities that went wrong
lie early or late, or in one hour, is a matter of drawing them from all.
"""

import bisect
from collections.abc import Callable, Mapping, Sequence

from troubleshoot.eventlog.chance import both_sides, drawn_tail
from troubleshoot.eventlog.findings import Family, Finding
from troubleshoot.eventlog.log import Log
from troubleshoot.eventlog.pulses import Story
from troubleshoot.eventlog.together import thinned
from troubleshoot.eventlog.turnouts import Turnout

LEAST_MOMENTS = 6
"""Five of five in one half are nothing yet: 1 in 16."""
LEAST_HOURS, LEAST_RUNS = 3, 3
"""Hours of the day and days that a log must cover before a time of day means anything (estimates)."""
MOMENT = 5.0
"""Seconds within which several happenings are one."""


def in_time(
    log: Log, told: Mapping[str, Story], worked: Mapping[str, Turnout], found: Sequence[Finding],
    take: Callable[[Family], list[Finding]],
) -> None:  # fmt: skip
    """Put the trends of what was found to `take` as a family of its own."""
    family = Family("in time", "hypergeometric")
    for finding in found:
        moments = thinned(finding.times, MOMENT)
        if len(moments) < LEAST_MOMENTS:
            continue
        chances = opportunities(log, told, worked, finding)
        family.looks += 1
        family.candidates.append(_warming(log, finding, moments, chances))
        if log.clocked:
            family.looks += 1
            family.candidates += _hour(log, finding, moments, chances)
    take(family)


def opportunities(log: Log, told: Mapping[str, Story], worked: Mapping[str, Turnout], finding: Finding) -> list[float]:
    """The moments at which a fault could have shown: trains, throws, or the ticks of running time."""
    if finding.about in worked:
        return sorted(worked[finding.about].asked)
    if finding.kind == "throw" and finding.others[0] in log.commands:
        return list(log.commands[finding.others[0]].times)
    if finding.kind in ("chatter", "joint", "missed", "trip-on-entry") and finding.about in told:
        return [s.start for s in told[finding.about].stays]
    step = max(1.0, log.hours * 3600.0 / 5000.0)
    return [a + i * step for a, b in log.runs for i in range(int((b - a) / step) + 1)]


def _warming(log: Log, finding: Finding, moments: Sequence[float], chances: Sequence[float]) -> Finding:
    """How many came after half of the opportunities were over, counted from the start of each run."""
    ages = [c - log.runs[log.run_of(c)][0] for c in chances]
    half = sorted(ages)[len(ages) // 2] if ages else 0.0
    marked = _marked(moments, chances)
    late, after = sum(a > half for a in ages), sum(ages[i] > half for i in marked)
    many, early = len(marked), len(ages) - late
    upper = drawn_tail(after, len(ages), many, late)
    lower = drawn_tail(many - after, len(ages), many, early)
    kind, count, part = ("warms-up", after, late) if upper <= lower else ("wears-off", many - after, early)
    usual = many * part / max(len(ages), 1)
    return Finding(
        kind, finding.about, finding.others, count, many, usual, both_sides(upper, lower), tuple(moments), half,
        of_kind=finding.kind,
    )  # fmt: skip


def _marked(moments: Sequence[float], chances: Sequence[float]) -> list[int]:
    """Which opportunities were those of the moments; several in one count once, for they are no two proofs."""
    return sorted({max(0, bisect.bisect_right(chances, m) - 1) for m in moments}) if chances else []


def _hour(log: Log, finding: Finding, moments: Sequence[float], chances: Sequence[float]) -> list[Finding]:
    """The hour of the day with the most beside its share; all hours were looked at, and it is charged for them."""
    hours = [int((c + log.offset) // 3600) % 24 for c in chances]
    kinds = sorted(set(hours))
    if len(kinds) < LEAST_HOURS or len(log.runs) < LEAST_RUNS:
        return []
    marked = _marked(moments, chances)
    best: Finding | None = None
    for hour in kinds:
        part, count = hours.count(hour), sum(hours[i] == hour for i in marked)
        tail = min(1.0, len(kinds) * drawn_tail(count, len(hours), len(marked), part))
        if best is None or tail < best.chance:
            best = Finding(
                "hour", finding.about, finding.others, count, len(marked), len(marked) * part / len(hours), tail,
                tuple(moments), float(hour), of_kind=finding.kind,
            )  # fmt: skip
    return [best] if best else []

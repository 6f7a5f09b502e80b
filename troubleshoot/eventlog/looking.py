"""Looking at a log for faults: every family of looks in turn, each taking away what it explains from the next.

What is explained by something shared is not counted again as two neighbours at once, nor what these explain as plain
chatter; so that one fault makes one finding. A family that finds nothing takes nothing away. Pure: no files, clock or
random numbers. The tests are in `together`, `volleys`, `moves`, `turnouts`, `trends`; here they are only asked.
"""

import bisect
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from dataclasses import replace as changed

from troubleshoot.eventlog import trends
from troubleshoot.eventlog.chance import drawn_tail, share_tail
from troubleshoot.eventlog.findings import (
    LEAST,
    RARE_RATIO,
    RATIO,
    WATCH,
    Family,
    Finding,
    Look,
    only_found,
    order,
    settle,
    watched,
)
from troubleshoot.eventlog.log import TRIP, Log, changes
from troubleshoot.eventlog.moves import Moves, moves
from troubleshoot.eventlog.pulses import SHORT, Story, quiet_times, stories, table
from troubleshoot.eventlog.surroundings import Surroundings, surroundings
from troubleshoot.eventlog.together import (
    AFTER_THROW,
    AT_ONCE,
    coincidences,
    follow_counts,
    meet,
    thinned,
)
from troubleshoot.eventlog.turnouts import Turnout, kind_of_silence, late, turnouts
from troubleshoot.eventlog.volleys import Volley, edges_by_way, explained, groups_test, joined, volleys
from troubleshoot.layout import EMPTY, Layout

BEFORE_TRIP = 1.5
"""Seconds before a trip in which what caused it is looked for (estimate: breakers act within half a second)."""
TRIP_CELL = 60.0
MOST_A_TRAIN = 3
"""So many flickers of one train in one block count at most (by simulation: `tests/benchmarks/eventlog.md`)."""
COARSE = 0.25
"""A clock with coarser steps than this cannot tell what happens at once."""


@dataclass
class _At:
    """Where the looking stands: what is known, what is left unexplained, what came out."""

    log: Log
    around: Surroundings
    told: dict[str, Story]
    grain: float
    seen: list[Finding] = field(default_factory=list)
    looks: dict[str, int] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)

    def take(self, family: Family) -> list[Finding]:
        """Keep a family's candidates; those that stand are returned."""
        settled = settle(family)
        self.seen += settled
        self.looks[family.name] = family.looks
        return only_found(settled)

    def explain(self, moments: Mapping[str, Iterable[float]]) -> None:
        """Take flickers away, by block and the moment they begin, give or take what a finding calls one moment."""
        for block, times in moments.items():
            story, near = self.told[block], sorted(times)
            if near:
                flickers = tuple(f for f in story.flickers if not _close(near, f.start, f.end))
                blips = tuple(b for b in story.blips if not _close(near, b.start, b.end))
                self.told[block] = changed(story, flickers=flickers, blips=blips)

    def flickers(self) -> dict[str, list[float]]:
        """When each block began to flicker, for what is left."""
        return {n: [f.start for f in s.flickers] for n, s in self.told.items()}


def _close(moments: Sequence[float], start: float, end: float) -> bool:
    return any(start - AFTER_THROW <= m <= end + AT_ONCE for m in moments)


def look(log: Log, layout: Layout = EMPTY, short: float = SHORT) -> Look:
    """Everything that a log shows, in rank order. `short` is the longest pulse in seconds."""
    around = surroundings(log, layout)
    at = _At(log, around, stories(log, around.outages, short), log.grain)
    whole = dict(at.told)
    worked = turnouts(log)
    boards(at)
    throws(at)
    pairs(at)
    walked = moves(log, at.told, around.neighbours)
    missed(at, walked)
    chatter(at, walked)
    phantoms(at, walked)
    trips(at)
    silence(at, worked)
    lateness(at, worked)
    by_themselves(at, worked)
    trends.in_time(at.log, whole, worked, only_found(at.seen), at.take)
    found = sorted(only_found(at.seen), key=order)
    rest = watched(at.seen, sum(at.looks.values()))
    watch = sorted((f for f in rest if not f.found and f.false_share <= WATCH), key=order)
    _notes(at, walked, layout)
    return Look(
        tuple(found), tuple(watch), at.looks, tuple(table(whole, log.hours)), tuple(_waits(worked)), tuple(at.notes)
    )


def boards(at: _At) -> None:
    """Several blocks at once, by what they share."""
    within = max(AT_ONCE, 1.2 * at.grain)
    ways = edges_by_way(at.told, at.log.runs, SHORT)
    seen = joined([v for way in ways for v in volleys(way, within)])
    family = Family("at once on one board", "Poisson, expected number exact", len(at.around.groups))
    held: dict[str, list[Volley]] = {}
    for group, mine in explained(seen, at.around.groups):
        if at.grain > COARSE:
            break
        usual, chance = groups_test(ways, group, mine, within)
        times = tuple(v.when for v in mine)
        blocks = tuple(sorted(frozenset[str]().union(*(v.every & group.blocks for v in mine))))
        if chance < 1.0:
            held[group.name] = mine
            family.candidates.append(
                Finding(group.kind, group.name or blocks[0], blocks, len(times), 0, usual, chance, times)
            )
    for finding in at.take(family):
        mine = held[finding.about if finding.kind != "at-once" else ""]
        at.explain({b: [v.when for v in mine if b in v.every] for b in finding.others})


def throws(at: _At) -> None:
    """Flickers right after a turnout's throw; of several turnouts thrown together the likeliest is named."""
    commands = {n: thinned(t.times, 1.0) for n, t in at.log.commands.items()}
    after = max(AFTER_THROW, 1.2 * at.grain)
    family = Family("with a turnout's throw", "cells of time, binomial bound", len(commands) * len(at.told))
    starts = at.flickers()
    for (turnout, block), count in follow_counts(commands, starts, 0.0, after).items():
        if count >= LEAST:
            met = meet(commands[turnout], starts[block], 0.0, after)
            family.candidates.append(
                Finding("throw", block, (turnout,), met.count, met.of, met.expected, met.chance, met.times, met.lag)
            )
    _one_each(family)
    for finding in at.take(family):
        at.explain({finding.about: finding.times})


def _one_each(family: Family) -> None:
    """Of candidates for the same place that rest on the same moments keep the least likely by chance."""
    kept: list[Finding] = []
    for one in sorted(family.candidates, key=order):
        used = {t for k in kept if k.about == one.about for t in k.times}
        if len(set(one.times) - used) * 2 > len(one.times):
            kept.append(one)
    family.candidates = kept


def pairs(at: _At) -> None:
    """Two blocks at once: neighbours first, then any others."""
    if at.grain > COARSE:
        at.notes.append(
            f"The log's clock has steps of {at.grain:g} s; what happens at the same moment cannot be told from it"
        )
        return
    within = max(AT_ONCE, 1.2 * at.grain)
    beside = {(min(a, b), max(a, b)) for a, near in at.around.neighbours.items() for b in near}
    every = len(at.told) * (len(at.told) - 1) // 2
    for name, kind, wanted in (("neighbours at once", "joint", True), ("others at once", "together", False)):
        family = Family(name, "cells of time, binomial bound", len(beside) if wanted else every - len(beside))
        starts = at.flickers()
        for pair, count in coincidences(starts, within).items():
            if count >= LEAST and (pair in beside) == wanted:
                one, two = sorted(pair, key=lambda n: (-len(starts[n]), n))
                met = meet(starts[one], starts[two], within, within)
                family.candidates.append(
                    Finding(kind, pair[0], (pair[1],), met.count, met.of, met.expected, met.chance, met.times, met.lag)
                )
        for finding in at.take(family):
            at.explain(dict.fromkeys(finding.places, finding.times))


def chatter(at: _At, walked: Moves) -> None:
    """Blocks that flicker under trains more than the others do, beside their trains and beside the time they are taken.

    Of one train's flickers only the first few count: a dirty one that stands for long makes many and proves one thing.
    """
    family = Family("chatter", f"binomial, {RATIO:g} times the others' rate allowed", len(at.told))
    starts = {
        n: sorted([f.start for f in s.flickers if f.with_train] + [f.start for f in walked.lost.get(n, ())])
        for n, s in at.told.items()
    }
    counts = {n: _few_a_train(at.told[n], times) for n, times in starts.items()}
    total, every = sum(counts.values()), sum(map(len, starts.values()))
    stays, taken = sum(len(s.stays) for s in at.told.values()), sum(s.taken for s in at.told.values())
    for name, times in starts.items():
        story = at.told[name]
        if counts[name] >= LEAST:
            by_train = share_tail(counts[name], total, len(story.stays), stays - len(story.stays), RATIO)
            by_time = share_tail(counts[name], total, story.taken, taken - story.taken, RATIO)
            usual = every * max(len(story.stays) / max(stays, 1), story.taken / max(taken, 1e-9))
            family.candidates.append(
                Finding("chatter", name, (), len(times), len(story.stays), usual, max(by_train, by_time), tuple(times))
            )
    at.take(family)


def _few_a_train(story: Story, times: Sequence[float]) -> int:
    """How many flickers count, with no more than a few for each stay."""
    of_each = Counter(bisect.bisect_right(story.starts, t) for t in times)
    return sum(min(count, MOST_A_TRAIN) for count in of_each.values())


def phantoms(at: _At, walked: Moves) -> None:
    """Blocks that are taken by nothing more often than the others."""
    family = Family("phantoms", f"binomial, {RARE_RATIO:g} times the others' rate allowed", len(walked.phantoms))
    kept = {n: [t for t in times if _left(at, n, t)] for n, times in walked.phantoms.items()}
    total, empty = sum(map(len, kept.values())), {n: quiet_times(at.log, at.told[n]) for n in kept}
    every = sum(empty.values())
    for name, times in kept.items():
        if len(times) >= LEAST:
            tail = share_tail(len(times), total, empty[name], every - empty[name], RARE_RATIO)
            usual = total * empty[name] / max(every, 1e-9)
            family.candidates.append(Finding("phantom", name, (), len(times), 0, usual, tail, tuple(times)))
    at.take(family)


def _left(at: _At, name: str, when: float) -> bool:
    """Whether a phantom has not been explained as a flicker already."""
    story = at.told[name]
    return any(s.start == when for s in story.stays) or any(b.start == when for b in story.blips)


def missed(at: _At, walked: Moves) -> None:
    """Blocks that trains pass through unseen."""
    counts = {n: walked.through.get(n, 0) + len(walked.missed.get(n, ())) for n in at.told}
    _drawn(at, "trains not seen", {n: ("missed", walked.missed.get(n, [])) for n in at.told}, counts)


def silence(at: _At, worked: Mapping[str, Turnout]) -> None:
    """Throws that nobody confirmed."""
    asked = {n: t for n, t in worked.items() if n not in at.around.without_feedback}
    if not any(t.reports for t in asked.values()):
        if asked:
            at.notes.append("No turnout reports anything in this log, so confirmations are not looked at")
        return
    rows = {n: (kind_of_silence(t), t.silent) for n, t in asked.items()}
    _drawn(at, "not confirmed", rows, {n: len(t.asked) for n, t in asked.items()})


def lateness(at: _At, worked: Mapping[str, Turnout]) -> None:
    """Confirmations that came late, and bursts of them."""
    slow = late(worked, at.around.motors)
    rows = {n: ("late", [w for w, _ in lags]) for n, lags in slow.items()}
    slowest = {n: max((lag for _, lag in lags), default=0.0) for n, lags in slow.items()}
    waits = {n: t.wait for n, t in worked.items()}
    _drawn(at, "confirmed late", rows, {n: len(t.confirmed) for n, t in worked.items()}, waits, slowest)


def by_themselves(at: _At, worked: Mapping[str, Turnout]) -> None:
    """Reports without a command, and several at one."""
    alone = {n: ("uncommanded", t.alone) for n, t in worked.items()}
    _drawn(at, "reports by themselves", alone, {n: t.reports for n, t in worked.items()})
    bursts = {n: ("bursts", t.bursts) for n, t in worked.items()}
    _drawn(at, "reports by themselves", bursts, {n: max(len(t.confirmed), len(t.bursts)) for n, t in worked.items()})


def _drawn(
    at: _At, name: str, rows: Mapping[str, tuple[str, Sequence[float]]], of: Mapping[str, int],
    lags: Mapping[str, float] | None = None, slowest: Mapping[str, float] | None = None,
) -> None:  # fmt: skip
    """Places whose share of bad ones is more than the others': drawn from all, with an ordinary difference allowed."""
    family = Family(name, f"hypergeometric, {RARE_RATIO:g} times the others' odds allowed", len(rows))
    total, marked = sum(of.values()), sum(len(times) for _, times in rows.values())
    for place, (kind, times) in rows.items():
        if len(times) >= LEAST:
            tail = drawn_tail(len(times), total, marked, of[place], RARE_RATIO)
            usual = marked * of[place] / total
            one = Finding(kind, place, (), len(times), of[place], usual, tail, tuple(times))
            family.candidates.append(
                changed(one, lag=lags[place], slowest=(slowest or {})[place]) if lags is not None else one
            )
    before = at.looks.get(name, 0)
    at.take(family)
    at.looks[name] += before


def trips(at: _At) -> None:
    """What comes right before a trip, and what comes with it."""
    tripped = {n: thinned((t for t, s in changes(k) if s == TRIP), 20.0) for n, k in at.log.power.items()}
    family = Family("with a trip", "cells of time, binomial bound")
    entries = {n: [s.start for s in story.stays if s.seen_start] for n, story in at.told.items()}
    commands = {n: thinned(t.times, 1.0) for n, t in at.log.commands.items()}
    others = {n: [t for t in times if not _dark(at, n, t)] for n, times in at.flickers().items()}
    for kind, triggers, effects, after, cell in (
        ("trip-on-entry", entries, tripped, BEFORE_TRIP, TRIP_CELL),
        ("trip-on-throw", commands, tripped, AFTER_THROW, TRIP_CELL),
        ("trips-together", tripped, tripped, AFTER_THROW, TRIP_CELL),
        ("pulse-on-trip", tripped, others, AFTER_THROW, None),
    ):
        before = AT_ONCE if kind == "trips-together" else 0.0
        family.looks += len(triggers) * len(effects)
        for (trigger, effect), count in follow_counts(triggers, effects, before, after + at.grain).items():
            if count >= LEAST and trigger != effect:
                met = meet(triggers[trigger], effects[effect], before, after + at.grain, cell)
                about, other = (trigger, effect) if kind.startswith("trip-") else (effect, trigger)
                family.candidates.append(
                    Finding(kind, about, (other,), met.count, met.of, met.expected, met.chance, met.times, met.lag)
                )
    at.take(family)


def _dark(at: _At, block: str, when: float) -> bool:
    return any(a <= when <= b for a, b in at.around.outages.get(block, ()))


def _waits(worked: Mapping[str, Turnout]) -> list[tuple[str, int, int, float, float]]:
    """For each turnout: name, throws that ask for a report, confirmed, middle and slowest seconds."""
    return [
        (n, len(t.asked), len(t.confirmed), t.wait, max((lag for _, lag in t.confirmed), default=0.0))
        for n, t in sorted(worked.items())
    ]


def _notes(at: _At, walked: Moves, layout: Layout) -> None:
    """What could not be looked at, and why."""
    if not layout.known:
        at.notes.append("Without a layout record (--layout) nothing is known of neighbours, boards and districts")
    elif at.around.unknown:
        some = ", ".join(at.around.unknown[:5]) + (" ..." if len(at.around.unknown) > 5 else "")
        at.notes.append(f"{len(at.around.unknown)} names of the log are not in {layout.name}: {some}")
    if walked.stays >= 20 and walked.odd > 0.3 * walked.stays:
        at.notes.append(
            f"In {walked.odd} of {walked.stays} stays the train came or went where the record has no neighbour; "
            "look whether its joints are all there before you believe phantoms and missed trains"
        )

"""Findings in words, as plain data, and as a strip of time around one of their moments.

Sentences are what an owner would say; figures stand beside them. How they are drawn is left to `screen` and `sketch`.
"""

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime, timedelta, timezone
from typing import Any

from troubleshoot.eventlog.findings import Finding, Look
from troubleshoot.eventlog.log import OCCUPIED, RESTORE, SILENCE, Log, changes
from troubleshoot.eventlog.reading import Account
from troubleshoot.layout import Layout, Unknown, unnamed
from troubleshoot.rulebook.wording import counted
from troubleshoot.sketch.strips import Row, Strips

MOST_ROWS = 16
WINDOWS: Mapping[str, float] = {
    "joint": 10.0, "together": 10.0, "throw": 10.0, "board": 10.0, "shared": 10.0, "at-once": 10.0,
    "trips-together": 10.0, "pulse-on-trip": 10.0, "chatter": 30.0, "bursts": 20.0, "late": 30.0,
}  # fmt: skip
"""Seconds shown around a moment; a minute and a half for what needs the trains beside it."""
WIDEST = 90.0

_SAYS: Mapping[str, Callable[[Finding], str]] = {
    "chatter": lambda f: f"{f.about} flickers under trains: {_times(f)} in {counted(f.of, 'train')}{_usual(f)}",
    "joint": lambda f: f"{f.about} and {f.others[0]} flicker at the same moment: {_of(f)}{_chance(f)}",
    "together": lambda f: f"{f.about} and {f.others[0]}, no neighbours, flicker together: {_of(f)}{_chance(f)}",
    "throw": lambda f: f"{f.about} flickers as {f.others[0]} is thrown: {_of(f)}{_lag(f)}{_chance(f)}",
    "board": lambda f: f"{len(f.others)} blocks of {f.about} change at the same moment: {_times(f)}{_chance(f)}",
    "shared": lambda f: f"{len(f.others)} blocks that share {f.about} change together: {_times(f)}{_chance(f)}",
    "at-once": lambda f: f"{_list(f.others)} change at the same moment: {_times(f)}{_chance(f)}",
    "missed": lambda f: f"Trains pass through {f.about} unseen: {_of(f, 'trains')}{_usual(f)}",
    "phantom": lambda f: f"{f.about} shows occupied with no train near: {_times(f)}{_usual(f)}",
    "trip-on-entry": lambda f: f"{f.others[0]} trips as a train enters {f.about}: {_of(f)}{_lag(f)}{_chance(f)}",
    "trip-on-throw": lambda f: f"{f.others[0]} trips as {f.about} is thrown: {_of(f)}{_lag(f)}{_chance(f)}",
    "trips-together": lambda f: f"{f.others[0]} trips together with {f.about}: {_of(f)}{_chance(f)}",
    "pulse-on-trip": lambda f: f"{f.about} flickers as {f.others[0]} trips: {_of(f)}{_lag(f)}{_chance(f)}",
    "never-confirmed": lambda f: f"{f.about} never reports: {_of(f, 'throws')}{_usual(f)}",
    "unconfirmed": lambda f: f"{f.about} is not confirmed now and then: {_of(f, 'throws')}{_usual(f)}",
    "one-way": lambda f: f"{f.about} is confirmed one way only: {_of(f, 'throws')} are not{_usual(f)}",
    "late": lambda f: f"{f.about} is confirmed late: {_of(f, 'throws')}, up to {f.slowest or 0:.1f} s{_usual(f)}",
    "bursts": lambda f: f"{f.about} reports several times at one throw: {_of(f, 'throws')}{_usual(f)}",
    "uncommanded": lambda f: f"{f.about} reports a change that nobody commanded: {_of(f, 'reports')}{_usual(f)}",
    "warms-up": lambda f: f"It grows with time: {_of(f)} came later than {_span(f.lag)} after the start{_usual(f)}",
    "wears-off": lambda f: f"It fades with time: {_of(f)} came within {_span(f.lag)} of the start{_usual(f)}",
    "hour": lambda f: f"It comes between {f.lag or 0:.0f} and {(f.lag or 0) + 1:.0f} o'clock: {_of(f)}{_usual(f)}",
}  # fmt: skip


def sentence(finding: Finding) -> str:
    """What was found, in a sentence with its figures."""
    said = _SAYS[finding.kind](finding)
    if finding.of_kind:
        whose = " and ".join(finding.places) if len(finding.others) <= 1 else finding.about
        return f"{whose}: {said[0].lower()}{said[1:]}"
    return said


def _times(f: Finding) -> str:
    return "once" if f.count == 1 else f"{f.count} times"


def _of(f: Finding, what: str = "times") -> str:
    return f"{f.count} of {f.of} {what}"


def _usual(f: Finding) -> str:
    return f"; {_few(f.expected)} would be ordinary"


def _chance(f: Finding) -> str:
    return f"; chance makes {_few(f.expected)}"


def _few(number: float) -> str:
    return f"{number:.0f}" if number >= 9.5 else f"{number:.1f}" if number >= 0.05 else "hardly any"


def _lag(f: Finding) -> str:
    return f", {abs(f.lag):.2f} s after" if f.lag is not None else ""


def _span(seconds: float | None) -> str:
    return counted((seconds or 0.0) / 60, "minute")


def _list(names: Iterable[str]) -> str:
    row = list(names)
    return ", ".join(row[:5]) + (f" and {len(row) - 5} more" if len(row) > 5 else "")


def odds(chance: float) -> str:
    """A corrected chance as a person says it.

    >>> odds(0.004)
    '1 in 250'
    """
    if chance >= 0.5:
        return "no sign"
    if chance < 1e-9:
        return "under 1 in a billion"
    whole = 1.0 / chance
    steps = 10 ** max(0, len(str(int(whole))) - 2)
    return f"1 in {int(whole / steps) * steps:,}"


def clock_text(log: Log, when: float, fine: bool = False) -> str:
    """A moment as the log's own clock shows it, with the date where there is one; seconds from the start otherwise."""
    if not log.clocked:
        return f"{when - log.start:.{2 if fine else 1}f} s"
    if log.dated:
        moment = datetime(1970, 1, 1, tzinfo=timezone.utc) + timedelta(seconds=when + log.offset)
        text = moment.strftime("%H:%M:%S") if fine else moment.strftime("%Y-%m-%d %H:%M:%S")
    else:
        text = f"{int(when // 3600) % 24:02d}:{int(when // 60) % 60:02d}:{int(when) % 60:02d}"
    return f"{text}.{int(when * 10) % 10}" if fine and log.grain < 1 else text


def as_data(log: Log, account: Account, seen: Look) -> dict[str, Any]:
    """Everything as plain data for `--json`."""
    counts = {k: getattr(account, k) for k in ("lines", "heads", "blank", "read", "refused")}
    return {
        "file": account.file,
        "encoding": account.encoding,
        "columns": dict(account.mapping.columns),
        "times": account.mapping.times,
        **counts,
        "reasons": [{"line": p.line, "text": p.text} for p in account.reasons],
        "hours": round(log.hours, 3),
        "runs": len(log.runs),
        "found": [finding_data(log, f) for f in seen.found],
        "watch": [finding_data(log, f) for f in seen.watch],
        "looks": dict(seen.looks),
        "blocks": [
            {"block": n, "stays": s, "flickers": c, "an_hour": round(r, 2), "dwell_s": round(d, 3)}
            for n, s, c, r, d in seen.blocks
        ],
        "turnouts": [
            {"turnout": n, "throws": a, "confirmed": c, "middle_s": round(m, 3), "slowest_s": round(x, 3)}
            for n, a, c, m, x in seen.turnouts
        ],
        "notes": list(seen.notes),
    }


def finding_data(log: Log, f: Finding) -> dict[str, Any]:
    """One finding as plain data."""
    return {
        "kind": f.kind,
        "about": f.about,
        "others": list(f.others),
        "of_kind": f.of_kind or None,
        "says": sentence(f),
        "count": f.count,
        "of": f.of,
        "expected": round(f.expected, 4),
        "chance": f.chance,
        "corrected": f.corrected,
        "false_share": f.false_share,
        "test": f.test,
        "looks": f.looks,
        "lag_s": f.lag,
        "times": [clock_text(log, t) for t in f.times[:50]],
    }


def strip(log: Log, layout: Layout, finding: Finding, which: int = 0, window: float | None = None) -> Strips:
    """What happened around one of a finding's moments: its own things and, for blocks, their neighbours."""
    moment = finding.times[which]
    wide = window or WINDOWS.get(finding.of_kind or finding.kind, WIDEST)
    start, end = max(moment - wide / 2, log.start - 1), min(moment + wide / 2, log.end + 1)
    rows = [r for name in _names(layout, finding) for r in _rows(log, name, start, end)]
    ticks = tuple(
        (start + (end - start) * i / 4, clock_text(log, start + (end - start) * i / 4, True)) for i in range(5)
    )
    return Strips(
        f"{sentence(finding)} — {clock_text(log, moment)}", start, end, tuple(rows[:MOST_ROWS]), ticks, moment
    )


def _names(layout: Layout, finding: Finding) -> list[str]:
    names = list(dict.fromkeys(finding.places))
    beside: list[str] = []
    for name in names if len(names) <= 3 else ():
        try:
            place = layout.place(name)
        except Unknown:
            continue
        near = layout.related("neighbour-of", place) if place.kind == "block" else layout.related("own-block", place)
        beside += [p.name for p in near if p != unnamed("block") and p.name not in (*names, *beside)]
    # a block stands between its neighbours
    return [*beside[:1], *names, *beside[1:]] if beside else names


def _rows(log: Log, name: str, start: float, end: float) -> list[Row]:
    rows = []
    if name in log.blocks:
        rows.append(Row(name, _held(log, name, start, end)))
    marks = []
    for track, letters in ((log.commands, "cc"), (log.reports, "rr"), (log.power, "xo")):
        if name in track:
            every = [(t, letters[s == RESTORE]) for t, s in track[name] if start <= t <= end]
            marks += every
    if name not in log.blocks and (name in log.commands or name in log.reports or name in log.power):
        rows.append(Row(name, (), tuple(sorted(marks))))
    return rows


def _held(log: Log, name: str, start: float, end: float) -> tuple[tuple[float, float], ...]:
    edges = changes(log.blocks[name])
    spans = []
    for (when, state), (until, _) in zip(edges, [*edges[1:], (min(end, log.end), 0)], strict=True):
        # a stretch over a night without any row is no train
        if state == OCCUPIED and until > start and when < end and until - when < 2 * SILENCE:
            spans.append((max(when, start), min(until, end)))
    if edges and edges[0][1] != OCCUPIED and edges[0][0] > start:
        spans.insert(0, (start, min(edges[0][0], end)))
    return tuple(spans)

"""What a case took: minutes as its rules count them, and by the clock."""

from itertools import pairwise

from troubleshoot import screen
from troubleshoot.casebook.entries import seconds
from troubleshoot.cli.session import Session
from troubleshoot.inquiry import Answer, Mend, ProofSeen, SetUpChange

LONGEST_SITTING = 6 * 3600.0
"""Seconds between two events from which on nobody was at work between them (estimate)."""


def minutes_spent(session: Session) -> float:
    """Minutes of all checks, set-ups, repairs and proofs of a case that were done, as the rules reckon them.

    A proof counts once for each mend: its quiet time is no work.
    """
    rules, total, proven = session.rulebook, 0.0, set[tuple[str, str | None]]()
    for record in session.inquiry.records:
        if isinstance(record, Answer) and record.check in rules.checks:
            total += rules.checks[record.check].minutes
        elif isinstance(record, SetUpChange) and record.set_up in rules.set_ups:
            entry = rules.set_ups[record.set_up]
            total += entry.enter if record.entered else entry.leave
        elif isinstance(record, Mend) and record.remedy in rules.remedies:
            total += rules.remedies[record.remedy].minutes
            proven.discard((record.remedy, record.place))
        elif isinstance(record, ProofSeen) and record.remedy in rules.remedies:
            key = record.remedy, record.place
            total += 0.0 if key in proven else rules.checks[rules.remedies[record.remedy].proof.check].minutes
            proven.add(key)
    return total


def time_spent(session: Session) -> str:
    """The time a case took in one line: as planned, and by the clock where its events carry times."""
    records = session.inquiry.records
    checks, repairs = (sum(isinstance(r, kind) for r in records) for kind in (Answer, Mend))
    text = f"{screen.counted(minutes_spent(session), 'minute')} as planned for what was done"
    text += f" ({screen.counted(checks, 'check')}, {screen.counted(repairs, 'repair')})"
    times = sorted(t for _, event in session.case.standing() if (t := seconds(event.get("when"))))
    if len(times) < 2:
        return text
    gaps = [later - earlier for earlier, later in pairwise(times)]
    worked = sum(g for g in gaps if g < LONGEST_SITTING)
    sat = "" if max(gaps) < LONGEST_SITTING else f" in {screen.counted(_sittings(gaps), 'sitting')}"
    return f"{text}; {screen.counted(worked / 60.0, 'minute')} by the clock{sat}"


def _sittings(gaps: list[float]) -> int:
    return 1 + sum(g >= LONGEST_SITTING for g in gaps)

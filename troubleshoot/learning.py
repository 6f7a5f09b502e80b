"""The tally: what closed cases teach about how often a cause is to blame.

A proven case counts 1 for its cause, a closed but unproven one a half; a remedy that mends several causes shares
its count among those it could have been. How the counts move the priors is left to belief.
"""

from collections.abc import Iterable

from troubleshoot.belief import Tally
from troubleshoot.casebook import Case, inquiry
from troubleshoot.documents import Problems
from troubleshoot.inquiry import Inquiry, Mend
from troubleshoot.rulebook import Rulebook


def tally(cases: Iterable[Case], rulebook: Rulebook) -> Tally:
    """Counts by symptom and cause from closed cases. A case that names nothing the rules know counts nothing."""
    counts: dict[str, dict[str, float]] = {}
    for case in cases:
        if not case.closed:
            continue
        try:
            asked = inquiry(case, rulebook)
        except Problems:
            continue
        symptom, cured = _cured(asked, rulebook)
        if symptom is None or not cured:
            continue
        each = (1.0 if _proven(asked) else 0.5) / len(cured)
        line = counts.setdefault(symptom, {})
        for cause in cured:
            line[cause] = line.get(cause, 0.0) + each
    return Tally(counts)


def _cured(asked: Inquiry, rulebook: Rulebook) -> tuple[str | None, tuple[str, ...]]:
    """The symptom of a case and the causes that its last successful remedy mended."""
    complaint = asked.complaint
    done: list[Mend] = [m for _, m in asked.mends if m.result == "fixed"]
    if complaint is None or not done or done[-1].remedy not in rulebook.remedies:
        return None, ()
    mended = rulebook.remedies[done[-1].remedy].mends
    causes = tuple(c for c in mended if complaint.symptom in rulebook.causes[c].weights)
    return complaint.symptom, causes


def _proven(asked: Inquiry) -> bool:
    return bool(asked.proofs) and asked.proofs[-1][1].passed

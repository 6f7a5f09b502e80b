"""What to read next: readings overdue, drifting, unlike their past or beyond a limit; and the inquiry they call for.

Rules: each reading of a history is due again after EVERY days; sooner where it drifts, where its last reading was
unlike the ones before it, or where it stands beyond a limit and nobody has looked again. What drifts or stands
beyond a limit twice offers an inquiry: the symptom that its check speaks of most plainly, with the reading as its
first answer. Starting it is left to the commands.
"""

import math
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from troubleshoot.belief import weights
from troubleshoot.diagnosis import minutes_of
from troubleshoot.layout import KIND_OF_RELATION, Layout, Place
from troubleshoot.rounds.history import History, Taken
from troubleshoot.rounds.judging import BEYOND, UNLIKE_BEFORE, Judged, judge
from troubleshoot.rounds.telling import drift_text, reading_text
from troubleshoot.rounds.trend import DRIFTING, PERHAPS, SHIFTED, Trend, trends
from troubleshoot.rulebook import Check, Rulebook, cell, row
from troubleshoot.rulebook.tally import Tally
from troubleshoot.rulebook.wording import counted

EVERY = 91
"""Days between readings of a round: one in each season (common practice)."""
OVERDUE = "overdue"
ORDER = (BEYOND, DRIFTING, SHIFTED, UNLIKE_BEFORE, PERHAPS, OVERDUE)
"""Why a check is due, the most pressing first."""


@dataclass(frozen=True)
class Offer:
    """An inquiry worth starting: a symptom about a place, and the reading that is its first answer."""

    symptom: str
    about: str | None
    check: str
    place: str
    reading: str


@dataclass(frozen=True)
class DueCheck:
    """A check that wants to be made again: names of check and place, why in words, minutes and set-ups it takes.

    `state` is one of ORDER, `days` how long ago it was last made; `offer` the inquiry it calls for, if any.
    """

    check: str
    place: str
    why: str
    minutes: float
    set_ups: tuple[str, ...]
    state: str = OVERDUE
    days: int = 0
    offer: Offer | None = None


def due_checks(history: History, today: date, every: int = EVERY) -> tuple[DueCheck, ...]:
    """What is due on a day, the most pressing first; `every` is how many days a reading holds otherwise."""
    known, found = history.until(today), list[DueCheck]()
    for trend in trends(known, today):
        last = known.by_series[trend.key][-1]
        judged, days = judge(known, last), (today - last.day).days
        state, why = _pressing(trend, judged)
        if state is None and days >= every:
            state, why = OVERDUE, f"last read {counted(days, 'day')} ago, on {last.day.isoformat()}"
        if state is not None:
            found.append(_due(known, trend, last, state, why, days))
    return tuple(sorted(found, key=lambda d: (ORDER.index(d.state), -d.days, d.check, d.place)))


def _pressing(trend: Trend, judged: Judged) -> tuple[str | None, str]:
    """Why a check is due however lately it was made; None where it is not."""
    on = judged.taken.day.isoformat()
    if judged.state == BEYOND:
        return BEYOND, f"read {reading_text(judged)} on {on}, which is {judged.band.replace('-', ' ')}"
    if trend.state in (DRIFTING, SHIFTED, PERHAPS):
        return trend.state, drift_text(trend)
    if judged.state == UNLIKE_BEFORE and judged.worse and judged.moved_together is None:
        return UNLIKE_BEFORE, f"read {reading_text(judged)} on {on}, unlike its past; make it once more"
    return None, ""


def _due(history: History, trend: Trend, last: Taken, state: str, why: str, days: int) -> DueCheck:
    check = trend.check
    offer = None
    if state in (BEYOND, DRIFTING, SHIFTED):
        ahead = trend.reaches[0].outcome if trend.reaches else trend.band
        offer = offer_for(history.layout, history.rulebook, check, trend.place, ahead, last.reading.said)
    minutes = minutes_of(history.rulebook, check, frozenset())
    return DueCheck(check.name, trend.place.name, why, minutes, check.set_up, state, days, offer)


@lru_cache(maxsize=4096)
def offer_for(
    layout: Layout, rulebook: Rulebook, check: Check, place: Place, outcome: str, reading: str
) -> Offer | None:
    """The inquiry for a reading that goes towards an outcome: the symptom whose causes show it most, and about what.

    None where no symptom that can be had at this place speaks of the check.
    """
    best: tuple[float, str, Place] | None = None
    for name in sorted(rulebook.symptoms):
        if check.finding not in rulebook.spoken_of(name):
            continue
        subject = _subject(layout, rulebook.symptoms[name].about, check, place)
        score = _shows(rulebook, name, check, outcome)
        if subject is not None and score > (best[0] if best else 0.0):
            best = score, name, subject
    if best is None:
        return None
    about = best[2].name if layout.known and best[2] != layout.itself else None
    return Offer(best[1], about, check.name, place.name, reading)


def _subject(layout: Layout, kind: str, check: Check, place: Place) -> Place | None:
    """A place of a kind of which the check, made at that place, would speak."""
    if kind == place.kind:
        return place
    near = [layout.itself] if kind == "layout" else []
    near += [p for r, k in KIND_OF_RELATION.items() if k == kind for p in layout.related(r, place)]
    return next((p for p in near if place in layout.related(check.relation, p)), None)


def _shows(rulebook: Rulebook, symptom: str, check: Check, outcome: str) -> float:
    """How much oftener than on a sound layout a symptom goes with an outcome of a check, or with a worse one.

    Only causes of which the rules say how they show themselves in this check count.
    """
    found = rulebook.findings[check.finding]
    names = [b.outcome for b in check.bands]
    at, sound = names.index(outcome), max(range(len(names)), key=lambda i: found.sound[found.outcomes.index(names[i])])
    worse = [found.outcomes.index(n) for n in (names[: at + 1] if at < sound else names[at:])]
    shares, parts = weights(rulebook, symptom, Tally()), []
    for cause in rulebook.causes_of(symptom):
        if not isinstance(cell(cause, found.name, symptom), str):
            shown = row(rulebook, found.name, cause, symptom)
            parts.append(shares[cause.name] * max(0.0, math.fsum(shown[i] - found.sound[i] for i in worse)))
    return math.fsum(parts)

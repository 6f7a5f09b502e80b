"""The explanation as data: the ranking with evidence for and against, remarks, stopgaps, chains, doubtful answers."""

import math
from collections.abc import Mapping, Sequence

from troubleshoot.belief import NOTHING_COUNTED, Posterior, mistaken, weights
from troubleshoot.diagnosis.hunting import LIFTED, said_of_lifts
from troubleshoot.diagnosis.placing import FOUND, NOWHERE, SHARED
from troubleshoot.diagnosis.result import Evidence, Learned, Ranked, Remark, StopgapOffer, Work
from troubleshoot.electrics import Comparison, compare
from troubleshoot.inquiry import Answer, Observation
from troubleshoot.layout import Place
from troubleshoot.quantities import show
from troubleshoot.rulebook import Cause, short
from troubleshoot.survey import WeakSpot, raising

DOUBTFUL = 0.5
"""From this chance on that an answer was reported wrongly, it is asked again before it is believed."""


def ranking_of(work: Work) -> tuple[Ranked, ...]:
    """Causes by chance, each with the evidence for and against it in decibans against its strongest rival."""
    posterior = work.posterior
    order = posterior.by_cause()
    best = _representatives(posterior)
    said, learned = _said(work), _learned(work)
    ranked = []
    for position, (cause, chance) in enumerate(order):
        rival = order[1][0] if position == 0 and len(order) > 1 else order[0][0]
        me, other = best[cause], best[rival]
        evidence = tuple(
            Evidence(
                key[0],
                key[1].name,
                *said.get(key, ("", -1))[:1],
                parts[me] - parts[other],
                said.get(key, ("", -1))[1],
            )
            for key, parts in posterior.evidence
        )
        prior = 10.0 * math.log10(posterior.field.prior[me] / posterior.field.prior[other])
        entry = work.rulebook.causes.get(cause)
        says = entry.says if entry else "Something else that no rule here describes"
        weak = _weak_spots(work, entry)
        ranked.append(
            Ranked(cause, says, chance, _places(posterior, cause), evidence, prior, rival, weak, learned.get(cause))
        )
    return tuple(ranked)


def _learned(work: Work) -> Mapping[str, Learned]:
    """What the tally did to each cause; nothing where no closed case has a word about this symptom."""
    field = work.posterior.field
    tally, symptom = field.tally, field.symptom
    if not tally.counts.get(symptom) and not tally.against.get(symptom):
        return {}
    cases = tally.cases.get(symptom, {})
    normally = weights(work.rulebook, symptom, NOTHING_COUNTED)
    here = weights(work.rulebook, symptom, tally, work.subject.name)
    return {cause: Learned(normally[cause], here[cause], cases.get(cause, ())) for cause in here}


def _weak_spots(work: Work, cause: Cause | None) -> tuple[WeakSpot, ...]:
    """What the survey finds that makes a cause likelier at any of its places."""
    if cause is None or not cause.weak_spots:
        return ()
    near = raising(work.layout, work.subject)
    places = [Place(s.kind, s.place) for s in work.posterior.field.suspects if s.cause == cause.name]
    return tuple(dict.fromkeys(w for p in places for w in near.found(cause.weak_spots, cause.relation, p)))


def _representatives(posterior: Posterior) -> dict[str, int]:
    """The likeliest suspect of each cause."""
    best: dict[str, int] = {}
    for i, suspect in enumerate(posterior.field.suspects):
        name = "something-else" if suspect.beyond else suspect.cause
        if name not in best or posterior.chances[i] > posterior.chances[best[name]]:
            best[name] = i
    return best


def _said(work: Work) -> dict[tuple[str, Place], tuple[str, int]]:
    said: dict[tuple[str, Place], tuple[str, int]] = {}
    for one in work.observed:
        before = said.get((one.finding, one.place))
        said[one.finding, one.place] = (f"{before[0]}; {one.said}" if before else one.said, one.order)
    for _, mend in work.inquiry.mends:
        said["mended", Place("remedy", mend.place or "")] = (
            f"{short(mend.remedy).replace('-', ' ')} did not cure it",
            0,
        )
    for key, _ in work.posterior.evidence:
        if key[0] == LIFTED:
            said[key] = (said_of_lifts(work.layout, work.inquiry, work.subject), 0)
        elif key[0] == FOUND:
            said[key] = (key[1].name, 0)
        elif key[0] == SHARED:
            said[key] = ("what else is sick or healthy", 0)
        elif key[0] == NOWHERE:
            said[key] = ("looked for at every place, found at none", 0)
    return said


def _places(posterior: Posterior, cause: str) -> tuple[tuple[str, float], ...]:
    found = [(s.place, p) for s, p in zip(posterior.field.suspects, posterior.chances, strict=True) if s.cause == cause]
    return tuple(sorted(found, key=lambda pair: (-pair[1], pair[0])))


def stopgaps_of(work: Work, ranking: Sequence[Ranked]) -> tuple[StopgapOffer, ...]:
    """What lets trains run meanwhile, for the three likeliest causes."""
    offers = []
    for line in ranking[:3]:
        cause = work.rulebook.causes.get(line.cause)
        if cause and cause.stopgap:
            offers.append(StopgapOffer(line.cause, cause.stopgap.do, cause.stopgap.minutes))
    return tuple(offers)


def remarks_of(work: Work) -> tuple[Remark, ...]:
    """What to know about the answers given: remarks of the pack, and comparisons that physics computes."""
    remarks = []
    for one in work.observed:
        check = work.rulebook.checks[one.check]
        text = check.remarks.get(one.outcome)
        if text:
            remarks.append(Remark(one.check, one.place.name, text))
        record = next((r for r in work.inquiry.records[one.order : one.order + 1] if isinstance(r, Answer)), None)
        if check.compare and record and record.reading and not record.reading.over_range:
            found = compare(check.compare, work.layout, one.place, record.reading.value)
            if found is not None:
                remarks.append(Remark(one.check, one.place.name, _compared(found)))
    return tuple(remarks)


def _compared(found: Comparison) -> str:
    """A comparison in a sentence, with the figure that the known thing would show."""
    return f"{found.says[:1].upper()}{found.says[1:]}, which would read {show(found.value, found.unit)}"


def ask_again_of(work: Work) -> tuple[Observation, ...]:
    """Answers that all the others make very unlikely, unless they have been repeated already."""
    if len(work.observed) < 2:
        return ()
    asked = [(r.check, r.place) for r in work.inquiry.records if isinstance(r, Answer)]
    repeated = {check for check, place in asked if asked.count((check, place)) > 1}
    doubtful = []
    for one in work.observed:
        if one.check not in repeated and mistaken(work.rows, work.posterior, one) >= DOUBTFUL:
            doubtful.append(one)
    return tuple(doubtful)


def chain_of(work: Work, ranking: Sequence[Ranked]) -> tuple[str, str, tuple[Place, ...]] | None:
    """Where the likeliest cause continues as a symptom elsewhere: (cause, symptom, places)."""
    for line in ranking[:1]:
        cause: Cause | None = work.rulebook.causes.get(line.cause)
        if cause and cause.continues_as and line.chance >= 0.4:
            symptom, relation = cause.continues_as
            return cause.name, symptom, work.layout.related(relation, work.subject)
    return None

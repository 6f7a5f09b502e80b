"""The one function that everything calls: diagnose. Pure; it puts deduction, belief and advice together."""

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

from troubleshoot import advice
from troubleshoot.belief import NOTHING_COUNTED, Mended, Rows, field_of, weigh
from troubleshoot.deduction import Deduced, deduce
from troubleshoot.diagnosis.account import ask_again_of, chain_of, ranking_of, remarks_of, stopgaps_of
from troubleshoot.diagnosis.hunting import lifted, place_first, proven_clean
from troubleshoot.diagnosis.places import in_undoing_order
from troubleshoot.diagnosis.placing import placed, reaching, unplaced
from troubleshoot.diagnosis.recalled import recalled_of
from troubleshoot.diagnosis.result import CheckStep, Diagnosis, Work
from troubleshoot.diagnosis.steps import asked_first, check_step, remedy_step, repairs_of, step_of, together, trials_of
from troubleshoot.inquiry import (
    Answer,
    Inquiry,
    Observation,
    PutAside,
    about,
    healthy_places,
    observations,
    sick_places,
)
from troubleshoot.layout import Layout, Place
from troubleshoot.locating import candidates
from troubleshoot.rulebook import Rulebook
from troubleshoot.rulebook.tally import Tally

CLEAR = 0.7
"""From this weight on a judged answer is clear enough to be a fact (estimate)."""


def diagnose(layout: Layout, rulebook: Rulebook, inquiry: Inquiry, tally: Tally | None = None) -> Diagnosis:
    """What is wrong, how likely, and what to do next, from everything said so far."""
    subject = about(layout, inquiry, rulebook)
    complaint = inquiry.complaint
    if complaint is None or complaint.symptom not in rulebook.symptoms:
        return Diagnosis(None, subject, (), (), Deduced(), (), None, "no-symptom", in_force=inquiry.in_force)
    sick = sick_places(layout, inquiry, rulebook)
    observed = observations(layout, rulebook, inquiry)
    near = [o for o in observed if o.place in layout.related(rulebook.checks[o.check].relation, subject)]
    far = {(o.finding, o.outcome) for o in observed if o not in near and max(o.weights) >= CLEAR}
    known = facts(layout, inquiry, subject, sick, near, rulebook)
    deduced = deduce(rulebook, complaint.symptom, known, far)
    made = _field(
        rulebook,
        layout,
        complaint.symptom,
        subject,
        frozenset(deduced.ruled_out),
        tuple(deduced.raised.items()),
        tally or NOTHING_COUNTED,
    )
    mended = _mended(rulebook, inquiry, tally or NOTHING_COUNTED)
    healthy = healthy_places(layout, inquiry, rulebook)
    further = (
        *lifted(layout, made.field, inquiry, subject),
        *placed(layout, made.field, inquiry),
        *reaching(layout, made.field, subject, sick, healthy),
    )
    # What no cause of this symptom speaks of, asked before the inquiry moved on, tells its causes not apart.
    spoken = set(rulebook.spoken_of(complaint.symptom))
    posterior = weigh(made, [o for o in observed if o.finding in spoken], mended, further)
    work = Work(layout, rulebook, inquiry, subject, made, posterior, deduced, observed)
    return _conclude(work, sick, mended)


def facts(
    layout: Layout,
    inquiry: Inquiry,
    subject: Place,
    sick: tuple[Place, ...],
    observed: Sequence[Observation],
    rulebook: Rulebook,
) -> set[tuple[str, str]]:
    """The facts that deduction sees: derived from the layout, the answers, and the state of the power."""
    healthy = healthy_places(layout, inquiry, rulebook)
    known = set(layout.facts(subject, sick, healthy).items()) | set(layout.traits(subject).items())
    known |= {(o.finding, o.outcome) for o in observed if max(o.weights) >= CLEAR}
    powers = [rulebook.set_ups[s.set_up].power for s in inquiry.in_force if s.set_up in rulebook.set_ups]
    stated = [p for p in powers if p]
    if stated:
        known = {(n, v) for n, v in known if n != "power"} | {("power", stated[-1])}
    return known


@lru_cache(maxsize=256)
def _field(
    rulebook: Rulebook,
    layout: Layout,
    symptom: str,
    subject: Place,
    ruled_out: frozenset[str],
    raised: tuple[tuple[str, float], ...],
    tally: Tally,
) -> Rows:
    """Suspects and their rows, kept between the steps of an inquiry (the same arguments give the same rows)."""
    return Rows(rulebook, layout, field_of(rulebook, layout, symptom, subject, ruled_out, dict(raised), tally))


def _mended(rulebook: Rulebook, inquiry: Inquiry, tally: Tally) -> tuple[Mended, ...]:
    """Remedies tried that did not cure, or cured only in part, and proofs that failed."""
    tried = []
    for order, mend in inquiry.in_vain:
        remedy = rulebook.remedies.get(mend.remedy)
        if remedy is not None:
            works = tally.works(remedy.name, remedy.works)
            tried.append(Mended(frozenset(remedy.mends), mend.place, works, mend.result == "partly", order))
    return tuple(tried)


def _conclude(work: Work, sick: tuple[Place, ...], mended: Sequence[Mended]) -> Diagnosis:
    symptom = work.posterior.field.symptom
    trials, steps = trials_of(work)
    repairs, mends = repairs_of(work)
    choice = advice.next_step(work.posterior.chances, trials, repairs)
    ranking = ranking_of(work)
    first = asked_first(work, steps)
    back = None if first is None else recalled_of(work, first, choice, trials, steps, repairs)
    kind, step = step_of(work, choice, trials, steps, repairs, mends, back)
    if isinstance(step, CheckStep):
        step = place_first(work, step, choice, steps)
    ordered = [check_step(work, *steps[r.index], r) for r in choice.ranked[:6]]
    healthy = healthy_places(work.layout, work.inquiry, work.rulebook)
    partly = tuple(sorted(c for m in mended if m.partly for c in m.causes))
    made = Diagnosis(
        symptom=symptom,
        subject=work.subject,
        sick=sick,
        ranking=ranking,
        deduced=work.deduced,
        observed=work.observed,
        step=step,
        kind=kind,
        others=tuple(
            s for s in ordered if step is None or not isinstance(step, CheckStep) or s.check is not step.check
        ),
        repair=remedy_step(work, choice.first_repair, repairs, mends, choice.repair_now),
        stopgaps=stopgaps_of(work, ranking),
        remarks=remarks_of(work),
        ask_again=ask_again_of(work),
        in_force=in_undoing_order(work.rulebook, work.inquiry.in_force),
        chain=chain_of(work, ranking),
        confirmed=partly,
        healthy=healthy,
        shared=candidates(work.layout, sick, healthy) if len(sick) > 1 or healthy else (),
        proven_clean=proven_clean(work.layout, work.inquiry, work.subject),
        recalled=back,
        at_hand=work.inquiry.at_hand,
    )
    guessed = unplaced(work.inquiry, made)
    return replace(made, together=together(made, work), state=_state(work, made), unplaced=guessed)


def _state(work: Work, made: Diagnosis) -> str:
    """Where the case stands: open, lost, mended (proof wanted), proven, partly, closed-ready or hand-over."""
    # What was mended before the inquiry moved on to another complaint proves nothing about this one.
    mends = [m for m in work.inquiry.mends if m[0] > work.inquiry.begun]
    if mends:
        order, last = mends[-1]
        proof = work.inquiry.proof_of(order, last)
        if (
            last.result == "fixed"
            and proof is not None
            and proof.passed
            and _quiet_enough(work, last.remedy, proof.quiet_seconds)
        ):
            return "proven"
        if last.result == "fixed" and (proof is None or proof.passed):
            return "mended"
        if last.result == "partly" and not any(isinstance(r, Answer | PutAside) for r in work.inquiry.records[order:]):
            return "partly"
    if made.kind == "hand-over":
        return "hand-over"
    leader = made.leader
    if leader and leader.cause == "something-else" and len(work.observed) >= 3:
        return "lost"
    return "open"


def _quiet_enough(work: Work, remedy: str, quiet: float) -> bool:
    """An intermittent fault is proven mended only by a quiet spell longer than the longest before.

    A fault that was there all the time is proven gone as soon as its trial passes.
    """
    complaint = work.inquiry.complaint
    if complaint is not None and complaint.steady:
        return True
    wanted = work.rulebook.remedies[remedy].proof.quiet_seconds if remedy in work.rulebook.remedies else 0.0
    longest = complaint.longest_quiet if complaint else 0.0
    return quiet >= wanted and (quiet > longest or longest == 0.0)

"""From belief to steps: which checks are open, what they cost here, which remedy comes first, the step advised."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache

from troubleshoot import advice
from troubleshoot.belief import seen_as
from troubleshoot.deduction import prepare
from troubleshoot.diagnosis.places import in_force_at, in_undoing_order, set_up_places, with_proof
from troubleshoot.diagnosis.result import CheckStep, Diagnosis, Limit, Recalled, RemedyStep, Work
from troubleshoot.electrics import Quantity, quantity
from troubleshoot.inquiry import edges, where
from troubleshoot.layout import Layout, Place
from troubleshoot.rulebook import Check, Remedy, Rulebook

WAITING = ("nothing", "block", "district", "layout")
LONG_MEND = 20.0
"""From so many minutes on a mend is confirmed by its best check first (common practice)."""
SURE = 0.90
"""So likely after a reading, a long mend needs no further confirmation."""
IN_VAIN = 5
"""So many different mends in vain before handing over is advised (common practice: fresh eyes)."""
MOST_TRIES = 2
"""The same remedy at the same place is not advised more often than this (common practice)."""
TOOLS_AT_HAND = (
    "none",
    "coin",
    "wire-jumper",
    "monitor",
    "throttle",
    "stopwatch",
    "magnet",
    "lens",
    "video",
    "fan",
)


def open_checks(work: Work) -> list[tuple[Check, Place]]:
    """Checks that may be made now: they speak of a suspect, are not answered, put aside, vetoed or out of reach."""
    symptom = work.rulebook.symptoms[work.posterior.field.symptom]
    spoken = set(work.rulebook.spoken_of(symptom.name)) | {work.rulebook.checks[c].finding for c in symptom.ask_first}
    done = {(name, where(work.layout, work.rulebook.checks[name], place, work.subject).name)
            for name, place in work.inquiry.latest if name in work.rulebook.checks}  # fmt: skip
    hurried = WAITING.index(work.inquiry.at_hand.may_stop or "layout")
    checks = []
    for name, check in sorted(work.rulebook.checks.items()):
        if check.finding not in spoken or name in work.deduced.vetoed or not has_tool(work.layout, check):
            continue
        stops = [check.keeps_waiting, *(work.rulebook.set_ups[s].stops for s in check.set_up)]
        if max(WAITING.index(s) for s in stops) > hurried:
            continue
        for place in work.layout.related(check.relation, work.subject) or (work.subject,):
            if (name, place.name) not in done:
                checks.append((check, place))
    return checks


def has_tool(layout: Layout, check: Check) -> bool:
    """Whether the owner has what a check needs; what is not known is taken to be there."""
    return check.tool in TOOLS_AT_HAND or layout.kit.get(check.tool, "unknown") != "no"


def minutes_of(rulebook: Rulebook, check: Check, in_force: frozenset[str]) -> float:
    """Minutes of a check here and now: its own, and those of the set-ups to enter and to leave first."""
    ready = prepare(rulebook, check, in_force)
    moves = math.fsum(rulebook.set_ups[s].enter for s in ready.enter) + math.fsum(
        rulebook.set_ups[s].leave for s in ready.leave
    )
    return max(check.minutes, 0.1) + moves


def _in_force(work: Work, needed: Sequence[str], place: Place) -> frozenset[str]:
    return in_force_at(work.layout, work.rulebook, work.inquiry, needed, place)


def trials_of(work: Work) -> tuple[list[advice.Trial], list[tuple[Check, Place]]]:
    """Every open check as an abstract trial, with what has been reported of its finding already taken in."""
    reported: dict[tuple[str, Place], list[tuple[float, ...]]] = {}
    for one in work.observed:
        reported.setdefault((one.finding, one.place), []).append(seen_as(one.weights, one.error))
    trials, steps = [], []
    for check, place in open_checks(work):
        error = 0.02 if check.unit else 0.05
        table = work.rows.of(check.finding, place)
        known = tuple(reported.get((check.finding, place), ()))
        distinct: dict[tuple[float, ...], int] = {}
        row_of = []
        for row in table:
            if row not in distinct:
                distinct[row] = len(distinct)
            row_of.append(distinct[row])
        rows = tuple(_predicts(row, known, error) for row in distinct)
        minutes = minutes_of(work.rulebook, check, _in_force(work, check.set_up, place))
        trials.append(advice.Trial(f"{check.name}@{place.name}", minutes, rows, tuple(row_of)))
        steps.append((check, place))
    return trials, steps


@lru_cache(maxsize=65536)
def _predicts(row: tuple[float, ...], known: tuple[tuple[float, ...], ...], error: float) -> tuple[float, ...]:
    """What a further report of a finding will say, given a suspect's row and the reports so far."""
    really = [p * math.prod(k[x] for k in known) for x, p in enumerate(row)]
    total = math.fsum(really)
    others = max(len(row) - 1, 1)
    return tuple((p * (1.0 - error) + (total - p) * error / others) / total for p in really)


def repairs_of(work: Work) -> tuple[list[advice.Repair], list[tuple[Remedy, Place]]]:
    """Every remedy at every place it would mend something, as an abstract repair."""
    at: dict[tuple[str, str], list[int]] = {}
    tried = Counter((m.remedy, m.place) for order, m in work.inquiry.in_vain if order > work.inquiry.begun)
    for i, suspect in enumerate(work.posterior.field.suspects):
        if not suspect.beyond:
            for remedy in work.rulebook.remedies_of(suspect.cause):
                at.setdefault((remedy.name, suspect.place), []).append(i)
    repairs, mends = [], []
    for (name, place), covers in sorted(at.items()):
        if tried[name, place] >= MOST_TRIES:
            continue
        remedy = work.rulebook.remedies[name]
        proof = work.rulebook.checks[remedy.proof.check].minutes
        works = work.posterior.field.tally.works(name, remedy.works)
        repairs.append(advice.Repair(f"{name}@{place}", remedy.minutes + proof, tuple(covers), works))
        mends.append((remedy, Place(work.posterior.field.suspects[covers[0]].kind, place)))
    return repairs, mends


def step_of(
    work: Work,
    choice: advice.Step,
    trials: Sequence[advice.Trial],
    steps: Sequence[tuple[Check, Place]],
    repairs: Sequence[advice.Repair],
    mends: Sequence[tuple[Remedy, Place]],
    back: Recalled | None = None,
) -> tuple[str, CheckStep | RemedyStep | None]:
    """The step to advise: first what the symptom asks first, or earlier cases here; then by worth, dear steps last."""
    if work.deduced.stop:
        return "stop", None
    first = asked_first(work, steps)
    if first is not None and (back is None or back.check >= 0):
        return "check", _check_step_at(work, first if back is None else back.check, choice, steps)
    if first is not None and choice.first_repair is not None:
        choice = replace(choice, kind="repair", index=choice.first_repair, expected=choice.repair_now)
    if choice.kind == "trial":
        return "check", _check_step_at(work, choice.index, choice, steps)
    if choice.kind == "repair" and _hands_over(work, repairs):
        return "hand-over", None
    if choice.kind == "repair":
        remedy = mends[choice.index][0]
        if remedy.price != "nothing":
            cheaper = advice.separates(
                work.posterior.chances, trials, repairs[choice.index], repairs[choice.index].minutes
            )
            if cheaper is not None:
                return "check", check_step(work, *steps[cheaper.index], cheaper)
        confirming = _confirming(work, mends[choice.index], repairs[choice.index], trials, steps)
        if confirming is not None:
            return "check", _check_step_at(work, confirming, choice, steps)
        return "remedy", remedy_step(work, choice.index, repairs, mends, choice.expected)
    return "hand-over", None


def _hands_over(work: Work, repairs: Sequence[advice.Repair]) -> bool:
    """Whether somebody else should look: enough was mended in vain, no check tells more, and going on costs more."""
    now = [m for order, m in work.inquiry.in_vain if order > work.inquiry.begun and m.result != "partly"]
    return len({(m.remedy, m.place) for m in now}) >= IN_VAIN and advice.gives_up(work.posterior.chances, repairs)


def _confirming(
    work: Work,
    mend: tuple[Remedy, Place],
    repair: advice.Repair,
    trials: Sequence[advice.Trial],
    steps: Sequence[tuple[Check, Place]],
) -> int | None:
    """The best check of what a long mend would cure, if it is still open and takes half of its time at most.

    Nobody with experience spends an hour on a cure before the one reading that confirms it, and the reading is
    also what the proof is compared with.
    """
    remedy, place = mend
    chance = math.fsum(work.posterior.chances[i] for i in repair.covers)
    read = any(work.rulebook.checks[o.check].unit for o in work.observed)
    if remedy.minutes < LONG_MEND or (chance >= SURE and read):
        return None
    inside = [s.cause for i, s in enumerate(work.posterior.field.suspects) if i in set(repair.covers)]
    for cause in sorted(inside, key=lambda c: -work.rulebook.causes[c].weights[work.posterior.field.symptom]):
        best = work.rulebook.checks[work.rulebook.causes[cause].best_check]
        if any(o.finding == best.finding and o.place.kind == place.kind for o in work.observed):
            return None
        for i, (check, where_) in enumerate(steps):
            same = check.name == best.name and (
                where_ == place or best.relation != work.rulebook.causes[cause].relation
            )
            if same and trials[i].minutes <= repair.minutes / 2:
                return i
    return None


def _check_step_at(work: Work, index: int, choice: advice.Step, steps: Sequence[tuple[Check, Place]]) -> CheckStep:
    ranked = next((r for r in choice.ranked if r.index == index), advice.Ranked(index, 0.0, 0.0))
    return check_step(work, *steps[index], ranked)


def asked_first(work: Work, steps: Sequence[tuple[Check, Place]]) -> int | None:
    """The position of the first of the symptom's ask-first checks that is still open."""
    for name in work.rulebook.symptoms[work.posterior.field.symptom].ask_first:
        for i, (check, _) in enumerate(steps):
            if check.name == name:
                return i
    return None


def check_step(work: Work, check: Check, place: Place, ranked: advice.Ranked) -> CheckStep:
    """A check at a place with everything that goes with it here and now."""
    in_force = _in_force(work, check.set_up, place)
    ready = prepare(work.rulebook, check, in_force)
    # What was clipped or lifted last comes off first, track power comes on last of all.
    order = [c.set_up for c in in_undoing_order(work.rulebook, work.inquiry.in_force)]
    ready = replace(ready, leave=tuple(sorted(ready.leave, key=lambda s: order.index(s) if s in order else len(order))))
    return CheckStep(
        check=check,
        place=place,
        minutes=minutes_of(work.rulebook, check, in_force),
        limits=band_limits(work, check, place),
        prepared=ready,
        bits=ranked.bits,
        expected=ranked.expected,
        separates=_separates(work, check, place),
        set_up_at=_set_up_at(work, ready.enter, ready.leave, place),
    )


def _set_up_at(work: Work, enter: Sequence[str], leave: Sequence[str], place: Place) -> Mapping[str, str]:
    """Where each set-up is entered, or stands in force and is left."""
    force = {c.set_up: c.place or work.subject.name for c in work.inquiry.in_force}
    entered = set_up_places(work.layout, work.rulebook, enter, place)
    return {**entered, **{name: force[name] for name in leave if name in force}}


def _separates(work: Work, check: Check, place: Place) -> tuple[tuple[str, tuple[float, ...]], ...]:
    """For the likeliest causes, the chance of each outcome: why this check is worth its minutes."""
    table = work.rows.of(check.finding, place)
    sums: dict[str, list[tuple[float, tuple[float, ...]]]] = {}
    for suspect, chance, row in zip(work.posterior.field.suspects, work.posterior.chances, table, strict=True):
        if not suspect.beyond:
            sums.setdefault(suspect.cause, []).append((chance, row))
    order = sorted(sums, key=lambda c: (-math.fsum(p for p, _ in sums[c]), c))[:6]
    found = work.rulebook.findings[check.finding]
    positions = [found.outcomes.index(o) for o in check.outcomes]
    lines = []
    for cause in order:
        total = math.fsum(p for p, _ in sums[cause]) or 1.0
        mean = [math.fsum(p * r[x] for p, r in sums[cause]) / total for x in positions]
        lines.append((cause, tuple(mean)))
    return tuple(lines)


def band_limits(work: Work, check: Check, place: Place) -> tuple[Limit, ...]:
    """The bands of a reading at a place, with the figures they follow from and the causes that read in them."""
    if not check.bands:
        return ()
    bounds, made = edges(work.layout, check, place), []
    found, lines = work.rulebook.findings[check.finding], _separates(work, check, place)
    lows, highs = (0.0, *bounds.edges), (*bounds.edges, math.inf)
    for column, (band, low, high) in enumerate(zip(check.bands, lows, highs, strict=True)):
        formula = ""
        data: tuple[tuple[str, float, str, bool], ...] = ()
        if band.quantity:
            figure = quantity(band.quantity, work.layout, place)
            formula = _formula(band.factor, figure)
            data = tuple((d.said, d.value, d.unit, d.assumed) for d in figure.data)
        sound = found.sound[found.outcomes.index(band.outcome)] >= 0.5
        speaks = tuple(cause for cause, row in lines if row[column] >= 0.5)
        made.append(Limit(band.outcome, low, high, formula, data, sound, speaks))
    return tuple(made)


def _formula(factor: float, figure: Quantity) -> str:
    name = figure.name.replace("-", " ")
    times = "" if factor == 1.0 else f"{factor:g} x {name}; "
    return f"{times}{name} = {figure.formula}"


def remedy_step(
    work: Work,
    index: int | None,
    repairs: Sequence[advice.Repair],
    mends: Sequence[tuple[Remedy, Place]],
    expected: float,
) -> RemedyStep | None:
    """A remedy at a place with its chance, its minutes and its cautions; None where there is none."""
    if index is None:
        return None
    remedy, place = mends[index]
    chance = math.fsum(work.posterior.chances[i] for i in repairs[index].covers)
    cautions = set(remedy.cautions)
    for name in remedy.set_up:
        cautions |= set(work.rulebook.set_ups[name].cautions)
    here = _in_force(work, remedy.set_up, place)
    enter = tuple(s for s in remedy.set_up if s not in here)
    stops = max(("nothing", *(work.rulebook.set_ups[s].stops for s in remedy.set_up)), key=WAITING.index)
    if remedy.price == "lifts-bus":
        stops = max(stops, "district", key=WAITING.index)
    step = RemedyStep(
        remedy,
        place,
        repairs[index].minutes,
        chance,
        expected,
        tuple(sorted(cautions)),
        enter,
        _set_up_at(work, enter, (), place),
        stops=stops,
    )
    return with_proof(work.layout, work.rulebook, step, work.subject)


def together(made: Diagnosis, work: Work) -> tuple[CheckStep, ...]:
    """Further checks worth making while the same set-up stands."""
    if not isinstance(made.step, CheckStep) or not made.step.check.set_up:
        return ()
    same = set(made.step.check.set_up)
    del work
    return tuple(s for s in made.others if s.check.set_up and set(s.check.set_up) == same)[:2]

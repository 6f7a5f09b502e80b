"""One step on the screen: cautions first, then what to do, what to read and from which figures, what has to wait.

A check, a remedy with its proof, or either on a card. The order is that in which a person needs it.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from troubleshoot.deduction import Prepared
from troubleshoot.diagnosis import ByCircuit, CheckStep, Diagnosis, RemedyStep
from troubleshoot.inquiry import SetUpChange
from troubleshoot.layout import Place
from troubleshoot.quantities import show
from troubleshoot.rulebook import Rulebook
from troubleshoot.rulebook.wording import between, chance, counted, label, proof
from troubleshoot.screen.cautions import KEY, caution_lines
from troubleshoot.screen.drawing import at, block, heading, line

WAITS = {
    "nothing": "",
    "block": "Nobody may use {place} meanwhile",
    "district": "{place} stands still meanwhile",
    "layout": "The whole layout stands still meanwhile",
}
ROVING = ("vehicle", "program", "settings", "interface", "panel", "throttle", "control-bus", "control-bus-segment")
"""Kinds of place that belong to no power district."""
PRICE = {
    "nothing": "",
    "parts": ", and parts",
    "cuts-wire": "; a wire is cut",
    "cuts-rail": "; a rail is cut",
    "lifts-bus": "; the track bus is opened, so that its district stands still",
}
MAY_STOP = {"nothing": "nothing", "block": "one block", "district": "one power district", "layout": "the whole layout"}
WAITING = tuple(MAY_STOP)


@dataclass(frozen=True)
class Manner:
    """How closely a step is told: cautions read before by `titles`, causes in `brief` by name, set-ups told `apart`."""

    titles: bool = False
    brief: bool = False
    apart: bool = False


FULL = Manner()


def reading_lines(rulebook: Rulebook, step: CheckStep, brief: bool = False) -> list[RenderableType]:
    """What healthy and faulty read on this layout, and from which figures that follows; causes by name if `brief`."""
    unit = step.check.unit or ""
    parts = []
    figures: dict[str, str] = {}
    times: dict[str, list[str]] = {}
    for limit in step.limits:
        name = "healthy" if limit.sound else label(limit.outcome)
        causes = (
            ""
            if limit.sound
            else "; ".join(
                label(c) if brief else rulebook.causes[c].says for c in limit.speaks_for[:2] if c in rulebook.causes
            )
        )
        parts.append(
            line(
                "healthy" if limit.sound else "reads",
                f"{between(limit.low, limit.high, unit)}"
                + ("" if limit.sound else f"  {name}")
                + (f" — speaks for: {causes}" if causes else ""),
            )
        )
        if limit.formula:
            shown = ", ".join(f"{s} {show(v, u)}{' (assumed)' if a else ''}" for s, v, u, a in limit.data)
            factor, formula = _factor(limit.formula)
            figures.setdefault(formula, shown)
            times.setdefault(formula, []).extend([factor] if factor else [])
    for formula, shown in figures.items():
        name = formula.split(" = ", 1)[0]
        several = [f"{factor} {name}" for factor in dict.fromkeys(times[formula])]
        # a limit that is a multiple of its quantity says of which, or the sum would not come out
        parts.append(line("from", "; ".join([*several, formula, shown]), "dim"))
    return parts


def _factor(formula: str) -> tuple[str, str]:
    """How many times its quantity a limit is, as `10 x` or nothing, and the formula of the quantity."""
    found = re.match(r"([0-9.e+-]+ x) [^;=]*; (.+)", formula, re.DOTALL)
    return (found[1], found[2]) if found else ("", formula)


def looking(step: CheckStep) -> bool:
    """Whether a check is mere looking or remembering: nothing is touched, measured or switched for it."""
    return step.check.unit is None and not step.check.set_up and step.check.tool == "none"


def check_lines(
    rulebook: Rulebook,
    step: CheckStep,
    seen: frozenset[str] = frozenset(),
    circuit: Sequence[ByCircuit] = (),
    in_force: Sequence[SetUpChange] = (),
    manner: Manner = FULL,
) -> list[RenderableType]:
    """One check, in the order a person needs it; cautions shown before stand in their short form."""
    check, place = step.check, step.place.name
    parts: list[RenderableType] = [heading(check.asks.replace("{place}", place))]
    parts += caution_lines(rulebook, step.prepared.cautions, seen, looking(step), manner.titles)
    parts += first_lines(rulebook, step, manner.apart)
    if check.how:
        parts.append(line("do", check.how.replace("{place}", place)))
    if check.drawing:
        parts.append(Padding(Text(check.drawing, no_wrap=True, overflow="crop"), (0, 0, 0, 4)))
    parts += reading_lines(rulebook, step, manner.brief)
    parts += circuit_lines(circuit, check.unit or "", manner.brief)
    if check.usual_mistake:
        parts.append(line("mistake", check.usual_mistake))
    if step.here_first:
        parts.append(line("here first", f"Lifting at {place} first: {step.here_first}"))
    parts.append(line("takes", _takes(step)))
    return parts if manner.apart else [*parts, *waits_lines(rulebook, step, in_force)]


def first_lines(rulebook: Rulebook, step: CheckStep | RemedyStep, names: bool = False) -> list[RenderableType]:
    """What comes before a step, each in full, or their `names` alone where that has just been read."""
    states, (leave, enter) = rulebook.set_ups, set_ups_of(step)
    # switching off is the first thing to do anyhow, so that track power on needs no undoing before it
    off = any(states[s].power == "off" for s in enter)
    undo = [s for s in leave if not (off and states[s].power == "on" and not states[s].limits_current)]
    if names:
        said = "; ".join([*(f"undone: {states[s].says}" for s in undo), *(states[s].says for s in enter)])
        return [line("first", f"{said} (as just read; {KEY} tells it in full)")] if said else []
    dead = [s for s in enter if states[s].power == "off" and not states[s].disturbs_live]
    parts = [line("first", states[s].do.replace("{place}", step.at(s))) for s in dead]
    wired = any(states[s].disturbs_live or states[s].limits_current for s in undo)
    if wired and not dead and not any(states[s].power == "off" for s in leave):
        # A lamp or a lifted wire is put back, a clip taken off, with nothing live: else the full current may flow.
        parts.append(line("first", "Switch track power off until all of this is undone"))
    parts += [line("first undo", states[s].undo.replace("{place}", step.at(s))) for s in undo]
    return [*parts, *(line("first", states[s].do.replace("{place}", step.at(s))) for s in enter if s not in dead)]


def set_ups_of(step: CheckStep | RemedyStep) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The set-ups to leave and those to enter before a step."""
    return (step.prepared.leave, step.prepared.enter) if isinstance(step, CheckStep) else ((), step.enter)


def waits_lines(
    rulebook: Rulebook, step: CheckStep | RemedyStep, in_force: Sequence[SetUpChange] = ()
) -> list[RenderableType]:
    """What has to wait during a step, and for a check what to call out to the others."""
    most = waiting(rulebook, step) if isinstance(step, CheckStep) else step.stops
    who = district(step.place) if most == "district" else step.place.name
    waits = WAITS[most].replace("{place}", f"{who[0].upper()}{who[1:]}" if most == "district" else who)
    parts = [line("waits", waits)] if waits else []
    called = call_out(rulebook, step, in_force) if isinstance(step, CheckStep) else ""
    return [*parts, line("call out", called)] if called else [*parts]


def waiting(rulebook: Rulebook, step: CheckStep) -> str:
    """The most that stands still during a step: nothing, block, district or layout."""
    stops = [step.check.keeps_waiting, *(rulebook.set_ups[s].stops for s in step.prepared.enter)]
    return max(stops, key=WAITING.index)


def district(place: Place) -> str:
    """The power district that stands still for work at a place, as one says it; a vehicle has none of its own."""
    if place.kind == "district":
        return f"the district {place.name}"
    if place.kind in ROVING:
        return "the power district where it is done"
    return "one power district" if place.kind == "layout" else f"the power district of {place.name}"


def call_out(rulebook: Rulebook, step: CheckStep, in_force: Sequence[SetUpChange] = ()) -> str:
    """A sentence to call out to the others, when something changes for them; nothing where all stands still anyhow."""
    states = rulebook.set_ups
    off = any(states[c.set_up].power == "off" for c in in_force if c.set_up in states)
    entered = [states[name] for name in step.prepared.enter]
    if off and any(entry.power == "on" for entry in entered):
        return "“Hands off the rails, track power comes on!”"
    most, place = waiting(rulebook, step), step.place.name
    here = "in this power district" if step.place.kind in (*ROVING, "layout") else f"at {place}"
    if off or most == "nothing":
        return ""
    if any(entry.power == "off" for entry in entered):
        first = "All stop, track power goes off"
    elif most == "district" and any(entry.stops == "district" for entry in entered):
        first = f"Power goes {here}"
    else:
        first = {"block": f"Keep clear of {place}", "district": f"No trains {here}"}.get(most, "All stop")
    return f"“{first}, {counted(max(1, math.ceil(step.minutes)), 'minute')}!”"


def minutes(value: float) -> str:
    """Minutes as one says them."""
    return f"{value:.0f} min" if value >= 1 else "under a minute"


def _takes(step: CheckStep) -> str:
    tool = "" if step.check.tool == "none" else f", with {step.check.tool.replace('-', ' ')}"
    return (f"about {minutes(step.minutes)}" if step.minutes >= 1 else minutes(step.minutes)) + tool


def remedy_lines(
    rulebook: Rulebook, step: RemedyStep, seen: frozenset[str] = frozenset(), manner: Manner = FULL
) -> list[RenderableType]:
    """One remedy and its proof. Cautions shown before in this inquiry stand in their short form."""
    remedy, place = step.remedy, step.place.name
    causes = "; ".join(rulebook.causes[c].says for c in remedy.mends if c in rulebook.causes)
    parts: list[RenderableType] = [heading(f"Mend: {label(remedy.name)} {at(step.place)}", "bold green")]
    parts += caution_lines(rulebook, step.cautions, seen, titles=manner.titles)
    parts.append(line("mends", f"{causes} ({chance(step.chance)})"))
    parts += first_lines(rulebook, step, manner.apart)
    parts.append(line("do", remedy.do.replace("{place}", place)))
    parts.append(line("takes", f"about {remedy.minutes:.0f} min{PRICE[remedy.price]}"))
    parts += [] if manner.apart else waits_lines(rulebook, step)
    parts.append(line("proof", proof_text(rulebook, step)))
    return parts


def proof_text(rulebook: Rulebook, step: RemedyStep) -> str:
    """The proof test of a step in a sentence, with what a healthy reading is."""
    return proof(rulebook, step.remedy, step.proof_at or step.place.name, step.proof_reads)


def proof_lines(
    rulebook: Rulebook, step: RemedyStep, ready: Prepared, seen: frozenset[str] = frozenset()
) -> list[RenderableType]:
    """The proof of a mend as a step of its own: its cautions, what comes first, what to do, what must show."""
    check, place = rulebook.checks[step.remedy.proof.check], step.proof_at or step.place.name
    parts: list[RenderableType] = [heading("Prove it mended", "bold green")]
    parts += caution_lines(rulebook, ready.cautions, seen, check.unit is None and not check.set_up)
    parts.append(line("proof", proof_text(rulebook, step)))
    parts += [line("first", rulebook.set_ups[s].do.replace("{place}", step.at(s))) for s in ready.enter]
    if check.how:
        parts.append(line("do", check.how.replace("{place}", place)))
    return parts


def computed(low: float, high: float, unit: str, floor: float) -> str:
    """What a computed reading is called: a figure or two, over range, or nothing to speak of."""
    ends = [
        "over range" if math.isinf(v) else "next to nothing" if v < floor / 4.0 else show(v, unit) for v in (low, high)
    ]
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"


def circuit_lines(lines: Sequence[ByCircuit], unit: str, brief: bool = False) -> list[RenderableType]:
    """What the circuit of this layout makes the meter read: healthy, and with each leading suspect."""
    parts: list[RenderableType] = []
    for one in lines:
        shown = computed(one.low, one.high, unit, one.floor)
        after = f" (after {', '.join(one.tripped)} has switched off)" if one.tripped else ""
        parts.append(line("by circuit", f"{shown}{after}  {label(one.who) if brief else one.says}"))
    return parts


def step_screen(
    rulebook: Rulebook,
    made: Diagnosis,
    seen: frozenset[str] = frozenset(),
    circuit: Sequence[ByCircuit] = (),
    manner: Manner = FULL,
) -> RenderableType:
    """The step advised, with what the circuit of the layout says of its reading."""
    parts: list[RenderableType] = []
    if isinstance(made.step, CheckStep):
        parts += check_lines(rulebook, made.step, seen, circuit, made.in_force, manner)
        if made.together:
            names = ", ".join(f"{label(s.check.name)} at {s.place.name}" for s in made.together)
            parts.append(line("then too", f"while the same things are off: {names}"))
    elif isinstance(made.step, RemedyStep):
        parts += _waits_too_long(made, made.step)
        parts += remedy_lines(rulebook, made.step, seen, manner)
    minutes = made.at_hand.minutes
    needed = (made.step.expected if made.step else None) or (made.repair.expected if made.repair else 0.0)
    if minutes is not None and needed and needed > minutes and made.stopgaps:
        parts.append(heading(f"It takes about {counted(needed, 'minute')}; you have {minutes:.0f}"))
        parts += _stopgaps(made)
    return Group(*parts)


def _waits_too_long(made: Diagnosis, step: RemedyStep) -> list[RenderableType]:
    """What lets trains run instead, before a mend that keeps more waiting than may stand still."""
    may = made.at_hand.may_stop or "layout"
    if WAITING.index(step.stops) <= WAITING.index(may):
        return []
    title = f"This mend stops {MAY_STOP[step.stops]}; you said that {MAY_STOP[may]} may stand still"
    later = line("meanwhile", "Let trains run with a stopgap, and mend when the layout may stop")
    return [heading(title, "bold yellow"), later, *_stopgaps(made)]


def _stopgaps(made: Diagnosis) -> list[RenderableType]:
    return [line("stopgap", f"{s.do} ({s.minutes:.0f} min, if it is {label(s.cause)})") for s in made.stopgaps]


def card(rulebook: Rulebook, step: CheckStep | RemedyStep, in_force: Sequence[SetUpChange] = ()) -> RenderableType:
    """A step on a card of its own, to print and take under the table."""
    if isinstance(step, CheckStep):
        lines = check_lines(rulebook, step, in_force=in_force)
    else:
        lines = remedy_lines(rulebook, step)
    return Group(*lines, line("read", "______________________   time ________"))


def which_lines(rulebook: Rulebook, made: Diagnosis, lifting: bool) -> RenderableType:
    """That a remedy would be a guess among like places, and how to find out which it is."""
    step = made.step
    causes = rulebook.causes
    line_ = next((r for r in made.ranking if isinstance(step, RemedyStep) and r.cause in step.remedy.mends), None)
    if line_ is None:
        return Group()
    check = rulebook.checks[causes[line_.cause].best_check]
    text = (
        f"{line_.says} may be at any of {len(made.unplaced)} places. Do not mend on a guess: go from one to the next"
        f" with this check until one shows it: {check.asks.replace('{place}', 'each')}"
    )
    parts: list[RenderableType] = [heading("First find which one"), line("find", text)]
    if lifting:
        parts.append(line("or", "l locates it by lifting one part after another"))
    return Group(*parts)


def hand_over_lines(made: Diagnosis, case: str) -> RenderableType:
    """That somebody else should look now, why, and how to hand the case on."""
    paper = line("paper", f"troubleshoot report {case}")
    if made.repair is None:
        says = "What was ruled out stands in the case file. Hand it on, or take an answer back."
        return Group(heading("Nothing more to ask or to mend here"), block(says), paper)
    says = (
        "Several mends were in vain, and no check here tells much more. Trying the rest one after another is expected"
        " to take longer than fresh eyes do: hand the case on with its paper. It says what was ruled out, so nothing"
        " is done twice."
    )
    return Group(heading("Time for fresh eyes"), block(says), paper)

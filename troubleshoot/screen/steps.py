"""One step on the screen: cautions first, then what to do, what to read and from which figures, what has to wait.

A check, a remedy with its proof, or either on a card. The order is that in which a person needs it.
"""

import math
import re
from collections.abc import Iterable, Sequence

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from troubleshoot.deduction import Prepared
from troubleshoot.diagnosis import ByCircuit, CheckStep, Diagnosis, RemedyStep
from troubleshoot.quantities import show
from troubleshoot.rulebook import Rulebook
from troubleshoot.screen.drawing import at, chance, heading, label, line

WAITS = {
    "block": "Nobody may use {place} meanwhile",
    "district": "The power district of {place} stands still meanwhile",
    "layout": "The whole layout stands still meanwhile",
}
PRICE = {
    "nothing": "",
    "parts": ", and parts",
    "cuts-wire": "; a wire is cut",
    "cuts-rail": "; a rail is cut",
    "lifts-bus": "; the track bus is opened, so that its district stands still",
}
MAY_STOP = {"nothing": "nothing", "block": "one block", "district": "one power district", "layout": "the whole layout"}
WAITING = tuple(MAY_STOP)


def between(low: float, high: float, unit: str) -> str:
    """What a reading lies between, in words; figures in SI."""
    if math.isinf(high):
        return f"above {show(low, unit)}" if low else "anything"
    if low <= 0.0:
        return f"up to {show(high, unit)}"
    return f"{show(low, unit)} to {show(high, unit)}"


def reading_lines(rulebook: Rulebook, step: CheckStep) -> list[RenderableType]:
    """What healthy and faulty read on this layout, and from which figures that follows."""
    unit = step.check.unit or ""
    parts = []
    figures: dict[str, str] = {}
    for limit in step.limits:
        name = "healthy" if limit.sound else label(limit.outcome)
        causes = (
            ""
            if limit.sound
            else "; ".join(rulebook.causes[c].says for c in limit.speaks_for[:2] if c in rulebook.causes)
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
            figures.setdefault(
                limit.formula.split(" x ", 1)[-1] if " x " in limit.formula[:6] else limit.formula, shown
            )
    for formula, shown in figures.items():
        parts.append(line("from", f"{formula}; {shown}", "dim"))
    return parts


def caution_lines(
    rulebook: Rulebook, names: Iterable[str], seen: frozenset[str] = frozenset(), looking: bool = False
) -> list[RenderableType]:
    """Hazards and what to do about them, before the step itself.

    In full the first time in an inquiry; afterwards, and for mere looking, the hazard alone. Never left out.
    """
    parts: list[RenderableType] = []
    known = [n for n in names if n in rulebook.cautions]
    for entry in sorted((rulebook.cautions[n] for n in known), key=lambda c: c.name in seen):
        brief = first_sentence(entry.hazard) if entry.name in seen else entry.hazard
        full = entry.name not in seen and not looking
        parts.append(line("CAUTION", f"{entry.hazard} {entry.do}" if full else brief, "yellow"))
    return parts


def first_sentence(text: str) -> str:
    """A text up to its first full stop: the short form of a caution that has been read before."""
    return re.split(r"(?<=[.!?])\s", text.strip(), maxsplit=1)[0]


def check_lines(
    rulebook: Rulebook, step: CheckStep, seen: frozenset[str] = frozenset(), circuit: Sequence[ByCircuit] = ()
) -> list[RenderableType]:
    """One check, in the order a person needs it. Cautions shown before stand in their short form."""
    check, place = step.check, step.place.name
    parts: list[RenderableType] = [heading(check.asks.replace("{place}", place))]
    looking = check.unit is None and not check.set_up and check.tool == "none"
    parts += caution_lines(rulebook, step.prepared.cautions, seen, looking)
    goes_off = any(rulebook.set_ups[s].power == "off" for s in step.prepared.enter)
    for name in step.prepared.leave:
        if goes_off and rulebook.set_ups[name].power == "on" and not rulebook.set_ups[name].limits_current:
            continue  # switching off is the first thing to do anyhow
        parts.append(line("first undo", rulebook.set_ups[name].undo.replace("{place}", step.at(name))))
    for name in step.prepared.enter:
        parts.append(line("first", rulebook.set_ups[name].do.replace("{place}", step.at(name))))
    if check.how:
        parts.append(line("do", check.how.replace("{place}", place)))
    if check.drawing:
        parts.append(Padding(Text(check.drawing, no_wrap=True, overflow="crop"), (0, 0, 0, 4)))
    parts += reading_lines(rulebook, step)
    parts += circuit_lines(circuit, check.unit or "")
    if check.usual_mistake:
        parts.append(line("mistake", check.usual_mistake))
    if step.here_first:
        parts.append(line("here first", f"Lifting at {place} first: {step.here_first}"))
    parts.append(line("takes", _takes(step)))
    waits = WAITS.get(waiting(rulebook, step))
    if waits:
        parts.append(line("waits", waits.replace("{place}", place)))
        parts.append(line("call out", call_out(rulebook, step)))
    return parts


def waiting(rulebook: Rulebook, step: CheckStep) -> str:
    """The most that stands still during a step: nothing, block, district or layout."""
    stops = [step.check.keeps_waiting, *(rulebook.set_ups[s].stops for s in step.prepared.enter)]
    return max(stops, key=WAITING.index)


def call_out(rulebook: Rulebook, step: CheckStep) -> str:
    """A sentence to call out to the others."""
    what = {"block": f"Keep clear of {step.place.name}", "district": f"Power goes at {step.place.name}"}
    first = what.get(waiting(rulebook, step), "All stop, track power goes off")
    return f"“{first}, {max(1, math.ceil(step.minutes))} minutes!”"


def minutes(value: float) -> str:
    """Minutes as one says them."""
    return f"{value:.0f} min" if value >= 1 else "under a minute"


def _takes(step: CheckStep) -> str:
    tool = "" if step.check.tool == "none" else f", with {step.check.tool.replace('-', ' ')}"
    return (f"about {minutes(step.minutes)}" if step.minutes >= 1 else minutes(step.minutes)) + tool


def remedy_lines(rulebook: Rulebook, step: RemedyStep, seen: frozenset[str] = frozenset()) -> list[RenderableType]:
    """One remedy and its proof. Cautions shown before in this inquiry stand in their short form."""
    remedy, place = step.remedy, step.place.name
    causes = "; ".join(rulebook.causes[c].says for c in remedy.mends if c in rulebook.causes)
    parts: list[RenderableType] = [heading(f"Mend: {label(remedy.name)} {at(step.place)}", "bold green")]
    parts += caution_lines(rulebook, step.cautions, seen)
    parts.append(line("mends", f"{causes} ({chance(step.chance)})"))
    parts += [line("first", rulebook.set_ups[s].do.replace("{place}", step.at(s))) for s in step.enter]
    parts.append(line("do", remedy.do.replace("{place}", place)))
    parts.append(line("takes", f"about {remedy.minutes:.0f} min{PRICE[remedy.price]}"))
    if step.stops in WAITS:
        parts.append(line("waits", WAITS[step.stops].replace("{place}", place)))
    parts.append(line("proof", proof_text(rulebook, step)))
    return parts


def proof_text(rulebook: Rulebook, step: RemedyStep) -> str:
    """The proof test in a sentence, with what a healthy reading is."""
    proof = step.remedy.proof
    check = rulebook.checks[proof.check]
    shows = check.labels[proof.outcome]
    if step.proof_reads is not None:
        shows += f" ({between(*step.proof_reads, check.unit or '')})"
    text = f"{check.asks.replace('{place}', step.proof_at or step.place.name)} must show: {shows}"
    if proof.quiet_seconds:
        text += f"; and quiet for {_spell(proof.quiet_seconds)}"
    return text + (f"; and {proof.also}" if proof.also else "")


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


def _spell(seconds: float) -> str:
    return f"{seconds / 3600:g} h" if seconds >= 3600 else f"{seconds / 60:g} min"


def computed(low: float, high: float, unit: str, floor: float) -> str:
    """What a computed reading is called: a figure or two, over range, or nothing to speak of."""
    ends = [
        "over range" if math.isinf(v) else "next to nothing" if v < floor / 4.0 else show(v, unit) for v in (low, high)
    ]
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"


def circuit_lines(lines: Sequence[ByCircuit], unit: str) -> list[RenderableType]:
    """What the circuit of this layout makes the meter read: healthy, and with each leading suspect."""
    parts: list[RenderableType] = []
    for one in lines:
        shown = computed(one.low, one.high, unit, one.floor)
        after = f" (after {', '.join(one.tripped)} has switched off)" if one.tripped else ""
        parts.append(line("by circuit", f"{shown}{after}  {one.says}"))
    return parts


def step_screen(
    rulebook: Rulebook, made: Diagnosis, seen: frozenset[str] = frozenset(), circuit: Sequence[ByCircuit] = ()
) -> RenderableType:
    """The step advised, with what the circuit of the layout says of its reading."""
    parts: list[RenderableType] = []
    if isinstance(made.step, CheckStep):
        parts += check_lines(rulebook, made.step, seen, circuit)
        if made.together:
            names = ", ".join(f"{label(s.check.name)} at {s.place.name}" for s in made.together)
            parts.append(line("then too", f"while the same things are off: {names}"))
    elif isinstance(made.step, RemedyStep):
        parts += _waits_too_long(made, made.step)
        parts += remedy_lines(rulebook, made.step, seen)
    minutes = made.at_hand.minutes
    needed = (made.step.expected if made.step else None) or (made.repair.expected if made.repair else 0.0)
    if minutes is not None and needed and needed > minutes and made.stopgaps:
        parts.append(heading(f"About {needed:.0f} minutes are expected; you have {minutes:.0f}"))
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


def card(rulebook: Rulebook, step: CheckStep | RemedyStep) -> RenderableType:
    """A step on a card of its own, to print and take under the table."""
    lines = check_lines(rulebook, step) if isinstance(step, CheckStep) else remedy_lines(rulebook, step)
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

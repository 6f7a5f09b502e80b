"""One step on the screen: cautions first, then what to do, what to read and from which figures, what has to wait.

A check, a remedy with its proof, or either on a card. The order is that in which a person needs it.
"""

import math
from collections.abc import Iterable

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from troubleshoot.diagnosis import CheckStep, Diagnosis, Limit, RemedyStep
from troubleshoot.quantities import show
from troubleshoot.rulebook import Rulebook
from troubleshoot.screen.drawing import chance, heading, label, line

WAITS = {
    "block": "Nobody may use {place} meanwhile",
    "district": "The power district of {place} stands still meanwhile",
    "layout": "The whole layout stands still meanwhile",
}


def _band(limit: Limit, unit: str) -> str:
    if math.isinf(limit.high):
        return f"above {show(limit.low, unit)}" if limit.low else "anything"
    if limit.low <= 0.0:
        return f"up to {show(limit.high, unit)}"
    return f"{show(limit.low, unit)} to {show(limit.high, unit)}"


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
                f"{_band(limit, unit)}"
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
    """Hazards and what to do about them, before the step itself; for mere looking, the hazard alone."""
    parts: list[RenderableType] = []
    known = [n for n in names if n in rulebook.cautions]
    for entry in (rulebook.cautions[n] for n in known if n not in seen):
        parts.append(line("CAUTION", entry.hazard if looking else f"{entry.hazard} {entry.do}", "yellow"))
    again = [label(n) for n in known if n in seen]
    if again:
        parts.append(line("CAUTION", "as before: " + ", ".join(again), "yellow"))
    return parts


def check_lines(rulebook: Rulebook, step: CheckStep, seen: frozenset[str] = frozenset()) -> list[RenderableType]:
    """One check, in the order a person needs it. Cautions shown before are named, not spelt out again."""
    check, place = step.check, step.place.name
    parts: list[RenderableType] = [heading(check.asks.replace("{place}", place))]
    looking = check.unit is None and not check.set_up and check.tool == "none"
    parts += caution_lines(rulebook, step.prepared.cautions, seen, looking)
    for name in step.prepared.leave:
        parts.append(line("first undo", rulebook.set_ups[name].undo.replace("{place}", place)))
    for name in step.prepared.enter:
        parts.append(line("first", rulebook.set_ups[name].do.replace("{place}", place)))
    if check.how:
        parts.append(line("do", check.how.replace("{place}", place)))
    if check.drawing:
        parts.append(Padding(Text(check.drawing, no_wrap=True, overflow="crop"), (0, 0, 0, 4)))
    parts += reading_lines(rulebook, step)
    if check.usual_mistake:
        parts.append(line("mistake", check.usual_mistake))
    parts.append(line("takes", _takes(step)))
    waits = WAITS.get(waiting(rulebook, step))
    if waits:
        parts.append(line("waits", waits.replace("{place}", place)))
        parts.append(line("call out", call_out(rulebook, step)))
    return parts


def waiting(rulebook: Rulebook, step: CheckStep) -> str:
    """The most that stands still during a step: nothing, block, district or layout."""
    order = ("nothing", "block", "district", "layout")
    stops = [step.check.keeps_waiting, *(rulebook.set_ups[s].stops for s in step.prepared.enter)]
    return max(stops, key=order.index)


def call_out(rulebook: Rulebook, step: CheckStep) -> str:
    """A sentence to call out to the others."""
    what = {"block": f"Keep clear of {step.place.name}", "district": f"Power goes at {step.place.name}"}
    first = what.get(waiting(rulebook, step), "All stop, track power goes off")
    return f"“{first}, {max(1, math.ceil(step.minutes))} minutes!”"


def _takes(step: CheckStep) -> str:
    minutes = f"about {step.minutes:.0f} min" if step.minutes >= 1 else "under a minute"
    tool = "" if step.check.tool == "none" else f", with {step.check.tool.replace('-', ' ')}"
    return minutes + tool


def remedy_lines(rulebook: Rulebook, step: RemedyStep, seen: frozenset[str] = frozenset()) -> list[RenderableType]:
    """One remedy and its proof. Cautions shown before in this inquiry are named, not spelt out again."""
    remedy, place = step.remedy, step.place.name
    causes = "; ".join(rulebook.causes[c].says for c in remedy.mends if c in rulebook.causes)
    parts: list[RenderableType] = [heading(f"Mend: {label(remedy.name)} at {place}", "bold green")]
    parts += caution_lines(rulebook, step.cautions, seen)
    parts.append(line("mends", f"{causes} ({chance(step.chance)})"))
    parts += [line("first", rulebook.set_ups[s].do.replace("{place}", place)) for s in step.enter]
    parts += [
        line("do", remedy.do.replace("{place}", place)),
    ]
    price = {
        "nothing": "",
        "parts": ", and parts",
        "cuts-wire": "; cuts a wire",
        "cuts-rail": "; cuts the rail",
    }
    parts.append(line("takes", f"about {remedy.minutes:.0f} min{price.get(remedy.price, '; lifts a bus')}"))
    parts.append(line("proof", proof_text(rulebook, step)))
    return parts


def proof_text(rulebook: Rulebook, step: RemedyStep) -> str:
    """The proof test in a sentence."""
    proof = step.remedy.proof
    check = rulebook.checks[proof.check]
    text = f"{check.asks.replace('{place}', step.place.name)} must show: {check.labels[proof.outcome]}"
    if proof.quiet_seconds:
        text += f"; and quiet for {_spell(proof.quiet_seconds)}"
    return text + (f"; and {proof.also}" if proof.also else "")


def _spell(seconds: float) -> str:
    return f"{seconds / 3600:g} h" if seconds >= 3600 else f"{seconds / 60:g} min"


def step_screen(rulebook: Rulebook, made: Diagnosis, seen: frozenset[str] = frozenset()) -> RenderableType:
    """The step advised."""
    parts: list[RenderableType] = []
    if isinstance(made.step, CheckStep):
        parts += check_lines(rulebook, made.step, seen)
        if made.together:
            names = ", ".join(f"{label(s.check.name)} at {s.place.name}" for s in made.together)
            parts.append(line("then too", f"while the same things are off: {names}"))
    elif isinstance(made.step, RemedyStep):
        parts += remedy_lines(rulebook, made.step, seen)
    minutes = made.at_hand.minutes
    needed = (made.step.expected if made.step else None) or (made.repair.expected if made.repair else 0.0)
    if minutes is not None and needed and needed > minutes and made.stopgaps:
        parts.append(heading(f"About {needed:.0f} minutes are expected; you have {minutes:.0f}"))
        parts += [line("stopgap", f"{s.do} ({s.minutes:.0f} min, if it is {label(s.cause)})") for s in made.stopgaps]
    return Group(*parts)


def card(rulebook: Rulebook, step: CheckStep | RemedyStep) -> RenderableType:
    """A step on a card of its own, to print and take under the table."""
    lines = check_lines(rulebook, step) if isinstance(step, CheckStep) else remedy_lines(rulebook, step)
    return Group(*lines, line("read", "______________________   time ________"))

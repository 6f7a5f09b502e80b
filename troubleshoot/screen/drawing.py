"""Everything that is drawn in the terminal; rich is imported in this room only.

One manner throughout: a rule with a title, then indented lines; danger before anything else; what is still undone
on every screen; words and numbers side by side. Text of users and packs is never taken as markup. Works without
colour and at 60 columns. What is true is left to `diagnosis`; here it is only worded and drawn.
"""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import TextIO

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.rule import Rule
from rich.table import Table
from rich.text import Text

from troubleshoot.diagnosis import CheckStep, Diagnosis, Limit, Ranked, RemedyStep
from troubleshoot.layout import Place
from troubleshoot.quantities import show
from troubleshoot.rulebook import Rulebook, short
from troubleshoot.rulebook.words import spoken

WAITS = {
    "block": "Nobody may use {place} meanwhile",
    "district": "The power district of {place} stands still meanwhile",
    "layout": "The whole layout stands still meanwhile",
}
BAR = 12


def console(file: TextIO | None = None, width: int | None = None, plain: bool = False) -> Console:
    """A console that obeys NO_COLOR and the width of the terminal."""
    return Console(file=file, width=width, highlight=False, markup=False, emoji=False, no_color=plain or None)


def label(name: str) -> str:
    """A qualified name as a person reads it."""
    return short(name).replace("-", " ")


def heading(title: str, style: str = "bold") -> RenderableType:
    """A section's title with a rule under the whole width."""
    return Rule(Text(title, style=style), align="left", style="dim", characters="─")


def block(text: str, style: str = "", indent: int = 2) -> RenderableType:
    """An indented paragraph."""
    return Padding(Text(text.strip(), style=style), (0, 0, 0, indent))


def line(name: str, text: str, style: str = "") -> RenderableType:
    """A labelled paragraph: the label left, the text beside it."""
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=10, no_wrap=True)
    grid.add_column(ratio=1)
    grid.add_row(Text(name, style="dim"), Text(text.strip(), style=style))
    return Padding(grid, (0, 0, 0, 2))


def chance(value: float) -> str:
    """A chance in words and number."""
    hundredths = round(value * 100)
    return f"{'under 1' if hundredths < 1 else hundredths} in 100, {spoken(value)}"


def dangers(made: Diagnosis) -> list[RenderableType]:
    """Stop and make-safe: shown before anything else."""
    parts: list[RenderableType] = []
    for text, fired in made.deduced.stop:
        parts += [heading("STOP", "bold red"), block(text, "bold red"), line("because", fired.sentence)]
    for text, fired in made.deduced.make_safe:
        parts += [
            heading("MAKE SAFE FIRST", "bold red"),
            block(text, "bold"),
            line("because", fired.sentence),
        ]
    return parts


def undone(rulebook: Rulebook, made: Diagnosis) -> list[RenderableType]:
    """What must not be forgotten before the layout runs again."""
    if not made.in_force:
        return []
    parts: list[RenderableType] = [heading("Still undone", "bold yellow")]
    for change in made.in_force:
        entry = rulebook.set_ups.get(change.set_up)
        text = entry.undo.replace("{place}", change.place or made.subject.name) if entry else label(change.set_up)
        parts.append(block(f"- {text}"))
    return parts


def brief_ranking(made: Diagnosis, count: int = 5) -> list[RenderableType]:
    """The first suspects with a bar, in words and numbers."""
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=BAR, no_wrap=True)
    grid.add_column(width=10, justify="right", no_wrap=True)
    grid.add_column(ratio=1)
    for entry in made.ranking[:count]:
        share = f"{round(entry.chance * 100)} in 100" if entry.chance >= 0.005 else "<1 in 100"
        grid.add_row(Text(bar(entry.chance), style="cyan"), Text(share), Text(_where(entry)))
    return [heading("Suspects (estimates)"), Padding(grid, (0, 0, 0, 2))]


def bar(value: float) -> str:
    """A chance as a bar of BAR characters."""
    full = round(value * BAR)
    return "▮" * full + "▯" * (BAR - full)


def _where(entry: Ranked) -> str:
    """The cause, with its place once checks have spoken of places."""
    if len(entry.places) > 1 and entry.places[0][1] > 1.5 * entry.places[1][1]:
        return f"{entry.says} — at {entry.places[0][0]}"
    return entry.says


def full_ranking(made: Diagnosis, count: int = 8) -> RenderableType:
    """Every suspect with the evidence for and against it."""
    parts: list[RenderableType] = [heading("The ranking, with its evidence")]
    for position, entry in enumerate(made.ranking[:count], 1):
        parts.append(block(f"{position}. {entry.says}: {chance(entry.chance)}", "bold"))
        rival = label(entry.rival)
        parts.append(block(f"before any answer {entry.prior_decibans:+.0f} dB against {rival}", "dim", 5))
        for one in sorted(entry.evidence, key=lambda e: -abs(e.decibans)):
            if abs(one.decibans) >= 0.5:
                side = "for" if one.decibans > 0 else "against"
                at = f" at {one.place}" if one.place else ""
                parts.append(block(f"{one.decibans:+5.1f} dB {side}: {label(one.finding)}{at}: {one.said}", "", 5))
        if len(entry.places) > 1:
            first = ", ".join(f"{p} {c * 100:.0f}" for p, c in entry.places[:4])
            parts.append(block(f"places, in 100: {first}" + (" ..." if len(entry.places) > 4 else ""), "dim", 5))
    ruled = [f"{label(c)}: {f.sentence}" for c, f in made.deduced.ruled_out.items()]
    if ruled:
        parts.append(heading("Ruled out by this layout"))
        parts += [block(r) for r in ruled]
    if made.deduced.trace:
        parts.append(heading("What was deduced"))
        parts += [block(f"- {f.sentence}") for f in made.deduced.trace if not f.rule.startswith("needs ")]
    parts.append(block("10 dB are odds of ten to one, 3 dB of two to one. Chances are estimates.", "dim"))
    return Group(*parts)


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
    parts += [
        line("mends", f"{causes} ({chance(step.chance)})"),
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


def why_lines(made: Diagnosis, step: CheckStep) -> RenderableType:
    """Which suspects a check separates and by how much."""
    table = Table(box=None, padding=(0, 1), show_edge=False)
    table.add_column("if the cause is", ratio=1)
    outcomes = step.check.outcomes
    for outcome in outcomes:
        table.add_column(outcome.replace("-", " "), justify="right")
    for cause, row in step.separates:
        table.add_row(Text(label(cause)), *(f"{p * 100:.0f}" for p in row))
    text = f"Of 100 such faults, so many would show each answer. It is worth {step.bits:.2f} bits"
    if step.expected is not None and made.repair is not None:
        text += f"; with it first, about {step.expected:.0f} minutes to mended, without it {made.repair.expected:.0f}"
    return Group(heading("Why this check"), Padding(table, (0, 0, 0, 2)), block(text + ".", "dim"))


def remark_lines(made: Diagnosis, last_order: int) -> list[RenderableType]:
    """Remarks on the answer just given, and answers to ask again."""
    latest = {o.check for o in made.observed if o.order == last_order}
    parts = [line("remark", r.text, "cyan") for r in made.remarks if r.check in latest]
    for one in made.ask_again:
        text = f"{label(one.check)} at {one.place.name}: “{one.said}” fits badly with everything else. "
        text += "Make it once more before it is believed"
        parts.append(line("doubtful", text, "yellow"))
    return parts


def overview(rulebook: Rulebook, made: Diagnosis, title: str, last_order: int = -1) -> RenderableType:
    """The top of every screen: danger, what is undone, the suspects, remarks."""
    parts: list[RenderableType] = []
    if made.symptom:
        says = rulebook.symptoms[made.symptom].says
        parts += [heading(title, "bold"), block(f"{says} — {made.subject.name}")]
    parts += dangers(made)
    parts += undone(rulebook, made)
    parts += remark_lines(made, last_order)
    if made.ranking and not made.deduced.stop:
        parts += brief_ranking(made)
    if made.state == "lost":
        parts.append(
            block(
                "Nothing in these rules explains this well. Hand over with the case file, or look again.",
                "yellow",
            )
        )
    if made.chain:
        cause, symptom, places = made.chain
        at = f" at {places[0].name}" if places else ""
        parts.append(
            line(
                "chain",
                f"{rulebook.causes[cause].says}. It goes on as: {rulebook.symptoms[symptom].says}{at}",
            )
        )
    return Group(*parts)


def step_screen(rulebook: Rulebook, made: Diagnosis, seen: frozenset[str] = frozenset()) -> RenderableType:
    """The step advised."""
    parts: list[RenderableType] = []
    if isinstance(made.step, CheckStep):
        parts += check_lines(rulebook, made.step, seen)
        if made.together:
            names = ", ".join(f"{label(s.check.name)} at {s.place.name}" for s in made.together)
            parts.append(line("while there", names))
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


def places_text(places: Sequence[Place], count: int = 6) -> str:
    """Places in a short list."""
    names = [p.name for p in places[:count]]
    return ", ".join(names) + (f" and {len(places) - count} more" if len(places) > count else "")


def trial_table(rows: Sequence[tuple[str, ...]], which: str, wrong: float, seed: int) -> RenderableType:
    """The figures of a simulated trial, a symptom a row."""
    heads = ("symptom", "all: 1st", "1-3", "1st", "1-3", "stated", "min", "list", "checks", "found")
    table = Table(box=None, padding=(0, 1), show_edge=False)
    for position, head in enumerate(heads):
        table.add_column(head, justify="right" if position else "left")
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    world = "drawn from the pack's own words" if which == "drawn" else "moved away from the pack's words"
    text = (
        f"World {world}; {wrong:.0%} wrong answers; seed {seed}. 'all' is every check answered without error, in 100; "
        "the rest is as played to the first remedy; 'list' is a fixed checklist of best tests. Simulated, not measured."
    )
    return Group(heading("Simulated trial"), table, block(text, "dim"))


@contextmanager
def progress(what: str, total: int) -> Iterator[Callable[[str], object]]:
    """A bar on standard error while something long goes on; call what it yields once for each thing done."""
    import sys

    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (TextColumn(what), BarColumn(), MofNCompleteColumn(), TextColumn("{task.fields[now]}"))
    with Progress(*columns, console=console(sys.stderr), transient=True, disable=not sys.stderr.isatty()) as bars:
        task = bars.add_task(what, total=total, now="")
        yield lambda name: bars.update(task, advance=1, now=label(name))

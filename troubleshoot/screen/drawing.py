"""Everything that is drawn in the terminal; rich is imported in this room only.

One manner throughout: a rule with a title, then indented lines; danger before anything else; what is still undone
on every screen; words and numbers side by side. Text of users and packs is never taken as markup. Works without
colour and at 60 columns. What is true is left to `diagnosis`; here it is only worded and drawn.
"""

import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TextIO

from rich.console import Console, ConsoleOptions, Group, RenderableType, RenderResult
from rich.padding import Padding
from rich.rule import Rule
from rich.table import Table
from rich.text import Text

from troubleshoot.diagnosis import CheckStep, Diagnosis, Learned, Ranked
from troubleshoot.layout import Place
from troubleshoot.rulebook import Rulebook
from troubleshoot.rulebook.wording import chance, counted, label
from troubleshoot.survey import account

BAR = 12
SUSPECTS, FEW_SUSPECTS = 5, 2
"""Suspects at the top of a screen, and how many where the step would not fit below them."""
_STEERING = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


def console(file: TextIO | None = None, width: int | None = None, plain: bool = False) -> Console:
    """A console that obeys NO_COLOR and the width of the terminal."""
    return Console(file=file, width=width, highlight=False, markup=False, emoji=False, no_color=plain or None)


def printable(text: str) -> str:
    """Text of users and packs without signs that would steer a terminal."""
    return _STEERING.sub("\ufffd", text)


@dataclass(frozen=True)
class Heading:
    """A section's title before a rule that fills the line; a title too long for that takes the lines it needs."""

    title: str
    style: str

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The title on a rule where it fits on one line, else broken between words over a rule."""
        text = Text(self.title, style=self.style)
        if text.cell_len + 4 <= options.max_width:
            yield Rule(text, align="left", style="dim", characters="─")
        else:
            yield text
            yield Rule(style="dim", characters="─")


def at(place: Place) -> str:
    """A place in a sentence, as one says it: at a block, on a vehicle, in a program."""
    word = {"vehicle": "on", "program": "in", "settings": "in", "interface": "on"}.get(place.kind, "at")
    return f"{word} {place.name}"


def heading(title: str, style: str = "bold") -> RenderableType:
    """A section's title with a rule; nothing of it is cut off."""
    return Heading(printable(title), style)


def block(text: str, style: str = "", indent: int = 2) -> RenderableType:
    """An indented paragraph."""
    return Padding(Text(printable(text).strip(), style=style), (0, 0, 0, indent))


def line(name: str, text: str, style: str = "") -> RenderableType:
    """A labelled paragraph: the label left, the text beside it."""
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=10, no_wrap=True)
    grid.add_column(ratio=1)
    grid.add_row(Text(name, style="dim"), Text(printable(text).strip(), style=style))
    return Padding(grid, (0, 0, 0, 2))


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
    parts: list[RenderableType] = []
    for change in made.in_force:
        entry = rulebook.set_ups.get(change.set_up)
        if entry and entry.power == "on" and not entry.limits_current:
            continue  # track power on is how a layout runs
        text = entry.undo.replace("{place}", change.place or made.subject.name) if entry else label(change.set_up)
        parts.append(block(f"- {text}"))
    return [heading("Still undone", "bold yellow"), *parts] if parts else []


def brief_ranking(made: Diagnosis, count: int = SUSPECTS) -> list[RenderableType]:
    """The first suspects with a bar, in words and numbers; nothing for none of them."""
    if not count:
        return []
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
    return "■" * full + "·" * (BAR - full)


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
        parts += [block(learned_text(entry.learned), "cyan", 5)] if entry.learned and entry.learned.cases else []
        parts += [block(account(spot), "cyan", 5) for spot in entry.weak_spots]
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
    deduced = list(dict.fromkeys(f.sentence for f in made.deduced.trace if not f.rule.startswith("needs ")))
    if deduced:
        parts.append(heading("What was deduced"))
        parts += [block(f"- {sentence}") for sentence in deduced]
    parts.append(block("10 dB are odds of ten to one, 3 dB of two to one. Chances are estimates.", "dim"))
    return Group(*parts)


def learned_text(learned: Learned) -> str:
    """What closed cases did to a cause: its chance by the rules, its chance here, and the cases."""
    names = ", ".join(learned.cases[:4]) + (f" and {len(learned.cases) - 4} more" if len(learned.cases) > 4 else "")
    return f"normally {learned.normally * 100:.0f} of 100, here {learned.here * 100:.0f}, from {names}"


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
        text += f"; with it first, about {counted(step.expected, 'minute')} to mended"
        text += f", without it {made.repair.expected:.0f}"
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


def where_lines(made: Diagnosis) -> list[RenderableType]:
    """What is known of the place beside the suspects: how much is proven clean, and what the sick ones share."""
    parts = []
    if made.proven_clean is not None:
        clean, whole = made.proven_clean
        parts.append(line("clean", f"{clean} of {whole} parts proven clean by what was lifted"))
    if made.shared:
        parts.append(line("shared", made.shared[0].reason))
    if made.recalled is not None:
        again = (
            f"about {counted(made.recalled.minutes, 'minute')} to mended with this first,"
            f" {made.recalled.asking:.0f} by asking"
        )
        parts.append(line("as before", f"This place has had {label(made.recalled.causes[0])} before: {again}", "cyan"))
    return parts


def rows(console: Console, *parts: RenderableType) -> int:
    """How many rows something takes on a console."""
    return len(console.render_lines(Group(*parts)))


def overview(
    rulebook: Rulebook, made: Diagnosis, title: str, last_order: int = -1, suspects: int = SUSPECTS
) -> RenderableType:
    """The top of every screen: danger, what is undone, suspects, remarks; the complaint goes with the title."""
    parts: list[RenderableType] = []
    if made.symptom and title:
        says = rulebook.symptoms[made.symptom].says
        parts += [heading(title, "bold"), block(f"{says} — {made.subject.name}")]
    parts += dangers(made)
    parts += undone(rulebook, made)
    parts += remark_lines(made, last_order)
    parts += where_lines(made)
    if made.ranking and not made.deduced.stop:
        parts += brief_ranking(made, suspects)
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
    moved = "moved away from the pack's words, looks at one finding going wrong together"
    world = "drawn from the pack's own words" if which == "drawn" else moved
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

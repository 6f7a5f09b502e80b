"""Practice at the command line: a hidden fault to find by hand, or many of them for the tool to play itself."""

import json
import os
import random
import sys
from collections.abc import Sequence
from dataclasses import asdict

import click

from troubleshoot import screen
from troubleshoot.circuit import available
from troubleshoot.cli.session import layout_path, open_layout, open_rules
from troubleshoot.dialogue import Asker, Option, Paused, Prompt, asker, pick
from troubleshoot.inquiry import Answer
from troubleshoot.layout import Place
from troubleshoot.practice import WAYS, HiddenFault, Summary, Trainee, World, draw, load_faults, play, summary
from troubleshoot.practice.running import exercises, run
from troubleshoot.practice.scoring import advised
from troubleshoot.practice.world import Unfit
from troubleshoot.quantities import show
from troubleshoot.rulebook import Check, Rulebook, short

MOST_OFFERED = 9


@click.command("practice")
@click.option("--layout", default="club", show_default=True, help="Layout record: a file, or club or home.")
@click.option("--fault", help="Hide this one, by its name in the file of faults.")
@click.option("--seed", type=int, help="The same seed hides the same fault.")
@click.option("--wrong", default=0.0, help="Share of answers that are wrong.")
@click.option("--self", "count", type=int, help="Let the tool play so many faults itself and print how it did.")
@click.option("--way", "ways", multiple=True, type=click.Choice(list(WAYS)), help="How the tool goes about it.")
@click.option("--processes", default=0, help="How many processes; 0 for all cores.")
@click.option("--plain", is_flag=True, help="Plain lines instead of arrows.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON; with --self only.")
def practice_command(
    layout: str, fault: str | None, seed: int | None, wrong: float, count: int | None, ways: tuple[str, ...],
    processes: int, plain: bool, as_json: bool,
) -> int:  # fmt: skip
    """A layout with a hidden fault: find it, and see what it cost you in minutes, needless and unsafe steps."""
    rulebook = open_rules(())
    faults = load_faults(rulebook)
    if not available():
        click.echo("Practice needs the extra 'circuit' (numpy and scipy): readings come from the circuit.", err=True)
        return 1
    if fault is not None:
        faults = tuple(f for f in faults if f.name == fault)
        if not faults:
            raise click.UsageError(f"{fault!r} is no fault of the file")
    if count is not None:
        return _play_itself(layout, faults, count, seed or 1, wrong, ways or tuple(WAYS), processes, as_json)
    number = random.SystemRandom().randrange(10**6) if seed is None else seed
    world = _hidden(layout, rulebook, faults, number, wrong)
    exercise = Exercise(rulebook, Trainee(world), asker(plain, sys.stdin, sys.stdout), number)
    try:
        return exercise.run()
    except (Paused, EOFError):
        click.echo(f"\nLeft. The same fault again: troubleshoot practice --layout {layout} --seed {number}")
        return 5


def _hidden(layout: str, rulebook: Rulebook, faults: Sequence[HiddenFault], seed: int, wrong: float) -> World:
    """A fault that this layout can have, drawn by seed."""
    record, dice = open_layout(layout), random.Random(seed)
    order = list(faults)
    dice.shuffle(order)
    for fault in order:
        try:
            return draw(record, rulebook, fault, seed, wrong)
        except Unfit:
            continue
    raise click.UsageError("this layout can have none of these faults")


def _play_itself(
    layout: str, faults: Sequence[HiddenFault], count: int, seed: int, wrong: float, ways: Sequence[str],
    processes: int, as_json: bool,
) -> int:  # fmt: skip
    file, names = str(layout_path(layout)), [f.name for f in faults]
    rows: list[Summary] = []
    with screen.progress("exercises", count * len(ways)) as told:
        for way in ways:
            tasks = exercises(file, names, count, seed, wrong, way)
            rows.append(summary(way, run(tasks, processes or os.cpu_count() or 1, told)))
    if as_json:
        click.echo(json.dumps([asdict(r) for r in rows], indent=2))
        return 0
    click.echo(
        f"{'way':16}{'faults':>7}{'first':>7}{'three':>7}{'placed':>8}{'found':>7}{'minutes':>9}{'median':>8}{'checks':>8}"
    )
    for r in rows:
        click.echo(
            f"{r.way:16}{r.cases:7d}{r.first:7.0%}{r.three:7.0%}{r.placed:8.0%}{r.found:7.0%}{r.minutes:9.0f}"
            f"{r.median_minutes:8.0f}{r.median_checks:8.0f}"
        )
    stopped = ", ".join(f"{r.stopped} of {r.way}" for r in rows if r.stopped)
    if stopped:
        click.echo(f"Not counted, for the tool stopped at once for danger (a smell of burning, say): {stopped}.")
    click.echo("Simulated: the circuit of the layout answers what can be measured, a file of practice the rest.")
    return 0


def _minutes(value: float) -> str:
    return screen.counted(value, "minute")


class Exercise:
    """One exercise in a conversation."""

    def __init__(self, rulebook: Rulebook, trainee: Trainee, who: Asker, seed: int) -> None:
        self.rulebook, self.trainee, self.who, self.seed = rulebook, trainee, who, seed
        self.world = trainee.world

    def run(self) -> int:
        """Go on until the fault is mended or given up; 0 when it was found."""
        says = self.rulebook.symptoms[self.world.fault.symptom].says
        click.echo(f"Practice on {self.world.layout.name} (seed {self.seed})")
        click.echo(f"  {says} — {self.world.subject.name}. Something is wrong; find it and mend it.")
        choices = (
            Option("check", "Make a check"),
            Option("lift", "Switch something off, lift something, take stock off"),
            Option("undo", "Put something right again"),
            Option("mend", "Mend something"),
            Option("advice", "What would the tool do now?"),
            Option("give-up", "Give up"),
        )
        while True:
            said = self.who.ask(Prompt("What do you do?", choices, topic="move", unsure="advice"))
            if said == "give-up" or (said == "mend" and self._mend()):
                break
            if said == "advice":
                click.echo(f"  The tool would: {advised(self.trainee.advice())}")
            elif said == "check":
                self._check()
            elif said in ("lift", "undo"):
                self._set_up(said == "lift")
        return self._judged()

    def _found(self, asks: str, known: Sequence[tuple[str, str]]) -> str | None:
        """One of many entries, found by words."""
        typed = self.who.ask(Prompt(f"{asks} Type a word or two", typed=True, topic="words", unsure="")).lower().split()
        fitting = [(n, t) for n, t in known if all(w in f"{n} {t}".lower() for w in typed)]
        if not fitting:
            click.echo("  Nothing here has these words; try others.")
            return None
        offered = [*fitting[:MOST_OFFERED], ("none", "None of these")]
        if len(fitting) > MOST_OFFERED:
            click.echo(f"  {len(fitting)} have these words; the first {MOST_OFFERED}:")
        said = self.who.ask(pick("Which one?", offered, "which", unsure="none"))
        return None if said == "none" else said

    def _place(self, relation: str) -> Place:
        """Which place of a kind: one of a few, or typed by name."""
        places = self.world.layout.related(relation, self.world.subject)
        if len(places) == 1:
            return places[0]
        if len(places) <= MOST_OFFERED:
            name = self.who.ask(pick("Where?", [(p.name, p.name) for p in places], "where"))
            return next(p for p in places if p.name == name)
        known = {p.name: p for p in places}
        while True:
            name = self.who.ask(
                Prompt(f"Where? One of {len(known)}, such as {places[0].name}", typed=True, topic="where")
            )
            if name in known:
                return known[name]
            click.echo(f"  {name!r} is none of them: {', '.join(list(known)[:12])} ...")

    def _check(self) -> None:
        findings = self.rulebook.spoken_of(self.world.fault.symptom)
        checks = [c for f in sorted(findings) for c in self.rulebook.checks_for(f)]
        name = self._found("Which check?", [(c.name, c.asks.replace("{place}", "...")) for c in checks])
        if name is None:
            return
        entry = self.rulebook.checks[name]
        place = self._place(entry.relation)
        answer = self.trainee.check(entry, place)
        if answer is None:
            lacking = self.trainee.missing(entry, place)
            needed = "; ".join(self.rulebook.set_ups[s].says for s in lacking)
            click.echo(f"  Stop: this needs first: {needed}. It is noted against you where power was on.")
            return
        click.echo(f"  {self._told(entry, answer)}   ({_minutes(sum(m.minutes for m in self.trainee.moves))} so far)")

    def _told(self, check: Check, answer: object) -> str:
        if not isinstance(answer, Answer):
            return "That cannot be said here."
        if answer.reading is not None:
            reading = answer.reading
            return (
                "The meter is over range."
                if reading.over_range
                else f"It reads {show(reading.value, str(check.unit))}."
            )
        return f"{check.labels[str(answer.outcome)]}."

    def _set_up(self, entered: bool) -> None:
        if entered:
            known = [(s.name, s.says) for s in self.rulebook.set_ups.values()]
        else:
            force = self.trainee.inquiry.in_force
            known = [(c.set_up, f"{self.rulebook.set_ups[c.set_up].says} ({c.place})") for c in force]
        if not known:
            click.echo("  Nothing is off or lifted.")
            return
        name = self._found("What?", known) if entered else self.who.ask(pick("What?", known, "undo"))
        if name is None:
            return
        if entered:
            place = self._place(self.rulebook.set_ups[name].relation)
        else:
            where = next(c.place for c in self.trainee.inquiry.in_force if c.set_up == name)
            place = Place("place", where or "")
        self.trainee.set_up(name, place, entered)
        click.echo("  Done.")

    def _mend(self) -> bool:
        causes = self.rulebook.causes_of(self.world.fault.symptom)
        known = {r.name: r.do.split(". ")[0] for c in causes for r in self.rulebook.remedies_of(c.name)}
        name = self._found("Mend what, and how?", sorted(known.items()))
        if name is None:
            return False
        cause = next(c for c in causes if c.name in self.rulebook.remedies[name].mends)
        if self.trainee.mend(name, self._place(cause.relation)):
            click.echo("  That was it: the fault is gone.")
            return True
        click.echo("  It is still there.")
        return False

    def _judged(self) -> int:
        fault = self.world.fault
        says = self.rulebook.causes[fault.cause].says
        click.echo(f"The fault: {says}, at {self.world.place.name} ({short(fault.cause)}).")
        score = self.trainee.score(play(self.world).minutes)
        click.echo(
            f"You took {_minutes(score.minutes)} in {screen.counted(score.moves, 'move')}, {score.needless} of them"
            f" needless and {score.unsafe} unsafe. The tool takes {_minutes(score.par)}."
        )
        return 0 if score.solved else 3

"""Taking a round: reading after reading in walking order, each saved before the next is asked for.

A round that was interrupted goes on where it was left: what has been read today is not asked again, and what is still
undone is shown first. A file of readings does without a terminal; nothing of it is kept unless all of it can be read.
"""

import sys
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import click

from troubleshoot import screen
from troubleshoot.cli.asking import understood
from troubleshoot.cli.round import (
    Round,
    begin_inquiry,
    json_option,
    last_meter,
    of_round,
    pressing,
    print_json,
    width_option,
)
from troubleshoot.cli.session import unknown_places
from troubleshoot.dialogue import Asker, Option, Paused, Prompt, asker, yes_no
from troubleshoot.documents import Document, Problem, Problems, read
from troubleshoot.quantities import Unreadable
from troubleshoot.rounds import judge
from troubleshoot.rounds.choosing import choose
from troubleshoot.rounds.history import climate_of, event_of, find_check, take_back
from troubleshoot.rounds.planning import Sheet, State, Visit, as_it_stands, plan, sheet_of

PAUSED = 5
COMMANDS = (
    Option("!cant-do", "can't do that here", "c"),
    Option("!back", "back: take the last reading back", "b"),
    Option("!undone", "what is still undone", "d"),
    Option("!save", "save and stop", "s"),
    Option("!help", "help", "?"),
)
HELP = """Type what the meter shows, with its unit or without: 9.8M, 0.4 V, OL.
  c can't do that here: the reading is left out    b back: the last reading is taken back
  d what is still undone                           s save and stop; the round goes on from here another time"""
_KNOWN = ("date", "meter", "temperature", "humidity")


@click.command("take")
@click.option("--readings", "script", type=click.Path(), help="A file of readings: keeps them without a terminal.")
@click.option("--count", type=click.IntRange(1, 200), default=20, show_default=True, help="How many readings.")
@click.option("--minutes", type=click.FloatRange(1), help="Only what fits into so many minutes.")
@click.option("--due", "only_due", is_flag=True, help="Only what is due.")
@click.option("--plain", is_flag=True, help="Plain lines instead of arrows.")
@json_option
@width_option
@of_round
def take_command(
    work: Round,
    script: str | None,
    count: int,
    minutes: float | None,
    only_due: bool,
    plain: bool,
    as_json: bool,
    width: int | None,
) -> int:
    """Take a round, reading by reading; or keep the readings of a file."""
    if script:
        return _from_file(work, script, as_json)
    out = screen.console(sys.stderr if as_json else sys.stdout, width)
    who = asker(plain, sys.stdin, sys.stderr if as_json else sys.stdout)
    sheet = _sheet(work, count, minutes, only_due)
    taking = Taking(work, who, out)
    try:
        code = taking.run(sheet)
    except KeyboardInterrupt:
        taking.leave("\nInterrupted; every reading is saved.")
        return 130
    if as_json:
        print_json({"file": str(work.path), "kept": taking.kept, "exit": code})
    return code


def _sheet(work: Round, count: int, minutes: float | None, only_due: bool) -> Sheet:
    """The readings of this round in walking order."""
    if not only_due:
        return sheet_of(work.layout, work.rulebook, choose(work.layout, work.rulebook, count, minutes))
    from troubleshoot.rounds import due_checks
    from troubleshoot.rounds.series import place_of

    due = due_checks(work.history(), date.today())[:count]
    wanted = [(work.rulebook.checks[d.check], place_of(work.layout, work.rulebook, d.check, d.place)) for d in due]
    return plan(work.layout, work.rulebook, wanted)


class Taking:
    """One round in a conversation."""

    def __init__(self, work: Round, who: Asker, out: screen.Console) -> None:
        self.work, self.who, self.out = work, who, out
        self.beside: dict[str, str | None] = {}
        self.kept = 0

    def run(self, sheet: Sheet) -> int:
        """Go through the sheet; the exit code."""
        from troubleshoot.screen.sheets import safety_lines

        self.out.print(screen.heading(f"Check round, {self.work.layout.name}"))
        for part in safety_lines(self.work.rulebook, sheet):
            self.out.print(part)
        try:
            self._put_right("Left undone before; put right again?")
            self._ask_beside()
            code = self._walk(sheet)
        except Paused:
            self.leave("\nSaved.")
            return PAUSED
        return code

    def leave(self, how: str) -> None:
        """Say how to go on, and what must not be forgotten meanwhile."""
        from troubleshoot.screen.sheets import undone_lines

        for part in undone_lines(self.work.rulebook, self._undone()):
            self.out.print(part)
        go_on = f"{how} Go on with: troubleshoot round take{self.work.options}"
        click.echo(go_on, err=True)

    def _undone(self) -> list[State]:
        return [State(c.set_up, c.place or "") for c in self.work.history().in_force]

    def _ask_beside(self) -> None:
        """Meter, temperature and humidity, once a round; - leaves one out."""
        last = last_meter(self.work.history())
        asks = "Which meter is this? A name of your own, always the same"
        said = self.who.ask(
            Prompt(f"{asks} [{last or '-'}]", typed=True, default=last or "-", topic="meter", unsure="-")
        )
        self.beside["meter"] = None if said == "-" else said
        for what, sample in (("temperature", "19 C"), ("humidity", "48 %")):
            self.beside[what] = self._climate(what, sample)

    def _climate(self, what: str, sample: str) -> str | None:
        asks = f"{what.capitalize()} of the room, such as {sample} (- if not known)"
        while True:
            said = self.who.ask(Prompt(asks, typed=True, default="-", topic=what, unsure="-"))
            if said == "-":
                return None
            try:
                climate_of(what, said)
                return said
            except Unreadable as error:
                self.out.print(str(error))

    def _walk(self, sheet: Sheet) -> int:
        visits, at = list(sheet.visits), 0
        while at < len(visits):
            done = self._done()
            if (visits[at].check.name, visits[at].place.name) in done:
                at += 1
                continue
            visit = as_it_stands(self.work.layout, self.work.rulebook, visits[at:], self._undone())
            said = self._one(visit, len(visits))
            if said == "!save":
                self.leave("Saved.")
                return PAUSED
            if said == "!back":
                at = self._back(visits, at)
                continue
            at += 1
        self.out.print(screen.heading("The round is done", "bold green"))
        self._put_right("Put right again?")
        return 0

    def _done(self) -> set[tuple[str, str]]:
        """What has been read today."""
        today = date.today()
        return {(t.check, t.place) for t in self.work.history().taken if t.day == today}

    def _back(self, visits: Sequence[Visit], at: int) -> int:
        """Take the last reading of this round back; where the round stands then."""
        said = take_back(self.work.path) if self.kept else None
        if said is None:
            self.out.print("There is no reading of this round to take back.")
            return at
        self.kept -= 1
        self.out.print(f"Taken back: {said['reading']} at {said['at']}")
        keys = [(v.check.name, v.place.name) for v in visits]
        return keys.index((str(said["answer"]), str(said["at"])))

    def _one(self, visit: Visit, count: int) -> str:
        """One reading: shown, asked, echoed, kept and judged; the command that ended it, or nothing."""
        from troubleshoot.screen.sheets import undone_lines, visit_lines

        self.out.print(screen.heading(f"{visit.number} of {count}"))
        undone = [s for s in self._undone() if s not in visit.leave]
        for part in [*undone_lines(self.work.rulebook, undone), *visit_lines(self.work.rulebook, visit)]:
            self.out.print(part)
        past = self.work.history().by_series.get((visit.check.name, visit.place.name), ())
        if past:
            self.out.print(screen.line("last time", f"{past[-1].reading.said} on {past[-1].day.isoformat()}"))
        unit = str(visit.check.unit)
        topic = f"{visit.check.name.rsplit('/', 1)[-1]}@{visit.place.name}"
        prompt = Prompt(f"What does it read, in {unit}?", (), COMMANDS, typed=True, topic=topic, unsure="!cant-do")
        while True:
            said = self.who.ask(prompt)
            if said == "!help":
                self.out.print(HELP)
            elif said == "!undone":
                self._put_right("Put right again?")
            elif said.startswith("!"):
                return said
            elif understood(self.who, self.out, said, unit):
                self._keep(visit, said)
                return ""

    def _keep(self, visit: Visit, said: str) -> None:
        """Save a reading with the set-ups it took, then say what it is worth."""
        left = [_set_up(s, "left") for s in visit.leave]
        entered = [_set_up(s, "entered") for s in visit.enter]
        event = event_of(visit.check, visit.place.name, said, None, **self.beside)
        number = self.work.keep(*left, *entered, event)
        self.kept += 1
        self._judged(number)

    def _judged(self, number: int) -> None:
        from troubleshoot.screen.trends import judged_lines

        taken, history = self.work.reading(number), self.work.history()
        for part in judged_lines(judge(history, taken)):
            self.out.print(part)
        due = pressing(history, taken)
        if due is None or due.offer is None:
            return
        about = f" — {due.offer.about}" if due.offer.about else ""
        says = self.work.rulebook.symptoms[due.offer.symptom].says
        self.out.print(screen.line("why", due.why, "yellow"))
        asks = f"Begin an inquiry for later: {says}{about}?"
        if self.who.ask(Prompt(asks, yes_no("").options, topic="inquire", default="no", unsure="no")) == "yes":
            path = begin_inquiry(self.work, due)
            self.out.print(f"Begun. When the round is done: troubleshoot resume {path}", soft_wrap=True)

    def _put_right(self, asks: str) -> None:
        """Go through what is still undone; each that has been put right is saved so."""
        from troubleshoot.screen.sheets import undone_lines

        for state in self._undone():
            for part in undone_lines(self.work.rulebook, [state]):
                self.out.print(part)
            if self.who.ask(yes_no(asks, f"undone {state.set_up}@{state.place}")) == "yes":
                self.work.keep(_set_up(state, "left"))


def _set_up(state: State, how: str) -> dict[str, Any]:
    return {"set-up": state.set_up, "at": state.place, "state": how}


def _from_file(work: Round, script: str, as_json: bool) -> int:
    """Keep the readings of a file, all or none, and judge them."""
    from troubleshoot.rounds.telling import judged_data, judged_text

    document = read(script)
    events = _events(work, document)
    held = work.keep(*events)
    history = work.history()
    numbers = range(held - len(events) + 1, held + 1)
    judged = [judge(history, t) for t in sorted(history.taken, key=lambda t: t.number) if t.number in numbers]
    if as_json:
        print_json({"file": str(work.path), "kept": len(events), "readings": [judged_data(j) for j in judged]})
        return 0
    for one in judged:
        name = one.taken.check.rsplit("/", 1)[-1]
        click.echo(screen.printable(f"{name} at {one.taken.place}: {one.taken.reading.said}: {judged_text(one)}"))
    click.echo(f"Kept {screen.counted(len(events), 'reading')} in {work.path}", err=True)
    return 0


def _events(work: Round, document: Document) -> list[dict[str, Any]]:
    """The readings of a file as events. Raises Problems with every line that is wrong."""
    data = document.data
    head = data if isinstance(data, dict) else {}
    listed = head.get("readings") if head else data
    if not isinstance(listed, list) or not all(isinstance(e, dict) for e in listed):
        text = "is no list of readings; write lines such as - {check: NAME, at: PLACE, reading: 9.8M}"
        raise Problems((document.problem(("readings",), text),))
    trail: tuple[str | int, ...] = ("readings",) if head else ()
    problems, events = list[Problem](), list[dict[str, Any]]()
    for key in [k for k in head if k not in (*_KNOWN, "readings")]:
        problems.append(document.problem((key, "@key"), f"{key!r} is not known here; allowed: {', '.join(_KNOWN)}"))
    meter = last_meter(work.history())
    for i, entry in enumerate(listed):
        try:
            events.append(_event(work, {"meter": meter, **{k: head[k] for k in _KNOWN if k in head}, **entry}))
        except Unreadable as error:
            problems.append(document.problem((*trail, i), f"reading {i + 1}: {error}"))
    if problems:
        raise Problems(problems)
    return events


def _event(work: Round, said: Mapping[str, Any]) -> dict[str, Any]:
    """One entry of a file as an event. Raises Unreadable."""
    unknown = [k for k in said if k not in (*_KNOWN, "check", "at", "reading")]
    missing = [k for k in ("check", "at", "reading") if said.get(k) is None]
    if unknown or missing:
        told = [f"{k!r} is not known" for k in unknown] + [f"{k!r} is missing" for k in missing]
        raise Unreadable("; ".join(told))
    place = str(said["at"])
    for _, text in unknown_places(work.layout, [place]):
        raise Unreadable(text)
    texts = {k: None if said.get(k) is None else str(said[k]) for k in _KNOWN}
    check = find_check(work.rulebook, str(said["check"]))
    return event_of(
        check, place, str(said["reading"]), texts["date"], texts["meter"], texts["temperature"], texts["humidity"]
    )

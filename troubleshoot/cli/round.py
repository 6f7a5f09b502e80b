"""What every command of a round needs: the layout, the rules, its history, and telling what a reading is worth.

A history of readings lies beside its layout record, or in the folder of cases for the bundled layouts.
"""

import functools
import json
import re
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import click

from troubleshoot import screen
from troubleshoot.cli.session import BUNDLED, cases_folder, open_layout, open_rules, remembered, start
from troubleshoot.layout import Layout
from troubleshoot.quantities import Unreadable
from troubleshoot.rounds import DueCheck, History, Taken, due_checks, judge
from troubleshoot.rounds.history import day_of, find_check, keep, read
from troubleshoot.rulebook import Check, Rulebook


class Round:
    """What every command of a round needs: the layout, the rules, and where its history lies."""

    def __init__(self, layout: str | None, packs: tuple[str, ...], history: str | None, cases: str | None) -> None:
        self.said, self.packs = layout, packs
        self.cases = cases_folder(cases)
        self.rulebook: Rulebook = open_rules(packs)
        self.layout: Layout = open_layout(layout)
        self.path = Path(history) if history else history_path(layout, self.cases)
        self.given = history

    def history(self) -> History:
        """Everything read so far; readings of checks that these rules do not know are told."""
        found = read(self.path, self.layout, self.rulebook)
        if found.strange:
            names = ", ".join(found.strange)
            click.echo(f"{self.path}: these rules do not know {names}; kept, not judged", err=True)
        return found

    def keep(self, *events: dict[str, Any]) -> int:
        """Save events before anything else happens."""
        layout = remembered(self.said, self.path.parent)
        return keep(self.path, layout or "none", self.layout.name, self.rulebook, *events)

    def reading(self, number: int) -> Taken:
        """A reading just kept, by the number of its event."""
        return next(t for t in self.history().taken if t.number == number)

    @property
    def options(self) -> str:
        """The options that lead to the same history, for commands that are shown."""
        parts = [f" --layout {self.said}" if self.said else "", f" --history {self.given}" if self.given else ""]
        return "".join(parts)


def history_path(layout: str | None, cases: Path) -> Path:
    """Where the readings of a layout are kept: beside its record, or in the folder of cases for a bundled one."""
    if layout is None or layout == "none" or layout in BUNDLED:
        return cases / "rounds" / f"{layout or 'none'}.yaml"
    path = Path(layout)
    return path.with_name(f"{re.sub(r'[.]ya?ml$', '', path.name)}.readings.yaml")


def of_round(command: Callable[..., int]) -> Any:
    """Give a command the options of every round, and the round they lead to as its first argument."""

    @functools.wraps(command)
    def with_round(
        layout: str | None, packs: tuple[str, ...], history: str | None, cases: str | None, **rest: Any
    ) -> int:
        return command(Round(layout, packs, history, cases), **rest)

    wrapped: Any = with_round
    for option in (
        click.option("--cases", help="Folder of case files."),
        click.option("--history", help="File of readings, if not beside the layout record."),
        click.option("--pack", "packs", multiple=True, help="A further pack folder; may be given again."),
        click.option("--layout", help="Layout record: a file, or club, home (bundled), or none."),
    ):
        wrapped = option(wrapped)
    return wrapped


json_option = click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
width_option = click.option("--width", type=int, help="Columns of the screen.")
on_option = click.option("--on", help="As it stands on this date, such as 2026-03-14; today if not given.")


def print_json(data: Any) -> None:
    """A result for scripts, on standard output."""
    click.echo(json.dumps(data, indent=2, ensure_ascii=False))


def date_of(said: str | None) -> date:
    """A date typed, or today."""
    try:
        return day_of(said) if said else date.today()
    except Unreadable as error:
        raise click.UsageError(str(error)) from error


def check_of(rulebook: Rulebook, said: str) -> Check:
    """A reading typed by name."""
    try:
        return find_check(rulebook, said)
    except Unreadable as error:
        raise click.UsageError(str(error)) from error


def last_meter(history: History) -> str | None:
    """The meter of the reading kept last."""
    return max(history.taken, key=lambda t: t.number).meter if history.taken else None


def told_reading(work: Round, taken: Taken, as_json: bool, width: int | None) -> None:
    """Show what a reading is worth, and the inquiry it calls for."""
    from troubleshoot.rounds.telling import judged_data, reading_text
    from troubleshoot.screen.trends import judged_lines

    history = work.history()
    judged = judge(history, taken)
    due = pressing(history, taken)
    if as_json:
        print_json({"file": str(work.path), **judged_data(judged), "due": due_data(due) if due else None})
        return
    out = screen.console(width=width)
    meter = f", with {taken.meter}" if taken.meter else ""
    out.print(screen.line("kept", f"{reading_text(judged)} at {taken.place} on {taken.day.isoformat()}{meter}"))
    for part in judged_lines(judged):
        out.print(part)
    if due is not None and due.offer is not None:
        from troubleshoot.screen.trends import due_screen

        out.print(due_screen([due], taken.day, work.options))


def pressing(history: History, taken: Taken) -> DueCheck | None:
    """What is due of the check just read, beyond its turn."""
    found = due_checks(history, max(taken.day, history.taken[-1].day))
    return next((d for d in found if (d.check, d.place) == (taken.check, taken.place) and d.state != "overdue"), None)


def due_data(due: DueCheck) -> dict[str, Any]:
    """What is due as plain data."""
    offer = None if due.offer is None else dict(due.offer.__dict__)
    return {**due.__dict__, "set_ups": list(due.set_ups), "offer": offer}


def begin_inquiry(work: Round, due: DueCheck) -> Path:
    """A case with the symptom that a drifting reading belongs to, and the reading as its first answer; its file."""
    offer = due.offer
    assert offer is not None, "only what is offered is begun"
    symptom = {"symptom": offer.symptom, "about": offer.about}
    session = start(work.said, work.packs, work.cases, symptom, work.rulebook, work.layout)
    session.add(
        {"note": f"From a check round: {due.why}"},
        {"answer": offer.check, "at": offer.place, "reading": offer.reading, "how": "typed"},
    )
    return session.case.path

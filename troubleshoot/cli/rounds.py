"""Check rounds: plan one, keep readings, see where they go, what is due, and begin an inquiry about what drifts.

What is typed is judged before it is saved. Taking a whole round is left to `taking`, what all share to `round`.
"""

from pathlib import Path
from typing import Any

import click

from troubleshoot import screen
from troubleshoot.casebook import NotSaved
from troubleshoot.cli.round import (
    Round,
    begin_inquiry,
    check_of,
    date_of,
    due_data,
    json_option,
    last_meter,
    of_round,
    on_option,
    print_json,
    told_reading,
    width_option,
)
from troubleshoot.cli.session import check_places
from troubleshoot.cli.taking import take_command
from troubleshoot.documents import Problem
from troubleshoot.quantities import Unreadable
from troubleshoot.rounds import due_checks, trends
from troubleshoot.rounds.history import event_of, take_back


@click.group("round")
def round_command() -> None:
    """Check rounds: readings of the healthy layout, kept over time, so that what drifts is seen before it fails."""


@round_command.command("plan")
@click.option("--readings", type=click.IntRange(1, 200), default=20, show_default=True, help="How many readings.")
@click.option("--minutes", type=click.FloatRange(1), help="Only what fits into so many minutes, by worth per minute.")
@json_option
@width_option
@of_round
def plan_command(work: Round, readings: int, minutes: float | None, as_json: bool, width: int | None) -> int:
    """The sheet of a round: which readings are worth having, in walking order, with power switched once."""
    from troubleshoot.rounds.choosing import choose
    from troubleshoot.rounds.planning import sheet_of
    from troubleshoot.rounds.telling import sheet_data

    choice = choose(work.layout, work.rulebook, readings, minutes)
    sheet = sheet_of(work.layout, work.rulebook, choice)
    if as_json:
        print_json({"layout": work.layout.name, **sheet_data(work.rulebook, sheet)})
        return 0
    from troubleshoot.screen.sheets import sheet_screen

    screen.console(width=width).print(sheet_screen(work.rulebook, sheet, f"Check round, {work.layout.name}"))
    click.echo(f"Take it with: troubleshoot round take{work.options}", err=True)
    if choice.without:
        names = ", ".join(p.name for p in choice.without[:8])
        click.echo(f"Too few readings for everything; none goes by: {names}", err=True)
    return 0


@round_command.command("note")
@click.argument("check")
@click.argument("place")
@click.argument("reading")
@click.option("--date", "day", help="When it was taken, such as 2026-03-14; now if not given.")
@click.option("--meter", help="Name of the meter; the one used last if not given.")
@click.option("--temperature", help="Temperature of the room, such as 19 C.")
@click.option("--humidity", help="Humidity of the room, such as 48 %.")
@json_option
@width_option
@of_round
def note_command(
    work: Round,
    check: str,
    place: str,
    reading: str,
    day: str | None,
    meter: str | None,
    temperature: str | None,
    humidity: str | None,
    as_json: bool,
    width: int | None,
) -> int:
    """Keep one reading, and judge it by its limits and by its past."""
    entry = check_of(work.rulebook, check)
    check_places(work.layout, [place])
    where = work.layout.place(place).name if work.layout.known else place
    try:
        event = event_of(entry, where, reading, day, meter or last_meter(work.history()), temperature, humidity)
    except Unreadable as error:
        raise click.UsageError(f"{error}" + (f" {error.ask}" if error.ask else "")) from error
    taken = work.reading(work.keep(event))
    told_reading(work, taken, as_json, width)
    return 0


@round_command.command("back")
@click.argument("number", type=int, required=False)
@json_option
@of_round
def back_command(work: Round, number: int | None, as_json: bool) -> int:
    """Take a reading back: the last one, or the one of an event NUMBER. The file keeps both."""
    said = take_back(work.path, number)
    if said is None:
        raise click.UsageError(f"{work.path} has no such reading to take back")
    if as_json:
        print_json({"file": str(work.path), "taken-back": dict(said)})
    else:
        click.echo(f"Taken back: {said.get('reading')} at {said.get('at')}")
    return 0


@round_command.command("trends")
@click.option("--place", help="One place, drawn in full.")
@click.option("--check", help="One check only.")
@click.option("--svg", type=click.Path(), help="Write all as one picture into this file.")
@on_option
@json_option
@width_option
@of_round
def trends_command(
    work: Round,
    place: str | None,
    check: str | None,
    svg: str | None,
    on: str | None,
    as_json: bool,
    width: int | None,
) -> int:
    """Where each reading is going, how sure that is, and when it will reach a limit."""
    from troubleshoot.rounds.panels import panels
    from troubleshoot.rounds.telling import trend_data
    from troubleshoot.rounds.trend import STATES

    today = date_of(on)
    history = work.history().until(today)
    name = check_of(work.rulebook, check).name if check else None
    if place and place not in {t.place for t in history.taken}:
        check_places(work.layout, [place])
    found = [t for t in trends(history, today) if place in (None, t.place.name) and name in (None, t.check.name)]
    found.sort(key=lambda t: -STATES.index(t.state))
    drawn = panels(history, found)
    if svg:
        _write_picture(Path(svg), drawn, f"Readings of {work.layout.name}, {today.isoformat()}")
    if as_json:
        print_json({"on": today.isoformat(), "trends": [trend_data(t) for t in found]})
        return 0
    from troubleshoot.screen.trends import plot, trends_screen

    out = screen.console(width=width)
    if place:
        for trend, panel in zip(found, drawn, strict=True):
            out.print(plot(panel, trend, out.width))
    if not place or not found:
        out.print(trends_screen(found, drawn, today))
    return 0


def _write_picture(path: Path, drawn: Any, title: str) -> None:
    from troubleshoot.sketch.trends import draw

    try:
        path.write_text(draw(drawn, title), encoding="utf-8")
    except OSError as error:
        why = f"not written: {(error.strerror or 'it cannot be').lower()}; name another file with --svg"
        raise NotSaved((Problem(str(path), 0, 0, why),)) from error
    click.echo(f"Drawn: {path}", err=True)


@round_command.command("due")
@click.option("--every", type=click.IntRange(1), default=91, show_default=True, help="Days that a reading holds.")
@on_option
@json_option
@width_option
@of_round
def due_command(work: Round, every: int, on: str | None, as_json: bool, width: int | None) -> int:
    """What to read next: overdue, drifting, unlike its past or beyond a limit; the most pressing first."""
    from troubleshoot.screen.trends import due_screen

    today = date_of(on)
    due = due_checks(work.history(), today, every)
    if as_json:
        print_json({"on": today.isoformat(), "due": [due_data(d) for d in due]})
    else:
        screen.console(width=width).print(due_screen(due, today, work.options))
    return 0


@round_command.command("inquire")
@click.argument("check")
@click.argument("place")
@on_option
@json_option
@of_round
def inquire_command(work: Round, check: str, place: str, on: str | None, as_json: bool) -> int:
    """Begin an inquiry about a reading that drifts, with the reading as its first answer."""
    name, today = check_of(work.rulebook, check).name, date_of(on)
    history = work.history().until(today)
    if not any((t.check, t.place) == (name, place) for t in history.taken):
        raise click.UsageError(f"{work.path} has no reading of {check} at {place!r}; see: troubleshoot round trends")
    due = next((d for d in due_checks(history, today) if (d.check, d.place) == (name, place)), None)
    if due is None or due.offer is None:
        raise click.ClickException(f"{check} at {place} is steady; there is nothing to inquire about")
    path = begin_inquiry(work, due)
    if as_json:
        print_json({"case": str(path), "offer": due_data(due)["offer"]})
    else:
        click.echo(f"Begun: {path}. Go on with: troubleshoot resume {path}")
    return 0


round_command.add_command(take_command)

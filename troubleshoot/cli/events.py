"""The commands that add to a case, one event a call: answers, set-ups, mends, proofs, notes; then the next step.

Everything typed is judged before it is saved. What follows from it is shown by `stepwise`.
"""

from typing import Any

import click

from troubleshoot import casebook, screen
from troubleshoot.cli.asking import follow, only_powered, set_ups
from troubleshoot.cli.closing import minutes_spent, time_spent
from troubleshoot.cli.guided import spell
from troubleshoot.cli.session import Session, check_places
from troubleshoot.cli.stepwise import at_option, case_session, json_option, print_json, tell, width_option
from troubleshoot.deduction import prepare
from troubleshoot.diagnosis import CheckStep, in_force_at, named, set_up_places, spoken_by
from troubleshoot.documents import nearest
from troubleshoot.inquiry import about as subject_of
from troubleshoot.quantities import Unreadable, read_reading
from troubleshoot.rulebook import Check, short


def _name(session: Session, section: str, said: str) -> str:
    """A qualified name of a check, remedy or set-up; the nearest one is told if there is none."""
    table: dict[str, Any] = dict(getattr(session.rulebook, section))
    for asked in (said, *(f"{p.name}/{said}" for p in session.rulebook.packs)):
        full = session.rulebook.former.get(asked, asked)
        if full in table:
            return full
    what = {"checks": "check", "remedies": "remedy", "set_ups": "set-up"}[section]
    hint = nearest(said, [n.split("/")[1] for n in table])
    raise click.UsageError(f"{said!r} is no known {what}" + (f"; did you mean {hint!r}?" if hint else ""))


@click.command("answer")
@click.argument("case")
@click.argument("check")
@click.argument("said")
@at_option
@click.option("--how", type=click.Choice(["typed", "seen", "remembered", "thought"]), help="How it was come by.")
@json_option
@width_option
def answer_command(
    case: str, check: str, said: str, at: str | None, how: str | None, as_json: bool, width: int | None
) -> int:
    """Answer a check: an outcome, a reading, or not-sure, cant-do, already-tried."""
    session = case_session(case, writes=True)
    entry = session.rulebook.checks[_name(session, "checks", check)]
    check_places(session.layout, [at] if at else [])
    place = at or _place(session, entry)
    event: dict[str, Any] = {"answer": entry.name, "at": place}
    if said in ("not-sure", "cant-do", "already-tried"):
        session.add(event | {"aside": said})
        return tell(session, as_json, width)
    if said in entry.outcomes:
        event |= {"outcome": said, "how": how or "seen"}
    elif entry.unit:
        _readable(said, entry.unit)
        event |= {"reading": said, "how": how or "typed", "shown": {"by": spoken_by(entry)}}
    else:
        hint = nearest(said, entry.outcomes)
        also = f"; did you mean {hint!r}?" if hint else ""
        raise click.UsageError(f"{said!r} is no answer to {check}; it has {', '.join(entry.outcomes)}{also}")
    spot = named(session.layout, place, subject_of(session.layout, session.inquiry, session.rulebook))
    force = in_force_at(session.layout, session.rulebook, session.inquiry, entry.set_up, spot)
    ready = prepare(session.rulebook, entry, force)
    at_each = set_up_places(session.layout, session.rulebook, ready.enter, spot)
    session.add(*set_ups(session, ready, at_each), event)
    return tell(session, as_json, width)


def _readable(said: str, unit: str) -> None:
    try:
        read_reading(said, unit)
    except Unreadable as error:
        raise click.UsageError(f"{error}" + (f" {error.ask}" if error.ask else "")) from error


def _place(session: Session, entry: Check) -> str:
    """The place that is asked about next with this check, else the first that its relation gives."""
    step = session.diagnosis().step
    if isinstance(step, CheckStep) and step.check is entry:
        return step.place.name
    subject = subject_of(session.layout, session.inquiry, session.rulebook)
    places = session.layout.related(entry.relation, subject)
    return places[0].name if places else subject.name


@click.command("set-up")
@click.argument("case")
@click.argument("set_up")
@click.argument("state", type=click.Choice(["entered", "left"]))
@at_option
@json_option
@width_option
def set_up_command(case: str, set_up: str, state: str, at: str | None, as_json: bool, width: int | None) -> int:
    """Say that a state of the layout was entered or left, such as power-off."""
    session = case_session(case, writes=True)
    name = _name(session, "set_ups", set_up)
    check_places(session.layout, [at] if at else [])
    force = [(c.set_up, c.place) for c in session.inquiry.in_force]
    places = [p for s, p in force if s == name]
    if state == "left" and (not places or (at and at not in places)):
        names = ", ".join(f"{short(s)} at {p}" for s, p in force) or "nothing"
        raise click.UsageError(f"{short(name)} is not in force{f' at {at}' if at else ''}; still undone is: {names}")
    place = at or (places[0] if places else None) or session.diagnosis().subject.name
    session.add({"set-up": name, "at": place, "state": state})
    return tell(session, as_json, width)


@click.command("mend")
@click.argument("case")
@click.argument("remedy")
@click.option("--result", type=click.Choice(["fixed", "partly", "not-fixed"]), required=True, help="What came of it.")
@at_option
@json_option
@width_option
def mend_command(case: str, remedy: str, result: str, at: str | None, as_json: bool, width: int | None) -> int:
    """Say that a remedy was carried out, and what came of it."""
    session = case_session(case, writes=True)
    name = _name(session, "remedies", remedy)
    check_places(session.layout, [at] if at else [])
    session.add({"remedy": name, "at": at or _remedy_place(session, name), "result": result})
    return tell(session, as_json, width)


def _remedy_place(session: Session, remedy: str) -> str | None:
    """The likeliest place of what a remedy mends."""
    mends = session.rulebook.remedies[remedy].mends
    for line in session.diagnosis().ranking:
        if line.cause in mends and line.places:
            return line.places[0][0]
    return None


@click.command("proof")
@click.argument("case")
@click.argument("remedy")
@click.argument("outcome", type=click.Choice(["passed", "failed"]))
@click.option("--quiet", help="How long it has been quiet since, such as 2 h.")
@json_option
@width_option
def proof_command(case: str, remedy: str, outcome: str, quiet: str | None, as_json: bool, width: int | None) -> int:
    """Say how the proof of a remedy went."""
    session = case_session(case, writes=True)
    name = _name(session, "remedies", remedy)
    done = [m for _, m in session.inquiry.mends if m.remedy == name]
    if not done:
        raise click.UsageError(f"{remedy} has not been carried out here; say so first with: troubleshoot mend {case}")
    event: dict[str, Any] = {"proof": name, "at": done[-1].place, "outcome": outcome}
    session.add(event | ({"quiet": spell(quiet)} if quiet else {}))
    return tell(session, as_json, width)


@click.command("back")
@click.argument("case")
@json_option
@width_option
def back_command(case: str, as_json: bool, width: int | None) -> int:
    """Take the last event back. What has been lifted or switched off stays so."""
    session = case_session(case)
    if casebook.take_back(session.case) is None:
        click.echo("There is nothing to take back but the symptom itself.", err=True)
    return tell(session, as_json, width)


@click.command("follow")
@click.argument("case")
@json_option
@width_option
def follow_command(case: str, as_json: bool, width: int | None) -> int:
    """Follow a chain: go on where the likeliest cause goes on elsewhere, with every answer kept."""
    session = case_session(case, writes=True)
    if not follow(session, session.diagnosis()):
        raise click.ClickException("there is no chain to follow: the likeliest cause does not go on elsewhere")
    return tell(session, as_json, width)


@click.command("note")
@click.argument("case")
@click.argument("text")
@json_option
def note_command(case: str, text: str, as_json: bool) -> int:
    """Put a note into a case."""
    session = case_session(case)
    session.add({"note": text})
    if as_json:
        print_json({"case": str(session.case.path), "note": text, "event": len(session.case.events)})
    return 0


@click.command("close")
@click.argument("case")
@json_option
def close_command(case: str, as_json: bool) -> int:
    """Close a case whose remedy has been proven; refused while something is still undone."""
    session = case_session(case)
    made, file = session.diagnosis(), session.case.path
    if session.case.closed:
        raise click.ClickException(f"{file} is closed already")
    if made.state != "proven":
        why = "only a passed proof, quiet for long enough, closes a case"
        raise click.ClickException(f"{file} cannot be closed: it is {made.state}; {why}")
    undone = [c for c in made.in_force if not only_powered(session, c)]
    if undone:
        names = ", ".join(f"{screen.label(c.set_up)} at {c.place}" for c in undone)
        raise click.ClickException(
            f"{file} cannot be closed while this is still undone: {names}; see: troubleshoot set-up --help"
        )
    session.close()
    if as_json:
        took = {"minutes": round(minutes_spent(session), 1)}
        print_json({"case": str(file), "closed": True, "remedy": session.case.events[-1]["remedy-was"], **took})
    else:
        click.echo(f"Closed: {file}")
        click.echo(f"Time: {time_spent(session)}")
    return 0

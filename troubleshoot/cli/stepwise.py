"""The inquiry in separate commands, for scripts and for a phone over a shell: one event a call, then the next step."""

import json
from collections.abc import Sequence
from typing import Any

import click

from troubleshoot import casebook, screen
from troubleshoot.cli.guided import case_path, check_places, shared
from troubleshoot.cli.session import Session, cases_folder, find_symptom, open_rules, resume, start
from troubleshoot.diagnosis import CheckStep, as_data
from troubleshoot.documents import Problem, Problems, nearest
from troubleshoot.inquiry import about as subject_of
from troubleshoot.quantities import Unreadable, read_reading
from troubleshoot.rulebook import Check

json_option = click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
width_option = click.option("--width", type=int, help="Columns of the screen.")
at_option = click.option("--at", help="The place it was made at.")


def _refuse(where: str, text: str) -> Problems:
    return Problems((Problem(where, 0, 0, text),))


def _name(session: Session, section: str, said: str) -> str:
    """A qualified name of a check, remedy or set-up; the nearest ones if there is none."""
    table: dict[str, Any] = dict(getattr(session.rulebook, section))
    for full in (said, *(f"{p.name}/{said}" for p in session.rulebook.packs)):
        if full in table:
            return full
    hint = nearest(said, [n.split("/")[1] for n in table])
    raise _refuse(section.rstrip("s"), f"{said!r} is not known" + (f"; did you mean {hint!r}?" if hint else ""))


def _tell(session: Session, as_json: bool, width: int | None = None) -> int:
    """The next step, drawn or as JSON."""
    made = session.diagnosis()
    if as_json:
        data = as_data(session.rulebook, made)
        data["case"], data["closed"] = str(session.case.path), session.case.closed
        click.echo(json.dumps(data, indent=2, ensure_ascii=False))
    else:
        out = screen.console(width=width)
        out.print(screen.overview(session.rulebook, made, f"Case {session.case.name}"))
        out.print(screen.step_screen(session.rulebook, made))
        if isinstance(made.step, CheckStep) and not session.case.closed:
            outcomes = (
                " | ".join(made.step.check.outcomes)
                if not made.step.check.unit
                else f"READING in {made.step.check.unit}"
            )
            call = f"troubleshoot answer {session.case.path} {made.step.check.name}"
            click.echo(f"\nAnswer with: {call} '{outcomes}' --at '{made.step.place.name}'")
    return 3 if made.kind in ("stop", "hand-over") and made.state != "proven" else 0


@click.command("open")
@shared
@click.option("--symptom", required=True, help="The symptom, by name or in plain words.")
@click.option("--about", help="The place that shows it.")
@click.option("--sick", help="All places that show it, with commas between.")
@json_option
@width_option
def open_command(
    layout: str | None, packs: Sequence[str], cases: str | None, symptom: str, about: str | None, sick: str | None,
    as_json: bool, width: int | None,
) -> int:  # fmt: skip
    """Open a case and show its first step."""
    from troubleshoot.cli.session import open_layout

    chosen = find_symptom(open_rules(packs), symptom)
    others = [s.strip() for s in sick.split(",")] if sick else []
    check_places(open_layout(layout), [p for p in (about, *others) if p])
    session = start(layout, packs, cases_folder(cases), chosen, about, others)
    return _tell(session, as_json, width)


@click.command("next")
@click.argument("case")
@json_option
@width_option
def next_command(case: str, as_json: bool, width: int | None) -> int:
    """The step most worth taking now."""
    return _tell(resume(case_path(case)), as_json, width)


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
    session = resume(case_path(case))
    entry = session.rulebook.checks[_name(session, "checks", check)]
    place = at or _place(session, entry)
    if session.layout.known and at:
        check_places(session.layout, [at])
    event: dict[str, Any] = {"answer": entry.name, "at": place}
    if said in ("not-sure", "cant-do", "already-tried"):
        event["aside"] = said
    elif said in entry.outcomes:
        event |= {"outcome": said, "how": how or "seen"}
    elif entry.unit:
        try:
            read_reading(said, entry.unit)
        except Unreadable as error:
            raise _refuse("reading", f"{error}" + (f" {error.ask}" if error.ask else "")) from error
        event |= {"reading": said, "how": how or "typed"}
    else:
        raise _refuse("answer", f"{said!r} is no answer to {check}; it has {', '.join(entry.outcomes)}")
    session.add(*_set_ups(session, entry, place), event)
    return _tell(session, as_json, width)


def _place(session: Session, entry: Check) -> str:
    subject = subject_of(session.layout, session.inquiry, session.rulebook)
    places = session.layout.related(entry.relation, subject)
    return places[0].name if places else subject.name


def _set_ups(session: Session, entry: Check, place: str) -> list[dict[str, Any]]:
    """The set-ups that a check's answer implies."""
    from troubleshoot.deduction import prepare

    force = {c.set_up: c.place for c in session.inquiry.in_force}
    ready = prepare(session.rulebook, entry, frozenset(force))
    left = [{"set-up": s, "at": force[s], "state": "left"} for s in ready.leave]
    return left + [{"set-up": s, "at": place, "state": "entered"} for s in ready.enter]


@click.command("ranking")
@click.argument("case")
@json_option
@width_option
def ranking_command(case: str, as_json: bool, width: int | None) -> int:
    """All suspects, with the evidence for and against each."""
    session = resume(case_path(case))
    made = session.diagnosis()
    if as_json:
        data = as_data(session.rulebook, made)
        click.echo(
            json.dumps(
                {k: data[k] for k in ("ranking", "ruled_out", "trace", "estimate")},
                indent=2,
                ensure_ascii=False,
            )
        )
    else:
        screen.console(width=width).print(screen.full_ranking(made, 30))
    return 0


@click.command("why")
@click.argument("case")
@width_option
def why_command(case: str, width: int | None) -> int:
    """Why the next step is worth its minutes."""
    session = resume(case_path(case))
    made = session.diagnosis()
    out = screen.console(width=width)
    if isinstance(made.step, CheckStep):
        out.print(screen.why_lines(made, made.step))
    else:
        out.print(screen.full_ranking(made, 3))
    return 0


@click.command("card")
@click.argument("case")
@width_option
def card_command(case: str, width: int | None) -> int:
    """The next step on a card, to print and take under the table."""
    session = resume(case_path(case))
    made = session.diagnosis()
    if made.step is None:
        click.echo("There is no step to put on a card.", err=True)
        return 3
    screen.console(width=width or 60, plain=True).print(screen.card(session.rulebook, made.step))
    return 0


@click.command("set-up")
@click.argument("case")
@click.argument("set_up")
@click.argument("state", type=click.Choice(["entered", "left"]))
@at_option
@json_option
@width_option
def set_up_command(case: str, set_up: str, state: str, at: str | None, as_json: bool, width: int | None) -> int:
    """Say that a state of the layout was entered or left, such as power-off."""
    session = resume(case_path(case))
    name = _name(session, "set_ups", set_up)
    place = at or next((c.place for c in session.inquiry.in_force if c.set_up == name), None)
    session.add({"set-up": name, "at": place or session.diagnosis().subject.name, "state": state})
    return _tell(session, as_json, width)


@click.command("mend")
@click.argument("case")
@click.argument("remedy")
@click.option("--result", type=click.Choice(["fixed", "partly", "not-fixed"]), required=True, help="What came of it.")
@at_option
@json_option
@width_option
def mend_command(case: str, remedy: str, result: str, at: str | None, as_json: bool, width: int | None) -> int:
    """Say that a remedy was carried out, and what came of it."""
    session = resume(case_path(case))
    name = _name(session, "remedies", remedy)
    session.add({"remedy": name, "at": at or _remedy_place(session, name), "result": result})
    return _tell(session, as_json, width)


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
    session = resume(case_path(case))
    name = _name(session, "remedies", remedy)
    done = [m for _, m in session.inquiry.mends if m.remedy == name]
    if not done:
        raise _refuse("proof", f"{remedy} has not been carried out in this case; say so first with: troubleshoot mend")
    event: dict[str, Any] = {"proof": name, "at": done[-1].place, "outcome": outcome}
    if quiet:
        try:
            event["quiet"] = casebook.spell(casebook.period(quiet))
        except Unreadable as error:
            raise _refuse("quiet", str(error)) from error
    session.add(event)
    return _tell(session, as_json, width)


@click.command("back")
@click.argument("case")
@json_option
@width_option
def back_command(case: str, as_json: bool, width: int | None) -> int:
    """Take the last event back."""
    session = resume(case_path(case))
    if casebook.take_back(session.case) is None:
        click.echo("There is nothing to take back but the symptom itself.", err=True)
    return _tell(session, as_json, width)


@click.command("note")
@click.argument("case")
@click.argument("text")
def note_command(case: str, text: str) -> int:
    """Put a note into a case."""
    resume(case_path(case)).add({"note": text})
    return 0


@click.command("close")
@click.argument("case")
def close_command(case: str) -> int:
    """Close a case whose remedy has been proven; refused while something is still undone."""
    session = resume(case_path(case))
    made = session.diagnosis()
    if session.case.closed:
        raise _refuse(str(session.case.path), "is closed already")
    if made.state != "proven":
        raise _refuse(
            str(session.case.path),
            f"cannot be closed: it is {made.state}; only a passed proof, quiet for long enough, closes a case",
        )
    if made.in_force:
        names = ", ".join(screen.label(c.set_up) for c in made.in_force)
        raise _refuse(
            str(session.case.path),
            f"cannot be closed while this is still undone: {names}; see: troubleshoot set-up",
        )
    mend = session.inquiry.mends[-1][1]
    session.add(
        {
            "closed": "proven",
            "remedy-was": mend.remedy,
            "causes": list(session.rulebook.remedies[mend.remedy].mends),
        }
    )
    click.echo(f"Closed: {session.case.path}")
    return 0

"""The inquiry in separate commands, for scripts and for a phone over a shell: what stands, and what to do next.

Nothing is changed here but by `open`, which begins a case. What adds to a case is left to `events`.
"""

import json
from collections.abc import Sequence
from typing import Any

import click

from troubleshoot import casebook, screen
from troubleshoot.cli.asking import proof_step, quiet_wanted
from troubleshoot.cli.calling import case_path, short_name
from troubleshoot.cli.guided import ordered, shared, spell, split
from troubleshoot.cli.hunting import lift_first
from troubleshoot.cli.recalling import recall_data, show_recall
from troubleshoot.cli.session import (
    Session,
    cases_folder,
    check_places,
    find_symptom,
    open_layout,
    open_rules,
    resume,
    start,
)
from troubleshoot.diagnosis import CheckStep, Diagnosis, RemedyStep, as_data, goes_when_lifted
from troubleshoot.rulebook import short

NO_CAUSE = 3

json_option = click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
width_option = click.option("--width", type=int, help="Columns of the screen.")
at_option = click.option("--at", help="The place it was made at.")
pack_option = click.option("--pack", "packs", multiple=True, help="A further pack folder; may be given again.")


def case_session(case: str, packs: Sequence[str] = (), writes: bool = False) -> Session:
    """The session of a case; one that is to be written to must not be closed."""
    session = resume(case_path(case), packs)
    if writes and session.case.closed:
        raise click.ClickException(
            f"{session.case.path} is closed; to open it again, take the closing back with: troubleshoot back {case}"
        )
    return session


def print_json(data: Any) -> None:
    """A result for scripts, on standard output."""
    click.echo(json.dumps(data, indent=2, ensure_ascii=False))


def tell(session: Session, as_json: bool, width: int | None = None) -> int:
    """The next step, drawn or as JSON."""
    made = session.diagnosis()
    waiting = proof_step(session, made) if made.state in ("mended", "proven") else None
    if as_json:
        data = as_data(session.rulebook, made)
        data["case"], data["closed"] = str(session.case.path), session.case.closed
        data["proof"] = None
        data["earlier"] = recall_data(session.memory)
        if waiting is not None:
            data["step"], data["kind"] = None, "close" if made.state == "proven" else "proof"
            data["proof"] = {
                "remedy": waiting.remedy.name,
                "at": waiting.place.name,
                "says": screen.proof_text(session.rulebook, waiting),
                "quiet_seconds": quiet_wanted(session, waiting),
            }
        print_json(data)
    else:
        _draw(session, made, waiting, width)
    ended = made.kind in ("stop", "hand-over") and waiting is None
    return NO_CAUSE if ended and not session.case.closed else 0


def _draw(session: Session, made: Diagnosis, waiting: RemedyStep | None, width: int | None) -> None:
    """The screen of the next step, and the command that answers it."""
    out, case = screen.console(width=width), short_name(session.case.path)
    out.print(screen.overview(session.rulebook, made, f"Case {session.case.name}"))
    if session.case.closed:
        how = "found by hand" if session.case.closed_by_hand else "proven mended"
        out.print(screen.heading(f"Closed, {how}", "bold green"))
        return
    if waiting is None:
        out.print(screen.step_screen(session.rulebook, made, circuit=session.by_circuit(made)))
        if made.unplaced:
            out.print(screen.which_lines(session.rulebook, made, goes_when_lifted(session.rulebook, made)))
            click.echo(f"Say which with: troubleshoot locate {case} --found-at NAME (or --found-nowhere)")
        for part in lift_first(session, made, f"from lift to lift with: troubleshoot locate {case}"):
            out.print(part)
    else:
        out.print(screen.heading("Proven; close it" if made.state == "proven" else "Prove it mended", "bold green"))
        out.print(screen.line("proof", screen.proof_text(session.rulebook, waiting)))
    if made.chain and made.state not in ("proven", "mended"):
        click.echo(f"\nTo follow the chain, with every answer kept: troubleshoot follow {case}")
    if made.state == "proven":
        click.echo(f"\nClose it with: troubleshoot close {case}")
    elif waiting is not None:
        quiet = quiet_wanted(session, waiting)
        also = f" --quiet '{casebook.spell(quiet)}'" if quiet else ""
        click.echo(f"\nThen: troubleshoot proof {case} {short(waiting.remedy.name)} 'passed | failed'{also}")
    elif isinstance(made.step, CheckStep):
        check = made.step.check
        outcomes = f"READING in {check.unit}" if check.unit else " | ".join(check.outcomes)
        place = made.step.place.name
        click.echo(f"\nAnswer with: troubleshoot answer {case} {check.name} '{outcomes}' --at '{place}'")
    elif isinstance(made.step, RemedyStep):
        said = f"{made.step.remedy.name} --result 'fixed | partly | not-fixed' --at '{made.step.place.name}'"
        click.echo(f"\nWhen done: troubleshoot mend {case} {said}")
    else:
        out.print(screen.hand_over_lines(made, case))
        if made.repair is not None:
            go_on = f"{made.repair.remedy.name} --result 'fixed | partly | not-fixed' --at '{made.repair.place.name}'"
            click.echo(f"\nTo mend on all the same: troubleshoot mend {case} {go_on}")


@click.command("open")
@shared
@click.option("--symptom", required=True, help="The symptom, by name or in plain words.")
@click.option("--about", help="The place that shows it.")
@click.option("--sick", help="All places that show it, with commas between.")
@click.option("--healthy", help="Places that surely do not show it, with commas between.")
@json_option
@width_option
def open_command(
    layout: str | None, packs: Sequence[str], cases: str | None, quiet: str | None, symptom: str, about: str | None,
    sick: str | None, healthy: str | None, as_json: bool, width: int | None,
) -> int:  # fmt: skip
    """Open a case and show its first step."""
    rulebook, record = open_rules(packs), open_layout(layout)
    others, well = split(sick), split(healthy)
    check_places(record, [p for p in (about, *others, *well) if p])
    first = {"symptom": find_symptom(rulebook, symptom), "about": about, "longest-quiet": spell(quiet)}
    session = start(layout, packs, cases_folder(cases), ordered(first, others, well), rulebook, record)
    if not as_json:
        show_recall(session.memory, rulebook, screen.console(width=width))
    return tell(session, as_json, width)


@click.command("next")
@click.argument("case")
@pack_option
@json_option
@width_option
def next_command(case: str, packs: Sequence[str], as_json: bool, width: int | None) -> int:
    """The step most worth taking now."""
    return tell(case_session(case, packs), as_json, width)


@click.command("ranking")
@click.argument("case")
@json_option
@width_option
def ranking_command(case: str, as_json: bool, width: int | None) -> int:
    """All suspects, with the evidence for and against each."""
    session = case_session(case)
    made = session.diagnosis()
    if as_json:
        data = as_data(session.rulebook, made)
        print_json({k: data[k] for k in ("ranking", "ruled_out", "trace", "estimate")})
    else:
        screen.console(width=width).print(screen.full_ranking(made, 30))
    return 0


@click.command("why")
@click.argument("case")
@json_option
@width_option
def why_command(case: str, as_json: bool, width: int | None) -> int:
    """Why the next step is worth its minutes."""
    session = case_session(case)
    made = session.diagnosis()
    if as_json:
        data = as_data(session.rulebook, made)
        step = data["step"] or {}
        kept = ("check", "remedy", "at", "asks", "minutes", "bits", "chance", "expected_minutes", "separates")
        print_json({"step": {k: step[k] for k in kept if k in step} or None, "ranking": data["ranking"][:3]})
        return 0
    out = screen.console(width=width)
    out.print(screen.why_lines(made, made.step) if isinstance(made.step, CheckStep) else screen.full_ranking(made, 3))
    if worth := session.worth_adding(made):
        out.print(screen.line("missing", worth))
    return 0


@click.command("card")
@click.argument("case")
@json_option
@width_option
def card_command(case: str, as_json: bool, width: int | None) -> int:
    """The next step on a card, to print and take under the table."""
    session = case_session(case)
    made = session.diagnosis()
    if made.step is None:
        click.echo("There is no step to put on a card.", err=True)
        return NO_CAUSE
    if as_json:
        print_json(as_data(session.rulebook, made)["step"])
        return 0
    screen.console(width=width or 60, plain=True).print(screen.card(session.rulebook, made.step))
    return 0

"""The guided inquiry: start, resume, and finding the symptom by plain words."""

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from troubleshoot import casebook, screen
from troubleshoot.cli.choosing import choose_symptom
from troubleshoot.cli.loop import PAUSED, Loop
from troubleshoot.cli.scripts import read_script, scripted
from troubleshoot.cli.session import (
    Session,
    cases_folder,
    check_places,
    find_symptom,
    layout_path,
    open_layout,
    open_rules,
    resume,
    start,
)
from troubleshoot.dialogue import Asker, Paused, Prompt, asker
from troubleshoot.documents import nearest
from troubleshoot.layout import Layout
from troubleshoot.quantities import Unreadable
from troubleshoot.rulebook import Rulebook, short
from troubleshoot.rulebook.search import find

SHARED = [
    click.option("--layout", help="Layout record: a file, or club, home (bundled), or none."),
    click.option("--pack", "packs", multiple=True, help="A further pack folder; may be given again."),
    click.option("--cases", "cases", help="Folder for case files."),
    click.option("--longest-quiet", "quiet", help="The longest quiet spell so far, of a fault that comes and goes."),
]


def shared(command: Any) -> Any:
    """The options that most commands share."""
    for option in reversed(SHARED):
        command = option(command)
    return command


@click.command("start")
@shared
@click.option("--symptom", help="The symptom, by name or in plain words.")
@click.option("--about", help="The place that shows it, by its name in the record.")
@click.option("--sick", help="All places that show it, with commas between.")
@click.option("--answers", "script", type=click.Path(), help="A file of answers: runs the inquiry without a terminal.")
@click.option("--plain", is_flag=True, help="Plain numbered lines instead of arrows.")
@click.option("--width", type=int, help="Columns of the screen.")
@click.option("--json", "as_json", is_flag=True, help="Print the outcome as JSON (with --answers).")
def start_command(
    layout: str | None = None,
    packs: Sequence[str] = (),
    cases: str | None = None,
    symptom: str | None = None,
    about: str | None = None,
    sick: str | None = None,
    script: str | None = None,
    plain: bool = False,
    width: int | None = None,
    as_json: bool = False,
    quiet: str | None = None,
) -> int:
    """Begin a guided inquiry."""
    said = read_script(script) if script else None
    if said and not layout and said.text("layout"):
        layout = _found(said.text("layout"), said.folder)
    rulebook, record = open_rules(packs), open_layout(layout)
    who: Asker = scripted(said, rulebook, record) if said else asker(plain, sys.stdin, sys.stdout)
    out = screen.console(sys.stderr if as_json else sys.stdout, width)
    name, place, others = symptom or "", about, split(sick)
    if said:
        name, place, others = name or said.text("symptom") or "", place or said.text("about"), others or said.sick
        quiet = quiet or said.text("longest-quiet")
    check_places(record, [p for p in (place, *others) if p])
    first: dict[str, Any] = {"longest-quiet": spell(quiet)}
    if said and not name:
        raise click.UsageError("the answers file names no symptom; add one, or say it with --symptom")
    try:
        first["symptom"] = find_symptom(rulebook, name) if name else choose_symptom(rulebook, who, out)
        first["about"] = place or (None if said else choose_place(rulebook, record, first["symptom"], who))
    except Paused:
        click.echo("No symptom was chosen; nothing was begun.", err=True)
        return PAUSED
    session = start(layout, packs, cases_folder(cases), ordered(first, others), rulebook, record)
    return run(session, who, out, as_json)


def _found(said: str | None, beside: Path) -> str | None:
    """A layout named in a file, as a name that holds from anywhere."""
    return said if said in (None, "none", "club", "home") else str(layout_path(str(said), beside))


def split(sick: str | None) -> list[str]:
    """Places with commas between."""
    return [s.strip() for s in sick.split(",") if s.strip()] if sick else []


def spell(quiet: str | None) -> str | None:
    """A period as it is kept in a case. Raises UsageError."""
    try:
        return casebook.spell(casebook.period(quiet)) if quiet else None
    except Unreadable as error:
        raise click.UsageError(str(error)) from error


def ordered(first: dict[str, Any], sick: Sequence[str]) -> dict[str, Any]:
    """The first event of a case, in the order in which it reads best."""
    return {
        "symptom": first["symptom"],
        "about": first.get("about"),
        "sick": list(sick),
        "longest-quiet": first.get("longest-quiet"),
    }


@click.command("resume")
@click.argument("case", type=click.Path())
@click.option("--pack", "packs", multiple=True, help="A further pack folder; may be given again.")
@click.option("--answers", "script", type=click.Path(), help="A file of answers: goes on without a terminal.")
@click.option("--plain", is_flag=True, help="Plain numbered lines instead of arrows.")
@click.option("--width", type=int, help="Columns of the screen.")
@click.option("--json", "as_json", is_flag=True, help="Print the outcome as JSON (with --answers).")
def resume_command(
    case: str, packs: Sequence[str], script: str | None, plain: bool, width: int | None, as_json: bool
) -> int:
    """Take up a saved inquiry where it was left."""
    session = resume(case_path(case), packs)
    if session.case.closed:
        click.echo(f"{session.case.path} is closed; see: troubleshoot show {session.case.path}", err=True)
        return 0
    who: Asker = (
        scripted(read_script(script), session.rulebook, session.layout)
        if script
        else asker(plain, sys.stdin, sys.stdout)
    )
    return run(session, who, screen.console(sys.stderr if as_json else sys.stdout, width), as_json)


@click.command("find")
@click.argument("words", nargs=-1, required=True)
@click.option("--pack", "packs", multiple=True, help="A further pack folder; may be given again.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def find_command(words: Sequence[str], packs: Sequence[str], as_json: bool) -> int:
    """Find the symptom that fits your own words."""
    rulebook = open_rules(packs)
    found = find(rulebook, " ".join(words))
    if as_json:
        lines = [{"symptom": n, "says": rulebook.symptoms[n].says, "score": round(s, 3)} for n, s in found]
        click.echo(json.dumps(lines, indent=2, ensure_ascii=False))
    for name, _ in [] if as_json else found:
        click.echo(f"{short(name):34} {rulebook.symptoms[name].says}")
    if not found:
        click.echo("No symptom fits these words; try others, or: troubleshoot start", err=True)
        return 3
    return 0


def run(session: Session, who: Asker, out: screen.Console, as_json: bool = False) -> int:
    """The loop, with Ctrl-C saving and leaving."""
    from troubleshoot.diagnosis import as_data

    try:
        code = Loop(session, who, out).run()
    except KeyboardInterrupt:
        click.echo(
            f"\nInterrupted; every answer is saved. Go on with: troubleshoot resume {session.case.path}",
            err=True,
        )
        return 130
    if as_json:
        data = as_data(session.rulebook, session.diagnosis())
        data["case"], data["closed"], data["exit"] = str(session.case.path), session.case.closed, code
        click.echo(json.dumps(data, indent=2, ensure_ascii=False))
    return code


def case_path(said: str) -> Path:
    """A case by its file, or by its name in the folder of cases."""
    path = Path(said)
    if path.exists() or path.suffix == ".yaml":
        return path
    return cases_folder() / f"{said}.yaml"


def choose_place(rulebook: Rulebook, layout: Layout, symptom: str, who: Asker) -> str | None:
    """Ask which place shows the symptom; nobody has to know its name."""
    kind = rulebook.symptoms[symptom].about
    known = [p.name for p in layout.places_of(kind)] if layout.known else []
    if kind == "layout" or (not known and layout.known):
        return None
    hint = f" ({known[0]} ... {known[-1]})" if len(known) > 1 else ""
    asks = f"Which {kind}?{hint} Type its name, or - if it has none"
    while True:
        said = who.ask(Prompt(asks, typed=True, topic="about"))
        if said in ("-", "!not-sure"):
            return None
        if said in known or not known:
            return said
        close = nearest(said, known)
        asks = (
            f"The record has no {kind} {said!r}"
            + (f"; did you mean {close}?" if close else "")
            + " Type its name, or -"
        )

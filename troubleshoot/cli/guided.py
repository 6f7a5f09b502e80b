"""The guided inquiry: start, resume, and finding the symptom by plain words."""

import json
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from troubleshoot import casebook, screen
from troubleshoot.cli.calling import case_path, choose_case, go_on
from troubleshoot.cli.choosing import choose_symptom
from troubleshoot.cli.loop import Loop
from troubleshoot.cli.naming import choose_place
from troubleshoot.cli.recalling import open_files, show_recall
from troubleshoot.cli.scripts import read_script, scripted
from troubleshoot.cli.session import (
    Session,
    cases_folder,
    check_places,
    find_symptom,
    layout_path,
    open_layout,
    open_rules,
    remembered,
    resume,
    start,
)
from troubleshoot.cli.stepping import PAUSED
from troubleshoot.dialogue import Asker, Paused, asker, pick
from troubleshoot.documents import Problems
from troubleshoot.quantities import Unreadable
from troubleshoot.rulebook import Rulebook, short
from troubleshoot.rulebook.search import find

UNSAID = 2
"""What `resume` leaves with where no case was named or chosen."""
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
@click.option("--healthy", help="Places that surely do not show it, with commas between.")
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
    healthy: str | None = None,
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
    well = split(healthy) or (said.healthy if said else [])
    check_places(record, [p for p in (place, *others, *well) if p])
    first: dict[str, Any] = {"longest-quiet": spell(quiet)}
    if said and not name:
        raise click.UsageError("the answers file names no symptom; add one, or say it with --symptom")
    folder, words = cases_folder(cases), list[str]()
    try:
        first["symptom"], words = (find_symptom(rulebook, name), []) if name else choose_symptom(rulebook, who, out)
        first["about"] = place or (None if said else choose_place(rulebook, record, first["symptom"], who, words, out))
        begun = None if said else open_already(folder, first, remembered(layout, folder), rulebook)
        again = begun is not None and _goes_on(begun, rulebook, who)
    except Paused:
        click.echo("No symptom was chosen; nothing was begun.", err=True)
        return PAUSED
    if begun is not None and again:
        return run(resume(begun.path, packs), who, out, as_json)
    session = start(layout, packs, folder, ordered(first, others, well), rulebook, record)
    show_recall(session.memory, rulebook, out)
    return run(session, who, out, as_json)


def open_already(
    folder: Path, first: Mapping[str, Any], layout: str | None, rulebook: Rulebook
) -> casebook.Case | None:
    """The newest open case about the same place of the same layout, or, without a place, about the same symptom."""
    for path in open_files(folder, first):
        try:
            case = casebook.read(path)
            complaint = casebook.inquiry(case, rulebook).complaint
        except Problems:
            continue  # a file that cannot be read is told by `troubleshoot cases`, and keeps nobody from beginning
        if case.closed or complaint is None or case.layout != layout:
            continue
        if complaint.about == first.get("about") and (complaint.about or complaint.symptom == first["symptom"]):
            return case
    return None


def _goes_on(case: casebook.Case, rulebook: Rulebook, who: Asker) -> bool:
    """Whether to go on with an open case instead of beginning a new one."""
    complaint = casebook.inquiry(case, rulebook).complaint
    symptom = rulebook.symptoms.get(complaint.symptom) if complaint else None
    what = f": {symptom.says}" if symptom else ""
    asks = f"The case {case.name} is still open here{what}. Go on with it?"
    options = [("go-on", "Go on with it; nothing is asked twice"), ("new", "Begin a new case; that one stays open")]
    return who.ask(pick(asks, options, "open-case", unsure="go-on")) == "go-on"


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


def ordered(first: dict[str, Any], sick: Sequence[str], healthy: Sequence[str] = ()) -> dict[str, Any]:
    """The first event of a case, in the order in which it reads best."""
    return {
        "symptom": first["symptom"],
        "about": first.get("about"),
        "sick": list(sick),
        "healthy": list(healthy),
        "longest-quiet": first.get("longest-quiet"),
    }


@click.command("resume")
@click.argument("case", required=False)
@click.option("--pack", "packs", multiple=True, help="A further pack folder; may be given again.")
@click.option("--answers", "script", type=click.Path(), help="A file of answers: goes on without a terminal.")
@click.option("--plain", is_flag=True, help="Plain numbered lines instead of arrows.")
@click.option("--width", type=int, help="Columns of the screen.")
@click.option("--json", "as_json", is_flag=True, help="Print the outcome as JSON (with --answers).")
def resume_command(
    case: str | None, packs: Sequence[str], script: str | None, plain: bool, width: int | None, as_json: bool
) -> int:
    """Take up a saved inquiry where it was left.

    CASE is a file, a name, or a part of a name; without it the open cases are offered.
    """
    path = case_path(case) if case else choose_case(plain)
    if path is None:
        return UNSAID
    session = resume(path, packs)
    if session.case.closed:
        click.echo(go_on(f"{session.case.name} is closed; see:", path, "show"), err=True)
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
            go_on("\nInterrupted; every answer is saved. Go on with:", session.case.path),
            err=True,
        )
        return 130
    if as_json:
        data = as_data(session.rulebook, session.diagnosis())
        data["case"], data["closed"], data["exit"] = str(session.case.path), session.case.closed, code
        click.echo(json.dumps(data, indent=2, ensure_ascii=False))
    return code

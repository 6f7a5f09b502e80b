"""The shelf of cases: list them, show one."""

import json
from pathlib import Path
from typing import Any

import click

from troubleshoot import casebook, screen
from troubleshoot.cli.guided import case_path
from troubleshoot.cli.session import cases_folder, resume
from troubleshoot.diagnosis import as_data
from troubleshoot.rulebook import rules_folder


def demo_folder() -> Path:
    """Where the bundled demo cases are: beside the bundled rules."""
    return rules_folder().parent / "cases"


@click.command("cases")
@click.option("--cases", "folder", help="Folder of case files.")
@click.option("--demo", is_flag=True, help="List the bundled demo cases instead.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def cases_command(folder: str | None, demo: bool, as_json: bool) -> int:
    """List cases, newest first. A file that cannot be read never hides the others."""
    where = demo_folder() if demo else cases_folder(folder)
    cases, problems = casebook.cases_in(where)
    lines: list[dict[str, Any]] = []
    for case in cases:
        first = next((e for _, e in case.standing()), {})
        lines.append(
            {
                "case": case.name,
                "file": str(case.path),
                "since": str(first.get("when", "")),
                "symptom": str(first.get("symptom", "")),
                "about": first.get("about"),
                "state": "closed" if case.closed else "open",
                "events": len(case.events),
            }
        )
    if as_json:
        click.echo(json.dumps({"cases": lines, "problems": [str(p) for p in problems]}, indent=2, ensure_ascii=False))
    else:
        for entry in lines:
            name = str(entry["symptom"]).split("/")[-1]
            row = f"{entry['state']:7} {entry['since'][:16]:17} {entry['case']:36} {name} {entry['about'] or ''}"
            click.echo(screen.printable(row))
        if not lines:
            click.echo(f"No cases in {where}.", err=True)
    for problem in problems:
        click.echo(str(problem), err=True)
    return 4 if problems else 0


@click.command("show")
@click.argument("case")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
@click.option("--width", type=int, help="Columns of the screen.")
def show_command(case: str, as_json: bool, width: int | None) -> int:
    """Show a case: what was seen, done and read, and what follows."""
    path, demo = case_path(case), demo_folder() / f"{case}.yaml"
    session = resume(demo if demo.is_file() and not path.exists() else path)
    made = session.diagnosis()
    if as_json:
        data = as_data(session.rulebook, made)
        data["events"] = session.case.events
        click.echo(json.dumps(data, indent=2, ensure_ascii=False))
        return 0
    out = screen.console(width=width)
    out.print(screen.heading(f"Case {session.case.name}" + (", closed" if session.case.closed else "")))
    for number, event in session.case.standing():
        words = ", ".join(f"{k} {v}" for k, v in event.items() if k not in ("when", "shown"))
        out.print(screen.line(f"{number}", f"{str(event.get('when', ''))[:16]}  {words}"))
    out.print(screen.full_ranking(made, 3))
    return 0

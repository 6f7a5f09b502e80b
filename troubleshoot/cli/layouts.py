"""Commands for layout records: make a first one, check one, ask what a check should read on it."""

import json
import sys
from pathlib import Path
from typing import Any

import click

from troubleshoot.cli.session import open_layout, open_rules
from troubleshoot.dialogue import Prompt, asker
from troubleshoot.documents import Problem, Problems, write
from troubleshoot.inquiry import edges
from troubleshoot.layout import FIRST_QUESTIONS, record_from
from troubleshoot.quantities import show


@click.group("layout")
def layout_command() -> None:
    """The layout record: make a first one, check it, ask what should be read."""


@layout_command.command("new")
@click.argument("file", type=click.Path())
@click.option("--plain", is_flag=True, help="Plain lines instead of arrows.")
def new_command(file: str, plain: bool) -> int:
    """Make a first record by asking a dozen questions; Enter takes what is offered."""
    path = Path(file)
    if path.exists():
        raise Problems((Problem(file, 0, 0, "is there already; name another file, or edit it"),))
    who = asker(plain, sys.stdin, sys.stdout)
    answers: dict[str, Any] = {}
    for key, text, default, _kind in FIRST_QUESTIONS:
        said = who.ask(Prompt(f"{text} [{default}]", typed=True, default=str(default), topic=key))
        answers[key] = said
    write(path, record_from(answers))
    open_layout(file)
    click.echo(f"Made {file}. Add to it in any editor, and check it with: troubleshoot layout check {file}", err=True)
    return 0


@layout_command.command("check")
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def check_command(file: str, as_json: bool) -> int:
    """Check a record: every contradiction at once, with its line and its likely repair."""
    try:
        layout = open_layout(file)
    except Problems as found:
        if as_json:
            lines = [{"file": p.file, "line": p.line, "text": p.text} for p in found.problems]
            click.echo(json.dumps({"problems": lines}, indent=2, ensure_ascii=False))
            return 4
        raise
    kinds: dict[str, int] = {}
    for place in layout.all_places():
        kinds[place.kind] = kinds.get(place.kind, 0) + 1
    if as_json:
        click.echo(json.dumps({"problems": [], "layout": layout.name, "parts": kinds}, indent=2, ensure_ascii=False))
    else:
        click.echo(f"{layout.name}: no problems. " + ", ".join(f"{n} {k}" for k, n in sorted(kinds.items())))
    return 0


@layout_command.command("reading")
@click.argument("check")
@click.argument("place")
@click.option("--layout", required=True, help="Layout record: a file, or club or home.")
@click.option("--pack", "packs", multiple=True, help="A further pack folder; may be given again.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def reading_command(check: str, place: str, layout: str, packs: tuple[str, ...], as_json: bool) -> int:
    """What a check should read at a place of this layout, and from which figures."""
    from troubleshoot.cli.guided import check_places

    record, rulebook = open_layout(layout), open_rules(packs)
    name = next((n for n in (check, f"core/{check}") if n in rulebook.checks), None)
    if name is None or not rulebook.checks[name].unit:
        raise Problems((Problem("check", 0, 0, f"{check!r} is no reading; see: troubleshoot rules show"),))
    check_places(record, [place])
    entry = rulebook.checks[name]
    bounds = edges(record, entry, record.place(place))
    unit, low, lines = str(entry.unit), 0.0, []
    for band, high in zip(entry.bands, (*bounds.edges, float("inf")), strict=True):
        lines.append({"outcome": band.outcome, "from": low, "to": None if high == float("inf") else high})
        low = high
    figures = [{"figure": f.said, "value": f.value, "unit": f.unit, "assumed": f.assumed} for f in bounds.data]
    if as_json:
        click.echo(json.dumps({"check": name, "at": place, "unit": unit, "bands": lines, "figures": figures}, indent=2))
        return 0
    for entry_, band in zip(lines, entry.bands, strict=True):
        upper = "and above" if entry_["to"] is None else f"to {show(float(str(entry_['to'])), unit)}"
        click.echo(f"{band.outcome:16} {show(float(str(entry_['from'])), unit)} {upper}")
    for figure in bounds.data:
        click.echo(f"  from {figure.said}: {show(figure.value, figure.unit)}{' (assumed)' if figure.assumed else ''}")
    return 0

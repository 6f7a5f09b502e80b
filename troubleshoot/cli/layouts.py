"""Commands for layout records: make a first one, check one, ask what a check should read on it."""

import json
import sys
from pathlib import Path

import click

from troubleshoot import casebook
from troubleshoot.cli.drawing import draw_command
from troubleshoot.cli.meter import meter_command
from troubleshoot.cli.session import check_places, open_layout, open_rules
from troubleshoot.cli.survey import survey_command
from troubleshoot.dialogue import Asker, Option, Paused, Prompt, asker
from troubleshoot.documents import Problems, nearest, write
from troubleshoot.inquiry import edges
from troubleshoot.layout import FIRST_QUESTIONS, record_from
from troubleshoot.quantities import read_figure, show


@click.group("layout")
def layout_command() -> None:
    """The layout record: make a first one, check it, ask what should be read."""


@layout_command.command("new")
@click.argument("file", type=click.Path())
@click.option("--plain", is_flag=True, help="Plain lines instead of arrows.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON what was made.")
def new_command(file: str, plain: bool, as_json: bool) -> int:
    """Make a first record by asking a dozen questions; Enter takes what is offered."""
    path = Path(file)
    if path.exists():
        raise click.UsageError(f"{file} is there already; name another file, or edit it")
    who = asker(plain, sys.stdin, sys.stderr if as_json else sys.stdout)
    try:
        answers = {key: _asked(who, key, text, default, kind) for key, text, default, kind in FIRST_QUESTIONS}
    except (Paused, KeyboardInterrupt) as ended:
        click.echo("\nNo record was made; every question wants an answer, and Enter takes what is offered.", err=True)
        return 5 if isinstance(ended, Paused) else 130
    record = record_from(answers)
    try:
        write(path, record)
    except Problems as found:
        raise casebook.NotSaved(found.problems) from found
    open_layout(file)
    if as_json:
        click.echo(json.dumps({"file": file, "record": record}, indent=2, ensure_ascii=False))
    click.echo(f"Made {file}. Add to it in any editor, and check it with: troubleshoot layout check {file}", err=True)
    return 0


def _asked(who: Asker, key: str, text: str, default: str, kind: str) -> str:
    """One answer of the kind wanted; what cannot be read is asked again, with the reason."""
    words = ["yes", "no"] if kind == "yes-no" else kind.removeprefix("one of ").split(", ")
    if kind == "yes-no" or kind.startswith("one of "):
        return who.ask(Prompt(text, tuple(Option(w, w) for w in words), topic=key, default=default, unsure=default))
    asks = f"{text} [{default}]"
    while True:
        said = who.ask(Prompt(asks, typed=True, default=default, topic=key, unsure=default))
        try:
            if kind == "count":
                record_from({key: said})
            elif kind != "text" and not (said == "none" and "none" in text):
                read_figure(said, kind)
            return said
        except ValueError as error:
            asks = f"{error}\n{text} [{default}]"


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
        told = {"problems": [], "notes": list(layout.notes), "layout": layout.name, "parts": kinds}
        click.echo(json.dumps(told, indent=2, ensure_ascii=False))
    else:
        for note in layout.notes:
            click.echo(f"{note} (a note: it refuses nothing)", err=True)
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
    record, rulebook = open_layout(layout), open_rules(packs)
    name = next((n for n in (check, *(f"{p.name}/{check}" for p in rulebook.packs)) if n in rulebook.checks), None)
    if name is None or not rulebook.checks[name].unit:
        hint = nearest(check, [n.split("/")[1] for n, c in rulebook.checks.items() if c.unit])
        raise click.UsageError(f"{check!r} is no reading" + (f"; did you mean {hint!r}?" if hint else ""))
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


layout_command.add_command(draw_command)
layout_command.add_command(meter_command)
layout_command.add_command(survey_command)

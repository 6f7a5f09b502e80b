"""The survey of a layout record as a command: weak spots before any fault shows, and what the record does not tell."""

import json
from dataclasses import asdict
from typing import Any

import click

from troubleshoot.documents import Problems
from troubleshoot.survey import KINDS, Missing, Surveyed, WeakSpot, surveyed


@click.command("survey")
@click.argument("layout", default="club")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
@click.option("--width", type=int, help="Columns of the screen.")
@click.option("--kinds", is_flag=True, help="List the kinds of weak spot instead, for those who write rules.")
def survey_command(layout: str, as_json: bool, width: int | None, kinds: bool) -> int:
    """Find the weak spots of a layout from its record alone: figure, limit, formula and the cheapest cure.

    LAYOUT is a record file, or club or home. The exit code is 0 also where weak spots are found.
    """
    from troubleshoot.cli.session import open_layout

    if kinds:
        lines = (f"{name:28} {sentence}" for name, sentence in sorted(KINDS.items()))
        click.echo(json.dumps(dict(KINDS), indent=2, ensure_ascii=False) if as_json else "\n".join(lines))
        return 0
    try:
        record = open_layout(layout)
    except Problems as found:
        if as_json:
            problems = [{"file": p.file, "line": p.line, "text": p.text} for p in found.problems]
            click.echo(json.dumps({"problems": problems}, indent=2, ensure_ascii=False))
            return 4
        raise
    made = surveyed(record)
    if as_json:
        click.echo(json.dumps(as_data(record.name, made), indent=2, ensure_ascii=False))
        return 0
    from troubleshoot import screen
    from troubleshoot.screen.surveying import survey_lines

    out = screen.console(width=width)
    out.print(survey_lines(record.name, made, out.width))
    return 0


def as_data(name: str, made: Surveyed) -> dict[str, Any]:
    """A survey for scripts: SI figures with their units, stable names."""
    return {
        "layout": name,
        "looks": made.looks,
        "weak_spots": [_spot(s) for s in made.spots],
        "missing": [_missing(m) for m in made.missing],
        "would_decide_most": _missing(made.missing[0]) if made.missing else None,
    }


def _spot(spot: WeakSpot) -> dict[str, Any]:
    return {**asdict(spot), "place": spot.place.name, "at": spot.place.kind, "sentence": KINDS[spot.kind]}


def _missing(one: Missing) -> dict[str, Any]:
    return {**asdict(one), "places": [p.name for p in one.places]}

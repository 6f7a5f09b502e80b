"""The command that draws the layout as a tree, with what a case and the survey say about it."""

import json
from collections.abc import Sequence
from pathlib import Path

import click

from troubleshoot import screen, sketch
from troubleshoot.casebook import NotSaved
from troubleshoot.cli.session import open_layout, resume
from troubleshoot.documents import Problems, write_text
from troubleshoot.layout import Layout
from troubleshoot.sketch import Mark, Node

ROOM = 34
"""Lines of a tree that are drawn before sound branches are folded; each mark has three more for the way to it."""
MOST = 240
"""Lines from which on marks too are folded away: more than anybody reads on a screen."""


@click.command("draw")
@click.argument("layout", required=False)
@click.option("--case", help="A case whose suspects and readings are marked; its layout is drawn.")
@click.option("--svg", "svg", type=click.Path(), help="Write the picture as an SVG file that prints on one A4 page.")
@click.option("--all", "whole", is_flag=True, help="Draw every part, also of sound branches.")
@click.option("--signals", is_flag=True, help="Draw signals too.")
@click.option("--decoders", is_flag=True, help="Draw accessory decoders too.")
@click.option("--json", "as_json", is_flag=True, help="Print the tree as JSON.")
@click.option("--width", type=int, help="Columns of the screen.")
def draw_command(
    layout: str | None,
    case: str | None,
    svg: str | None,
    whole: bool,
    signals: bool,
    decoders: bool,
    as_json: bool,
    width: int | None,
) -> int:
    """Draw a layout from its boosters to its blocks, with suspects, readings and weak spots marked."""
    record, marks, title = _what(layout, case)
    more = [name for name, asked in (("signals", signals), ("decoders", decoders)) if asked]
    tree = sketch.picture_of(record, marks, more)
    if svg:
        _write(Path(svg), tree, title)
    if as_json:
        click.echo(json.dumps(sketch.as_data(tree), indent=2, ensure_ascii=False))
    elif not svg:
        from troubleshoot.screen.tree import tree_lines

        drawn = tree if whole else sketch.fold(tree, min(ROOM + 3 * len(marks), MOST))
        screen.console(width=width).print(tree_lines(drawn, title, drawn == tree))
    return 0


def _what(layout: str | None, case: str | None) -> tuple[Layout, Sequence[Mark], str]:
    """The layout to draw, its marks (weak spots of the record, and what a case says), and a title."""
    from troubleshoot.sketch.weak import weak_marks

    if case is None:
        if layout is None:
            click.echo("No record is named, so the bundled demo railway is drawn.", err=True)
        record = open_layout(layout or "club")
        return record, weak_marks(record), record.name
    from troubleshoot.cli.shelf import shelved
    from troubleshoot.report.marks import marks_of

    session = resume(shelved(case))
    record = open_layout(layout) if layout else session.layout
    marks = (*marks_of(session.rulebook, session.diagnosis()), *weak_marks(record))
    return record, marks, f"{record.name}, case {session.case.name}"


def _write(path: Path, tree: Node, title: str) -> None:
    from troubleshoot.sketch.sheet import sheet

    try:
        write_text(path, sheet(tree, title))
    except Problems as found:
        raise NotSaved(found.problems) from found
    click.echo(f"Drawn on one A4 page: {path}", err=True)

"""Commands for those who write rules: check, quality, describe, matrix, words, schema, trial."""

import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

import click

from troubleshoot import screen
from troubleshoot.cli.quality import quality_command
from troubleshoot.cli.session import open_rules
from troubleshoot.cli.trial import trial_command
from troubleshoot.documents import Problem, Problems
from troubleshoot.rulebook import Rulebook, short


@click.group("rules")
def rules_command() -> None:
    """Look at rules, and check a pack you write."""


@rules_command.command("check")
@click.argument("folder", type=click.Path())
@click.option("--examples/--no-examples", default=True, help="Run the bundled examples too.")
@click.option("--json", "as_json", is_flag=True, help="Print problems as JSON.")
def check_command(folder: str, examples: bool, as_json: bool) -> int:
    """Check a pack folder: form, names, safety, matrix, examples. Everything at once."""
    from troubleshoot.rulebook.library import open_packs
    from troubleshoot.rulebook.linking import link
    from troubleshoot.rulebook.matrix import faults
    from troubleshoot.rulebook.packs import read_pack

    problems: list[Problem] = []
    tried = 0
    try:
        head = read_pack(Path(folder), fresh=True)
        core = head.name == "core"
        packs = [head] if core else open_packs([Path(folder)])
        rulebook = link(packs)
        problems += faults(rulebook, head.name)
        if examples:
            tried = _try(rulebook, head.name, problems)
    except Problems as found:
        problems += found.problems
    if as_json:
        lines = [{"file": p.file, "line": p.line, "text": p.text} for p in problems]
        click.echo(json.dumps({"problems": lines, "examples": tried}, indent=2, ensure_ascii=False))
    else:
        for problem in problems:
            click.echo(str(problem))
        count = len(problems)
        click.echo(f"{count} problem{'' if count == 1 else 's'}; {tried} examples tried.", err=True)
    return 4 if problems else 0


def _try(rulebook: Rulebook, pack: str, problems: list[Problem]) -> int:
    """Run all examples; wrong ones become problems."""
    from troubleshoot.quality import try_deductions, try_examples

    count = 0
    for one in try_examples(rulebook, pack):
        count += 1
        if isinstance(one, Problem):
            problems.append(one)
        elif not one.right:
            stands = f"{one.position or 'nowhere'} ({one.chance:.0%})"
            text = f"{one.name}: an example expects {one.expected!r}; it stands {stands}, first is {short(one.first)}"
            problems.append(Problem(one.file, one.line, 0, text))
    problems += try_deductions(rulebook, pack)
    return count


@rules_command.command("show")
@click.argument("name", required=False)
@click.option("--pack", "packs", multiple=True, help="A further pack folder; may be given again.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
@click.option("--width", type=int, help="Columns of the screen.")
def show_command(name: str | None, packs: Sequence[str], as_json: bool, width: int | None) -> int:
    """Describe a pack, a symptom, a cause, a check, a remedy or a caution."""
    from troubleshoot.screen.describing import describe, entries

    rulebook = open_rules(packs)
    try:
        found = entries(rulebook, name)
    except Problems as unknown:
        raise click.UsageError(unknown.problems[0].text) from unknown
    if as_json:
        data = {kind: [asdict(e) for e in some] for kind, some in found.items() if some}
        click.echo(json.dumps(data, indent=2, ensure_ascii=False, default=sorted))
        return 0
    screen.console(width=width).print(describe(rulebook, name))
    return 0


@rules_command.command("matrix")
@click.argument("symptom", required=False)
@click.option("--pack", "packs", multiple=True, help="A further pack folder; may be given again.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
@click.option("--width", type=int, help="Columns of the screen.")
def matrix_command(symptom: str | None, packs: Sequence[str], as_json: bool, width: int | None) -> int:
    """A symptom's matrix with its undecided share, or the shares of all symptoms."""
    from troubleshoot.cli.session import find_symptom
    from troubleshoot.rulebook.matrix import matrix
    from troubleshoot.screen.describing import matrix_lines, matrix_summary

    rulebook = open_rules(packs)
    names = [find_symptom(rulebook, symptom)] if symptom else sorted(rulebook.symptoms)
    tables = [matrix(rulebook, n) for n in names]
    if as_json:
        lines = [
            {
                "symptom": t.symptom,
                "undecided": round(t.undecided, 4),
                "findings": list(t.findings),
                "causes": {c.name: list(row) for c, row in zip(t.causes, t.cells, strict=True)},
            }
            for t in tables
        ]
        click.echo(json.dumps(lines, indent=2, ensure_ascii=False))
        return 0
    out = screen.console(width=width)
    out.print(matrix_lines(rulebook, tables[0]) if symptom else matrix_summary(rulebook, tables))
    return 0


@rules_command.command("words")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def words_command(as_json: bool) -> int:
    """The likelihood words and the numbers they stand for."""
    from troubleshoot.rulebook.words import LIKELIHOOD

    if as_json:
        click.echo(json.dumps(dict(LIKELIHOOD), indent=2))
        return 0
    for word, value in LIKELIHOOD.items():
        click.echo(f"{word:10} {value:.2f}")
    return 0


@rules_command.command("schema")
@click.argument("folder", type=click.Path())
@click.option("--json", "as_json", is_flag=True, help="Print as JSON which files were written.")
def schema_command(folder: str, as_json: bool) -> int:
    """Write JSON Schemas for editors into a folder, one for each kind of rule file."""
    from troubleshoot.casebook import NotSaved
    from troubleshoot.rulebook.shapes import SECTIONS, schema

    where, made = Path(folder), []
    try:
        where.mkdir(parents=True, exist_ok=True)
        for section in ("pack", *SECTIONS):
            path = where / f"{section}.schema.json"
            path.write_text(json.dumps(schema(section), indent=2), encoding="utf-8")
            made.append(str(path))
    except OSError as error:
        raise NotSaved((Problem(folder, 0, 0, f"cannot be written: {error.strerror}"),)) from error
    click.echo(json.dumps({"files": made}, indent=2) if as_json else "\n".join(made))
    return 0


rules_command.add_command(quality_command)
rules_command.add_command(trial_command)

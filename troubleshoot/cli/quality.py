"""The command that tells those who write rules what is weak in a pack."""

import json
from dataclasses import asdict
from pathlib import Path

import click

from troubleshoot import screen

SHOWN = 12


@click.command("quality")
@click.argument("folder", type=click.Path())
@click.option("--examples/--no-examples", default=True, help="Run the bundled examples too; this takes longest.")
@click.option("--all", "everything", is_flag=True, help=f"Show every weak spot, not {SHOWN} of a kind.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
@click.option("--width", type=int, help="Columns of the screen.")
def quality_command(folder: str, examples: bool, everything: bool, as_json: bool, width: int | None) -> int:
    """Tell what is weak in a pack folder: causes and checks, pairs, cautions, language. Hints, no refusals."""
    from troubleshoot.quality import judge, try_examples
    from troubleshoot.rulebook.library import open_packs
    from troubleshoot.rulebook.linking import link
    from troubleshoot.rulebook.packs import read_pack
    from troubleshoot.screen.quality import quality_table, weak_spots

    head = read_pack(Path(folder))
    rulebook = link([head] if head.name == "core" else open_packs([Path(folder)]))
    judged = judge(rulebook, head.name, list(try_examples(rulebook, head.name)) if examples else None)
    if as_json:
        table = {kind: {"among": n, "found": len(judged.of(kind))} for kind, n in judged.looked_at.items()}
        data = {"pack": judged.pack, "table": table, "found": [asdict(w) for w in judged.found]}
        click.echo(json.dumps(data, indent=2, ensure_ascii=False))
        return 0
    out = screen.console(width=width)
    out.print(quality_table(judged))
    for part in weak_spots(judged, len(judged.found) if everything else SHOWN):
        out.print(part)
    return 0

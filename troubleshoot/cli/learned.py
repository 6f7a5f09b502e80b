"""The command that shows everything learned from closed cases, takes it back, and takes that back again."""

import json
from typing import TYPE_CHECKING, Any

import click

from troubleshoot import screen
from troubleshoot.cli.session import cases_folder, find_symptom, open_layout, open_rules
from troubleshoot.cli.shelf import told_while_reading

if TYPE_CHECKING:
    from troubleshoot.casebook.shelf import Shelf
    from troubleshoot.learning import Learned


@click.command("learned")
@click.argument("symptom", required=False)
@click.option("--cases", "folder", help="Folder of case files.")
@click.option("--layout", help="Layout record whose places and limits count: a file, or club, home (bundled).")
@click.option("--pack", "packs", multiple=True, help="A further pack folder; may be given again.")
@click.option("--forget", metavar="CASE", help="Learn no longer from this case, which stays as it is, or from all.")
@click.option("--remember", metavar="CASE", help="Learn from this case again, or from all.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
@click.option("--width", type=int, help="Columns of the screen.")
def learned_command(
    symptom: str | None, folder: str | None, layout: str | None, packs: tuple[str, ...], forget: str | None,
    remember: str | None, as_json: bool, width: int | None,
) -> int:  # fmt: skip
    """Show what closed cases taught: what the rules say, what holds here, from which cases; or forget it."""
    from troubleshoot.casebook.shelf import Shelf
    from troubleshoot.learning import account

    if forget and remember:
        raise click.UsageError("say --forget or --remember, not both at once")
    rulebook, record = open_rules(packs), open_layout(layout)
    only = [find_symptom(rulebook, symptom)] if symptom else []
    where = cases_folder(folder)
    with Shelf(where) as shelf, told_while_reading() as told:
        shelf.refresh(told=told)
        if forget or remember:
            _teach(shelf, forget, remember)
        found = account(shelf, rulebook, record, only, layout)
    if as_json:
        click.echo(json.dumps(_data(found), indent=2, ensure_ascii=False))
    else:
        from troubleshoot.screen.shelf import learned_screen

        screen.console(width=width).print(learned_screen(found))
    if not found.symptoms:
        click.echo(f"Nothing has been learned from the cases in {where}.", err=True)
    return 0


def _teach(shelf: "Shelf", forget_: str | None, remember_: str | None) -> None:
    """Put down what is to teach no longer, or again."""
    from troubleshoot.documents import nearest
    from troubleshoot.learning import forget, remember

    said = str(forget_ or remember_).removesuffix(".yaml").rsplit("/", 1)[-1]
    if said != "all" and shelf.named(said) is None:
        hint = nearest(said, [entry.name for entry in shelf.first("c.closed = 1", most=2000)])
        raise click.UsageError(f"there is no case {said!r}" + (f"; did you mean {hint!r}?" if hint else ""))
    told = forget(shelf.folder, said) if forget_ else remember(shelf.folder, said)
    if told:
        click.echo(told, err=True)
    other = "--remember" if forget_ else "--forget"
    what = "Forgotten" if forget_ else "Remembered"
    click.echo(f"{what}: {said}. To take it back: troubleshoot learned {other} {said}", err=True)


def _data(found: "Learned") -> dict[str, Any]:
    return {
        "symptoms": [
            {
                "symptom": s.symptom,
                "cases": s.cases,
                "causes": [
                    {
                        "cause": c.cause,
                        "normally": round(c.normally, 4),
                        "here": round(c.here, 4),
                        "cases": list(c.cases),
                        "against": list(c.against),
                    }
                    for c in s.causes
                ],
                "rows": [
                    {
                        "cause": r.cause,
                        "finding": r.finding,
                        "cases": round(r.cases, 2),
                        "normally": {o: round(p, 4) for o, p in zip(r.outcomes, r.normally, strict=True)},
                        "here": {o: round(p, 4) for o, p in zip(r.outcomes, r.here, strict=True)},
                    }
                    for r in s.rows
                ],
                "places": [{"place": p, "cause": c, "cases": n} for p, c, n in s.places],
            }
            for s in found.symptoms
        ],
        "remedies": [
            {"remedy": r, "works": w, "works_here": round(h, 4), "held": good, "failed": bad}
            for r, w, h, good, bad in found.held
        ],
        "returns": round(found.returns, 4),
        "forgotten": {"cases": sorted(found.forgotten.names), "all_closed_before": found.forgotten.before or None},
    }

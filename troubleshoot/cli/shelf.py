"""The shelf of cases: list and search them, find cases like another, show one."""

import json
import re
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from troubleshoot import casebook, screen
from troubleshoot.casebook import Entry
from troubleshoot.cli.calling import case_path
from troubleshoot.cli.session import cases_folder, open_layout, resume
from troubleshoot.diagnosis import as_data
from troubleshoot.documents import Problem, Problems, nearest
from troubleshoot.quantities import Unreadable
from troubleshoot.rulebook import rules_folder, short

if TYPE_CHECKING:
    from troubleshoot.casebook.likeness import Alike
    from troubleshoot.casebook.shelf import Shelf

TELL_FROM = 1000
"""From so many files to read on, it is told how far the reading has come."""


def demo_folder() -> Path:
    """Where the bundled demo cases are: beside the bundled rules."""
    return rules_folder().parent / "cases"


def shelved(case: str) -> Path:
    """A case by its file, or by its name in the folder of cases or among the demo cases."""
    demo = demo_folder() / f"{case}.yaml"
    own = Path(case).exists() or (cases_folder() / f"{case}.yaml").exists()
    return demo if demo.is_file() and not own else case_path(case)


@click.command("cases")
@click.argument("words", nargs=-1)
@click.option("--cases", "folder", help="Folder of case files.")
@click.option("--demo", is_flag=True, help="List the bundled demo cases instead.")
@click.option("--place", default="", help="Only cases about this place, or that name it.")
@click.option("--symptom", default="", help="Only cases with this symptom.")
@click.option("--cause", default="", help="Only cases that ended with this cause.")
@click.option("--since", help="Only cases begun since a day (2026-10-17, 2026-10, 2026), or in the last such as 30 d.")
@click.option("--open", "only_open", is_flag=True, help="Only cases that are still open.")
@click.option("--like", metavar="CASE", help="Cases like this one, with the reasons.")
@click.option("--most", type=click.IntRange(1), default=50, help="List at most so many.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
@click.option("--width", type=int, help="Columns of the screen.")
def cases_command(
    words: tuple[str, ...], folder: str | None, demo: bool, place: str, symptom: str, cause: str, since: str | None,
    only_open: bool, like: str | None, most: int, as_json: bool, width: int | None,
) -> int:  # fmt: skip
    """List or search cases, newest first. A file that cannot be read never hides the others.

    WORDS are looked for in everything a case says; each may be the beginning of a word.
    """
    from troubleshoot.casebook.shelf import Shelf, Wanted

    where = demo_folder() if demo else cases_folder(folder)
    if where.exists() and not where.is_dir():
        raise Problems((Problem(str(where), 0, 0, "is a file; name the folder that holds the cases"),))
    with Shelf(where) as shelf:
        with told_while_reading() as told:
            shelf.refresh(told=told)
        if like:
            found = _alike(shelf, like, most)
            entries, count = [a.entry for a in found], len(found)
            reasons = {a.entry.name: list(a.reasons) for a in found}
        else:
            start = _since(since) if since else 0.0
            wanted = Wanted(words, place, symptom, cause, start, True if only_open else None, most)
            entries, count = shelf.search(wanted)
            found, reasons = [], {}
        problems = shelf.problems()
        lines = [_line(shelf.path(e.name), e, reasons.get(e.name)) for e in entries]
    if as_json:
        data = {"cases": lines, "count": count, "problems": [str(p) for p in problems]}
        click.echo(json.dumps(data, indent=2, ensure_ascii=False))
    elif entries and (width or sys.stdout.isatty()):
        from troubleshoot.screen.shelf import alike_list, case_list

        screen.console(width=width).print(alike_list(found) if like else case_list(entries, count))
    elif entries:
        _plain(lines, count)
    if not entries and not as_json:
        asked = any((words, place, symptom, cause, since, only_open, like))
        click.echo(f"No case in {where} fits." if asked else f"No cases in {where}.", err=True)
    for problem in problems:
        click.echo(str(problem), err=True)
    return 4 if problems else 0


@contextmanager
def told_while_reading() -> Iterator[Callable[[int, int], object]]:
    """Tell on standard error how far the reading of a big shelf has come; nothing for a small one."""
    shown = [0.0]

    def told(done: int, whole: int) -> None:
        if whole > TELL_FROM and time.monotonic() - shown[0] > 2.0:
            shown[0] = time.monotonic()
            click.echo(f"Reading the cases that are new or changed: {done} of {whole}", err=True)

    yield told


def _plain(lines: list[dict[str, Any]], count: int) -> None:
    """A line for each case, for whatever reads on from a pipe."""
    for one in lines:
        told = f"{one['state']:7} {one['since'][:16]:17} {one['case']:36} {short(one['symptom'])} {one['about'] or ''}"
        also = f"  ({'; '.join(one['alike'])})" if "alike" in one else ""
        click.echo(screen.printable(told.rstrip() + also))
    if count > len(lines):
        click.echo(f"and {count - len(lines)} more; name a word, --place or --since, or --most N", err=True)


def _line(path: Path, entry: Entry, reasons: list[str] | None) -> dict[str, Any]:
    """A case for scripts."""
    line = {
        "case": entry.name,
        "file": str(path),
        "since": _when(entry.began),
        "closed": _when(entry.ended),
        "symptom": entry.symptom,
        "about": entry.about or None,
        "state": "closed" if entry.closed else "open",
        "proven": entry.proven,
        "remedy": entry.remedy or None,
        "at": entry.spot or None,
        "causes": list(entry.causes),
        "events": entry.events,
    }
    return line if reasons is None else line | {"alike": reasons}


def _when(seconds: float) -> str:
    return datetime.fromtimestamp(seconds).astimezone().isoformat(timespec="seconds") if seconds else ""


def _since(said: str) -> float:
    """A day, a month, a year, or a period before now, in seconds. Raises UsageError."""
    full = said + "-01-01"[3 * said.count("-") :] if re.fullmatch(r"\d{4}(-\d\d){0,2}", said) else ""
    try:
        if full:
            return datetime.fromisoformat(full).astimezone().timestamp()
        return time.time() - casebook.period(said)
    except (ValueError, OverflowError, Unreadable) as error:
        text = f"{said!r} is no day; write such as 2026-10-17, 2026-10, 2026, or a period such as 30 d"
        raise click.UsageError(text) from error


def _alike(shelf: "Shelf", said: str, most: int) -> "list[Alike]":
    """Cases like one on the shelf."""
    from troubleshoot.casebook.likeness import alike, sought_like

    entry = shelf.named(Path(said).stem if said.endswith(".yaml") else said)
    if entry is None:
        hint = nearest(said, [e.name for e in shelf.first("1", most=2000)])
        raise click.UsageError(f"there is no case {said!r}" + (f"; did you mean {hint!r}?" if hint else ""))
    layout = open_layout(entry.layout or None, shelf.folder)
    return alike(shelf, sought_like(entry, layout), most)


@click.command("show")
@click.argument("case")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
@click.option("--width", type=int, help="Columns of the screen.")
def show_command(case: str, as_json: bool, width: int | None) -> int:
    """Show a case: what was seen, done and read, and what follows."""
    session = resume(shelved(case))
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

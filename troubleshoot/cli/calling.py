"""What a case is called on the command line: its file, its name, or a part of its name that means just one.

A case in the usual folder is told by its short name; any other by its file, on a line of its own, so that no line end
breaks it.
"""

import re
import sys
from pathlib import Path

import click

from troubleshoot.cli.session import cases_folder
from troubleshoot.dialogue import Paused, asker, pick

LISTED = 12
"""So many cases are named in a message or offered at once."""


def short_name(path: Path) -> str:
    """The name that leads back to a case: short in the usual folder, else its file."""
    usual = path.suffix == ".yaml" and path.parent.resolve() == cases_folder().resolve()
    return path.stem if usual and not Path(path.stem).exists() else str(path)


def go_on(said: str, path: Path, command: str = "resume") -> str:
    """A sentence that ends in the command to go on with; a long one stands on a line of its own."""
    name = short_name(path)
    return f"{said}{' ' if name == path.stem else chr(10) + '  '}troubleshoot {command} {name}"


def case_path(said: str) -> Path:
    """A case by its file, its name in the folder of cases, or a part of that name. Raises UsageError where unclear."""
    path, folder = Path(said), cases_folder()
    if path.exists() or path.suffix == ".yaml":
        return path
    named = folder / f"{said}.yaml"
    if named.exists() or not folder.is_dir() or "/" in said:
        return named
    found = sorted(p for p in folder.glob("*.yaml") if _names(said, p.stem))
    if len(found) > 1:
        still_open = {p.stem for p in open_cases(folder)}
        found = [p for p in found if p.stem in still_open] or found
    if len(found) > 1:
        more = f" and {len(found) - LISTED} more" if len(found) > LISTED else ""
        raise click.UsageError(f"{said!r} may be {', '.join(p.stem for p in found[:LISTED])}{more}; say more of it")
    return found[0] if found else named


def _names(said: str, name: str) -> bool:
    """Whether all words of what was said are in a name, in any order; a longer one may be the beginning of a word."""
    parts, words = (re.findall(r"[^\W_]+", text.lower()) for text in (said, name))
    return bool(parts) and all(any(w == p or (len(p) > 2 and w.startswith(p)) for w in words) for p in parts)


def open_cases(folder: Path) -> list[Path]:
    """The cases of a folder that are still open, newest first."""
    from troubleshoot.casebook.shelf import Shelf, Wanted

    if not folder.is_dir():
        return []
    with Shelf(folder) as shelf:
        shelf.refresh()
        return [shelf.path(e.name) for e in shelf.search(Wanted(open=True))[0]]


def choose_case(plain: bool) -> Path | None:
    """Offer the open cases: a choice in a terminal, else a list to name one of. None where none was chosen."""
    from troubleshoot.casebook.shelf import Shelf, Wanted

    folder = cases_folder()
    with Shelf(folder) as shelf:
        shelf.refresh()
        entries, count = shelf.search(Wanted(open=True, most=LISTED))
        found = [(shelf.path(e.name), f"{e.name}: {e.symptom.rsplit('/', 1)[-1].replace('-', ' ')}") for e in entries]
    if not found:
        click.echo(f"No case is open in {folder}. Begin one with: troubleshoot start", err=True)
        return None
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        for _, text in found:
            click.echo(text)
        more = f" ({count - len(found)} more: troubleshoot cases --open)" if count > len(found) else ""
        click.echo(f"Say which one, by its name or a part of it: troubleshoot resume NAME{more}", err=True)
        return None
    options = [*((str(path), text) for path, text in found), ("", "None of these")]
    try:
        said = asker(plain, sys.stdin, sys.stdout).ask(pick("Which case?", options, "case", unsure=""))
    except Paused:
        return None
    return Path(said) if said else None

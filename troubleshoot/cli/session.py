"""Opening what an inquiry needs: layout record, rules, cases, tally; and saving each event before the next question.

Two kinds of mistakes are told apart: what was typed on the command line is wrong usage; what stands in a file is a
problem with its file and line. What the commands do is left to their modules.
"""

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click

from troubleshoot import casebook
from troubleshoot.belief import Tally
from troubleshoot.casebook import Case
from troubleshoot.diagnosis import Diagnosis, diagnose
from troubleshoot.documents import Problem, Problems, nearest
from troubleshoot.inquiry import Inquiry
from troubleshoot.layout import EMPTY, Layout
from troubleshoot.rulebook import Rulebook, load, rules_folder

BUNDLED = ("club", "home")


@dataclass
class Session:
    """One inquiry at work, with its case on disk."""

    layout: Layout
    rulebook: Rulebook
    case: Case
    tally: Tally

    @property
    def inquiry(self) -> Inquiry:
        """The inquiry as it stands."""
        return casebook.inquiry(self.case, self.rulebook)

    def diagnosis(self) -> Diagnosis:
        """What follows from everything said so far."""
        return diagnose(self.layout, self.rulebook, self.inquiry, self.tally)

    def add(self, *events: dict[str, Any]) -> None:
        """Save events before anything else happens."""
        casebook.add(self.case, *events)

    def close(self) -> None:
        """Save that the case is closed, with the remedy that was proven and the causes it mends."""
        mend = self.inquiry.mends[-1][1]
        causes = list(self.rulebook.remedies[mend.remedy].mends)
        self.add({"closed": "proven", "remedy-was": mend.remedy, "causes": causes})


def user_folder(variable: str, *default: str) -> Path:
    """A folder of the user's own (XDG; an empty or relative variable counts as unset). Works without a home."""
    base = os.environ.get(variable, "")
    if base.startswith("/"):
        return Path(base)
    try:
        return Path.home().joinpath(*default)
    except RuntimeError:
        return Path.cwd().joinpath(*default)


def cases_folder(given: str | None = None) -> Path:
    """Where cases are kept: as said, else the environment, else the user's data folder."""
    said = given or os.environ.get("TROUBLESHOOT_CASES", "")
    if said:
        return Path(said)
    return user_folder("XDG_DATA_HOME", ".local", "share") / "troubleshoot" / "cases"


def layout_path(said: str, beside: Path | None = None) -> Path:
    """The file of a layout record: a bundled one by its name; a relative name is looked for beside first."""
    if said in BUNDLED:
        return rules_folder() / "core" / "layouts" / f"{said}.yaml"
    path = Path(said)
    if beside is not None and not path.is_absolute() and (beside / said).exists():
        return beside / said
    return path


def open_layout(said: str | None, beside: Path | None = None) -> Layout:
    """A layout record by file name, or one of the bundled ones by its name; none means nothing is known."""
    from troubleshoot.layout import load as load_layout

    return EMPTY if said is None or said == "none" else load_layout(layout_path(said, beside))


def open_rules(folders: Sequence[str] = ()) -> Rulebook:
    """The core rules and further pack folders."""
    return load([Path(f) for f in folders])


def resume(path: Path, packs: Sequence[str] = ()) -> Session:
    """A session from a case file, replayed. Raises Problems when its layout or its rules are gone.

    Pack folders given now stand in for those of the case that are gone, and are remembered with it.
    """
    case = casebook.read(path)
    kept = [str(p) for p in case.head.get("pack-folders") or ()]
    given = [str(Path(p).resolve()) for p in packs]
    folders = [p for p in kept if p not in given and (Path(p).is_dir() or not given)] + given
    _refuse_gone(path, [p for p in folders if not Path(p).is_dir()])
    rulebook = open_rules(folders)
    _refuse_missing(case, rulebook)
    if folders and folders != kept:
        case.head["pack-folders"] = folders
    layout = open_layout(case.layout, path.parent)
    casebook.inquiry(case, rulebook)
    return Session(layout, rulebook, case, closed_tally(path.parent, rulebook, case.name))


def _refuse_gone(path: Path, gone: Sequence[str]) -> None:
    if gone:
        text = "needs the pack in {}, which is gone; say where it is now with --pack FOLDER"
        raise Problems(Problem(str(path), 0, 0, text.format(folder)) for folder in gone)


def _refuse_missing(case: Case, rulebook: Rulebook) -> None:
    """Refuse a case whose packs, or names of whose packs, are not at hand."""
    file, here = str(case.path), ", ".join(f"{p.name} {p.version}" for p in rulebook.packs)
    names = {p.name for p in rulebook.packs}
    used: Mapping[str, Any] = case.head.get("packs") or {}
    texts = [f"was made with the pack {n!r} {v}" for n, v in used.items() if n not in names]
    texts += [
        f"speaks of {n!r}" for n in casebook.unknown_names(case, rulebook) if n.split("/")[0] not in {*used} - names
    ]
    end = f", which is not among the packs at hand ({here}); add its pack with --pack FOLDER"
    if texts:
        raise Problems(Problem(file, 0, 0, text + end) for text in texts)
    if not any("symptom" in event for _, event in case.standing()):
        raise Problems((Problem(file, 0, 0, "has no event with a symptom; add one, or begin a new case"),))


def closed_tally(folder: Path, rulebook: Rulebook, but: str = "") -> Tally:
    """What the closed cases of a folder teach; files that cannot be read are left aside."""
    if not folder.is_dir():
        return Tally()
    from troubleshoot.learning import tally

    cases, _ = casebook.cases_in(folder)
    return tally([c for c in cases if c.name != but], rulebook)


def start(
    layout: str | None,
    packs: Sequence[str],
    folder: Path,
    symptom: Mapping[str, Any],
    rulebook: Rulebook,
    record: Layout,
) -> Session:
    """A new case with its first event, the symptom, saved at once."""
    called = symptom.get("about") or str(symptom["symptom"]).rsplit("/", maxsplit=1)[-1]
    case = casebook.new(
        folder,
        f"{casebook.now()[:10]}-{called}",
        remembered(layout, folder),
        {p.name: p.version for p in rulebook.packs},
    )
    if packs:
        case.head["pack-folders"] = [str(Path(p).resolve()) for p in packs]
    casebook.add(case, {k: v for k, v in symptom.items() if v})
    return Session(record, rulebook, case, closed_tally(folder, rulebook, case.name))


def remembered(layout: str | None, folder: Path) -> str | None:
    """How a case names its layout record: so that it is found again from any folder."""
    if layout is None or layout == "none" or layout in BUNDLED:
        return None if layout == "none" else layout
    path = Path(layout).resolve()
    return path.name if path.parent == folder.resolve() else str(path)


def find_symptom(rulebook: Rulebook, said: str) -> str:
    """The qualified name of a symptom said by name or in words. Raises UsageError with the nearest ones."""
    from troubleshoot.rulebook.search import find

    for name in (said, f"core/{said}", *(f"{p.name}/{said}" for p in rulebook.packs)):
        if name in rulebook.symptoms:
            return name
        if name in rulebook.former and rulebook.former[name] in rulebook.symptoms:
            return rulebook.former[name]
    short = [n.split("/")[-1] for n in rulebook.symptoms]
    close = nearest(said, short)
    names = [n.split("/")[-1] for n, _ in find(rulebook, said, 3)]
    listed = ", ".join(dict.fromkeys([*([close] if close else []), *names]))
    raise click.UsageError(f"{said!r} is no known symptom" + (f"; nearest are {listed}" if listed else ""))


def unknown_places(layout: Layout, names: Sequence[str]) -> list[tuple[str, str]]:
    """Places that the layout record does not know, each with a sentence that names the nearest."""
    if not layout.known:
        return []
    known = [p.name for p in layout.all_places()]
    told = []
    for name in names:
        if name not in known:
            close = nearest(name, known)
            hint = f"; did you mean {close!r}?" if close else ""
            told.append((name, f"{layout.name} has no place {name!r}{hint}"))
    return told


def check_places(layout: Layout, names: Sequence[str]) -> None:
    """Refuse places typed on the command line that the layout record does not know."""
    told = unknown_places(layout, names)
    if told:
        raise click.UsageError("; ".join(text for _, text in told))

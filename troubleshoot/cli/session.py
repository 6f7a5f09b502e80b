"""Opening what an inquiry needs: layout record, rules, cases, tally; and saving each event before the next question."""

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from troubleshoot import casebook
from troubleshoot.belief import Tally
from troubleshoot.casebook import Case
from troubleshoot.diagnosis import Diagnosis, diagnose
from troubleshoot.documents import Problem, Problems
from troubleshoot.inquiry import Inquiry
from troubleshoot.layout import EMPTY, Layout
from troubleshoot.rulebook import Rulebook, load, rules_folder

BUNDLED = ("club", "home")


@dataclass
class Session:
    """One inquiry at work. `case` is None until the first event; `dry` keeps nothing on disk."""

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


def cases_folder(given: str | None = None) -> Path:
    """Where cases are kept: as said, else the environment, else the user's data folder."""
    if given:
        return Path(given)
    said = os.environ.get("TROUBLESHOOT_CASES", "")
    if said:
        return Path(said)
    base = os.environ.get("XDG_DATA_HOME", "")
    root = Path(base) if base.startswith("/") else Path.home() / ".local" / "share"
    return root / "troubleshoot" / "cases"


def open_layout(said: str | None, beside: Path | None = None) -> Layout:
    """A layout record by file name, or one of the bundled ones by its name; none means nothing is known."""
    from troubleshoot.layout import load as load_layout

    if said is None or said == "none":
        return EMPTY
    if said in BUNDLED:
        return load_layout(rules_folder() / "core" / "layouts" / f"{said}.yaml")
    path = Path(said)
    if beside is not None and not path.is_absolute() and not path.exists():
        path = beside / said
    return load_layout(path)


def open_rules(folders: Sequence[str] = ()) -> Rulebook:
    """The core rules and further pack folders."""
    return load([Path(f) for f in folders])


def resume(path: Path, packs: Sequence[str] = ()) -> Session:
    """A session from a case file, replayed. Raises Problems when its layout or its rules are gone."""
    case = casebook.read(path)
    folders = [str(p) for p in case.head.get("pack-folders", [])] + list(packs)
    rulebook = open_rules(folders)
    unknown = casebook.unknown_names(case, rulebook)
    if unknown:
        here = ", ".join(f"{p.name} {p.version}" for p in rulebook.packs)
        problems = [
            Problem(
                str(path),
                0,
                0,
                f"speaks of {name!r}, which none of the packs at hand has ({here}); add its pack with --pack FOLDER",
            )
            for name in unknown
        ]
        raise Problems(problems)
    return Session(
        open_layout(case.layout, path.parent), rulebook, case, closed_tally(path.parent, rulebook, case.name)
    )


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
    symptom: str,
    about: str | None,
    sick: Sequence[str] = (),
) -> Session:
    """A new case with its first event, saved at once."""
    rulebook = open_rules(packs)
    record = open_layout(layout)
    name = f"{casebook.now()[:10]}-{about or symptom.rsplit('/', maxsplit=1)[-1]}"
    case = casebook.new(folder, name, layout, {p.name: p.version for p in rulebook.packs})
    if packs:
        case.head["pack-folders"] = [str(Path(p).resolve()) for p in packs]
    event: dict[str, Any] = {"symptom": symptom}
    if about:
        event["about"] = about
    if sick:
        event["sick"] = list(sick)
    casebook.add(case, event)
    return Session(record, rulebook, case, closed_tally(folder, rulebook, case.name))


def find_symptom(rulebook: Rulebook, said: str) -> str:
    """The qualified name of a symptom said by name or in words. Raises Problems with the nearest ones."""
    from troubleshoot.rulebook.search import find

    for name in (said, f"core/{said}", *(f"{p.name}/{said}" for p in rulebook.packs)):
        if name in rulebook.symptoms:
            return name
    close = find(rulebook, said, 3)
    names = ", ".join(n.split("/")[-1] for n, _ in close)
    raise Problems(
        (Problem("symptom", 0, 0, f"{said!r} is no known symptom" + (f"; nearest are {names}" if names else "")),)
    )

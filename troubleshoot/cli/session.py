"""Opening what an inquiry needs: layout record, rules, cases, tally; and saving each event before the next question.

Two kinds of mistakes are told apart: what was typed on the command line is wrong usage; what stands in a file is a
problem with its file and line. What the commands do is left to their modules.
"""

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from troubleshoot import casebook
from troubleshoot.casebook import Case
from troubleshoot.cli.recalling import learned, recalled
from troubleshoot.diagnosis import ByCircuit, Diagnosis, by_circuit, diagnose, worth_measuring
from troubleshoot.documents import Problem, Problems, nearest
from troubleshoot.inquiry import Inquiry
from troubleshoot.layout import EMPTY, KINDS, Layout, unnamed
from troubleshoot.rulebook import Rulebook, load, rules_folder
from troubleshoot.rulebook.tally import Tally

if TYPE_CHECKING:
    from troubleshoot.learning import Recall

BUNDLED = ("club", "home")


@dataclass
class Session:
    """One inquiry at work, with its case on disk, what earlier cases teach, and what was here before.

    `taught` are the symptoms that the tally has been made for; another is added when the inquiry turns to it.
    """

    layout: Layout
    rulebook: Rulebook
    case: Case
    tally: Tally
    memory: "Recall | None" = None
    taught: tuple[str, ...] = ()

    @property
    def inquiry(self) -> Inquiry:
        """The inquiry as it stands."""
        return casebook.inquiry(self.case, self.rulebook)

    def diagnosis(self) -> Diagnosis:
        """What follows from everything said so far."""
        asked = self.inquiry
        symptom = asked.complaint.symptom if asked.complaint else ""
        if symptom and self.taught and symptom not in self.taught:
            self.taught = (*self.taught, symptom)
            self.tally = self._learned()
        return diagnose(self.layout, self.rulebook, asked, self.tally)

    def _learned(self) -> Tally:
        folder, case = self.case.path.parent, self.case
        return learned(folder, self.rulebook, self.layout, self.taught, case.name, case.layout)

    def by_circuit(self, made: Diagnosis) -> tuple[ByCircuit, ...]:
        """What the circuit of the layout says of the reading asked for."""
        return by_circuit(self.layout, self.rulebook, made)

    def worth_adding(self, made: Diagnosis) -> str:
        """The missing figure of the record that would sharpen the reading asked for most, as a sentence or nothing."""
        worth = worth_measuring(self.layout, made)
        if worth is None:
            return ""
        return f"Worth adding to the layout record: {worth[0]}; it may move this reading {worth[1]:.2g} times"

    def add(self, *events: dict[str, Any]) -> None:
        """Save events before anything else happens; what somebody else added meanwhile is told."""
        casebook.add(self.case, *events)
        if self.case.told:
            click.echo(self.case.told, err=True)

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
    complaint = casebook.inquiry(case, rulebook).complaint
    symptoms = (complaint.symptom,) if complaint else ()
    tally = learned(path.parent, rulebook, layout, symptoms, case.name, case.layout)
    return Session(layout, rulebook, case, tally, None, symptoms)


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
    memory, tally = recalled(folder, rulebook, record, symptom, case.layout)
    first = {**symptom, "see": list(memory.see) if memory else None}
    casebook.add(case, {k: v for k, v in first.items() if v})
    return Session(record, rulebook, case, tally, memory, (str(symptom["symptom"]),))


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
    # A step may be at `the vehicle`, which no record names; what is printed must be taken.
    taken = {*known, *(unnamed(kind).name for kind in KINDS)}
    told = []
    for name in names:
        if name not in taken:
            close = nearest(name, known)
            hint = f"; did you mean {close!r}?" if close else ""
            told.append((name, f"{layout.name} has no place {name!r}{hint}"))
    return told


def check_places(layout: Layout, names: Sequence[str]) -> None:
    """Refuse places typed on the command line that the layout record does not know."""
    told = unknown_places(layout, names)
    if told:
        raise click.UsageError("; ".join(text for _, text in told))

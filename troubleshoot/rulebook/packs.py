"""Reading a pack folder into plain data, strictly, and keeping the outcome by content hash.

A pack is read afresh only when a byte of it changed; else its compiled JSON is taken and neither the YAML
parser nor pydantic is imported. How compiled forms are
kept is left to `keeping`. What names mean across packs is left to `linking`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from troubleshoot import keeping
from troubleshoot.documents import Document, Problem, Problems

FORMAT = "1.9"
"""Changes whenever compiled data change their meaning, so that older compiled files are left alone."""

SECTIONS = ("symptoms", "checks", "causes", "remedies", "cautions", "set-ups", "deductions", "log-signs")
LIMIT_FILES = 400


@dataclass(frozen=True, eq=False)
class Pack:
    """One pack as plain data: its head, and the entries of each section with their file and line."""

    head: Mapping[str, Any]
    sections: Mapping[str, Mapping[str, Any]]
    folder: str
    digest: str

    @property
    def name(self) -> str:
        """The pack's name, which qualifies all its names."""
        return str(self.head["pack"])


def rules_folder() -> Path:
    """Where the bundled rules are: inside an installed package, else beside it in a checkout."""
    inside = Path(__file__).resolve().parent.parent / "_data" / "rules"
    return inside if inside.is_dir() else Path(__file__).resolve().parents[2] / "rules"


def pack_files(folder: Path) -> list[Path]:
    """The YAML files of a pack in a fixed order; layouts are not rules and are left out."""
    if not folder.is_dir():
        what = "is a file, not a folder" if folder.exists() else "is not there"
        raise Problems((Problem(str(folder), 0, 0, f"the pack folder {what}; name a folder that holds a pack.yaml"),))
    if not (folder / "pack.yaml").is_file():
        raise Problems((Problem(str(folder), 0, 0, "holds no pack.yaml, so it is no rule pack"),))
    files = sorted(p for p in folder.rglob("*.yaml") if "layouts" not in p.relative_to(folder).parts[:-1])
    if len(files) > LIMIT_FILES:
        raise Problems((Problem(str(folder), 0, 0, f"holds {len(files)} files; at most {LIMIT_FILES} are read"),))
    return files


def digest_of(folder: Path, files: list[Path]) -> str:
    """The hash of all bytes a pack is made of."""
    parts = [FORMAT.encode()]
    for path in files:
        try:
            parts += [path.relative_to(folder).as_posix().encode(), path.read_bytes()]
        except OSError as error:
            raise Problems((Problem(str(path), 0, 0, f"cannot be read ({error.strerror})"),)) from error
    return keeping.digest(parts)


def shipped(folder: Path) -> Path:
    """Where an installed package brings its packs' compiled forms along."""
    return folder.parent.parent / "compiled"


def keep(pack: Pack, where: Path | None = None) -> None:
    """Keep a pack's compiled form."""
    keeping.keep(pack.digest, {"head": pack.head, "sections": pack.sections}, where)


def read_pack(folder: Path, fresh: bool = False, placed: bool = True) -> Pack:
    """A pack from its folder: compiled if nothing changed, else read, checked in form, and kept.

    Raises Problems with every fault of form in every file at once. Not `placed`, entries name their files from the
    pack's folder on, as they are kept.
    """
    files = pack_files(folder)
    digest = digest_of(folder, files)
    data = None if fresh else keeping.take(digest, shipped(folder))
    if data is not None:
        return _placed(Pack(data["head"], data["sections"], str(folder), digest))
    pack = _parse(folder, files, digest)
    keep(pack)
    return _placed(pack) if placed else pack


def _placed(pack: Pack) -> Pack:
    """The pack with the files of its entries named from here: a kept form may come from another machine."""
    for entries in pack.sections.values():
        for entry in entries.values():
            entry["@file"] = f"{pack.folder}/{entry['@file']}"
    return pack


def _parse(folder: Path, files: list[Path], digest: str) -> Pack:
    from troubleshoot.documents import read

    problems: list[Problem] = []
    head: dict[str, Any] = {}
    sections: dict[str, dict[str, Any]] = {name: {} for name in SECTIONS}
    for path in files:
        try:
            document = read(path)
            if path.name == "pack.yaml" and path.parent == folder:
                head = _head(document)
            else:
                _entries(document, path.relative_to(folder).as_posix(), sections, problems)
        except Problems as found:
            problems.extend(found.problems)
    if problems:
        raise Problems(tuple(sorted(problems, key=lambda p: (p.file, p.line, p.column))))
    return Pack(head, sections, str(folder), digest)


def _head(document: Document) -> dict[str, Any]:
    from troubleshoot.documents import validate
    from troubleshoot.rulebook.shapes import PackShape

    validate(document, PackShape)
    return dict(document.data)


def _entries(document: Document, file: str, sections: dict[str, dict[str, Any]], problems: list[Problem]) -> None:
    """Check one file's form and add its entries; a file holds one section."""
    from troubleshoot.documents import nearest, validate
    from troubleshoot.rulebook.shapes import file_shape

    data = document.data
    if not isinstance(data, dict) or not data:
        problems.append(document.problem((), f"holds no section; a rule file begins with one of {', '.join(SECTIONS)}"))
        return
    for section in data:
        if section not in SECTIONS:
            hint = nearest(str(section), SECTIONS)
            also = f"; did you mean {hint!r}?" if hint else f"; known are {', '.join(SECTIONS)}"
            problems.append(document.problem((section, "@key"), f"{section!r} is no section of a pack{also}"))
            continue
        one = Document(document.file, {section: data[section]}, document.marks)
        try:
            validate(one, file_shape(section))
        except Problems as found:
            problems.extend(found.problems)
            continue
        for name, entry in data[section].items():
            line = document.where((section, name, "@key"))[0]
            if name in sections[section]:
                before = sections[section][name]
                text = f"{name!r} stands already at {before['@file']}:{before['@line']}; one name means one thing"
                problems.append(document.problem((section, name, "@key"), text))
                continue
            sections[section][name] = {**entry, "@file": file, "@line": line}

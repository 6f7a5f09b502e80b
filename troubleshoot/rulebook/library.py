"""Opening the rules that an inquiry uses: the core pack, then the club's, then the layout's own."""

from collections.abc import Sequence
from pathlib import Path

from troubleshoot.documents import Problem, Problems
from troubleshoot.rulebook.kinds import Rulebook
from troubleshoot.rulebook.linking import link
from troubleshoot.rulebook.packs import Pack, read_pack, rules_folder

__all__ = ["load", "open_packs", "rules_folder"]


def open_packs(folders: Sequence[Path] = (), core: Path | None = None, fresh: bool = False) -> list[Pack]:
    """The packs in layer order, core first. All problems of all packs come at once."""
    packs: list[Pack] = []
    problems: list[Problem] = []
    for folder in (core or rules_folder() / "core", *folders):
        try:
            packs.append(read_pack(Path(folder), fresh))
        except Problems as found:
            problems.extend(found.problems)
    if problems:
        raise Problems(tuple(problems))
    names = [p.name for p in packs]
    for pack in packs:
        for need, version in (pack.head.get("needs") or {}).items():
            if need not in names:
                problems.append(
                    Problem(
                        pack.folder,
                        0,
                        0,
                        f"pack {pack.name!r} needs pack {need!r} {version}, which is not here",
                    )
                )
        if names.count(pack.name) > 1:
            problems.append(Problem(pack.folder, 0, 0, f"two packs call themselves {pack.name!r}"))
    if problems:
        raise Problems(tuple(problems))
    return packs


def load(folders: Sequence[Path] = (), core: Path | None = None, fresh: bool = False) -> Rulebook:
    """The rulebook of the core pack and further pack folders. Raises Problems."""
    return link(open_packs(folders, core, fresh))

"""Rules that a club wrote about its own layout, made fit to be shown without names.

The core rules stay as they are: they are the same for everybody and name nobody. In every other pack the prose is
swept for the names of the record, and its entries, whose names may say more than a stranger should read, are numbered
by kind wherever they are spoken of. Prose is what has a space in it; single words are words of logic.
"""

import re
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

from troubleshoot.rulebook import Rulebook

CORE = "core"
_KINDS: Mapping[str, str] = {
    "symptoms": "symptom", "checks": "check", "findings": "finding", "causes": "cause", "remedies": "remedy",
    "cautions": "caution", "set_ups": "state", "deductions": "deduction",
}  # fmt: skip
Thing = TypeVar("Thing")


def swept(rulebook: Rulebook, names: Mapping[str, str]) -> tuple[Rulebook, Callable[[Thing], Thing]]:
    """The rules without names, and what gives the entries in records of a case their new names too."""
    if all(p.name == CORE for p in rulebook.packs):
        return rulebook, lambda thing: thing
    sweeper = _Sweeper(_renamed(rulebook), names)
    core = next((Path(p.folder) for p in rulebook.packs if p.name == CORE), Path())
    made: dict[str, Any] = {}
    for section in _KINDS:
        entries: Mapping[str, Any] = getattr(rulebook, section)
        made[section] = {
            sweeper.known(name): sweeper.deep(entry, not name.startswith(f"{CORE}/") or not _inside(entry, core))
            for name, entry in entries.items()
        }
    return replace(rulebook, former=sweeper.deep(rulebook.former, False), **made), lambda t: sweeper.deep(t, False)


def _renamed(rulebook: Rulebook) -> dict[str, str]:
    """New names for the entries of every pack but the core."""
    numbers: Counter[str] = Counter()
    renamed: dict[str, str] = {}
    for section, kind in _KINDS.items():
        for name in getattr(rulebook, section):
            if not name.startswith(f"{CORE}/") and name not in renamed:
                numbers[kind] += 1
                renamed[name] = f"own/{kind}-{numbers[kind]}"
    return renamed


def _inside(entry: Any, folder: Path) -> bool:
    """Whether an entry stands in a file of a folder; another pack may have replaced one of the core."""
    file = getattr(entry, "file", "")
    return not file or Path(file).is_relative_to(folder)


@dataclass
class _Sweeper:
    """What is renamed, and what is swept out of prose."""

    renamed: Mapping[str, str]
    names: Mapping[str, str]

    def __post_init__(self) -> None:
        said = sorted((n for n in self.names if len(n) > 1 and not n.isdecimal()), key=len, reverse=True)
        self._pattern = re.compile(r"(?<![\w-])(?:" + "|".join(map(re.escape, said)) + r")(?![\w-])", re.I)
        self._folded = {name.casefold(): alias for name, alias in self.names.items()}

    def known(self, name: str) -> str:
        """The new name of an entry."""
        return self.renamed.get(name, name)

    def deep(self, value: Any, own: bool) -> Any:
        """A value with all that is in it renamed; with `own`, prose is swept too."""
        if isinstance(value, str):
            return self.renamed.get(value) or (self._prose(value) if own and " " in value else value)
        if isinstance(value, Mapping):
            return {self.deep(k, False): self.deep(v, own) for k, v in value.items()}
        if isinstance(value, tuple | list | frozenset):
            return type(value)(self.deep(v, own) for v in value)
        if is_dataclass(value) and not isinstance(value, type):
            return replace(value, **{f.name: self.deep(getattr(value, f.name), own) for f in fields(value) if f.init})
        return value

    def _prose(self, text: str) -> str:
        return self._pattern.sub(lambda found: self._folded.get(found[0].casefold(), "…"), text)

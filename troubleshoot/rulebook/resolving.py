"""Resolving names across packs: layers, qualified names, references, closed lists; problems with file and line.

A later layer adds entries, or replaces one by saying `replaces: core/that-name`. Cautions and set-ups of an earlier
layer cannot be replaced: a pack may add care, never take it away. What an entry means is left to `entries`.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from troubleshoot.documents import Problem, nearest
from troubleshoot.rulebook.kinds import Finding
from troubleshoot.rulebook.packs import Pack
from troubleshoot.rulebook.words import LIKELIHOOD


class Linker:
    """Gathers entries of all packs and the problems met on the way."""

    def __init__(self, packs: Sequence[Pack]) -> None:
        self.packs = packs
        self.problems: list[Problem] = []
        self.names: dict[str, dict[str, tuple[Pack, Mapping[str, Any]]]] = {}
        self.findings: dict[str, Finding] = {}
        self.former: dict[str, str] = {}
        self._gather()

    def say(self, entry: Mapping[str, Any], text: str) -> None:
        """Note a problem at an entry's line."""
        self.problems.append(Problem(str(entry["@file"]), int(entry["@line"]), 0, text))

    def _gather(self) -> None:
        for pack in self.packs:
            for section, entries in pack.sections.items():
                table = self.names.setdefault(section, {})
                for name, entry in entries.items():
                    full = f"{pack.name}/{name}"
                    target = entry.get("replaces")
                    if target:
                        full = self._replaced(section, str(target), entry)
                    elif section in ("cautions", "set-ups") and any(n.endswith(f"/{name}") for n in table):
                        self.say(entry, f"{name!r}: a pack cannot redefine a {section[:-1]} of an earlier layer")
                        continue
                    table[full] = (pack, entry)
                    for old in entry.get("was", ()):
                        self.former[f"{pack.name}/{old}"] = full

    def _replaced(self, section: str, target: str, entry: Mapping[str, Any]) -> str:
        if section in ("cautions", "set-ups"):
            self.say(entry, f"replaces {target!r}: {section} can be added, never replaced or softened")
            return f"{target}@refused"
        before = self.names[section].get(target)
        if section == "deductions" and before and {"stop", "veto", "make-safe", "caution"} & set(before[1]["then"]):
            self.say(entry, f"replaces {target!r}: what stops, vetoes or makes safe can be added, never replaced")
            return f"{target}@refused"
        kept = set(before[1].get("cautions") or ()) if before else set()
        dropped = kept - {str(c).split("/")[-1] for c in entry.get("cautions") or ()}
        if dropped:
            self.say(entry, f"replaces {target!r} and drops its cautions {', '.join(sorted(dropped))}; carry them on")
        if before is None:
            hint = nearest(target, self.names[section])
            self.say(
                entry,
                f"replaces {target!r}, which no earlier layer has" + (f"; nearest is {hint!r}" if hint else ""),
            )
        return target

    def ref(self, section: str, said: str, pack: Pack, entry: Mapping[str, Any], what: str = "") -> str:
        """The qualified name that a reference means; a problem with the nearest known name if there is none."""
        table: Mapping[str, Any] = self.findings if section == "findings" else self.names.get(section, {})
        full = said if "/" in said else f"{pack.name}/{said}"
        if full in table:
            return full
        if full in self.former:
            return self.former[full]
        if "/" not in said:
            for other in self.packs:
                if f"{other.name}/{said}" in table:
                    return f"{other.name}/{said}"
        hint = nearest(said, [n.split("/", 1)[1] for n in table])
        also = f"; did you mean {hint!r}?" if hint else ""
        self.say(entry, f"{what}{said!r} is no known {section[:-1]}{also}")
        return full

    def refs(
        self, section: str, said: Iterable[str], pack: Pack, entry: Mapping[str, Any], what: str = ""
    ) -> tuple[str, ...]:
        """References in order."""
        return tuple(self.ref(section, s, pack, entry, what) for s in said)

    def known(self, said: str, words: Iterable[str], entry: Mapping[str, Any], what: str) -> str:
        """A word of a closed list; a problem with the nearest one if it is not in it."""
        allowed = list(words)
        if said not in allowed:
            hint = nearest(said, allowed)
            self.say(entry, f"{what} {said!r} is not known" + (f"; did you mean {hint!r}?" if hint else ""))
        return said

    def words(self, stated: Mapping[str, str], finding: Finding, entry: Mapping[str, Any]) -> Mapping[str, str]:
        """Words of a row, checked against the finding's outcomes and that they do not total over one."""
        for outcome in stated:
            self.known(outcome, finding.outcomes, entry, f"{finding.name.split('/')[1]}: outcome")
        given = {o: w for o, w in stated.items() if o in finding.outcomes}
        total = sum(LIKELIHOOD[w] for w in given.values())
        if total > 1.0 + 1e-9 and not (len(given) == len(finding.outcomes) and total <= 1.05):
            self.say(entry, f"{finding.name.split('/')[1]}: the words {stated} total {total:.2f}, which is over 1")
        return given

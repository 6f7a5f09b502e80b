"""Cases that are to teach no longer, and taking that back: a small file of its own beside the cases.

The cases stay as they are. `.teaching` in their folder is a list of events, kept as a case is kept: whoever shares
the folder shares it, two who write at once lose nothing, and what was forgotten can be remembered again.
"""

from dataclasses import dataclass
from pathlib import Path

from troubleshoot import casebook
from troubleshoot.casebook import Case, Entry
from troubleshoot.casebook.entries import seconds
from troubleshoot.casebook.locking import alone
from troubleshoot.documents import write

NAME = ".teaching"
EVERY = "all"


@dataclass(frozen=True)
class Forgotten:
    """Names of cases that teach no longer, and a time before which no closed case teaches but those kept."""

    names: frozenset[str] = frozenset()
    before: float = 0.0
    kept: frozenset[str] = frozenset()

    def teaches(self, entry: Entry) -> bool:
        """Whether a case still teaches."""
        if entry.name in self.names:
            return False
        return entry.name in self.kept or not self.before or entry.ended > self.before


def forgotten(folder: Path) -> Forgotten:
    """What is not to teach any more. Raises Problems when the file says nothing sensible."""
    path = folder / NAME
    if not path.exists():
        return Forgotten()
    names: set[str] = set()
    kept: set[str] = set()
    before = 0.0
    for _, event in casebook.read(path).standing():
        if "forgets" in event:
            said = str(event["forgets"])
            if said == EVERY:
                before, names, kept = seconds(event.get("when")), set(), set()
            else:
                names.add(said)
                kept.discard(said)
        elif "remembers" in event:
            said = str(event["remembers"])
            if said == EVERY:
                before, names, kept = 0.0, set(), set()
            else:
                names.discard(said)
                kept.add(said)
    return Forgotten(frozenset(names), before, frozenset(kept))


def forget(folder: Path, said: str) -> str:
    """Let a case, or all cases closed so far, teach no longer; what whoever does it must know. Raises Problems."""
    return _say(folder, {"forgets": said})


def remember(folder: Path, said: str) -> str:
    """Take forgetting back, of a case or of all. Raises Problems."""
    return _say(folder, {"remembers": said})


def _say(folder: Path, event: dict[str, str]) -> str:
    path = folder / NAME
    folder.mkdir(parents=True, exist_ok=True)
    with alone(path):
        if not path.exists():
            write(path, {"says": "What the casebook no longer learns from", "format": 1, "events": []})
    case: Case = casebook.read(path)
    casebook.add(case, dict(event))
    return case.told

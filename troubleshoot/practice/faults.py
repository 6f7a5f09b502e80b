"""The file of hidden faults: what each is in the circuit, and what an owner would truthfully find.

Rules: a fault names a cause and a symptom of the rules, so that an attempt can be judged; its answers are outcomes
of checks, certain or with shares. `unknown` is what an owner could not say. Names that the rules do not
know are told, with file and line. The answers were written from practice alone, without sight of the rules'
likelihoods.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from troubleshoot.circuit import KINDS, Fault
from troubleshoot.documents import Document, Problem, Problems, read
from troubleshoot.quantities import read_reading
from troubleshoot.rulebook import Rulebook, rules_folder

UNKNOWN = "unknown"
Shares = Mapping[str, float]
"""Outcomes with their shares, which total one."""


@dataclass(frozen=True)
class HiddenFault:
    """One fault to hide: its cause and symptom by name, what it is in the circuit, and its answers by check."""

    name: str
    cause: str
    symptom: str
    circuit: Fault | None
    circuit_at: str
    answers: Mapping[str, Shares]
    healthy: Mapping[str, str]


def faults_file() -> Path:
    """Where the bundled faults are: beside the sample cases."""
    folder = rules_folder().parent / "cases" / "practice"
    return folder / "faults.yaml"


def load_faults(rulebook: Rulebook, path: Path | None = None) -> tuple[HiddenFault, ...]:
    """All hidden faults that the rules can judge. Raises Problems, all at once."""
    document = read(path or faults_file())
    data = document.data if isinstance(document.data, dict) else {}
    reader = _Reader(document, rulebook, data)
    faults = [reader.fault(str(name), entry) for name, entry in (data.get("faults") or {}).items()]
    if reader.problems:
        raise Problems(tuple(reader.problems))
    return tuple(faults)


class _Reader:
    """Reads one file and notes what is wrong with it."""

    def __init__(self, document: Document, rulebook: Rulebook, data: Mapping[str, Any]) -> None:
        self.document, self.rulebook = document, rulebook
        self.problems: list[Problem] = []
        self.healthy = {
            f"core/{check}": str(outcome)
            for check, outcome in (data.get("healthy") or {}).items()
            if self._known(("healthy", check), "checks", f"core/{check}") and outcome != UNKNOWN
        }

    def _say(self, path: tuple[str, ...], text: str) -> None:
        self.problems.append(self.document.problem(path, text))

    def _known(self, path: tuple[str, ...], section: str, name: str) -> bool:
        known = name in getattr(self.rulebook, section)
        if not known:
            self._say(path, f"{name.rsplit('/', maxsplit=1)[-1]!r} is none of the rules' {section}")
        return known

    def fault(self, name: str, entry: Mapping[str, Any]) -> HiddenFault:
        """One fault from its entry."""
        path = ("faults", name)
        cause, symptom = f"core/{entry.get('cause')}", f"core/{entry.get('symptom')}"
        known = [
            self._known((*path, key), section, full)
            for key, section, full in (("cause", "causes", cause), ("symptom", "symptoms", symptom))
        ]
        if all(known) and symptom not in self.rulebook.causes[cause].weights:
            self._say(path, f"{entry['cause']!r} does not explain {entry['symptom']!r}")
        answers = {}
        for check, said in (entry.get("answers") or {}).items():
            shares = {str(said): 1.0} if not isinstance(said, dict) else {str(k): float(v) for k, v in said.items()}
            if self._fitting((*path, "answers", check), f"core/{check}", shares):
                answers[f"core/{check}"] = shares
        circuit = entry.get("circuit")
        return HiddenFault(
            name, cause, symptom, self._circuit((*path, "circuit"), circuit), str((circuit or {}).get("at", "")),
            answers, self.healthy,
        )  # fmt: skip

    def _fitting(self, path: tuple[str, ...], check: str, shares: Shares) -> bool:
        if not self._known(path, "checks", check):
            return False
        wrong = [o for o in shares if o != UNKNOWN and o not in self.rulebook.checks[check].outcomes]
        if wrong:
            known = ", ".join(self.rulebook.checks[check].outcomes)
            self._say(path, f"{wrong[0]!r} is no outcome of it; it has {known}")
        if abs(math.fsum(shares.values()) - 1.0) > 0.011:
            self._say(path, f"the shares total {math.fsum(shares.values()):g}, not 1")
        return not wrong

    def _circuit(self, path: tuple[str, ...], said: Mapping[str, Any] | None) -> Fault | None:
        if not said:
            return None
        kind = KINDS.get(str(said.get("kind")))
        if kind is None:
            self._say(path, f"{said.get('kind')!r} is no kind of fault of a circuit; known are {', '.join(KINDS)}")
            return None
        least, most = (
            default if text is None else float(text) if kind.unit != "ohm" else read_reading(str(text), "ohm").value
            for text, default in ((said.get("from"), kind.least), (said.get("to"), kind.most))
        )
        return Fault(str(said["kind"]), least, most)

"""Whether rules are any good as a matrix: decided cells, separated pairs, and what every cause must have.

A symptom's matrix has a row for each cause and a column for each finding that two of its causes speak of. Within
one pack each such cell needs a word. The separation of two causes is the mean weight of evidence that a check's
outcome brings between them, summed over all checks, in decibels.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from troubleshoot.documents import Problem
from troubleshoot.rulebook.kinds import Cause, Rulebook, short
from troubleshoot.rulebook.rows import cell, row
from troubleshoot.rulebook.words import UNDECIDED

LEAST_SEPARATION = 6.0
LEAST_EVIDENCE = 3
MOST_UNDECIDED = 0.40


@dataclass(frozen=True)
class Matrix:
    """One symptom's matrix: causes down, findings across, and what each cell says."""

    symptom: str
    causes: tuple[Cause, ...]
    findings: tuple[str, ...]
    cells: tuple[tuple[str, ...], ...]

    @property
    def undecided(self) -> float:
        """Share of cells that say as-elsewhere or nothing."""
        every = [c for line in self.cells for c in line]
        return sum(c in (UNDECIDED, "") for c in every) / max(len(every), 1)


def matrix(rulebook: Rulebook, symptom: str) -> Matrix:
    """The matrix of a symptom, with words as they are written."""
    causes = tuple(sorted(rulebook.causes_of(symptom), key=lambda c: (-c.weights[symptom], c.name)))
    findings = shared_findings(rulebook, symptom)
    cells = []
    for cause in causes:
        line = []
        for finding in findings:
            said = cell(cause, finding, symptom)
            line.append(said if isinstance(said, str) else ", ".join(f"{o}: {w}" for o, w in said.items()))
        cells.append(tuple(line))
    return Matrix(symptom, causes, findings, tuple(cells))


def shared_findings(rulebook: Rulebook, symptom: str) -> tuple[str, ...]:
    """The findings that at least two causes of a symptom speak of."""
    counts: dict[str, int] = {}
    for cause in rulebook.causes_of(symptom):
        for finding in {*cause.shows, *cause.under.get(symptom, {})}:
            counts[finding] = counts.get(finding, 0) + 1
    return tuple(sorted(f for f, n in counts.items() if n >= 2))


def apart(first: tuple[float, ...], second: tuple[float, ...]) -> float:
    """Mean weight of evidence between two rows, in decibels.

    >>> round(apart((0.85, 0.15), (0.12, 0.88)), 1)
    11.7
    """
    terms = (0.5 * (a - b) * math.log(a / b) for a, b in zip(first, second, strict=True))
    return math.fsum(terms) * 10.0 / math.log(10.0)


def separation(rulebook: Rulebook, symptom: str, one: Cause, two: Cause) -> tuple[float, str, float]:
    """Total separation of two causes in dB, the finding that tells them apart best, and its dB."""
    total, best, most = 0.0, "", 0.0
    for finding in rulebook.spoken_of(symptom):
        here = apart(row(rulebook, finding, one, symptom), row(rulebook, finding, two, symptom))
        total += here
        if here > most:
            best, most = finding, here
    return total, best, most


def pairs(rulebook: Rulebook, symptom: str) -> Iterator[tuple[float, Cause, Cause, str, float]]:
    """Every pair of causes of a symptom with its separation, worst first."""
    causes = rulebook.causes_of(symptom)
    found = []
    for one, two in combinations(causes, 2):
        total, best, most = separation(rulebook, symptom, one, two)
        found.append((total, one.name, two.name, best, most))
    for total, a, b, best, most in sorted(found):
        yield total, rulebook.causes[a], rulebook.causes[b], best, most


def faults(rulebook: Rulebook, pack: str | None = None) -> list[Problem]:
    """Everything a pack's rules lack as a matrix, with file and line; of one pack, or of all."""
    problems: list[Problem] = []
    for cause in rulebook.causes.values():
        if pack is None or cause.name.startswith(f"{pack}/"):
            problems.extend(
                Problem(cause.file, cause.line, 0, f"{short(cause.name)}: {t}") for t in _cause(rulebook, cause)
            )
    for symptom in sorted(rulebook.symptoms):
        if pack is None or symptom.startswith(f"{pack}/"):
            problems.extend(_symptom(rulebook, symptom))
    return sorted(problems, key=lambda p: (p.file, p.line, p.text))


def _cause(rulebook: Rulebook, cause: Cause) -> Iterator[str]:
    """What one cause lacks."""
    home = cause.name.split("/")[0]
    if not rulebook.remedies_of(cause.name):
        yield "has no remedy"
    best = rulebook.checks.get(cause.best_check)
    if best and best.finding not in cause.shows and not any(best.finding in u for u in cause.under.values()):
        yield f"its best check {short(best.name)!r} has no word in `shows`"
    if cause.stopgap is None:
        yield "has no stopgap (what lets trains run tonight); say so if there is none"
    for symptom in cause.weights:
        own = set(cause.shows) | set(cause.under.get(symptom, {}))
        if len(own) < LEAST_EVIDENCE:
            yield f"has {len(own)} pieces of evidence under {short(symptom)}; at least {LEAST_EVIDENCE} are needed"
        if symptom.split("/")[0] == home:
            missing = [
                f
                for f in shared_findings(rulebook, symptom)
                if f.startswith(f"{home}/") and not cell(cause, f, symptom)
            ]
            if missing:
                names = ", ".join(short(f) for f in missing)
                yield f"no cell under {short(symptom)} for: {names}; add to shows, as-sound or as-elsewhere"
        for other in cause.look_alikes:
            twin = rulebook.causes.get(other)
            if twin and symptom in twin.weights and separation(rulebook, symptom, cause, twin)[2] < 1.0:
                yield f"no check tells it from its look-alike {short(other)!r} under {short(symptom)}"
    yield from _examples(rulebook, cause)


def _examples(rulebook: Rulebook, cause: Cause) -> Iterator[str]:
    """What is wrong with a cause's examples as they are written; whether they come out is tried elsewhere."""
    finds = [str(e.get("finds")) for e in cause.examples]
    if not any(f in ("first", "first three") for f in finds):
        yield "has no example that finds it"
    if not any(f.startswith("not") for f in finds):
        yield "has no example in which it must stay back"
    for example in cause.examples:
        answers = example.get("answers", {})
        real = {k: v for k, v in answers.items() if v not in ("not-sure", "cant-do")}
        if str(example.get("finds")) in ("first", "first three"):
            others = [k for k in real if k != short(cause.best_check)]
            if not others:
                yield "an example rests on the best check alone"
            if not _misleads(rulebook, cause, answers):
                yield f"an example has no misleading or missing answer ({', '.join(map(str, answers))})"


def _misleads(rulebook: Rulebook, cause: Cause, answers: dict[str, object]) -> bool:
    """Whether some answer is missing, is a reading beyond words, or speaks against the cause."""
    home = cause.name.split("/")[0]
    for name, said in answers.items():
        check = rulebook.checks.get(f"{home}/{name}")
        if said in ("not-sure", "cant-do") or check is None:
            return True
        if said in check.outcomes:
            finding = rulebook.findings[check.finding]
            place = finding.outcomes.index(str(said))
            for symptom in cause.weights:
                here = row(rulebook, check.finding, cause, symptom)
                if here[place] < 0.4 * max(here):
                    return True
    return False


def _symptom(rulebook: Rulebook, symptom: str) -> Iterator[Problem]:
    """What one symptom's matrix lacks as a whole."""
    entry = rulebook.symptoms[symptom]
    count = len(rulebook.causes_of(symptom))
    if count < 6:
        yield Problem(entry.file, entry.line, 0, f"{short(symptom)}: has {count} causes; at least six are needed")
    share = matrix(rulebook, symptom).undecided
    if share > MOST_UNDECIDED:
        text = f"{short(symptom)}: {share:.0%} of its matrix is undecided; at most {MOST_UNDECIDED:.0%} may be"
        yield Problem(entry.file, entry.line, 0, text)
    for total, one, two, best, _ in pairs(rulebook, symptom):
        if total >= LEAST_SEPARATION:
            break
        if two.name in one.inseparable or one.name in two.inseparable:
            if not {r.name for r in rulebook.remedies_of(one.name)} & {r.name for r in rulebook.remedies_of(two.name)}:
                yield Problem(
                    one.file,
                    one.line,
                    0,
                    f"{short(one.name)} and {short(two.name)} are declared inseparable but share no remedy",
                )
            continue
        text = (
            f"{short(one.name)} / {short(two.name)} under {short(symptom)}: {total:.1f} dB apart in all, least is "
            f"{LEAST_SEPARATION:.0f}" + (f" (best: {short(best)})" if best else "; no check separates them")
        )
        yield Problem(one.file, one.line, 0, text)

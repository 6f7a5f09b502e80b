"""What is weak in a pack: one list of everything, for whoever writes rules and wants to know where to go on.

`rules check` refuses what is wrong in form and names; here stands what is allowed but poor: causes that no example
finds, checks that separate nothing, pairs hardly told apart, causes that stay behind although true, symptoms that
leave too many suspects, cautions that the words seem to call for, and slips of language. Whatever rests on drawn cases
comes from the moved world and a fixed seed; it is a simulation of the rules and says nothing about layouts.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from pathlib import Path

from troubleshoot.documents import Problem, read
from troubleshoot.quality.answered import Answered, Standing, of_all
from troubleshoot.quality.examples import Tried
from troubleshoot.quality.language import slips, texts
from troubleshoot.quality.worlds import world
from troubleshoot.rulebook import Rulebook, row, short
from troubleshoot.rulebook.matrix import LEAST_SEPARATION, apart, pairs

CASES = 40
"""Cases drawn for each cause of each symptom; a share of them is good to about 8 in 100."""
SEED = 1
SELDOM_FIRST = 0.30
"""Below this share of its own cases, fully answered, a cause is hidden by its neighbours."""
CROWDED = 0.05
"""Share of fully answered cases that may leave more than three suspects above 5 in 100."""
SEPARATES = 1.0
"""Decibans between some pair of causes from which on a check separates anything at all."""

EXAMPLES = "causes that no example finds"
SEPARATING = "checks that separate and prove nothing"
PAIRS = f"pairs under {LEAST_SEPARATION:.0f} dB apart"
NEVER = "causes never first though true"
SELDOM = f"causes first in under {SELDOM_FIRST:.0%} of own cases"
MANY = "symptoms leaving over three suspects"
CAUTIONS = "cautions missing"


@lru_cache(maxsize=1)
def wants() -> Mapping[str, re.Pattern[str]]:
    """What the words of a step call for, by the name of the caution: crude on purpose, a hint and no refusal."""
    data = read(Path(__file__).with_name("wants.yaml")).data
    return {str(name): re.compile(str(pattern), re.I) for name, pattern in dict(data).items()}


@dataclass(frozen=True)
class Weakness:
    """One weak spot: what was looked for, whose it is, under which symptom or in which text, and how weak."""

    kind: str
    name: str
    where: str
    says: str
    file: str
    line: int


@dataclass(frozen=True)
class Judged:
    """All weak spots of a pack, and how many things were looked at, by what was looked for, in a fixed order."""

    pack: str
    looked_at: Mapping[str, int]
    found: tuple[Weakness, ...]

    def of(self, kind: str) -> tuple[Weakness, ...]:
        """The weak spots of one kind."""
        return tuple(w for w in self.found if w.kind == kind)


def judge(rulebook: Rulebook, pack: str, tried: Iterable[Tried | Problem] | None = None, cases: int = CASES) -> Judged:
    """Everything weak in a pack; examples only where they have been tried."""
    looked_at: dict[str, int] = {}
    found: list[Weakness] = []
    causes = [c for n, c in sorted(rulebook.causes.items()) if n.startswith(f"{pack}/")]
    if tried is not None:
        looked_at[EXAMPLES] = len(causes)
        good = {t.name for t in tried if isinstance(t, Tried) and t.right and not t.expected.startswith("not")}
        lost = [c for c in causes if short(c.name) not in good]
        found += [Weakness(EXAMPLES, c.name, "", "no example finds it", c.file, c.line) for c in lost]
    checks = [c for n, c in sorted(rulebook.checks.items()) if n.startswith(f"{pack}/")]
    looked_at[SEPARATING] = len(checks)
    found += idle_checks(rulebook, pack)
    symptoms = [s for s in sorted(rulebook.symptoms) if any(s in c.weights for c in causes)]
    looked_at[PAIRS] = sum(1 for s in symptoms for _ in close_pairs(rulebook, pack, s, 1e9))
    found += [w for s in symptoms for w in close_pairs(rulebook, pack, s, LEAST_SEPARATION)]
    standing = {s: Answered(rulebook, s).standing(world(rulebook, s, True, SEED), cases, SEED) for s in symptoms}
    own = {s: [f for f in fares if f.cause.startswith(f"{pack}/")] for s, fares in standing.items()}
    looked_at |= dict.fromkeys((NEVER, SELDOM), sum(map(len, own.values())))
    looked_at[MANY] = len(symptoms)
    found += [w for s in symptoms for w in hidden(rulebook, s, own[s])]
    found += [w for s in symptoms for w in crowded(rulebook, s, standing[s])]
    steps = _steps(rulebook, pack)
    looked_at[CAUTIONS] = len(steps)
    found += [w for step in steps for w in lacking(*step)]
    every = texts(rulebook, pack)
    for kind, some in slips(every).items():
        looked_at[kind] = len(every)
        found += [Weakness(kind, s.text.entry, s.text.field, s.says, s.text.file, s.text.line) for s in some]
    return Judged(pack, looked_at, tuple(found))


def idle_checks(rulebook: Rulebook, pack: str) -> Iterator[Weakness]:
    """Checks whose finding tells no two causes of any symptom apart, proves no mend and makes no deduction fire."""
    proving = {r.proof.check for r in rulebook.remedies.values()}
    deciding = {short(f) for d in rulebook.deductions.values() for f in (*d.when, *d.unless)}
    most: dict[str, float] = {}
    for symptom in rulebook.symptoms:
        causes = rulebook.causes_of(symptom)
        for finding in rulebook.spoken_of(symptom):
            rows = sorted({row(rulebook, finding, c, symptom) for c in causes})
            here = max((apart(a, b) for a, b in combinations(rows, 2)), default=0.0)
            most[finding] = max(most.get(finding, 0.0), here)
    for name, check in sorted(rulebook.checks.items()):
        best = most.get(check.finding, 0.0)
        needed = name in proving or short(check.finding) in deciding
        if name.startswith(f"{pack}/") and best < SEPARATES and not needed:
            says = f"at most {best:.1f} dB between any two causes"
            yield Weakness(SEPARATING, name, "", says, check.file, check.line)


def close_pairs(rulebook: Rulebook, pack: str, symptom: str, limit: float) -> Iterator[Weakness]:
    """Pairs of causes, at least one of the pack, under a limit in dB and not declared inseparable; closest first."""
    for total, one, two, best, _ in pairs(rulebook, symptom):
        if total >= limit:
            return
        declared = two.name in one.inseparable or one.name in two.inseparable
        if not declared and any(c.name.startswith(f"{pack}/") for c in (one, two)):
            says = f"{total:.1f} dB from {short(two.name)}"
            says += f" (best: {short(best)})" if best else "; nothing separates them"
            yield Weakness(PAIRS, one.name, symptom, says, one.file, one.line)


def hidden(rulebook: Rulebook, symptom: str, fares: list[Standing]) -> Iterator[Weakness]:
    """Causes that stay behind although true and every check is answered."""
    for one in fares:
        cause = rulebook.causes[one.cause]
        if one.first == 0.0:
            yield Weakness(NEVER, one.cause, symptom, "never first in its own cases", cause.file, cause.line)
        elif one.first < SELDOM_FIRST:
            says = f"first in {one.first:.0%} of its own cases"
            yield Weakness(SELDOM, one.cause, symptom, says, cause.file, cause.line)


def crowded(rulebook: Rulebook, symptom: str, fares: list[Standing]) -> Iterator[Weakness]:
    """A symptom whose fully answered cases too often leave more than three suspects to think of."""
    share = of_all(fares, "crowded")
    if share > CROWDED:
        entry = rulebook.symptoms[symptom]
        yield Weakness(MANY, symptom, "", f"in {share:.0%} of cases with every check answered", entry.file, entry.line)


def _steps(rulebook: Rulebook, pack: str) -> list[tuple[str, str, frozenset[str], str, int]]:
    """Whatever tells somebody what to do: name, words, cautions that go with it, file and line."""
    found = []
    for check in rulebook.checks.values():
        carried = {*check.cautions, *_of_states(rulebook, check.set_up), *_by_nature(rulebook, check.unit, check.tool)}
        found.append((check.name, check.how, carried, check.file, check.line))
    for remedy in rulebook.remedies.values():
        carried = {*remedy.cautions, *_of_states(rulebook, remedy.set_up)}
        found.append((remedy.name, remedy.do, carried, remedy.file, remedy.line))
    for state in rulebook.set_ups.values():
        found.append((state.name, state.do, {*state.cautions}, state.file, state.line))
    return [
        (name, said, frozenset(map(short, carried)), file, line)
        for name, said, carried, file, line in sorted(found, key=lambda f: f[0])
        if name.startswith(f"{pack}/")
    ]


def _of_states(rulebook: Rulebook, set_ups: Iterable[str]) -> set[str]:
    return {c for s in set_ups for c in (*rulebook.set_ups[s].cautions, *_by_nature(rulebook, set_up=s))}


def _by_nature(rulebook: Rulebook, unit: str | None = None, tool: str = "", set_up: str = "") -> set[str]:
    """Cautions that apply to a step by what it measures, uses or needs."""
    asked = {("unit", unit), ("tool", tool), ("set-up", short(set_up))}
    return {n for n, c in rulebook.cautions.items() if c.applies and set(c.applies.items()) <= asked}


def lacking(name: str, said: str, carried: frozenset[str], file: str, line: int) -> Iterator[Weakness]:
    """Cautions that the words of a step call for and that do not go with it."""
    for caution, wanted in wants().items():
        met = wanted.search(said)
        if met and caution not in carried:
            yield Weakness(CAUTIONS, name, "", f"{caution} ({met.group().strip()!r})", file, line)

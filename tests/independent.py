"""The core rules read a second time, for tests: tables and posteriors made from the words without the tool's code.

The numbers of the words and the way a row is shared are copied from the design on purpose: if either copy changes
alone, tests fail. Only file reading, places and limits of bands come from the tool; those have tests of their own.
"""

import importlib
import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from troubleshoot.documents import read
from troubleshoot.electrics import limits, meter_error, quantity
from troubleshoot.layout import RELATIONS, Layout, Place
from troubleshoot.quantities import Reading, read_reading
from troubleshoot.rulebook import rules_folder
from troubleshoot.survey import survey

NUMBERS = {"always": 0.98, "usually": 0.85, "often": 0.65, "sometimes": 0.35, "seldom": 0.12, "never": 0.02}
WRONG = {"typed": 0.02, "seen": 0.05, "remembered": 0.10, "thought": 0.25}
BEYOND = 0.05
QUIET, ODD = "something-else/quiet", "something-else/odd"

Row = dict[str, float]


@dataclass(frozen=True)
class Found:
    """A finding: its outcomes in order, the row of a sound place, the row of an unjudged cause, its relation."""

    outcomes: tuple[str, ...]
    sound: Row
    elsewhere: Row
    relation: str


def _entries(section: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
    for path in sorted((rules_folder() / "core").rglob("*.yaml")):
        if "layouts" not in path.parts:
            data = read(Path(path)).data
            yield from (data.get(section) or {}).items()


CHECKS = {f"core/{name}": entry for name, entry in _entries("checks")}
CAUSES = {f"core/{name}": entry for name, entry in _entries("causes")}


def spread(outcomes: Sequence[str], stated: Mapping[str, str], rest: Row) -> Row:
    """Stated words as numbers; what is left goes to the others in proportion to `rest`, at least .02/(k-1) each."""
    numbers = {o: NUMBERS[w] for o, w in stated.items()}
    left = max(0.0, 1.0 - sum(numbers.values()))
    silent = [o for o in outcomes if o not in numbers]
    whole = sum(rest[o] for o in silent)
    least = 0.02 / max(1, len(outcomes) - 1)
    numbers |= {o: max(least, left * rest[o] / whole) for o in silent}
    total = sum(numbers.values())
    return {o: numbers[o] / total for o in outcomes}


def outcomes_of(check: Mapping[str, Any]) -> tuple[str, ...]:
    """What a check can show, in the order of the file."""
    return tuple(check.get("bands") or check.get("choices") or ("yes", "no"))


def finding_of(name: str) -> str:
    """The finding that a check reports."""
    return "core/" + str(CHECKS[name].get("reports") or name.split("/")[1])


def _found(entries: Sequence[Mapping[str, Any]]) -> Found:
    entry = next((e for e in entries if e.get("elsewhere")), entries[0])
    outcomes = outcomes_of(entry)
    quiet = entry.get("quiet") or "no"
    others = len(outcomes) - 1

    def flat(telling: float) -> Row:
        return {o: 1.0 - telling if o == quiet else telling / others for o in outcomes}

    elsewhere = flat(0.08 if entry.get("unit") else 0.25)
    if entry.get("elsewhere"):
        elsewhere = spread(outcomes, entry["elsewhere"], elsewhere)
    sound = {o: 0.98 if o == quiet else 0.02 / others for o in outcomes}
    if entry.get("sound"):
        sound = spread(outcomes, entry["sound"], flat(0.08))
    return Found(outcomes, sound, elsewhere, str(entries[0].get("at", "itself")))


def _findings() -> dict[str, Found]:
    grouped: dict[str, list[Mapping[str, Any]]] = {}
    for name, entry in CHECKS.items():
        grouped.setdefault(finding_of(name), []).append(entry)
    return {name: _found(entries) for name, entries in grouped.items()}


FINDINGS = _findings()


def row(cause: str, finding: str, symptom: str) -> Row:
    """P(outcome | cause) of a finding, from the words of a cause."""
    entry, found, bare = CAUSES[cause], FINDINGS[finding], finding.split("/")[1]
    under = (entry.get("under") or {}).get(symptom.split("/")[1]) or {}
    said = under.get(bare) or entry["shows"].get(bare)
    if said:
        return spread(found.outcomes, {"yes": said} if isinstance(said, str) else said, found.elsewhere)
    return found.sound if bare in (entry.get("as-sound") or ()) else found.elsewhere


def gauss(x: float) -> float:
    """The chance that a normal figure lies below x standard deviations."""
    return 0.5 * (1.0 + math.erf(x / math.sqrt(2.0)))


def edges(layout: Layout, check: Mapping[str, Any], place: Place) -> tuple[Sequence[float], Sequence[float]]:
    """The limits between the bands of a reading, and the log spread of each where a figure is assumed or loose."""
    bands: list[tuple[str, float, str | None, float | None]] = []
    for outcome, text in check["bands"].items():
        words = str(text).split()
        if words[0] == "above":
            bands.append((outcome, 1.0, None, None))
        elif len(words) == 5 and words[3] == "x":
            bands.append((outcome, float(words[2]), words[4], None))
        else:
            bands.append((outcome, 1.0, None, read_reading(" ".join(words[2:]), check["unit"]).value))
    known = limits(layout, place, tuple(bands), check["unit"])
    return known.edges, [max(s, 0.15 if known.assumed else 0.0) for s in known.spread]


def shares(layout: Layout, name: str, place: Place, reading: Reading) -> Row:
    """How much a reading speaks for each band."""
    check = CHECKS[name]
    outcomes = outcomes_of(check)
    if reading.over_range:
        shown = check.get("over-range") or outcomes[-1]
        return {o: float(o == shown) for o in outcomes}
    limits_, loose = edges(layout, check, place)
    if reading.bound in ("<", ">"):
        reach = list(zip((0.0, *limits_), (*limits_, math.inf), strict=True))
        open_ = [low < reading.value if reading.bound == "<" else high > reading.value for low, high in reach]
        return {o: float(x) / sum(open_) for o, x in zip(outcomes, open_, strict=True)}
    error = meter_error(layout, check["unit"]) * (2.0 if reading.bound == "~" else 1.0)
    below = [gauss(math.log(e / reading.value) / math.hypot(error, s)) for e, s in zip(limits_, loose, strict=True)]
    return {o: max(0.0, b - a) for o, a, b in zip(outcomes, (0.0, *below), (*below, 1.0), strict=True)}


def computed(layout: Layout, finding: str, place: Place, text: str) -> Row:
    """The row of a suspect whose reading physics works out: a log-normal spread of .35 about that figure."""
    factor, name = text.split(" x ")
    centre = float(factor) * quantity(name, layout, place).value
    check = next(c for n, c in CHECKS.items() if finding_of(n) == finding and c.get("unit"))
    below = [gauss(math.log(e / centre) / 0.35) for e in edges(layout, check, place)[0]]
    outcomes = outcomes_of(check)
    least = 0.02 / (len(outcomes) - 1)
    rough = {o: max(least, b - a) for o, a, b in zip(outcomes, (0.0, *below), (*below, 1.0), strict=True)}
    total = sum(rough.values())
    return {o: p / total for o, p in rough.items()}


@dataclass(frozen=True)
class Report:
    """What was reported of a finding at a place: shares of the outcomes, and the chance that it is wrong."""

    finding: str
    place: Place
    said: Row
    wrong: float


@dataclass(frozen=True)
class World:
    """A symptom on a layout, with what is ruled out, raised and counted, and mends that did not cure."""

    layout: Layout
    symptom: str
    subject: Place
    ruled_out: frozenset[str]
    raised: Mapping[str, float]
    tally: Mapping[str, float]
    failed: Sequence[tuple[frozenset[str], str | None, float]]

    def prior(self) -> dict[tuple[str, str], float]:
        """P(suspect) before any answer: a suspect is a cause and the name of its place."""
        bare = self.symptom.split("/")[1]
        weight = {c: float(e["explains"][bare]) for c, e in CAUSES.items() if bare in e["explains"]}
        cases = sum(self.tally.get(c, 0.0) for c in weight)
        total = sum(weight.values())
        masses: dict[tuple[str, str], float] = {(QUIET, ""): BEYOND / 2, (ODD, ""): BEYOND / 2}
        for cause, said in weight.items():
            if cause in self.ruled_out:
                continue
            chance = (1.0 - BEYOND) * (20.0 * said / total + self.tally.get(cause, 0.0)) / (20.0 + cases)
            places = self.layout.related(str(CAUSES[cause]["sits-at"]), self.subject)
            for place in places:
                more = self.raised.get(cause, 1.0) * self.weakness(CAUSES[cause], place)
                masses[cause, place.name] = chance * more / len(places)
        whole = sum(masses.values())
        return {s: m / whole for s, m in masses.items()}

    def weakness(self, cause: Mapping[str, Any], place: Place) -> float:
        """Three for a weak spot of the record that the cause names, near what is complained about; 1.5 for a remark."""
        near = {self.subject, self.layout.itself, *(p for r in RELATIONS for p in self.layout.related(r, self.subject))}
        times = [1.0]
        for spot in survey(self.layout) if "weak-spots" in cause else ():
            if spot.kind in cause["weak-spots"] and (spot.place in near or self.subject.kind == "layout"):
                reached = {spot.place, *self.layout.related(str(cause["sits-at"]), spot.place)}
                if place in reached or (spot.place.kind == "layout" and place.name.startswith("the ")):
                    times.append(1.5 if spot.severity == "remark" else 3.0)
        return max(times)

    def shown(self, suspect: tuple[str, str], finding: str, place: Place) -> Row:
        """P(what is really there | suspect)."""
        found, (cause, at) = FINDINGS[finding], suspect
        if cause == ODD:
            known = [(p, self.shown(s, finding, place)) for s, p in self.prior().items() if s[0] not in (ODD, QUIET)]
            flat, whole = 1.0 / len(found.outcomes), sum(p for p, _ in known)
            if not known:
                return dict.fromkeys(found.outcomes, flat)
            return {o: 0.5 * flat + 0.5 * sum(p * r[o] for p, r in known) / whole for o in found.outcomes}
        if cause == QUIET:
            rough = {o: min(0.95, max(0.05 / (len(found.outcomes) - 1), p)) for o, p in found.sound.items()}
            return {o: p / sum(rough.values()) for o, p in rough.items()}
        if CAUSES[cause]["sits-at"] == found.relation and at != place.name:
            return found.sound
        reads = (CAUSES[cause].get("reads") or {}).get(finding.split("/")[1])
        return computed(self.layout, finding, place, reads) if reads else row(cause, finding, self.symptom)

    def spared(self, suspect: tuple[str, str]) -> float:
        """P(the mends did not cure | suspect)."""
        spared = 1.0
        for causes, place, works in self.failed:
            if suspect[0] in causes and place in (None, suspect[1]):
                spared *= 1.0 - works
        return spared

    def enumerated(self, reports: Sequence[Report]) -> dict[tuple[str, str], float]:
        """The posterior by adding up every world: every suspect, with everything that may really be there."""
        groups = grouped(reports)
        masses: dict[tuple[str, str], float] = {}
        for suspect, before in self.prior().items():
            rows = [self.shown(suspect, finding, place) for finding, place in groups]
            worlds = itertools.product(*(FINDINGS[finding].outcomes for finding, _ in groups))
            masses[suspect] = sum(
                before * self.spared(suspect) * _chance(there, rows, list(groups.values())) for there in worlds
            )
        whole = sum(masses.values())
        return {s: m / whole for s, m in masses.items()}


def grouped(reports: Sequence[Report]) -> dict[tuple[str, Place], list[Report]]:
    """Reports of the same finding at the same place."""
    groups: dict[tuple[str, Place], list[Report]] = {}
    for report in reports:
        groups.setdefault((report.finding, report.place), []).append(report)
    return groups


def _chance(there: Sequence[str], rows: Sequence[Row], groups: Sequence[Sequence[Report]]) -> float:
    """P(these things are really there, and this was reported of them | suspect)."""
    chance = 1.0
    for outcome, row_, reports in zip(there, rows, groups, strict=True):
        chance *= row_[outcome]
        for report in reports:
            others = len(report.said) - 1
            chance *= sum(
                share * (1.0 - report.wrong if said == outcome else report.wrong / others)
                for said, share in report.said.items()
            )
    return chance


def by_network(world: World, reports: Sequence[Report]) -> dict[tuple[str, str], float]:
    """The same posterior by a Bayesian network of another library: suspect, what is there, what is reported."""
    pyagrum: Any = importlib.import_module("pyagrum")
    prior = world.prior()
    suspects = list(prior)
    net = pyagrum.BayesNet()
    net.add(pyagrum.LabelizedVariable("suspect", "", len(suspects)))
    net.cpt("suspect").fillWith([prior[s] for s in suspects])
    evidence: dict[str, list[float]] = {}
    for number, ((finding, place), said) in enumerate(grouped(reports).items()):
        outcomes, there = FINDINGS[finding].outcomes, f"there{number}"
        net.add(pyagrum.LabelizedVariable(there, "", len(outcomes)))
        net.addArc("suspect", there)
        rows = [world.shown(s, finding, place) for s in suspects]
        net.cpt(there)[:] = [[r[o] for o in outcomes] for r in rows]
        for position, report in enumerate(said):
            reported, others = f"report{number}x{position}", len(outcomes) - 1
            net.add(pyagrum.LabelizedVariable(reported, "", len(outcomes)))
            net.addArc(there, reported)
            net.cpt(reported)[:] = [
                [1.0 - report.wrong if a == b else report.wrong / others for b in outcomes] for a in outcomes
            ]
            evidence[reported] = [report.said[o] for o in outcomes]
    for number in range(len(world.failed)):
        name = f"cured{number}"
        net.add(pyagrum.LabelizedVariable(name, "", 2))
        net.addArc("suspect", name)
        one = World(world.layout, world.symptom, world.subject, frozenset(), {}, {}, [world.failed[number]])
        net.cpt(name)[:] = [[one.spared(s), 1.0 - one.spared(s)] for s in suspects]
        evidence[name] = [1.0, 0.0]
    reasoning = pyagrum.LazyPropagation(net)
    reasoning.setEvidence(evidence)
    reasoning.makeInference()
    return dict(zip(suspects, (float(p) for p in reasoning.posterior("suspect").tolist()), strict=True))

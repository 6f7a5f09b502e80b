"""How likely each suspect is: one fault at a time, by Bayes, in decibans that add up.

A suspect is a cause at a place. A weight is P(cause given symptom), split over the cause's places, moved by the
tally of past cases and by what deduction raises. Causes speak of findings; several checks may report one finding,
each with an error of its own, and what is really there is summed out, so that the same thing asked twice does not
count twice. Two suspects stand for what no rule describes: one quiet, one odd; they are never eliminated.
Sums are math.fsum over sorted terms: the same to the bit in any order. Which step is worth taking is left to advice.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from troubleshoot.circuit import Computed, Fault, Probe, model_of
from troubleshoot.electrics import meter_error, quantity
from troubleshoot.inquiry import Observation, edges
from troubleshoot.layout import Layout, Place
from troubleshoot.rulebook import Cause, Check, Finding, Rulebook, row
from troubleshoot.rulebook.tally import Tally
from troubleshoot.rulebook.words import LOWEST, SOMETHING_ELSE
from troubleshoot.survey import factor, raising

QUIET, ODD = "something-else/quiet", "something-else/odd"
COMPUTED_SPREAD = 0.35
"""Log spread of a reading that physics computes for a suspect: parts and places differ (estimate)."""
ODD_LIKE_KNOWN = 0.5
"""How much of the odd fault's row is what the known causes together would show; the rest is anything (estimate).

A fault that nobody described still belongs to this symptom: most of what it leaves alone, the known causes leave alone.
Taken as anything at all, it lost to the nearest known cause by every ordinary answer, even after that one's remedy
had failed.
"""
MODEL_TRUST = 0.8
"""How far the circuit of a layout is believed about a reading; the rest goes by the words of the rules (estimate)."""
END_BAND = 50.0
"""How far a first or last band reaches beyond its limit, as a ratio, when figures in it are compared by size."""


NOTHING_COUNTED = Tally()


@dataclass(frozen=True, order=True)
class Suspect:
    """A cause at a place. The two suspects beyond the rules have no place."""

    cause: str
    place: str
    kind: str = ""

    @property
    def beyond(self) -> bool:
        """Whether this stands for what no rule describes."""
        return self.cause in (QUIET, ODD)


@dataclass(frozen=True)
class Mended:
    """A remedy tried without full success: its causes at its place, how surely it works, and the result."""

    causes: frozenset[str]
    place: str | None
    works: float
    partly: bool
    order: int


@dataclass(frozen=True, eq=False)
class Field:
    """All suspects of one symptom with their prior, before any answer."""

    symptom: str
    suspects: tuple[Suspect, ...]
    prior: tuple[float, ...]
    relations: tuple[str, ...]
    causes: tuple[Cause | None, ...]
    tally: Tally = NOTHING_COUNTED


Weight = tuple[tuple[str, Place], tuple[float, ...]]
"""What was found where, and the decibans that it gives each suspect of a field."""


@dataclass(frozen=True, eq=False)
class Posterior:
    """The belief after the answers: chances in the order of the field, and each answer's decibans per suspect."""

    field: Field
    chances: tuple[float, ...]
    evidence: tuple[Weight, ...]
    surprise: float

    def by_cause(self) -> list[tuple[str, float]]:
        """Chances by cause, likeliest first, ties by name; what no rule describes is one line."""
        sums: dict[str, list[float]] = {}
        for suspect, chance in zip(self.field.suspects, self.chances, strict=True):
            sums.setdefault("something-else" if suspect.beyond else suspect.cause, []).append(chance)
        return sorted(((c, math.fsum(v)) for c, v in sums.items()), key=lambda pair: (-pair[1], pair[0]))


def weights(rulebook: Rulebook, symptom: str, tally: Tally, place: str = "") -> dict[str, float]:
    """P(cause | symptom at a place) before any answer, totalling 1 - .05: the authors' weights, moved by the tally."""
    authored = {c.name: c.weights[symptom] for c in rulebook.causes_of(symptom)}
    return {c: (1.0 - SOMETHING_ELSE) * s for c, s in tally.shares(symptom, authored, place).items()}


def field_of(
    rulebook: Rulebook,
    layout: Layout,
    symptom: str,
    subject: Place,
    ruled_out: Iterable[str] = (),
    raised: Mapping[str, float] | None = None,
    tally: Tally | None = None,
) -> Field:
    """The suspects of a symptom on this layout, with priors that total one."""
    out = set(ruled_out)
    tally = tally or NOTHING_COUNTED
    shares = weights(rulebook, symptom, tally, subject.name)
    rows: list[tuple[Suspect, float, str, Cause | None]] = []
    for cause in rulebook.causes_of(symptom):
        if cause.name in out:
            continue
        places = layout.related(cause.relation, subject) or (subject,)
        each = shares[cause.name] * (raised or {}).get(cause.name, 1.0) / len(places)
        split = tally.split(cause.name, [p.name for p in places])
        weak = [factor(raising(layout, subject).found(cause.weak_spots, cause.relation, p)) for p in places]
        rows.extend(
            (Suspect(cause.name, p.name, p.kind), each * more * len(places) * part, cause.relation, cause)
            for p, more, part in zip(places, weak, split, strict=True)
        )
    for name in (ODD, QUIET):
        rows.append((Suspect(name, ""), SOMETHING_ELSE / 2, "", None))
    rows.sort(key=lambda r: r[0])
    total = math.fsum(r[1] for r in rows)
    return Field(
        symptom,
        tuple(r[0] for r in rows),
        tuple(r[1] / total for r in rows),
        tuple(r[2] for r in rows),
        tuple(r[3] for r in rows),
        tally,
    )


def clipped(chance: float) -> float:
    """No likelihood is 0 or 1."""
    return min(1.0 - LOWEST, max(LOWEST, chance))


def quiet_row(finding: Finding) -> tuple[float, ...]:
    """The row of a fault that leaves every finding as a healthy layout shows it, clipped to .05-.95."""
    rough = [min(0.95, max(0.05 / max(len(finding.outcomes) - 1, 1), p)) for p in finding.sound]
    total = math.fsum(rough)
    return tuple(p / total for p in rough)


def odd_row(finding: Finding, known: Sequence[tuple[float, tuple[float, ...]]]) -> tuple[float, ...]:
    """The row of a fault that may do anything: in part what the known suspects (prior, row) show together."""
    flat = 1.0 / len(finding.outcomes)
    total = math.fsum(p for p, _ in known)
    if total <= 0.0:
        return tuple(flat for _ in finding.outcomes)
    mean = (math.fsum(p * r[x] for p, r in known) / total for x in range(len(finding.outcomes)))
    return tuple((1.0 - ODD_LIKE_KNOWN) * flat + ODD_LIKE_KNOWN * m for m in mean)


def computed_row(
    layout: Layout, check: Check, finding: Finding, place: Place, factor: float, name: str
) -> tuple[float, ...]:
    """P(band | the figure that physics computes for this suspect), by a log-normal spread over the bands."""
    centre = max(quantity(name, layout, place).value * factor, 1e-30)
    bounds = edges(layout, check, place)
    below = [
        0.5 * math.erfc(-(math.log(max(e, 1e-30)) - math.log(centre)) / (COMPUTED_SPREAD * math.sqrt(2.0)))
        for e in bounds.edges
    ]
    shares = dict(zip(check.outcomes, (b - a for a, b in zip([0.0, *below], [*below, 1.0], strict=True)), strict=True))
    least = LOWEST / max(len(finding.outcomes) - 1, 1)
    rough = [max(least, shares[o]) for o in finding.outcomes]
    total = math.fsum(rough)
    return tuple(p / total for p in rough)


class Rows:
    """P(outcome of a finding at a place | suspect) for one field of suspects, worked out once and kept."""

    def __init__(self, rulebook: Rulebook, layout: Layout, field: Field) -> None:
        self.rulebook, self.layout, self.field = rulebook, layout, field
        self._kept: dict[tuple[str, Place], tuple[tuple[float, ...], ...]] = {}

    def of(self, finding: str, place: Place) -> tuple[tuple[float, ...], ...]:
        """A row for every suspect of the field, in its order."""
        key = (finding, place)
        if key not in self._kept:
            found = self.rulebook.findings[finding]
            by_cause: dict[str, tuple[float, ...]] = {}
            known = [self._one(found, place, i, by_cause) for i in range(len(self.field.suspects))]
            odd = odd_row(
                found, [(p, r) for p, r, c in zip(self.field.prior, known, self.field.causes, strict=True) if c]
            )
            self._kept[key] = tuple(
                odd if s.cause == ODD else r for s, r in zip(self.field.suspects, known, strict=True)
            )
        return self._kept[key]

    def _one(
        self, found: Finding, place: Place, index: int, by_cause: dict[str, tuple[float, ...]]
    ) -> tuple[float, ...]:
        suspect, cause = self.field.suspects[index], self.field.causes[index]
        if cause is None:
            return quiet_row(found)
        # A placed check speaks of its own place: the same kind of part elsewhere is left as a sound one.
        if self.field.relations[index] == found.relation and suspect.place != place.name:
            return found.sound
        if cause.name not in by_cause:
            by_cause[cause.name] = self._stated(found, place, cause)
        return by_cause[cause.name]

    def _stated(self, found: Finding, place: Place, cause: Cause) -> tuple[float, ...]:
        stated, outcomes = self._authored(found, place, cause), found.outcomes
        return self.field.tally.row(self.field.symptom, cause.name, found.name, outcomes, stated)

    def _authored(self, found: Finding, place: Place, cause: Cause) -> tuple[float, ...]:
        figure = cause.reads.get(found.name)
        if figure:
            for check in self.rulebook.checks_for(found.name):
                if check.unit:
                    return computed_row(self.layout, check, found, place, *figure)
        return row(self.rulebook, found.name, cause, self.field.symptom)

    def computed(self, seen: Observation) -> dict[int, float]:
        """Likelihood of a typed figure by the circuit, for each suspect that is a fault in it.

        It is told as the chance of a band is, so that suspects judged by the words of the rules compare: the
        density of the figure times the width of its band (natural logarithms). Nothing without a circuit.
        """
        check = self.rulebook.checks.get(seen.check)
        if seen.value is None or check is None or not check.measures:
            return {}
        model = model_of(self.layout)
        faults = [(i, c) for i, c in enumerate(self.field.causes) if c is not None and c.fault]
        if model is None or not faults:
            return {}
        probe = Probe(*check.measures)
        found: dict[int, float] = {}
        for index, cause in faults:
            suspect = self.field.suspects[index]
            at = Place(suspect.kind, suspect.place)
            reads = model.reads(probe, seen.place, fault_of(self.layout, cause, at), at)
            if reads is not None:
                found[index] = self._by_size(reads, check, seen)
        return found

    def _by_size(self, reads: Computed, check: Check, seen: Observation) -> float:
        count = len(check.outcomes)
        missed = seen.error / count
        if seen.value is None or seen.value == math.inf:
            chance = sum(v == math.inf for v in reads.values) / len(reads.values)
            return (1.0 - seen.error) * max(chance, LOWEST / count) + missed
        bounds = edges(self.layout, check, seen.place).edges
        whole = [bounds[0] / END_BAND, *bounds, bounds[-1] * END_BAND] if bounds else [1.0, math.e]
        widths = [math.log(max(b, 1e-30) / max(a, 1e-30)) for a, b in pairwise(whole)]
        order = dict(zip(check.outcomes, widths, strict=True))
        names = self.rulebook.findings[check.finding].outcomes
        width = math.fsum(w * order[o] for w, o in zip(seen.weights, names, strict=True))
        density = reads.density(seen.value, meter_error(self.layout, check.unit or "")) * width
        return (1.0 - seen.error) * max(density, LOWEST / count) + missed


def fault_of(layout: Layout, cause: Cause, at: Place) -> Fault:
    """What a cause is in the circuit of this layout, its sizes worked out at its place."""
    if cause.fault is None:
        raise ValueError(f"{cause.name} is no fault of a circuit")
    kind, least, most = cause.fault
    low, high = (f if name is None else f * quantity(name, layout, at).value for f, name in (least, most))
    return Fault(kind, low, max(low, high))


def seen_as(weights_: Sequence[float], error: float) -> tuple[float, ...]:
    """P(what was reported | what is really there), for each outcome that may be really there."""
    others = max(len(weights_) - 1, 1)
    total = math.fsum(weights_)
    return tuple(w * (1.0 - error) + (total - w) * error / others for w in weights_)


def both(first: tuple[float, ...], second: tuple[float, ...], quiet: int) -> tuple[float, ...]:
    """The row of two faults at once: a telling outcome shows if either fault shows it."""
    rough = [
        1.0 - (1.0 - a) * (1.0 - b) if i != quiet else 0.0 for i, (a, b) in enumerate(zip(first, second, strict=True))
    ]
    telling = math.fsum(rough)
    if telling > 1.0 - LOWEST:
        rough = [p * (1.0 - LOWEST) / telling for p in rough]
    rough[quiet] = 1.0 - math.fsum(rough)
    return tuple(rough)


def _likelihood(rows: Sequence[float], reports: Iterable[tuple[float, ...]]) -> float:
    return math.fsum(p * math.prod(r[x] for r in reports) for x, p in enumerate(rows))


def _confirmed(
    found: Finding, rows: tuple[tuple[float, ...], ...], field: Field, mended: Sequence[Mended], order: int
) -> tuple[tuple[float, ...], ...]:
    """Rows as they were while a fault that has since been partly confirmed was still there."""
    for mend in mended:
        if not mend.partly or order > mend.order:
            continue
        at = [i for i, s in enumerate(field.suspects) if _covers(mend, s)]
        if at:
            first = tuple(math.fsum(rows[i][x] for i in at) / len(at) for x in range(len(found.outcomes)))
            rows = tuple(both(first, r, found.quiet) for r in rows)
    return rows


def _covers(mend: Mended, suspect: Suspect) -> bool:
    return suspect.cause in mend.causes and (mend.place is None or suspect.place == mend.place)


def group(seen: Iterable[Observation]) -> list[tuple[tuple[str, Place], list[Observation]]]:
    """Observations by finding and place, in a fixed order."""
    groups: dict[tuple[str, Place], list[Observation]] = {}
    for one in seen:
        groups.setdefault((one.finding, one.place), []).append(one)
    return [
        (k, sorted(v, key=lambda o: o.check))
        for k, v in sorted(groups.items(), key=lambda kv: (kv[0][0], kv[0][1].name))
    ]


def weigh(
    rows: Rows, seen: Sequence[Observation], mended: Sequence[Mended] = (), further: Sequence[Weight] = ()
) -> Posterior:
    """The posterior over all suspects after every observation, every remedy that did not cure, and further weights."""
    field = rows.field
    evidence: list[Weight] = list(further)
    for (finding, place), reports in group(seen):
        found = rows.rulebook.findings[finding]
        order = min(o.order for o in reports)
        table = _confirmed(found, rows.of(finding, place), field, mended, order)
        shown = [seen_as(o.weights, o.error) for o in reports]
        known: dict[tuple[float, ...], float] = {}
        for one in table:
            if one not in known:
                known[one] = _likelihood(one, shown)
        trusted = [known[one] for one in table]
        for report, weights_ in zip(reports, shown, strict=True):
            for i, chance in rows.computed(report).items():
                by_words = max(_likelihood(table[i], (weights_,)), 1e-12)
                trusted[i] *= 1.0 + MODEL_TRUST * (chance / by_words - 1.0)
        evidence.append(((finding, place), tuple(10.0 * math.log10(max(t, 1e-12)) for t in trusted)))
    for mend in sorted(mended, key=lambda m: (sorted(m.causes), m.place or "")):
        spared = 10.0 * math.log10(1.0 - mend.works)
        parts = tuple(spared if _covers(mend, s) else 0.0 for s in field.suspects)
        evidence.append((("mended", Place("remedy", mend.place or "")), parts))
    scores = [
        math.fsum((10.0 * math.log10(max(p, 1e-300)), *(parts[i] for _, parts in evidence)))
        for i, p in enumerate(field.prior)
    ]
    best = max(scores)
    mass = [10.0 ** ((s - best) / 10.0) for s in scores]
    total = math.fsum(mass)
    surprise = best / 10.0 + math.log10(total)
    return Posterior(field, tuple(m / total for m in mass), tuple(evidence), surprise)


def mistaken(rows: Rows, posterior: Posterior, one: Observation) -> float:
    """The chance, by everything said, that an answer was reported wrongly: it does not show what is really there."""
    table = rows.of(one.finding, one.place)
    shown = [seen_as(one.weights, one.error)]
    wrong = []
    for chance, really in zip(posterior.chances, table, strict=True):
        whole = _likelihood(really, shown)
        right = math.fsum(p * w * (1.0 - one.error) for p, w in zip(really, one.weights, strict=True))
        wrong.append(chance * (1.0 - right / whole) if whole > 0.0 else chance)
    return math.fsum(wrong)

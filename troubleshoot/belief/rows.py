"""P(outcome of a finding at a place | suspect): by the words of the rules, by formulas, or by the circuit.

Causes speak of findings; a check of a place speaks of that place, and a suspect elsewhere leaves it as a sound one.
What several reports of one finding say together is left to `weighing`.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

from troubleshoot.belief.suspects import ODD, Field
from troubleshoot.circuit import Computed, Fault, Probe, model_of
from troubleshoot.electrics import meter_error, quantity
from troubleshoot.inquiry import Observation, edges
from troubleshoot.layout import Layout, Place
from troubleshoot.rulebook import Cause, Check, Finding, Rulebook, row
from troubleshoot.rulebook.words import LOWEST

COMPUTED_SPREAD = 0.35
"""Log spread of a reading that physics computes for a suspect: parts and places differ (estimate)."""

ODD_LIKE_KNOWN = 0.5
"""How much of the odd fault's row is what the known causes together would show; the rest is anything (estimate).

A fault that nobody described still belongs to this symptom: most of what it leaves alone, the known causes leave alone.
Taken as anything at all, it lost to the nearest known cause by every ordinary answer, even after that one's remedy
had failed.
"""

END_BAND = 50.0
"""How far a first or last band reaches beyond its limit, as a ratio, when figures in it are compared by size."""


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

"""The posterior: priors and everything seen, as decibans that add up.

Several checks may report one finding, each with an error of its own, and what is really there is summed out, so that
the same thing asked twice does not count twice. Sums are math.fsum over sorted terms: the same to the bit in any order.
"""

import math
from collections.abc import Iterable, Sequence

from troubleshoot.belief.rows import Rows
from troubleshoot.belief.suspects import Field, Mended, Posterior, Suspect, Weight
from troubleshoot.inquiry import Observation
from troubleshoot.layout import Place
from troubleshoot.rulebook import Finding
from troubleshoot.rulebook.words import LOWEST

MODEL_TRUST = 0.8
"""How far the circuit of a layout is believed about a reading; the rest goes by the words of the rules (estimate)."""


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

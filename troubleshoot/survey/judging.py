"""Judging one look: does it fail for every plausible value of what the record does not give?

Only then is it reported as it is. Where the verdict hangs on figures that the record could give, nothing is reported
and the figure is named as missing. Where it hangs only on what no record gives (the heat of a summer, the current of a
train), failing at the usual value is worth a remark and no more. A look that rests on assumptions alone is not judged.

Every `Work` goes one way with each of its figures, or has its best at the usual ones, so that the best and the worst
corner are found figure by figure.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from troubleshoot.layout import Place
from troubleshoot.quantities import show
from troubleshoot.survey.spots import Datum, Kind, Look, Severity, WeakSpot, Work

Known = dict[tuple[Work, str], dict[tuple[float, ...], "Verdict"]]
"""Verdicts by work and side, then by the numbers they rest on: a large layout asks the same again and again.

The numbers are one flat tuple, which Python's collector leaves alone.
"""

KEPT = 1.0 + 1e-9
"""How many limits a value may be on its bad side and still keep its limit: rounding is no weak spot."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """Value and limit as taken, how many limits that is, also at the best and the worst, and what decides."""

    value: float
    limit: float
    excess: float
    best: float
    worst: float
    decides: tuple[str, ...]


def excess(value: float, limit: float, fails: str) -> float:
    """How many limits a value is on its bad side: up to 1 it keeps the limit. Units: ratio."""
    over, under = (value, limit) if fails == "above" else (limit, value)
    if under > 0.0:
        return max(over, 0.0) / under
    return math.inf if over > 0.0 else 0.0


def verdict(work: Work, data: Mapping[str, Datum], fails: str) -> Verdict:
    """A look judged at its usual figures and at the best and worst of the plausible ones."""
    usual = {name: d.value for name, d in data.items()}
    value, limit = work(usual)
    here = excess(value, limit, fails)
    best, worst, trial = dict(usual), dict(usual), dict(usual)
    swings: list[tuple[float, float, str]] = []
    for name, one in data.items():
        if one.low == one.high:
            continue
        ends = [(here, usual[name])]
        for end in (one.low, one.high):
            trial[name] = end
            ends.append((excess(*work(trial), fails), end))
        trial[name] = usual[name]
        least, most = min(ends), max(ends)
        best[name], worst[name] = least[1], most[1]
        swings.append((least[0], most[0], name))
    if not swings:
        return Verdict(value, limit, here, here, here, ())
    flips = tuple(name for least, most, name in swings if least <= KEPT < most)
    widest = max(swings, key=lambda s: (_span(s[0], s[1]), s[2]))[2]
    ends_at = (excess(*work(best), fails), excess(*work(worst), fails))
    return Verdict(value, limit, here, ends_at[0], ends_at[1], flips or (widest,))


def _span(least: float, most: float) -> float:
    return most / least if least > 0.0 and most < math.inf else math.inf


def judge(look: Look, kind: Kind, known: Known) -> tuple[WeakSpot | None, tuple[Datum, ...]]:
    """A weak spot or none, and the figures that would decide the look where it is open."""
    data, given = look.data, False
    numbers: list[float] = []
    for one in data.values():
        numbers += (one.figure.value, one.low, one.high)
        given = given or not one.figure.assumed
    if not given:
        return None, ()
    verdicts, key = known.setdefault((look.work, kind.fails), {}), tuple(numbers)
    found = verdicts.get(key)
    if found is None:
        found = verdicts[key] = verdict(look.work, data, kind.fails)
    severity = _severity(found.best, kind)
    if severity is None and found.worst > KEPT:
        wanted = tuple(data[name] for name in found.decides if data[name].asks)
        if wanted:
            return None, wanted
        severity = "remark" if found.excess > KEPT else None
    return (None if severity is None else spot(look, kind, found, severity)), ()


def _severity(times: float, kind: Kind) -> Severity | None:
    if times <= kind.remark * KEPT:
        return None
    if times <= KEPT or kind.gravest == "remark":
        return "remark"
    return "serious" if times > kind.serious and kind.gravest == "serious" else "weak"


def spot(look: Look, kind: Kind, found: Verdict, severity: Severity) -> WeakSpot:
    """The weak spot in words and figures."""
    told = {
        "place": called(look.place),
        "value": worded(found.value, kind.unit),
        "limit": worded(found.limit, kind.unit),
        **{name: worded(d.value, d.figure.unit) for name, d in look.data.items()},
        **look.tell,
    }
    figures = tuple(dict.fromkeys(d.figure for d in look.data.values()))
    return WeakSpot(
        look.kind,
        look.place,
        severity,
        found.value,
        found.limit,
        kind.unit,
        kind.formula,
        kind.source,
        _begun(kind.says.format(**told)),
        _begun(kind.cure.format(**told)),
        kind.minutes,
        figures,
        tuple(f.said for f in figures if f.assumed),
    )


def called(place: Place) -> str:
    """A place as a person says it: the feeder of yard-2."""
    kind = place.kind.replace("-", " ")
    owner = place.name.removesuffix(f" {kind}")
    if owner != place.name:
        return f"the {kind} of {owner}"
    return f"the {kind}" if place.name == kind else place.name


def _begun(sentence: str) -> str:
    """A sentence that begins with 'the' gets its capital; names stay as their owner wrote them."""
    return f"T{sentence[1:]}" if sentence.startswith("the ") else sentence


def worded(value: float, unit: str) -> str:
    """A value with its unit for people; a ratio has none."""
    if unit in ("", "count"):
        return f"{value:.0f}" if unit else f"{value:.2g}"
    if unit == "K":
        return f"{value:.0f} C"
    return show(value, unit)

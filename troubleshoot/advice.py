"""What to do next: information per minute, judged by expected minutes to a proven mend.

Every open trial is scored by expected information per minute; the best five are judged by the minutes that are
expected until the fault is gone if that trial comes first, against mending the likeliest thing now (greatest
chance per minute first). Ties go to the first in the given order. The model here is abstract: masses, trials,
repairs. The dialogue, the quality trial and the benchmarks all call `next_step`. What a trial costs on this
layout, and which are allowed, is left to diagnosis.
"""

import heapq
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

JUDGED = 5
LEAST_BITS = 1e-9
HAND_OVER = 120.0
"""Minutes until somebody else has found what no remedy here mends (estimate)."""


@dataclass(frozen=True)
class Trial:
    """A check that may be made: its minutes, its distinct rows, and which row each suspect has."""

    name: str
    minutes: float
    rows: tuple[tuple[float, ...], ...]
    row_of: tuple[int, ...]


@dataclass(frozen=True)
class Repair:
    """A mend that may be made: its minutes with the proof, the suspects it covers, and how surely it works."""

    name: str
    minutes: float
    covers: tuple[int, ...]
    works: float = 1.0


@dataclass(frozen=True)
class Ranked:
    """A trial with its information in bits, its bits per minute and the expected minutes if it comes first."""

    index: int
    bits: float
    per_minute: float
    expected: float | None = None


@dataclass(frozen=True)
class Step:
    """The step most worth taking, and what was weighed against it."""

    kind: str
    index: int
    expected: float
    repair_now: float
    first_repair: int | None
    ranked: tuple[Ranked, ...]


def entropy(masses: Sequence[float]) -> float:
    """Entropy in bits of masses that need not total one."""
    total = math.fsum(masses)
    if total <= 0.0:
        return 0.0
    return -math.fsum(m * math.log2(m / total) for m in masses if m > 0.0) / total


def bits(masses: Sequence[float], trial: Trial) -> float:
    """Expected information about the suspects, in bits: H(outcome) - H(outcome | suspect)."""
    sums = [0.0] * len(trial.rows)
    for mass, number in zip(masses, trial.row_of, strict=True):
        sums[number] += mass
    total = sum(sums)
    if total <= 0.0:
        return 0.0
    outcomes = [0.0] * len(trial.rows[0])
    given = 0.0
    for mass, row in zip(sums, trial.rows, strict=True):
        if mass <= 0.0:
            continue
        for i, p in enumerate(row):
            outcomes[i] += mass * p
            if p > 0.0:
                given -= mass * p * math.log2(p)
    return max(0.0, entropy(outcomes) - given / total)


def plan(masses: Sequence[float], repairs: Sequence[Repair]) -> tuple[float, int | None]:
    """Expected minutes of mending in order of chance per minute, and the first mend of that order.

    Chances are counted afresh after each assumed failure, because mends overlap. Masses need not total one: the
    minutes are scaled by them. What no mend takes away costs HAND_OVER minutes more.
    """
    open_mass, minutes, first = math.fsum(masses), 0.0, None
    for i, taken, _ in _mending(masses, repairs):
        first = i if first is None else first
        minutes += repairs[i].minutes * open_mass
        open_mass -= taken
        if open_mass <= 1e-15:
            break
    return minutes + HAND_OVER * max(0.0, open_mass), first


def _mending(masses: Sequence[float], repairs: Sequence[Repair]) -> Iterator[tuple[int, float, Sequence[float]]]:
    """Mends in order of chance per minute: which, what mass it takes away, and the masses left after it."""
    left = list(masses)
    queue: list[tuple[float, int]] = []
    for i, repair in enumerate(repairs):
        gain = repair.works * sum(left[s] for s in repair.covers) / repair.minutes
        if gain > 0.0:
            queue.append((-gain, i))
    heapq.heapify(queue)
    while queue:
        stated, i = heapq.heappop(queue)
        repair = repairs[i]
        taken = repair.works * sum(left[s] for s in repair.covers)
        gain = taken / repair.minutes
        if gain <= 0.0:
            continue
        if gain < -stated and queue and (-gain, i) > queue[0]:
            heapq.heappush(queue, (-gain, i))
            continue
        for s in repair.covers:
            left[s] *= 1.0 - repair.works
        yield i, taken, left


def gives_up(masses: Sequence[float], repairs: Sequence[Repair]) -> bool:
    """Whether handing over now costs fewer minutes than mending on, to whatever point.

    Whoever takes over needs HAND_OVER minutes to find it, and then mends it as quickly as it can be mended.
    """
    costs = [HAND_OVER + min((r.minutes for r in repairs if i in r.covers), default=0.0) for i in range(len(masses))]

    def handed(left: Sequence[float]) -> float:
        return math.fsum(m * c for m, c in zip(left, costs, strict=True))

    now, minutes, open_mass = handed(masses), 0.0, math.fsum(masses)
    for i, taken, left in _mending(masses, repairs):
        minutes += repairs[i].minutes * open_mass
        open_mass -= taken
        if minutes + handed(left) < now:
            return False
    return True


def after(masses: Sequence[float], trial: Trial, outcome: int) -> list[float]:
    """The masses that remain in play when a trial shows an outcome (not scaled)."""
    return [m * trial.rows[r][outcome] for m, r in zip(masses, trial.row_of, strict=True)]


def expected(masses: Sequence[float], trial: Trial, repairs: Sequence[Repair]) -> float:
    """Expected minutes to mended if this trial comes first and mending follows at once."""
    total = math.fsum(masses)
    later = math.fsum(plan(after(masses, trial, o), repairs)[0] for o in range(len(trial.rows[0])))
    return trial.minutes + later / total


def next_step(masses: Sequence[float], trials: Sequence[Trial], repairs: Sequence[Repair]) -> Step:
    """The step most worth taking from here."""
    total = math.fsum(masses)
    ranked = []
    for i, trial in enumerate(trials):
        gain = bits(masses, trial)
        if gain > LEAST_BITS:
            ranked.append(Ranked(i, gain, gain / max(trial.minutes, 0.05)))
    ranked.sort(key=lambda r: (-r.per_minute, r.index))
    minutes, first = plan(masses, repairs)
    now = minutes / total
    judged = [
        Ranked(r.index, r.bits, r.per_minute, expected(masses, trials[r.index], repairs)) for r in ranked[:JUDGED]
    ]
    best = min(judged, key=lambda r: (r.expected, r.index), default=None)
    shown = tuple(judged + ranked[JUDGED:])
    if best is not None and best.expected is not None and best.expected < now - 1e-12:
        return Step("trial", best.index, best.expected, now, first, shown)
    if first is None:
        return Step("hand-over", -1, now, now, None, shown)
    return Step("repair", first, now, now, first, shown)


def separates(masses: Sequence[float], trials: Sequence[Trial], repair: Repair, dearer: float) -> Ranked | None:
    """The best trial, cheaper than a dear mend, that would settle whether the mend is the right one.

    A step that costs parts, cuts rail or wire, or lifts a bus is not advised before such a trial.
    """
    covered = set(repair.covers)
    inside = [m if i in covered else 0.0 for i, m in enumerate(masses)]
    chance = math.fsum(inside) / math.fsum(masses)
    best: Ranked | None = None
    for i, trial in enumerate(trials):
        if trial.minutes >= dearer:
            continue
        gain = _split(masses, covered, trial, chance)
        if gain >= 0.05 and (best is None or gain / max(trial.minutes, 0.05) > best.per_minute + 1e-12):
            best = Ranked(i, gain, gain / max(trial.minutes, 0.05))
    return best


def _split(masses: Sequence[float], covered: set[int], trial: Trial, chance: float) -> float:
    """Information in bits about one thing only: whether the fault is among the covered suspects."""
    total = math.fsum(masses)
    before = entropy([chance, 1.0 - chance])
    later = 0.0
    for outcome in range(len(trial.rows[0])):
        left = after(masses, trial, outcome)
        mass = math.fsum(left)
        inside = math.fsum(left[i] for i in covered)
        later += mass / total * entropy([inside, max(0.0, mass - inside)])
    return max(0.0, before - later)

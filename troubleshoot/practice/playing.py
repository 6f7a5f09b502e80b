"""Strategies at work on a hidden fault: the tool's own advice, a fixed checklist, and always half-splitting.

Every strategy asks the same world and is judged alike: minutes of checks, of set-ups and of repairs until the right
remedy is carried out at the right place. The tool plays through its own `diagnose`; a doubtful answer is looked at
again once, as it asks.
"""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from troubleshoot.diagnosis import CheckStep, Diagnosis, RemedyStep, diagnose, goes_when_lifted, hunt_of, looked_for
from troubleshoot.inquiry import Answer, FoundAt, FoundNowhere, Inquiry, Mend, PutAside, Record
from troubleshoot.layout import Place
from troubleshoot.practice.world import World

MOST_STEPS = 60
MOST_LIFTS = 12
HAND_OVER = 120.0
"""Minutes that a fault costs which is not found: somebody else has to come (estimate)."""
SURE = 0.8
"""Half-splitting goes on until one suspect has this chance (estimate)."""


@dataclass(frozen=True)
class Played:
    """How it went: where cause, and cause with place, stood at the first remedy, and what it cost."""

    fault: str
    symptom: str
    first: bool
    three: bool
    placed: bool
    stated: float
    minutes: float
    checks: int
    remedies: int
    found: bool
    stopped: bool = False


@dataclass(frozen=True)
class Summary:
    """Means over exercises that the tool did not stop for danger; minutes and checks also as medians."""

    way: str
    cases: int
    first: float
    three: float
    placed: float
    stated: float
    found: float
    minutes: float
    median_minutes: float
    median_checks: float
    stopped: int = 0


@dataclass
class _Tally:
    """One exercise in progress."""

    world: World
    records: list[Record] = field(default_factory=list)
    minutes: float = 0.0
    checks: int = 0
    tried: int = 0
    lifts: int = 0
    stopped: bool = False
    judged: tuple[bool, bool, bool, float] | None = None

    def made(self) -> Diagnosis:
        return diagnose(self.world.layout, self.world.rulebook, Inquiry(tuple(self.records)))

    def look(self, step: CheckStep) -> None:
        self.minutes += step.minutes
        self.checks += 1
        self.records.append(self.world.answer(step.check, step.place))

    def judge(self, made: Diagnosis) -> None:
        """Where the truth stands when the first remedy is about to be carried out."""
        if self.judged is None:
            truth = self.world.fault.cause
            order = [r.cause for r in made.ranking]
            pairs = sorted(((-c, r.cause, p) for r in made.ranking for p, c in r.places))
            right = {(c, p) for _, c, p in pairs[:3]}
            stands = (truth, self.world.place.name) in right
            self.judged = (order[:1] == [truth], truth in order[:3], stands, made.ranking[0].chance)

    def mend(self, step: RemedyStep) -> bool:
        self.minutes += step.minutes
        self.tried += 1
        if self.world.cured_by(step.remedy.name, step.place):
            return True
        self.records.append(Mend(step.remedy.name, step.place.name, "not-fixed"))
        return False

    def mending(self) -> float:
        """Minutes of the right mend, which whoever takes over has to carry out as well."""
        return min((r.minutes for r in self.world.rulebook.remedies_of(self.world.fault.cause)), default=0.0)

    def ended(self, found: bool) -> Played:
        first, three, placed, stated = self.judged or (False, False, False, 0.0)
        fault = self.world.fault
        return Played(
            fault.name, fault.symptom, first, three, placed, stated,
            self.minutes + (0.0 if found else HAND_OVER + self.mending()), self.checks, self.tried, found, self.stopped,
        )  # fmt: skip


def _advised(tally: _Tally) -> bool:
    """The tool's own advice, step by step."""
    again: set[tuple[str, str]] = set()
    for _ in range(MOST_STEPS):
        made = tally.made()
        step = made.step
        if made.deduced.stop and _asked_again(tally, made, again):
            continue
        if isinstance(step, RemedyStep) and _asked_again(tally, made, again):
            continue
        if isinstance(step, CheckStep):
            tally.look(step)
        elif isinstance(step, RemedyStep):
            if made.unplaced:
                _placed(tally, made)
                continue
            tally.judge(made)
            if tally.mend(step):
                return True
        else:
            tally.stopped = bool(made.deduced.stop)
            return False
    return False


def _placed(tally: _Tally, made: Diagnosis) -> None:
    """Find out which of several like places it is: by lifting where that tells, else by looking at each in turn."""
    world = tally.world
    if goes_when_lifted(world.rulebook, made):
        hunt = hunt_of(world.layout, Inquiry(tuple(tally.records)), made)
        if hunt is not None and hunt.next is not None and tally.lifts < MOST_LIFTS:
            tally.lifts += 1
            tally.minutes += hunt.next.minutes
            tally.records.append(world.lifted(hunt.tree, hunt.next.point.name))
            return
    step = made.step
    assert isinstance(step, RemedyStep)
    line = next(r for r in made.ranking if r.cause in step.remedy.mends)
    check = world.rulebook.checks[world.rulebook.causes[line.cause].best_check]
    names = list(made.unplaced)
    at = names.index(world.place.name) + 1 if world.place.name in names else len(names)
    ready = math.fsum(world.rulebook.set_ups[s].enter for s in check.set_up)
    tally.minutes += ready + at * max(check.minutes, 0.5)
    tally.checks += at
    here = world.fault.cause in step.remedy.mends and world.place.name in names
    tally.records.append(FoundAt(world.place.name) if here else FoundNowhere(looked_for(world.rulebook, made)))


def _asked_again(tally: _Tally, made: Diagnosis, again: set[tuple[str, str]]) -> bool:
    """Look once more at an answer that the tool calls doubtful: the second look is a true one."""
    for doubtful in made.ask_again:
        key = (doubtful.check, doubtful.place.name)
        if key in again:
            continue
        again.add(key)
        check = tally.world.rulebook.checks[doubtful.check]
        tally.minutes += max(check.minutes, 0.5)
        world = tally.world.careful()
        tally.records.append(world.answer(check, doubtful.place))
        return True
    return False


def _halved(tally: _Tally) -> bool:
    """Always the check that tells most, whatever it costs, until one suspect is nearly sure."""
    for _ in range(MOST_STEPS):
        made = tally.made()
        open_ = [s for s in (made.step, *made.others) if isinstance(s, CheckStep)]
        leader = made.ranking[0]
        if open_ and leader.chance < SURE:
            tally.look(max(open_, key=lambda s: (s.bits, s.check.name)))
            continue
        repair = made.step if isinstance(made.step, RemedyStep) else made.repair
        if repair is None:
            tally.stopped = bool(made.deduced.stop)
            return False
        tally.judge(made)
        if tally.mend(repair):
            return True
    return False


def _listed(tally: _Tally) -> bool:
    """A fixed list: the best test of each cause by weight at its places; what it speaks for is mended at once."""
    world, book = tally.world, tally.world.rulebook
    symptom = world.fault.symptom
    causes = sorted(book.causes_of(symptom), key=lambda c: (-c.weights[symptom], c.name))
    made = tally.made()
    known = {r.cause for r in made.ranking}
    late: list[tuple[str, Place]] = []
    for cause in causes:
        if cause.name not in known:
            continue
        check = book.checks[cause.best_check]
        for place in world.layout.related(cause.relation, world.subject)[:6] or (world.subject,):
            at = place if check.relation == cause.relation else world.layout.related(check.relation, world.subject)[0]
            seen = (check.name, at.name) in {
                (r.check, r.place) for r in tally.records if isinstance(r, Answer | PutAside)
            }
            if not seen:
                tally.minutes += max(check.minutes, 0.5) + math.fsum(book.set_ups[s].enter for s in check.set_up)
                tally.checks += 1
                tally.records.append(world.answer(check, at))
            if not _speaks_for(tally, cause.name, check.name, at):
                late.append((cause.name, place))
            elif _mended(tally, cause.name, place):
                return True
    return any(_mended(tally, cause, place) for cause, place in late)


def _speaks_for(tally: _Tally, cause: str, check: str, at: Place) -> bool:
    """Whether the answer to a check is what the cause usually shows, by the words of the rules."""
    from troubleshoot.inquiry import observations

    book = tally.world.rulebook
    seen = {(o.check, o.place): o for o in observations(tally.world.layout, book, Inquiry(tuple(tally.records)))}
    one = seen.get((check, at))
    if one is None:
        return False
    entry = book.causes[cause]
    told = entry.under.get(tally.world.fault.symptom, {}).get(one.finding) or entry.shows.get(one.finding, {})
    return told.get(one.outcome) in ("always", "usually", "often")


def _mended(tally: _Tally, cause: str, place: Place) -> bool:
    remedy = min(tally.world.rulebook.remedies_of(cause), key=lambda r: (r.minutes, r.name))
    tally.minutes += remedy.minutes
    tally.tried += 1
    return tally.world.cured_by(remedy.name, place)


WAYS: Mapping[str, Callable[[_Tally], bool]] = {"advice": _advised, "checklist": _listed, "half-splitting": _halved}
"""How a fault may be gone about."""


def play(world: World, way: str = "advice") -> Played:
    """One exercise from the complaint to the mend, or to the hand-over."""
    tally = _Tally(world, [world.complaint])
    return tally.ended(WAYS[way](tally))


def summary(way: str, played: Iterable[Played]) -> Summary:
    """Means and medians over exercises; of none, zeros. Those that ended in a stop for danger are counted apart."""
    whole = list(played)
    every = [p for p in whole if not p.stopped]

    def mean(values: Sequence[float]) -> float:
        return math.fsum(values) / max(len(values), 1)

    def middle(values: Sequence[float]) -> float:
        return sorted(values)[len(values) // 2] if values else 0.0

    return Summary(
        way,
        len(every),
        mean([p.first for p in every]),
        mean([p.three for p in every]),
        mean([p.placed for p in every]),
        mean([p.stated for p in every]),
        mean([p.found for p in every]),
        mean([p.minutes for p in every]),
        middle([p.minutes for p in every]),
        middle([float(p.checks) for p in every]),
        len(whole) - len(every),
    )

"""The work of an evening: what is to be done next in every open case, and the checks that are due, place by place.

Jobs at one board that need the same states of the layout are done in one go: a state is entered and left once. What
is dangerous comes first, then what is still undone, then what takes least. Nothing is drawn here; which checks are
due is told by `rounds`.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from troubleshoot.diagnosis import CheckStep, RemedyStep
from troubleshoot.layout import Layout, Place, Unknown
from troubleshoot.report.story import Story
from troubleshoot.report.wording import PRICES
from troubleshoot.rounds import History, due_checks
from troubleshoot.rulebook import Rulebook, SetUp
from troubleshoot.rulebook.wording import at, label, proof

CLOSING = 1.0
"""Minutes to close a case that is proven (estimate)."""


@dataclass(frozen=True)
class Job:
    """One thing to do: where, what, why, minutes without the states it needs, and these states by name."""

    layout: str
    board: str
    place: str
    what: str
    why: str
    minutes: float
    set_ups: tuple[str, ...] = ()
    bring: tuple[str, ...] = ()
    case: str = ""
    danger: bool = False
    undone: tuple[str, ...] = ()

    @property
    def rank(self) -> tuple[bool, bool, bool, float, str, str]:
        """Sorts jobs: danger, then what is still undone, then cases before due checks, then the shortest."""
        return not self.danger, not self.undone, not self.case, self.minutes, self.place, self.what


@dataclass(frozen=True)
class State:
    """A state of the layout that jobs need: its words, and the minutes to enter and to leave it."""

    says: str
    minutes: float
    tools: tuple[str, ...] = ()


@dataclass(frozen=True)
class Group:
    """Jobs at one board under the same states, with the minutes of all of it."""

    layout: str
    board: str
    states: tuple[str, ...]
    jobs: tuple[Job, ...]
    minutes: float


@dataclass(frozen=True)
class WorkList:
    """All groups, what has to wait for another evening, what to bring, and the minutes in all.

    `unread` counts cases and histories that could not be read, so that nobody takes the list for whole.
    """

    groups: tuple[Group, ...]
    later: tuple[Job, ...]
    bring: tuple[str, ...]
    minutes: float
    at_hand: float | None = None
    unread: int = 0


@dataclass
class _Evening:
    """Groups while they fill, and the minutes spent."""

    states: Mapping[str, State]
    at_hand: float | None
    spent: float = 0.0
    groups: dict[tuple[str, str, tuple[str, ...]], list[Job]] = field(default_factory=dict)
    later: list[Job] = field(default_factory=list)

    def moves(self, set_ups: Sequence[str]) -> float:
        """Minutes to enter and to leave states."""
        return sum(self.states[s].minutes for s in set_ups if s in self.states)

    def take(self, job: Job) -> None:
        """Take a job in, or leave it for later; danger is never left for later."""
        key = (job.layout, job.board, job.set_ups)
        needs = job.minutes + (0.0 if key in self.groups else self.moves(job.set_ups))
        if self.at_hand is not None and self.spent + needs > self.at_hand and not job.danger:
            self.later.append(job)
            return
        self.spent += needs
        self.groups.setdefault(key, []).append(job)


def work_list(
    jobs: Iterable[Job], states: Mapping[str, State], at_hand: float | None = None, unread: int = 0
) -> WorkList:
    """The list of an evening of so many minutes, or of all there is to do."""
    evening = _Evening(states, at_hand)
    for job in sorted(jobs, key=lambda j: j.rank):
        evening.take(job)
    groups = []
    for (layout, board, set_ups), some in evening.groups.items():
        said = tuple(states[s].says if s in states else label(s) for s in set_ups)
        minutes = sum(j.minutes for j in some) + evening.moves(set_ups)
        groups.append(Group(layout, board, said, tuple(some), minutes))
    # boards stand together; the one with the most pressing job comes first
    first = {(g.layout, g.board): min(j.rank for h in groups if h.board == g.board for j in h.jobs) for g in groups}
    groups.sort(key=lambda g: (first[g.layout, g.board], g.layout, g.board, min(j.rank for j in g.jobs)))
    taken = [j for g in groups for j in g.jobs]
    tools = {t for j in taken for s in j.set_ups if s in states for t in states[s].tools}
    bring = sorted({*tools, *(t for j in taken for t in j.bring)})
    return WorkList(tuple(groups), tuple(evening.later), tuple(bring), evening.spent, at_hand, unread)


def states_of(rulebook: Rulebook) -> Mapping[str, State]:
    """The states that the rules know, by name."""
    return {name: _state(entry) for name, entry in rulebook.set_ups.items()}


def _state(entry: SetUp) -> State:
    return State(at(entry.says, "it"), entry.enter + entry.leave, ("lamp",) if entry.limits_current else ())


def job_of(story: Story) -> Job:
    """What is to be done next in an open case."""
    made, rules = story.made, story.rulebook
    undone = tuple(
        at(rules.set_ups[c.set_up].undo, c.place or made.subject.name) if c.set_up in rules.set_ups else label(c.set_up)
        for c in made.in_force
    )
    symptom = rules.symptoms.get(made.symptom or "")
    why = f"{symptom.says if symptom else 'no symptom is said yet'} ({made.subject.name})"
    place, what, minutes, set_ups, bring = _next(story)
    return Job(
        story.layout.name, board_of(story.layout, place, made.subject), place.name, what, why, minutes, set_ups, bring,
        story.name, bool(made.deduced.stop or made.deduced.make_safe), undone,
    )  # fmt: skip


def _next(story: Story) -> tuple[Place, str, float, tuple[str, ...], tuple[str, ...]]:
    """Place, words, minutes, states and tools of the next thing to do."""
    made, rules, step = story.made, story.rulebook, story.made.step
    if made.deduced.stop:
        return made.subject, f"STOP: {made.deduced.stop[0][0]}", 0.0, (), ()
    if made.state == "proven":
        return made.subject, "Close the case: it is mended and proven", CLOSING, (), ()
    mends = [m for _, m in story.inquiry.mends if m.remedy in rules.remedies]
    if made.state == "mended" and mends:
        remedy = rules.remedies[mends[-1].remedy]
        check = rules.checks[remedy.proof.check]
        text = f"Prove the mend: {proof(rules, remedy, mends[-1].place or made.subject.name)}"
        return made.subject, text, check.minutes, check.set_up, _tools(check.tool)
    if isinstance(step, CheckStep):
        check = step.check
        return step.place, at(check.asks, step.place.name), check.minutes, check.set_up, _tools(check.tool)
    if isinstance(step, RemedyStep):
        price = PRICES.get(step.remedy.price, "; it lifts a bus")
        text = f"Mend: {label(step.remedy.name)}{price}"
        check = rules.checks[step.remedy.proof.check]
        return step.place, text, step.remedy.minutes + check.minutes, step.remedy.set_up, _tools(check.tool)
    return made.subject, "Hand over: nothing more can be checked with what is at hand", CLOSING, (), ()


def due_jobs(history: History, today: date) -> tuple[Job, ...]:
    """The checks that a history of readings calls for on a day, and what its last round left undone."""
    layout, rules = history.layout, history.rulebook
    jobs = []
    for due in due_checks(history, today):
        check, place = rules.checks[due.check], _named(layout, due.place)
        jobs.append(
            Job(
                layout.name,
                board_of(layout, place),
                due.place,
                at(check.asks, due.place),
                due.why,
                check.minutes,
                due.set_ups,
                _tools(check.tool),
            )
        )
    left = [(c, rules.set_ups[c.set_up]) for c in history.in_force if c.set_up in rules.set_ups]
    for change, entry in left:
        place = _named(layout, change.place or layout.name)
        what = at(entry.undo, place.name)
        minutes, why = entry.leave, "left by the last round"
        jobs.append(Job(layout.name, board_of(layout, place), place.name, what, why, minutes, undone=(what,)))
    return tuple(jobs)


def _named(layout: Layout, name: str) -> Place:
    try:
        return layout.place(name)
    except Unknown:
        return Place("layout", name)


def _tools(tool: str) -> tuple[str, ...]:
    return () if tool == "none" else (tool.replace("-", " "),)


def board_of(layout: Layout, *places: Place) -> str:
    """Where to go: the baseboard of the first place that has one, else its district, else the layout as a whole."""
    for relation in ("board-of", "district-of"):
        for place in places:
            found = [p for p in layout.related(relation, place) if p.name in layout.parts]
            if len(found) == 1:
                says = layout.word(found[0], "says")
                return f"{found[0].name}, {says}" if says else found[0].name
    return "the layout"

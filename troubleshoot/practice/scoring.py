"""A person at the hidden fault: what each move costs, and whether it was needed and safe.

Rules: a check that needs something switched off or lifted is refused until that has been said, and counts as unsafe
where power was the matter. A check is needless when it was answered before, or when the tool finds less than a
fiftieth of a bit in it. Minutes are those of the checks, set-ups and remedies in the rules.
"""

from dataclasses import dataclass, field

from troubleshoot.deduction import prepare
from troubleshoot.diagnosis import CheckStep, Diagnosis, RemedyStep, diagnose, in_force_at
from troubleshoot.inquiry import Answer, Inquiry, Mend, PutAside, Record, SetUpChange
from troubleshoot.layout import Place
from troubleshoot.practice.world import World
from troubleshoot.rulebook import Check

WORTH_BITS = 0.02
"""A check that tells less than this is needless (estimate)."""


@dataclass(frozen=True)
class Move:
    """One move of an exercise: what it was, its minutes, and whether it was needless or unsafe."""

    what: str
    minutes: float
    needless: bool = False
    unsafe: bool = False


@dataclass(frozen=True)
class Score:
    """What an exercise came to. `par` is what the tool needs for the same fault."""

    solved: bool
    minutes: float
    moves: int
    needless: int
    unsafe: int
    par: float


@dataclass
class Trainee:
    """One exercise of a person: what has been done so far, and what may be done now."""

    world: World
    records: list[Record] = field(default_factory=list)
    moves: list[Move] = field(default_factory=list)
    solved: bool = False

    def __post_init__(self) -> None:
        self.records.append(self.world.complaint)

    @property
    def inquiry(self) -> Inquiry:
        """What has been said and done, as an inquiry."""
        return Inquiry(tuple(self.records))

    def advice(self) -> Diagnosis:
        """What the tool would do now."""
        return diagnose(self.world.layout, self.world.rulebook, self.inquiry)

    def missing(self, check: Check, place: Place) -> tuple[str, ...]:
        """Set-ups that a check still needs at a place."""
        force = in_force_at(self.world.layout, self.world.rulebook, self.inquiry, check.set_up, place)
        return prepare(self.world.rulebook, check, force).enter

    def check(self, check: Check, place: Place) -> Answer | PutAside | None:
        """Make a check; None where something has to be switched off or lifted first, which is noted."""
        lacking = self.missing(check, place)
        if lacking:
            powered = any(self.world.rulebook.set_ups[s].power == "off" for s in lacking)
            self.moves.append(Move(f"{check.name} at {place.name}", 0.0, unsafe=powered))
            return None
        made = self.advice()
        offered = {(s.check.name, s.place.name): s for s in (made.step, *made.others) if isinstance(s, CheckStep)}
        known = (check.name, place.name) in {
            (r.check, r.place) for r in self.records if isinstance(r, Answer | PutAside)
        }
        here = offered.get((check.name, place.name))
        bits = here.bits if here else 0.0
        needless = known or (bits < WORTH_BITS and here is not None)
        self.moves.append(Move(f"{check.name} at {place.name}", max(check.minutes, 0.5), needless))
        answer = self.world.answer(check, place)
        self.records.append(answer)
        return answer

    def set_up(self, name: str, place: Place, entered: bool) -> None:
        """Enter or leave a state of the layout."""
        entry = self.world.rulebook.set_ups[name]
        self.moves.append(Move(f"{name} at {place.name}", entry.enter if entered else entry.leave))
        self.records.append(SetUpChange(name, place.name, entered))

    def mend(self, remedy: str, place: Place) -> bool:
        """Carry out a remedy; whether it was the right one at the right place."""
        entry = self.world.rulebook.remedies[remedy]
        minutes = entry.minutes
        self.solved = self.world.cured_by(remedy, place)
        self.moves.append(Move(f"{remedy} at {place.name}", minutes, needless=not self.solved))
        self.records.append(Mend(remedy, place.name, "fixed" if self.solved else "not-fixed"))
        return self.solved

    def score(self, par: float) -> Score:
        """What it came to, beside the minutes of the tool."""
        return Score(
            self.solved,
            sum(m.minutes for m in self.moves),
            len(self.moves),
            sum(m.needless for m in self.moves),
            sum(m.unsafe for m in self.moves),
            par,
        )


def advised(made: Diagnosis) -> str:
    """The step that the tool would take, by name and place."""
    step = made.step
    if isinstance(step, CheckStep):
        return f"check {step.check.name.split('/')[1]} at {step.place.name}"
    if isinstance(step, RemedyStep):
        return f"mend {step.remedy.name.split('/')[1]} at {step.place.name}"
    return "hand it over"

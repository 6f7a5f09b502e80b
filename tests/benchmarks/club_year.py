"""A year of a pretend club: faults with hidden rates of their own, a third of which come back, played to their end.

Nothing is drawn from the pack's priors: how often each symptom, place and cause strikes is drawn beforehand by a rule
of this simulator, and what shows comes from the second world, which is not the pack's either. A fault that is over is
written as a case file; a tool with memory learns from those files through the shelf, as the commands do. The same
faults show the same to whoever looks, whatever is asked before, so that tools can be compared fault by fault.
"""

import math
import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from functools import cache
from pathlib import Path
from typing import Any

from troubleshoot.belief import field_of
from troubleshoot.casebook.shelf import Shelf
from troubleshoot.diagnosis import CheckStep, Diagnosis, RemedyStep, diagnose, looked_for
from troubleshoot.documents import dump
from troubleshoot.inquiry import Answer, Complaint, FoundAt, FoundNowhere, Inquiry, Mend, Record
from troubleshoot.layout import Layout, Place
from troubleshoot.learning import learn
from troubleshoot.quality.trial import HAND_OVER, MOST_STEPS
from troubleshoot.quality.worlds import World, world
from troubleshoot.rulebook import Rulebook
from troubleshoot.rulebook.tally import Tally

BEGINS = datetime(2025, 1, 1, 19, 0, tzinfo=timezone.utc)
RECURRING = 1 / 3
WRONG = 0.05
UNEVEN = 0.35
"""Shape of the gamma law of hidden rates: a few symptoms, places and causes make most of the trouble."""


@dataclass(frozen=True)
class Fault:
    """What is really broken: complained about at a place, its cause at its own place, and the day."""

    number: int
    symptom: str
    about: Place
    cause: str
    spot: str
    day: float
    again: bool = False


@dataclass(frozen=True)
class Ending:
    """How one fault went: minutes, whether it was mended, the chance stated at the first remedy and whether it held."""

    fault: Fault
    minutes: float
    mended: bool
    stated: float | None
    right: bool
    checks: int


class Club:
    """A layout with its rules and its hidden rates, from a seed."""

    def __init__(self, rulebook: Rulebook, layout: Layout, seed: int, symptoms: Sequence[str] = ()) -> None:
        self.rulebook, self.layout, self.seed = rulebook, layout, seed
        dice = random.Random(f"rates {seed}")
        named = [s for s in sorted(rulebook.symptoms) if layout.places_of(rulebook.symptoms[s].about)]
        self.symptoms = [s for s in named if not symptoms or s in symptoms]
        self._symptom = {s: dice.gammavariate(UNEVEN, 1.0) for s in self.symptoms}
        self._place = {p.name: dice.gammavariate(UNEVEN, 1.0) + 0.01 for p in layout.all_places()}
        self._cause = {c: dice.gammavariate(UNEVEN, 1.0) + 0.01 for c in sorted(rulebook.causes)}
        self._world = cache(lambda symptom: world(rulebook, symptom, True, seed))

    def faults(self, count: int, days: float = 365.0) -> list[Fault]:
        """A year of faults: each third one, on average, is an earlier one come back."""
        dice, made = random.Random(f"faults {self.seed}"), list[Fault]()
        for number in range(count):
            day = days * number / count
            if made and dice.random() < RECURRING:
                old = dice.choice(made)
                made.append(Fault(number, old.symptom, old.about, old.cause, old.spot, day, True))
            else:
                made.append(self._fresh(number, day, dice))
        return made

    def _fresh(self, number: int, day: float, dice: random.Random) -> Fault:
        symptom = dice.choices(self.symptoms, [self._symptom[s] for s in self.symptoms])[0]
        places = self.layout.places_of(self.rulebook.symptoms[symptom].about)
        about = dice.choices(places, [self._place[p.name] for p in places])[0]
        bare = diagnose(self.layout, self.rulebook, Inquiry((Complaint(symptom, about.name),)))
        out = frozenset(bare.deduced.ruled_out)
        field = field_of(self.rulebook, self.layout, symptom, about, out)
        suspects = [s for s in field.suspects if not s.beyond]
        rates = [self._cause[s.cause] * self._place.get(s.place, 0.1) for s in suspects]
        found = dice.choices(suspects, rates)[0]
        return Fault(number, symptom, about, found.cause, found.place, day)

    def shows(self, fault: Fault, finding: str, place: Place, look: int) -> str:
        """What somebody reports of a finding at a place: what the world shows there, now and then wrongly."""
        found = self.rulebook.findings[finding]
        true: World = self._world(fault.symptom)
        chances = true.rows[fault.cause].get(finding)
        elsewhere = self.rulebook.causes[fault.cause].relation == found.relation and place.name != fault.spot
        row = found.sound if elsewhere or chances is None else chances
        really = random.Random(f"{self.seed} {fault.number} {finding} {place.name}").choices(found.outcomes, row)[0]
        dice = random.Random(f"{self.seed} {fault.number} {finding} {place.name} {look}")
        others = [o for o in found.outcomes if o != really]
        return dice.choice(others) if others and dice.random() < WRONG else really


class Evening:
    """One fault on the bench: what was said and done, and the minutes."""

    def __init__(self, club: Club, fault: Fault, tally: Tally | None) -> None:
        self.club, self.fault, self.tally = club, fault, tally
        self.records: list[Record] = [Complaint(fault.symptom, fault.about.name)]
        self.minutes, self.checks = 0.0, 0
        self.stated: float | None = None
        self.right = False
        self.looks: dict[tuple[str, str], int] = {}
        self.quiet: set[str] = set()
        self.again: set[tuple[str, str]] = set()

    def play(self) -> tuple[Ending, RemedyStep | None]:
        """From the complaint to the cure, or to the hand-over."""
        for _ in range(MOST_STEPS):
            made = diagnose(self.club.layout, self.club.rulebook, Inquiry(tuple(self.records)), self.tally)
            last = self.records[-1]
            if made.kind == "stop" and isinstance(last, Answer):
                # No cause calls for a stop: such an answer was a slip, and is looked at again.
                self.quiet.add(self.club.rulebook.checks[last.check].finding)
                self.records.pop()
            elif isinstance(made.step, CheckStep):
                self._look(made.step)
            elif isinstance(made.step, RemedyStep):
                if self._looked_again(made):
                    continue
                if made.unplaced:
                    self._find_place(made, made.step)
                elif self._mend(made.step):
                    return self._ended(True), made.step
            else:
                break
        self.minutes += HAND_OVER + min(r.minutes for r in self.club.rulebook.remedies_of(self.fault.cause))
        return self._ended(False), None

    def _look(self, step: CheckStep) -> None:
        finding = self.club.rulebook.findings[step.check.finding]
        key = (finding.name, step.place.name)
        self.looks[key] = self.looks.get(key, 0) + 1
        said = self.club.shows(self.fault, finding.name, step.place, self.looks[key])
        self.minutes += step.minutes
        self.checks += 1
        outcome = finding.outcomes[finding.quiet] if finding.name in self.quiet else said
        self.records.append(Answer(step.check.name, step.place.name, outcome))

    def _looked_again(self, made: Diagnosis) -> bool:
        """Whether an answer that the tool calls doubtful is looked at once more before a remedy, as the screen asks."""
        for doubtful in made.ask_again:
            key = (doubtful.finding, doubtful.place.name)
            if key not in self.again:
                self.again.add(key)
                check = self.club.rulebook.checks[doubtful.check]
                self.looks[key] = self.looks.get(key, 0) + 1
                self.minutes += max(check.minutes, 0.5)
                said = self.club.shows(self.fault, doubtful.finding, doubtful.place, self.looks[key])
                self.records.append(Answer(check.name, doubtful.place.name, said))
                return True
        return False

    def _find_place(self, made: Diagnosis, step: RemedyStep) -> None:
        """Look at one like place after another, likeliest first; in 5 of 100 the wrong one is named."""
        line = next(r for r in made.ranking if r.cause in step.remedy.mends)
        book, names = self.club.rulebook, list(made.unplaced)
        check = book.checks[book.causes[line.cause].best_check]
        true = self.fault.cause == line.cause and self.fault.spot in names
        at = names.index(self.fault.spot) + 1 if true else len(names)
        self.minutes += math.fsum(book.set_ups[s].enter for s in check.set_up) + at * max(check.minutes, 0.5)
        self.checks += at
        dice = random.Random(f"{self.club.seed} {self.fault.number} place {len(self.records)}")
        if dice.random() < WRONG:
            self.records.append(FoundAt(dice.choice([n for n in names if not true or n != self.fault.spot])))
        else:
            self.records.append(FoundAt(self.fault.spot) if true else FoundNowhere(looked_for(book, made)))

    def _mend(self, step: RemedyStep) -> bool:
        """Whether a remedy cures it: the right one at the right place, now and then badly done."""
        right = self.fault.cause in step.remedy.mends and step.place.name == self.fault.spot
        if self.stated is None:
            self.stated, self.right = step.chance, right
        self.minutes += step.minutes
        luck = random.Random(f"{self.club.seed} {self.fault.number} {step.remedy.name} {len(self.records)}").random()
        cured = right and luck < step.remedy.works
        self.records.append(Mend(step.remedy.name, step.place.name, "fixed" if cured else "not-fixed"))
        return cured

    def _ended(self, mended: bool) -> Ending:
        return Ending(self.fault, self.minutes, mended, self.stated, self.right, self.checks)


def case_of(evening: Evening, cure: RemedyStep | None) -> dict[str, Any]:
    """A fault that is over as a case file's data; without a cure it stays open."""
    when = BEGINS + timedelta(days=evening.fault.day)
    events: list[dict[str, Any]] = []
    for record in evening.records:
        if isinstance(record, Complaint):
            events.append({"symptom": record.symptom, "about": record.about})
        elif isinstance(record, Answer):
            events.append({"answer": record.check, "at": record.place, "outcome": record.outcome, "how": record.how})
        elif isinstance(record, FoundAt):
            events.append({"found-at": record.place})
        elif isinstance(record, FoundNowhere):
            events.append({"found-nowhere": list(record.causes)})
        elif isinstance(record, Mend):
            events.append({"remedy": record.remedy, "at": record.place, "result": record.result})
    if cure is not None:
        remedy, place = cure.remedy, cure.place.name
        events.append({"proof": remedy.name, "at": place, "outcome": "passed", "quiet": "7 d"})
        events.append({"closed": "proven", "remedy-was": remedy.name, "causes": list(remedy.mends)})
    timed = [{"when": (when + timedelta(minutes=3 * i)).isoformat(), **e} for i, e in enumerate(events)]
    name = f"{when:%Y-%m-%d}-{evening.fault.number}"
    return {"case": name, "format": 1, "layout": "club", "packs": {"core": "1"}, "events": timed}


def year(club: Club, faults: Sequence[Fault], folder: Path | None) -> list[Ending]:
    """All faults one after the other, with a casebook in `folder`, or without memory."""
    endings = []
    for fault in faults:
        tally = None
        if folder is not None:
            with Shelf(folder) as shelf:
                shelf.refresh()
                tally = learn(shelf, club.rulebook, club.layout, [fault.symptom], on="club")
        evening = Evening(club, fault, tally)
        ending, cure = evening.play()
        endings.append(ending)
        if folder is not None:
            data = case_of(evening, cure)
            (folder / f"{data['case']}.yaml").write_text(dump(data), encoding="utf-8")
    return endings


def quarters(endings: Sequence[Ending]) -> list[list[Ending]]:
    """The year in four parts of as many faults each."""
    each = len(endings) // 4
    return [list(endings[i * each : (i + 1) * each]) for i in range(4)]


def mean(values: Sequence[float]) -> float:
    """The mean, 0 of nothing."""
    return math.fsum(values) / len(values) if values else 0.0


def miscalibrated(endings: Sequence[Ending], bins: int = 10) -> float:
    """Expected calibration error of the chance stated at the first remedy: mean gap to the share that was right."""
    held: dict[int, list[Ending]] = {}
    judged = [e for e in endings if e.stated is not None]
    for one in judged:
        held.setdefault(min(bins - 1, int((one.stated or 0.0) * bins)), []).append(one)
    gaps = [math.fsum((e.stated or 0.0) - e.right for e in ones) for ones in held.values()]
    return math.fsum(abs(gap) for gap in gaps) / max(len(judged), 1)


def by_kind(endings: Sequence[Ending]) -> Mapping[str, float]:
    """Mean minutes of faults that came back, and of fresh ones."""
    return {
        "come back": mean([e.minutes for e in endings if e.fault.again]),
        "fresh": mean([e.minutes for e in endings if not e.fault.again]),
    }

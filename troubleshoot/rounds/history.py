"""The history of readings: one readable file a layout, to which every reading is added as it is taken.

Rules: the file has the form of a case file (a head and events), so it is saved in the same way: whole or not at all,
before anything else happens, and never over what somebody else has saved meanwhile. `takes-back: n` undoes event n.
A reading keeps the words in which it was typed, its day, and what is known of temperature, humidity and meter.
What the readings mean is left to the rest of the room.
"""

import contextlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import Any

from troubleshoot import casebook
from troubleshoot.casebook import Case
from troubleshoot.documents import Problem, Problems, nearest
from troubleshoot.inquiry import Inquiry, SetUpChange
from troubleshoot.layout import Layout
from troubleshoot.quantities import Reading, Unreadable, read_reading
from troubleshoot.rulebook import Check, Rulebook

FORMAT = 1
_DAY = re.compile(r"(\d{4}-\d{2}-\d{2})(?:[T ].*)?")
CLIMATE: Mapping[str, tuple[str, float, float]] = {"temperature": ("C", -40.0, 60.0), "humidity": ("%", 0.0, 100.0)}
"""What is noted beside a reading: its unit, and between which figures it can lie."""


@dataclass(frozen=True)
class Taken:
    """One reading of a check at a place on a day; temperature in C, humidity in %, each None where not known.

    `number` is that of its event in the file, which is how it is taken back.
    """

    check: str
    place: str
    day: date
    reading: Reading
    meter: str | None = None
    temperature: float | None = None
    humidity: float | None = None
    number: int = 0


@dataclass(frozen=True, eq=False)
class History:
    """All readings of a layout in the order of their days, with the layout and the rules that judge them."""

    layout: Layout
    rulebook: Rulebook
    taken: tuple[Taken, ...] = ()
    in_force: tuple[SetUpChange, ...] = ()
    strange: tuple[str, ...] = ()
    path: Path | None = field(default=None)

    @cached_property
    def by_series(self) -> Mapping[tuple[str, str], tuple[Taken, ...]]:
        """The readings of each check at each place, in the order of their days."""
        series: dict[tuple[str, str], list[Taken]] = {}
        for one in self.taken:
            series.setdefault((one.check, one.place), []).append(one)
        return {key: tuple(v) for key, v in sorted(series.items())}

    def until(self, day: date) -> "History":
        """The history as it stood at the end of a day."""
        return History(self.layout, self.rulebook, tuple(t for t in self.taken if t.day <= day), path=self.path)

    def without(self, one: Taken) -> "History":
        """The history as it stood before a reading: what was taken on earlier days, or earlier in the file."""
        before = tuple(t for t in self.taken if t is not one and (t.day, t.number) < (one.day, one.number))
        return History(self.layout, self.rulebook, before, path=self.path)


def of(layout: Layout, rulebook: Rulebook, taken: Sequence[Taken]) -> History:
    """A history from readings in any order."""
    return History(layout, rulebook, tuple(sorted(taken, key=lambda t: (t.day, t.number, t.check, t.place))))


def read(path: Path, layout: Layout, rulebook: Rulebook) -> History:
    """The history in a file; empty when there is none yet. Raises Problems with every line that is wrong."""
    if not path.exists():
        return History(layout, rulebook, path=path)
    case = casebook.read(path)
    if "round" not in case.head:
        raise Problems((Problem(str(path), 1, 0, "is a case, not a history of readings: it has no `round`"),))
    taken, problems, strange, kept = list[Taken](), list[Problem](), list[str](), list[Any]()
    for number, event in case.standing():
        try:
            if "answer" in event:
                one = _taken(event, number, rulebook)
                taken.append(one) if one else strange.append(str(event["answer"]))
            elif "set-up" in event:
                kept.append(casebook.record_of(event, rulebook.former))
        except Unreadable as error:
            problems.append(case.problem(number, str(error)))
    if problems:
        raise Problems(problems)
    whole = of(layout, rulebook, taken)
    return History(layout, rulebook, whole.taken, Inquiry(tuple(kept)).in_force, tuple(sorted(set(strange))), path)


def _taken(event: Mapping[str, Any], number: int, rulebook: Rulebook) -> Taken | None:
    """A reading from its event; None when the rules at hand do not know its check. Raises Unreadable."""
    name = rulebook.former.get(str(event["answer"]), str(event["answer"]))
    check = rulebook.checks.get(name)
    if check is None or "reading" not in event:
        return None
    if check.unit is None:
        raise Unreadable(f"{name} is a question and takes no reading")
    if event.get("at") is None:
        raise Unreadable("a reading says with `at` where it was taken")
    meter = str(event["meter"]) if event.get("meter") is not None else None
    climate = {k: climate_of(k, str(event[k])) for k in CLIMATE if event.get(k) is not None}
    reading = read_reading(str(event["reading"]), check.unit)
    return Taken(name, str(event["at"]), day_of(event.get("when")), reading, meter, number=number, **climate)


def day_of(said: Any) -> date:
    """The day in a date such as 2026-03-14, or a time that begins with one. Raises Unreadable."""
    match = _DAY.fullmatch(str(said).strip())
    if match:
        with contextlib.suppress(ValueError):
            return date.fromisoformat(match[1])
    raise Unreadable(f"{said!r} is no date; write it as in 2026-03-14")


def climate_of(what: str, said: str) -> float:
    """Temperature in C or humidity in % as a person types it. Raises Unreadable."""
    unit, least, most = CLIMATE[what]
    reading = read_reading(said, unit)
    if reading.over_range or not least <= reading.value <= most:
        raise Unreadable(f"{what} {said!r} cannot be; it lies between {least:.0f} and {most:.0f} {unit}")
    return reading.value


def find_check(rulebook: Rulebook, said: str) -> Check:
    """A reading by its name, with or without its pack. Raises Unreadable, with the nearest name."""
    for asked in (said, *(f"{p.name}/{said}" for p in rulebook.packs)):
        full = rulebook.former.get(asked, asked)
        if full in rulebook.checks and rulebook.checks[full].unit:
            return rulebook.checks[full]
    near = nearest(said, [n.split("/")[-1] for n, c in rulebook.checks.items() if c.unit])
    raise Unreadable(f"{said!r} is no reading" + (f"; did you mean {near!r}?" if near else ""))


def event_of(
    check: Check,
    place: str,
    reading: str,
    when: str | None = None,
    meter: str | None = None,
    temperature: str | None = None,
    humidity: str | None = None,
) -> dict[str, Any]:
    """A reading as the event that keeps it, everything read once before. Raises Unreadable."""
    read_reading(reading, str(check.unit))
    event: dict[str, Any] = {} if when is None else {"when": day_of(when) and when}
    event |= {"answer": check.name, "at": place, "reading": reading.strip(), "how": "typed"}
    if meter:
        event["meter"] = meter
    for what, said in (("temperature", temperature), ("humidity", humidity)):
        if said:
            climate_of(what, said)
            event[what] = said
    return event


def keep(path: Path, layout: str, name: str, rulebook: Rulebook, *events: Mapping[str, Any]) -> int:
    """Add events to a history at once, whoever else adds to it meanwhile; how many it then holds. Raises NotSaved."""
    case, new = _opened(path, layout, name, rulebook), [dict(e) for e in events]
    casebook.add(case, *new)
    if case.path != path:
        # Somebody else began this history in the same moment: what was saved beside it goes where it belongs.
        beside, case = case.path, casebook.read(path)
        casebook.add(case, *new)
        beside.unlink()
    return len(case.events)


def _opened(path: Path, layout: str, name: str, rulebook: Rulebook) -> Case:
    if path.exists():
        return casebook.read(path)
    head: dict[str, Any] = {"round": name, "format": FORMAT, "layout": layout}
    return Case(path, head | {"packs": {p.name: p.version for p in rulebook.packs}})


def take_back(path: Path, number: int | None = None) -> Mapping[str, Any] | None:
    """Take back a reading, the last one when no number is given; what it said, or None when there is none."""
    if not path.exists():
        return None
    case = casebook.read(path)
    standing = {n: e for n, e in case.standing() if "answer" in e}
    wanted = max(standing, default=None) if number is None else number
    if wanted is None or wanted not in standing:
        return None
    casebook.add(case, {"takes-back": wanted})
    return standing[wanted]

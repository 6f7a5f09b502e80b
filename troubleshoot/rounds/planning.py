"""The sheet of a round: readings in the order of walking, with power switched once and nothing left undone for long.

Rules: readings with power on are taken in one walk and those with power off in another, whichever order takes fewer
minutes; readings that do not care go along with the first. A state of the whole layout (power, all vehicles off) is
entered once and kept while anything needs it; what is lifted or clipped at one place is put right before the next
place. A walk goes from baseboard to baseboard along the plugs, from the first of the record, and the second walk comes
back the other way. Within a baseboard the order is that of the record. Nothing is drawn here.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from troubleshoot.deduction import prepare
from troubleshoot.electrics import Expected, ReadingSpec, expected
from troubleshoot.layout import Layout, Place
from troubleshoot.rounds.choosing import Choice
from troubleshoot.rulebook import Check, Rulebook, SetUp


@dataclass(frozen=True)
class State:
    """A set-up at a place; one of the whole layout has the layout's own name as its place."""

    set_up: str
    place: str


@dataclass(frozen=True)
class Visit:
    """One line of the sheet: what is left and entered first, what to measure where, and what a healthy part reads."""

    number: int
    check: Check
    place: Place
    board: str | None
    expected: Expected | None
    cautions: tuple[str, ...]
    leave: tuple[State, ...] = ()
    enter: tuple[State, ...] = ()
    minutes: float = 0.0


@dataclass(frozen=True)
class Sheet:
    """A round on paper: the visits in order, what to put right at the end, minutes in all, and how it was chosen.

    `switched` is how often track power changes between on and off; `without` are things that no reading goes by.
    """

    visits: tuple[Visit, ...]
    at_end: tuple[State, ...]
    minutes: float
    switched: int
    cautions: tuple[str, ...]
    choice: Choice | None = None


def healthy(rulebook: Rulebook, check: Check) -> tuple[str, ...]:
    """The outcomes that a part with nothing wrong shows mostly."""
    found = rulebook.findings[check.finding]
    return tuple(b.outcome for b in check.bands if found.sound[found.outcomes.index(b.outcome)] >= 0.5)


def expected_at(layout: Layout, rulebook: Rulebook, check: Check, place: Place) -> Expected | None:
    """What a healthy part reads at a place of this layout; None where no band is a healthy one."""
    good = healthy(rulebook, check)
    bands = tuple((b.outcome, b.factor, b.quantity, b.plain) for b in check.bands)
    return expected(layout, place, ReadingSpec(check.unit or "", bands, good)) if good else None


def boards_in_order(layout: Layout) -> tuple[str, ...]:
    """Baseboards from the first of the record on, along the plugs; those without plugs follow in the record's order."""
    boards = [p.name for p in layout.places_of("board")]
    joined: dict[str, list[str]] = {b: [] for b in boards}
    for plug in layout.places_of("plug"):
        sides = layout.words(plug, "between")
        for a in sides:
            joined.get(a, []).extend(b for b in sides if b != a and b in joined)
    order: list[str] = []
    for board in boards:
        waiting = [board]
        while waiting:
            here = waiting.pop()
            if here not in order:
                order.append(here)
                waiting += [b for b in reversed(joined[here]) if b not in order]
    return tuple(order)


def board_of(layout: Layout, place: Place) -> str | None:
    """The baseboard that a place is on: of several the first to be walked past; None where the record is silent."""
    names = {p.name for p in layout.related("board-of", place)}
    return next((b for b in boards_in_order(layout) if b in names), None)


def whole(set_up: SetUp) -> bool:
    """Whether a state is one of the whole layout: power, or what stops everything."""
    return set_up.relation == "itself" and (
        set_up.stops == "layout" or bool(set_up.power and set_up.stops == "nothing")
    )


def states(layout: Layout, rulebook: Rulebook, check: Check, place: Place) -> tuple[State, ...]:
    """The states that a check at a place needs."""
    set_ups = (rulebook.set_ups[name] for name in check.set_up)
    return tuple(State(s.name, layout.name if whole(s) else place.name) for s in set_ups)


def power_of(rulebook: Rulebook, check: Check) -> str:
    """What a check asks of the track power: on, off, or nothing."""
    return next((p for s in check.set_up if (p := rulebook.set_ups[s].power)), "")


def plan(
    layout: Layout, rulebook: Rulebook, readings: Iterable[tuple[Check, Place]], choice: Choice | None = None
) -> Sheet:
    """The readings of a round as a sheet, in the order that takes fewest minutes."""
    items = [(check, place) for check, place in readings]
    sheets = [_walked(layout, rulebook, _ordered(layout, rulebook, items, first), choice) for first in ("on", "off")]
    return min(sheets, key=lambda s: (s.minutes, s.switched))


def sheet_of(layout: Layout, rulebook: Rulebook, choice: Choice) -> Sheet:
    """A choice of readings as a sheet."""
    return plan(layout, rulebook, [(c.check, c.place) for c in choice.readings], choice)


def _ordered(
    layout: Layout, rulebook: Rulebook, items: Sequence[tuple[Check, Place]], first: str
) -> list[tuple[Check, Place]]:
    """Readings in two walks by power, those that need the whole layout in some state next to the turning point."""
    boards = {name: i for i, name in enumerate(boards_in_order(layout))}
    record = {p: i for i, p in enumerate(layout.all_places())}

    def stop(item: tuple[Check, Place]) -> tuple[int, int, str, tuple[str, ...], str]:
        check, place = item
        board = board_of(layout, place)
        at = boards[board] if board is not None else len(boards)
        return at, record.get(place, len(record)), place.name, check.set_up, check.name

    def standing(item: tuple[Check, Place]) -> tuple[str, ...]:
        set_ups = (rulebook.set_ups[s] for s in item[0].set_up)
        return tuple(sorted(s.name for s in set_ups if whole(s) and not s.power))

    there = [i for i in items if power_of(rulebook, i[0]) in ("", first)]
    back = [i for i in items if power_of(rulebook, i[0]) not in ("", first)]
    out = sorted(there, key=lambda i: (standing(i), stop(i)))
    home = sorted(sorted(back, key=stop, reverse=True), key=standing, reverse=True)
    return out + home


def _walked(layout: Layout, rulebook: Rulebook, order: Sequence[tuple[Check, Place]], choice: Choice | None) -> Sheet:
    """The walk through readings in an order, with every set-up entered and left on the way."""
    visits = [_visit(layout, rulebook, i + 1, check, place) for i, (check, place) in enumerate(order)]
    force, switched = tuple[State, ...](), 0
    for i in range(len(visits)):
        visits[i] = as_it_stands(layout, rulebook, visits[i:], force)
        force = (*(s for s in force if s not in visits[i].leave), *visits[i].enter)
        entered = (rulebook.set_ups[s.set_up] for s in visits[i].enter)
        switched += sum(1 for s in entered if whole(s) and s.power)
    end = tuple(reversed(force))
    minutes = sum(v.minutes for v in visits) + _minutes(rulebook, end, ())
    cautions = tuple(sorted({c for v in visits for c in v.cautions}))
    return Sheet(tuple(visits), end, minutes, max(0, switched - 1), cautions, choice)


def _visit(layout: Layout, rulebook: Rulebook, number: int, check: Check, place: Place) -> Visit:
    cautions = prepare(rulebook, check, frozenset()).cautions
    wanted = expected_at(layout, rulebook, check, place)
    return Visit(number, check, place, board_of(layout, place), wanted, cautions)


def as_it_stands(layout: Layout, rulebook: Rulebook, visits: Sequence[Visit], force: Sequence[State]) -> Visit:
    """The first of the visits still to come, with what has to be left and entered when these states stand."""
    check, place = visits[0].check, visits[0].place
    needed = states(layout, rulebook, check, place)
    later = {s for v in visits for s in states(layout, rulebook, v.check, v.place)}
    leave = tuple(s for s in reversed(force) if s not in needed and _in_the_way(rulebook, s, check, later))
    enter = tuple(s for s in needed if s not in force)
    minutes = max(check.minutes, 0.1) + _minutes(rulebook, leave, enter)
    return replace(visits[0], leave=leave, enter=enter, minutes=minutes)


def _in_the_way(rulebook: Rulebook, state: State, check: Check, later: set[State]) -> bool:
    """Whether a state that a check does not need has to end before it: it spoils it, or nothing needs it any more."""
    set_up, power = rulebook.set_ups.get(state.set_up), power_of(rulebook, check)
    if set_up is None:
        return False
    spoils = state.set_up in check.clean_of or (set_up.disturbs_live and power == "on")
    clashes = bool(set_up.power and power and set_up.power != power)
    keeps = whole(set_up) and (state in later or bool(set_up.power))
    return spoils or clashes or not keeps


def _minutes(rulebook: Rulebook, leave: Iterable[State], enter: Iterable[State]) -> float:
    left = sum(rulebook.set_ups[s.set_up].leave for s in leave)
    return left + sum(rulebook.set_ups[s.set_up].enter for s in enter)

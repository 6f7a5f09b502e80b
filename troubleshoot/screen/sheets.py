"""The sheet of a round: cautions first, then every reading in walking order, with what to do first and to expect."""

import math
from collections.abc import Iterable
from dataclasses import replace

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from troubleshoot.diagnosis import in_undoing_order
from troubleshoot.electrics import Expected
from troubleshoot.quantities import show
from troubleshoot.rounds.choosing import Choice
from troubleshoot.rounds.planning import Sheet, State, Visit
from troubleshoot.rulebook import Rulebook
from troubleshoot.rulebook.wording import label
from troubleshoot.screen.drawing import block, heading, line, printable
from troubleshoot.screen.trends import plan_numbers

FLOOR = (
    "A round stays on the low-voltage side. Nothing of the mains side is opened, probed or defeated, no breaker or "
    "fuse is wired round, and a reading that is not safe to take is left out: it is no use to anybody."
)


def sheet_screen(rulebook: Rulebook, sheet: Sheet, title: str) -> RenderableType:
    """The whole sheet, to read or to print and take along."""
    parts: list[RenderableType] = [heading(title), *safety_lines(rulebook, sheet)]
    board: str | None = ""
    for visit in sheet.visits:
        if visit.board != board:
            board = visit.board
            parts.append(heading(board.replace("-", " ") if board else "away from the baseboards"))
        parts += visit_lines(rulebook, visit)
        parts.append(line("read", "____________________"))
    parts += undone_lines(rulebook, sheet.at_end, "At the end")
    if sheet.choice is not None:
        parts.append(block(chosen_text(sheet.choice), "dim"))
    return Group(*parts)


def chosen_text(choice: Choice) -> str:
    """How the readings were chosen, and how sure that is."""
    hundredths = math.floor(100.0 * choice.at_least)
    return (
        "Chosen one by one, each time the reading that settles most of what is still open, things without a reading "
        f"first (estimates). It settles at least {hundredths} in 100 of what the best {len(choice.readings)} could."
    )


def safety_lines(rulebook: Rulebook, sheet: Sheet) -> list[RenderableType]:
    """How long a round takes, and every caution of it in full, once."""
    parts: list[RenderableType] = [block(plan_numbers(sheet.minutes, len(sheet.visits), sheet.switched))]
    parts.append(line("SAFETY", FLOOR, "yellow"))
    for name in sheet.cautions:
        entry = rulebook.cautions[name]
        parts.append(line("CAUTION", f"{label(name)}: {entry.hazard} {entry.do}", "yellow"))
    return parts


def visit_lines(rulebook: Rulebook, visit: Visit) -> list[RenderableType]:
    """One reading: cautions by name, what to undo and do first, what to measure, and what a healthy part reads."""
    asks = visit.check.asks.replace("{place}", visit.place.name)
    parts: list[RenderableType] = [
        Padding(Text(printable(f"{visit.number}. {asks}"), style="bold"), (0, 0, 0, 2)),
    ]
    if visit.cautions:
        parts.append(line("CAUTION", ", ".join(label(c) for c in visit.cautions), "yellow"))
    parts += [line("first undo", _said(rulebook, s, undo=True)) for s in visit.leave]
    # Power is proven off where the probes go, so what is done first names the place of the reading.
    parts += [line("first", _said(rulebook, replace(s, place=visit.place.name))) for s in visit.enter]
    if visit.check.how:
        parts.append(line("do", visit.check.how.replace("{place}", visit.place.name)))
    if visit.expected is not None:
        parts.append(line("healthy", expected_text(visit.expected)))
    tool = "" if visit.check.tool == "none" else f", with {visit.check.tool.replace('-', ' ')}"
    parts.append(line("takes", f"{visit.minutes:.0f} min{tool}; check {label(visit.check.name)}", "dim"))
    return parts


def expected_text(expected: Expected) -> str:
    """What a healthy part reads, in words, with what was assumed."""
    unit = expected.unit
    if math.isinf(expected.high):
        said = f"above {show(expected.low, unit)}" if expected.low else "anything"
    elif expected.low <= 0.0:
        said = f"up to {show(expected.high, unit)}"
    else:
        said = f"{show(expected.low, unit)} to {show(expected.high, unit)}"
    return said + (f" (assumed: {', '.join(expected.assumed)})" if expected.assumed else "")


def _said(rulebook: Rulebook, state: State, undo: bool = False) -> str:
    set_up = rulebook.set_ups[state.set_up]
    return (set_up.undo if undo else set_up.do).replace("{place}", state.place)


def undone_lines(rulebook: Rulebook, states: Iterable[State], title: str = "Still undone") -> list[RenderableType]:
    """States that still stand, each with how it is put right."""
    known = in_undoing_order(rulebook, [s for s in states if s.set_up in rulebook.set_ups])
    if not known:
        return []
    return [heading(title, "bold yellow"), *(block(f"- {_said(rulebook, s, undo=True)}") for s in known)]

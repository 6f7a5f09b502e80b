"""Asking for what the search for the place needs: other places, sick or healthy, and how a lift went.

Everything is saved as an event at once. Where to lift is decided in `locating`; the command for it is in `locate`.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from troubleshoot import screen
from troubleshoot.cli.session import Session, unknown_places
from troubleshoot.diagnosis import CheckStep, Diagnosis, hunt_of
from troubleshoot.dialogue import Asker, Option, Prompt

if TYPE_CHECKING:
    from troubleshoot.screen import RenderableType

FAULT = ("gone", "stays", "not-sure")


def names_of(said: Sequence[str]) -> list[str]:
    """Names as typed: given several times, or with commas between."""
    return list(dict.fromkeys(n.strip() for one in said for n in one.split(",") if n.strip()))


def lift_first(session: Session, made: Diagnosis, how: str) -> list["RenderableType"]:
    """For a check that lifts one part after another: which to lift first, and why; `how` tells how to go on."""
    if not isinstance(made.step, CheckStep) or not made.step.check.lifts_in_turn:
        return []
    hunt = hunt_of(session.layout, session.inquiry, made)
    if hunt is None or hunt.next is None:
        return []
    return [screen.line("lift first", f"{hunt.next.point.name}: {hunt.next.why}; {how}")]


def ask_lift(session: Session, who: Asker, out: screen.Console) -> None:
    """Show the lift that is worth most now, ask how it went, and save it."""
    from troubleshoot.screen.locating import hunt_lines

    made = session.diagnosis()
    hunt = hunt_of(session.layout, session.inquiry, made)
    if hunt is None:
        out.print("The layout record does not say what could be lifted here; see: troubleshoot layout check")
        return
    out.print(hunt_lines(hunt))
    if hunt.next is None:
        return
    point = hunt.next.point.name
    options = (
        Option("gone", "The fault has gone"),
        Option("stays", "The fault stays"),
        Option("not-sure", "Not sure, or not lifted"),
    )
    asks = f"With {point} lifted, and put back after: what of the fault?"
    said = who.ask(Prompt(asks, options, topic=f"lift {point}"))
    if said in FAULT:
        session.add({"lifted": point, "fault": said})


def ask_places(session: Session, who: Asker, out: screen.Console) -> None:
    """Ask which other places are sick and which are healthy, and save them."""
    event: dict[str, Any] = {}
    for key, asks in (("sick", "Which other places show it too?"), ("healthy", "Which places surely do not?")):
        while True:
            said = who.ask(Prompt(f"{asks} Names with commas between, - for none", typed=True, topic=key, unsure="-"))
            if said == "-" or said.startswith("!"):
                break
            names = names_of([said])
            told = unknown_places(session.layout, names)
            if not told:
                event[key] = names
                break
            out.print("; ".join(text for _, text in told))
    if event:
        session.add(event)

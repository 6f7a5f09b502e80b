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

LEAST = 0.03
"""Chance of all suspects that go when lifted, below which lifting is refused (estimate)."""
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


def no_lifting(session: Session, made: Diagnosis) -> str:
    """Why lifting one part after another tells nothing here; empty where it may tell something, or has begun."""
    from troubleshoot.circuit import KINDS

    causes = session.rulebook.causes
    faults = [(r, fault) for r in made.ranking if r.cause in causes and (fault := causes[r.cause].fault) is not None]
    goes = sum(r.chance for r, fault in faults if KINDS[fault[0]].goes_when_lifted)
    stays = [r for r, fault in faults if not KINDS[fault[0]].goes_when_lifted]
    if goes >= LEAST or not stays or session.inquiry.lifts:
        return ""
    return (
        "Lifting one part after another finds shorts and leaks, which go with the part they sit in. What is suspected "
        f"here does not go when something is lifted: {stays[0].says}. Read from place to place instead, as advised."
    )


def ask_lift(session: Session, who: Asker, out: screen.Console) -> None:
    """Show the lift that is worth most now, ask how it went, and save it."""
    from troubleshoot.screen.locating import hunt_lines

    made = session.diagnosis()
    reason = no_lifting(session, made)
    if reason:
        out.print(screen.block(reason))
        return
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

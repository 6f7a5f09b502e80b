"""What the words of a log mean: kinds of things and their states, the usual ones, and those that an owner adds.

A row's kind and state together give one of four tracks: blocks, commands and reports of turnouts, power; or a sighting
of a train. Words are compared without regard to case, spaces and hyphens. What is meant by on, off, 1 and 0 depends on
the kind of the row.
"""

import re
from collections.abc import Mapping

from troubleshoot.eventlog.log import CLEAR, CLOSED, OCCUPIED, RESTORE, THROWN, TRIP, UNSAID

KINDS: Mapping[str, tuple[str, ...]] = {
    "block": ("block", "occupancy", "detector", "detection", "sensor", "section", "zone", "track"),
    "turnout": ("turnout", "switch", "points", "point", "turnout command"),
    "feedback": ("feedback", "report", "turnout feedback", "turnout report", "contact"),
    "power": ("power", "booster", "breaker", "district", "supply", "track power"),
    "train": ("train", "loco", "locomotive", "position", "tracker"),
}
STATES: Mapping[str, tuple[str, ...]] = {
    "occupied": ("occupied", "taken", "busy", "occ", "active"),
    "clear": ("clear", "free", "vacant", "unoccupied", "empty", "inactive"),
    "thrown": ("thrown", "diverging", "reverse", "reversed", "turned", "branch"),
    "closed": ("closed", "straight", "normal", "through", "main"),
    "commanded": ("commanded", "command", "cmd", "set", "request", "requested", "sent"),
    "confirmed": ("confirmed", "confirm", "reported", "feedback", "reached", "acknowledged"),
    "trip": ("trip", "tripped", "short", "overload", "fault", "cut"),
    "restore": ("restore", "restored", "reset", "ok", "recovered", "cleared"),
}
ON, OFF = ("on", "1", "true", "high", "yes"), ("off", "0", "false", "low", "no")
"""Words that mean occupied, thrown or powered, or their opposites, by the kind of the row."""

Meaning = tuple[str, int]
"""The track a row goes to (block, command, report, power, train), and its state there."""


def fold(word: str) -> str:
    """A word as words are compared.

    >>> fold(" Track-Power ")
    'track power'
    """
    return re.sub(r"[\s_\-]+", " ", word.strip().casefold())


class Lexicon:
    """The words of one log, with an owner's own put before the usual ones."""

    def __init__(self, own: Mapping[str, str] | None = None) -> None:
        self._kinds = {fold(w): kind for kind, words in KINDS.items() for w in words}
        self._states = {fold(w): state for state, words in STATES.items() for w in words}
        for word, means in (own or {}).items():
            (self._kinds if means in KINDS else self._states)[fold(word)] = means
        self._own = {fold(w) for w in own or {}}

    def is_kind(self, word: str) -> bool:
        """Whether a word names a kind of thing."""
        return fold(word) in self._kinds

    def is_state(self, word: str) -> bool:
        """Whether a word names a state."""
        folded = fold(word)
        return folded in self._states or folded in (*ON, *OFF) or len(self._said(folded)) > 1

    def _said(self, state: str) -> set[str]:
        """The states in a text of one or several words."""
        if state in self._states:
            return {self._states[state]}
        parts = re.split(r"[\s:/,.]+", state)
        found = {self._states.get(part, part) for part in parts if part}
        return found if found and found <= {*STATES, *ON, *OFF} else set()

    def meaning(self, kind: str | None, state: str) -> Meaning:
        """What a row's kind and state mean together. Raises ValueError that says which word is not known."""
        thing = self._kinds.get(fold(kind)) if kind is not None else None
        if kind is not None and thing is None:
            raise ValueError(f"kind {kind.strip()[:30]!r} is not known; say what it means with --words")
        if thing == "train":
            return "train", 0
        folded = fold(state)
        said = {"on"} if folded in ON else {"off"} if folded in OFF else self._said(folded)
        if folded in self._own:
            said = {self._states[folded]} if folded in self._states else said
        said = {"on" if s in ON else "off" if s in OFF else s for s in said}
        readers = (("block", _block), ("power", _power), ("turnout", _turnout))
        for one, read in readers:
            # "feedback" is said of detectors as well
            seen = thing == "feedback" and (one == "turnout" or bool(said & {"occupied", "clear"}))
            if thing == one or thing is None or seen:
                found = read(said, thing)
                if found is not None:
                    return found
        what = f"state {state.strip()[:30]!r} is not known" if state.strip() else "the state is missing"
        raise ValueError(what + (f" for the kind {thing}" if thing else "") + "; say what it means with --words")


def _block(said: set[str], _: str | None) -> Meaning | None:
    if said & {"occupied", "on"}:
        return ("block", OCCUPIED) if not said & {"clear", "off"} else None
    return ("block", CLEAR) if said & {"clear", "off"} else None


def _power(said: set[str], thing: str | None) -> Meaning | None:
    if said & {"trip"} or (thing and said & {"off"}):
        return "power", TRIP
    return ("power", RESTORE) if said & {"restore"} or (thing and said & {"on"}) else None


def _turnout(said: set[str], thing: str | None) -> Meaning | None:
    if not said & {"thrown", "closed", "commanded", "confirmed", "on", "off"}:
        return None
    way = THROWN if said & {"thrown", "on"} else CLOSED if said & {"closed", "off"} else UNSAID
    report = "confirmed" in said or (thing == "feedback" and "commanded" not in said)
    return ("report" if report else "command"), way

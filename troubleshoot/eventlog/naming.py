"""From names as logged to names of the layout record: the same word, or the number of an input or a turnout.

Case, spaces, hyphens and underscores do not count; `Block Yard 2` is yard-2. A bare number is the input of a block
(its detector's address and its zone) or a turnout's own number. What fits nothing keeps the name it has.
"""

from collections.abc import Callable, Mapping

from troubleshoot.eventlog.words import KINDS, fold
from troubleshoot.layout import Layout

_KIND = {"block": "block", "command": "turnout", "report": "turnout"}


def namer(layout: Layout) -> Callable[[str, str], str]:
    """A function from a track and a name as logged to the layout's name."""
    by_fold = {fold(p.name): p.name for p in layout.all_places()}
    numbers = {"block": _inputs(layout), "turnout": _numbers(layout)}
    known: dict[tuple[str, str], str] = {}

    def name(track: str, said: str) -> str:
        if (track, said) not in known:
            known[track, said] = _one(track, said, by_fold, numbers)
        return known[track, said]

    return name


def _one(track: str, said: str, by_fold: Mapping[str, str], numbers: Mapping[str, Mapping[int, str]]) -> str:
    folded = fold(said)
    if folded in by_fold:
        return by_fold[folded]
    first, _, rest = folded.partition(" ")
    word = rest if any(first in words for words in KINDS.values()) else folded
    if word in by_fold:
        return by_fold[word]
    table = numbers.get(_KIND.get(track, ""), {})
    if word.isascii() and word.isdigit() and len(word) < 7:
        return table.get(int(word), said)
    return said


def _inputs(layout: Layout) -> dict[int, str]:
    """Blocks by the number of their input: the detector's first address, and the zone counted from 1."""
    found = {}
    for place in layout.places_of("block"):
        zone, board = layout.word(place, "zone"), layout.parts.get(layout.word(place, "detector") or "")
        address = board.figures.get("address") if board else None
        if zone and zone.isdigit() and address:
            found[int(address[0]) + int(zone) - 1] = place.name
    return found


def _numbers(layout: Layout) -> dict[int, str]:
    """Turnouts by their number."""
    figures = {p.name: layout.parts[p.name].figures.get("number") for p in layout.places_of("turnout")}
    return {int(f[0]): name for name, f in figures.items() if f}

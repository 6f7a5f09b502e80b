"""The place that shows a symptom: from the words said already, or by its name, typed as people type names.

What was typed is never lost: a name of another kind leads to what it belongs to, a slip to the nearest name, and what
the record does not know at all is kept as the person's own words for the place.
"""

import re
from collections.abc import Sequence

from troubleshoot import screen
from troubleshoot.dialogue import Asker, Option, Prompt
from troubleshoot.documents import nearest
from troubleshoot.layout import KIND_OF_RELATION, Layout, Place
from troubleshoot.rulebook import Rulebook

KINDS = {
    "block": "block|section|track|road",
    "turnout": "turnout|points?|switch",
    "signal": "signal|mast",
    "district": "district",
    "panel": "panel",
    "detector": "detector|board",
    "vehicle": "loco|locomotive|engine|car|coach|wagon",
}
"""Words that people say before the number of a place, in British and American English."""
MOST_LISTED = 12
"""So many names are listed for choosing; of more, only the first and the last are told."""
BESIDE = ("itself", "neighbour-of", "vehicle-in")
"""Relations that lead to no place that a thing belongs to."""
NO_NAME = "-"


def places_in(words: str, kind: str, known: Sequence[str]) -> list[str]:
    """The known places of a kind that a person's words name: `yard 2` for yard-2, `turnout 302` for t-302.

    >>> places_in("Yard 2 shows occupied", "block", ["yard-1", "yard-2", "yard-21"])
    ['yard-2']
    >>> places_in("turnout 302 does not throw", "turnout", ["t-301", "t-302"])
    ['t-302']
    """
    said = _words(words)
    named = [n for n in known if f" {_words(n)} " in f" {said} "]
    whole = [n for n in named if not any(n != o and f" {_words(n)} " in f" {_words(o)} " for o in named)]
    if whole:
        return whole
    numbers = {int(n) for n in re.findall(rf"\b(?:{KINDS.get(kind, kind)}) (?:no |number |nr )?(\d+)\b", said)}
    return [n for n in known if numbers & {int(d) for d in re.findall(r"\d+", n)}]


def _words(text: str) -> str:
    """Letters and figures only, each run of them a word."""
    return " ".join(re.findall(r"[^\W\d_]+|\d+", text.lower()))


def belongs_to(layout: Layout, place: Place, kind: str) -> list[str]:
    """The places of a kind that a place belongs to by the record: its district, its detector, its block."""
    known = {p.name for p in layout.places_of(kind)}
    relations = [r for r, of in KIND_OF_RELATION.items() if of == kind and r not in BESIDE]
    found = [p.name for r in relations for p in layout.related(r, place) if p.name in known]
    return list(dict.fromkeys(found))


def named_in(layout: Layout, words: str, kind: str) -> tuple[list[str], str]:
    """Places of a kind that words name, or that the one thing they name belongs to; and that thing, or nothing."""
    own = places_in(words, kind, [p.name for p in layout.places_of(kind)])
    if own:
        return own, ""
    kinds: dict[str, list[str]] = {}
    for place in layout.all_places():
        kinds.setdefault(place.kind, []).append(place.name)
    named = {(k, n) for k, names in kinds.items() for n in places_in(words, k, names)}
    # A feeder is called after its block: words that name the feeder do not name the block beside it.
    whole = [(k, n) for k, n in sorted(named) if not any(n != o and n in o for _, o in named)]
    if len(whole) != 1:
        return [], ""
    ((other, name),) = whole
    return belongs_to(layout, Place(other, name), kind), name


def choose_place(
    rulebook: Rulebook, layout: Layout, symptom: str, who: Asker, words: Sequence[str], out: screen.Console
) -> str | None:
    """Ask which place shows the symptom, unless the words said it; nobody has to know its name."""
    kind = rulebook.symptoms[symptom].about
    known = [p.name for p in layout.places_of(kind)] if layout.known else []
    if kind == "layout" or (not known and layout.known):
        return None
    for text in words if known else ():
        found, thing = named_in(layout, text, kind)
        if len(found) == 1:
            out.print(screen.line("about", _related(found[0], kind, thing) if thing else f"{found[0]}, as you said"))
            return found[0]
    return _typed(layout, kind, known, who, out)


def _related(name: str, kind: str, thing: str) -> str:
    return f"{name}, the {kind} of {thing} by the layout record"


def _typed(layout: Layout, kind: str, known: Sequence[str], who: Asker, out: screen.Console) -> str | None:
    """A place by its name; what is typed and not known is asked about once, then kept as it was typed."""
    hint = f" ({known[0]} ... {known[-1]})" if len(known) > MOST_LISTED else ""
    asks, own, offered, close = f"Which {kind}?{hint} Type its name, or - if it has none", "", known, ""
    while True:
        options = _listed(layout, kind, offered)
        said = who.ask(Prompt(asks, options, typed=True, topic="about", default=close, unsure=NO_NAME)).strip()
        if said in (NO_NAME, "!not-sure") or said == own:
            if own:
                out.print(screen.line("about", f"{own}, in your own words"))
            return own or None
        if said in known or not known:
            return said
        found, thing = named_in(layout, said, kind)
        if len(found) == 1:
            if thing:
                out.print(screen.line("about", _related(found[0], kind, thing)))
            return found[0]
        own, offered, close = said, found or known, "" if found else nearest(said, known) or ""
        if found:
            asks = f"The record has {len(found)} {kind}s for {thing or said}. Which is it?"
        elif close:
            asks = f"The record has no {kind} {said!r}; did you mean {close}? Enter takes {close}"
        else:
            asks = f"The record has no {kind} {said!r}"
        asks += f". Type its name, or {NO_NAME} to keep {said!r} as your words for it"


def _listed(layout: Layout, kind: str, names: Sequence[str]) -> tuple[Option, ...]:
    """Names to choose from by their number, where they are few and none is itself a number."""
    if len(names) > MOST_LISTED or any(n.isdigit() for n in names):
        return ()
    says = [layout.word(Place(kind, n), "says") for n in names]
    return tuple(
        Option(n, f"{n} ({text})" if text else n, str(i))
        for i, (n, text) in enumerate(zip(names, says, strict=True), 1)
    )

"""What was said, done and read in a case, in lines: the rows of a hand-over's tables.

Limits are those of the layout the case was made on, with the figures they follow from, assumed ones marked.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from troubleshoot.inquiry import (
    Answer,
    AtHand,
    Complaint,
    FoundAt,
    FoundNowhere,
    Lifted,
    Mend,
    Observation,
    PlacesSeen,
    ProofSeen,
    PutAside,
    SetUpChange,
    edges,
    where,
)
from troubleshoot.layout import Figure, Place
from troubleshoot.quantities import Reading, show
from troubleshoot.report.story import Event, Story
from troubleshoot.rulebook import Check
from troubleshoot.rulebook.wording import at, between, label, spell

_ASIDE = {"not-sure": "not sure", "cant-do": "could not be done here", "already-tried": "had been tried already"}
_RESULT = {"fixed": "it seems cured", "partly": "better, not cured", "not-fixed": "no better"}


@dataclass(frozen=True)
class Deed:
    """One thing said or done: when, what, what came of it, and how gladly it is left out of a long list."""

    when: str
    what: str
    found: str
    weight: int


def deeds(story: Story, most: int) -> tuple[tuple[Deed, ...], int]:
    """What was done, in order, in so many rows at most, and how many were left out: questions first, then readings."""
    made = list(_deeds(story))
    surplus = len(made) - most
    if surplus <= 0:
        return tuple(made), 0
    order = sorted(range(len(made)), key=lambda i: (made[i].weight, i))
    gone = set(order[:surplus])
    return tuple(d for i, d in enumerate(made) if i not in gone), surplus


def _deeds(story: Story) -> Iterator[Deed]:
    first = True
    moves: list[SetUpChange] = []
    since = ""
    for event in (*story.events, None):
        record = event.record if event else None
        if moves and not isinstance(record, SetUpChange):
            yield Deed(since, *_moved(story, moves), 1)
            moves = []
        if event is None:
            return
        if isinstance(record, SetUpChange):
            since = since if moves else event.when
            moves.append(record)
        elif isinstance(record, Complaint) and first:
            first = False
        else:
            yield from _deed(story, event)


def _moved(story: Story, moves: Sequence[SetUpChange]) -> tuple[str, str]:
    """States entered or left one after the other, in one line."""
    said = []
    for entered, word in ((True, "done"), (False, "undone")):
        some = [m for m in moves if m.entered == entered]
        names = [story.rulebook.set_ups[m.set_up].says if m.set_up in story.rulebook.set_ups else label(m.set_up)
                 for m in some]  # fmt: skip
        places = ", ".join(dict.fromkeys(m.place or "" for m in some))
        if some:
            said.append((f"{', '.join(at(n, some[0].place or '') for n in names)}{f' ({places})' if places else ''}",
                         word))  # fmt: skip
    return "; ".join(text for text, _ in said), " and ".join(word for _, word in said)


def _deed(story: Story, event: Event) -> Iterator[Deed]:
    record, rules, made = event.record, story.rulebook, story.made
    if isinstance(record, Complaint):
        symptom = rules.symptoms.get(record.symptom)
        text = f"The inquiry turned to: {symptom.says if symptom else label(record.symptom)}"
        yield Deed(event.when, text, record.about or "", 4)
    elif isinstance(record, Answer | PutAside):
        check = rules.checks.get(record.check)
        place = where(story.layout, check, record.place, made.subject).name if check else record.place or ""
        asked = at(check.asks, place) if check else label(record.check)
        yield Deed(event.when, asked, _answered(record, check), _weight(record))
    elif isinstance(record, Mend):
        did = f"Mended at {record.place or made.subject.name}: {label(record.remedy)}"
        yield Deed(event.when, did, _RESULT.get(record.result, record.result), 4)
    elif isinstance(record, ProofSeen):
        quiet = f", quiet for {spell(record.quiet_seconds)}" if record.quiet_seconds else ""
        yield Deed(
            event.when, f"Proof of: {label(record.remedy)}", f"{'passed' if record.passed else 'failed'}{quiet}", 4
        )
    elif isinstance(record, Lifted):
        went = {True: "the fault went", False: "the fault stayed", None: "not sure"}[record.gone]
        yield Deed(event.when, f"Lifted and put back: {record.point}", went, 2)
    elif isinstance(record, FoundAt):
        yield Deed(event.when, "Looked at one after another", record.place or "not sure which it is", 3)
    elif isinstance(record, FoundNowhere):
        yield Deed(event.when, "Looked at one after another", "found at none", 3)
    elif isinstance(record, PlacesSeen):
        for asked, names in (("Seen to show it too", record.sick), ("Seen not to show it", record.healthy)):
            if names:
                yield Deed(event.when, asked, ", ".join(names), 2)
    elif isinstance(record, AtHand) and record.minutes is not None:
        yield Deed(event.when, "Time at hand", f"{record.minutes:g} min", 0)


def _weight(record: Answer | PutAside) -> int:
    return 0 if isinstance(record, PutAside) else 3 if record.reading else 2


def _answered(record: Answer | PutAside, check: Check | None) -> str:
    if isinstance(record, PutAside):
        return _ASIDE.get(record.why, record.why)
    if record.reading is not None:
        return read(record.reading, check.unit if check else None)
    outcome = check.labels.get(str(record.outcome), str(record.outcome)) if check else str(record.outcome)
    unsure = {"remembered": " (from memory)", "thought": " (thought so)"}
    return outcome + unsure.get(record.how, "")


def read(reading: Reading, unit: str | None) -> str:
    """A reading as it was understood."""
    if reading.over_range:
        return "over range (OL)"
    return f"{reading.bound}{show(reading.value, unit or reading.unit)}"


@dataclass(frozen=True)
class Held:
    """A reading held against this layout: what was found, what is healthy, which bands there are, and from what."""

    what: str
    found: str
    verdict: str
    bands: tuple[str, ...]
    figures: tuple[str, ...]
    sound: bool


def readings(story: Story, most: int) -> tuple[Held, ...]:
    """The readings taken, the last ones of a long case."""
    taken = [o for o in story.made.observed if story.rulebook.checks[o.check].unit]
    taken.sort(key=lambda o: o.order)
    return tuple(_held(story, one) for one in taken[-most:])


def _held(story: Story, one: Observation) -> Held:
    check = story.rulebook.checks[one.check]
    record = story.inquiry.records[one.order]
    reading = record.reading if isinstance(record, Answer) else None
    found = read(reading, check.unit) if reading else one.said
    healthy = _sound(story, check)
    near = "" if max(one.weights) >= 0.9 else f", by {max(one.weights) * 100:.0f} in 100"
    return Held(
        at(check.asks, one.place.name),
        found,
        f"{'healthy' if one.outcome in healthy else 'NOT healthy'}: {label(one.outcome)}{near}",
        bands(story, check, one.place),
        figures(story, check, one.place),
        one.outcome in healthy,
    )


def _sound(story: Story, check: Check) -> frozenset[str]:
    found = story.rulebook.findings[check.finding]
    return frozenset(o for o, p in zip(found.outcomes, found.sound, strict=True) if p >= 0.5)


def bands(story: Story, check: Check, place: Place) -> tuple[str, ...]:
    """The bands of a reading at a place in words, the healthy ones said so."""
    bounds = edges(story.layout, check, place)
    healthy, lows = _sound(story, check), (0.0, *bounds.edges)
    highs = (*bounds.edges, math.inf)
    unit = check.unit or ""
    return tuple(
        f"{label(b.outcome)}{' (healthy)' if b.outcome in healthy else ''}: {between(low, high, unit)}"
        for b, low, high in zip(check.bands, lows, highs, strict=True)
    )


def figures(story: Story, check: Check, place: Place) -> tuple[str, ...]:
    """Where the limits come from: the formula, and each figure with its mark if it is assumed."""
    bounds = edges(story.layout, check, place)
    return (*bounds.formulas, *(_figure(f) for f in bounds.data))


def _figure(figure: Figure) -> str:
    return f"{figure.said} {show(figure.value, figure.unit)}{' (assumed)' if figure.assumed else ''}"

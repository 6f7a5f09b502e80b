"""What a case says about the layout, as marks for its picture: suspects, what shows the fault, what was read.

A reading in the range of a healthy part is a mark of its own kind, because what is known to be sound helps as much.
Answers to questions are no marks: they speak of the fault and not of a place.
"""

from collections.abc import Iterator

from troubleshoot.diagnosis import Diagnosis
from troubleshoot.rulebook import Rulebook
from troubleshoot.rulebook.wording import at, chance, label
from troubleshoot.sketch import Mark

LEAST = 0.02
"""Suspects below this chance are not drawn (as unlikely as anything can be by the rules)."""
MOST_SUSPECTS = 12
MOST_PLACES = 5
"""Of a cause that could sit at many places alike, so many places are drawn."""


def marks_of(rulebook: Rulebook, made: Diagnosis) -> tuple[Mark, ...]:
    """Every mark that a diagnosis gives rise to."""
    return (*_suspects(made), *_sick(rulebook, made), *_readings(rulebook, made))


def _suspects(made: Diagnosis) -> list[Mark]:
    found = [
        Mark(place, "suspect", f"{chance(share)}: {line.says}", share)
        for line in made.ranking
        for place, share in line.places[:MOST_PLACES]
        if share >= LEAST and place
    ]
    return sorted(found, key=lambda m: -m.weight)[:MOST_SUSPECTS]


def _sick(rulebook: Rulebook, made: Diagnosis) -> Iterator[Mark]:
    if made.symptom is None:
        return
    for number, place in enumerate(made.sick):
        yield Mark(place.name, "sick", rulebook.symptoms[made.symptom].says, 1.0 if number == 0 else 0.9)


def _readings(rulebook: Rulebook, made: Diagnosis) -> Iterator[Mark]:
    for one in sorted(made.observed, key=lambda o: o.order):
        check = rulebook.checks[one.check]
        if check.unit is None:
            continue
        found = rulebook.findings[one.finding]
        sound = found.sound[found.outcomes.index(one.outcome)] >= 0.5
        text = f"{at(check.asks, one.place.name)}: {one.said}, {label(one.outcome)}"
        yield Mark(one.place.name, "clean" if sound else "reading", text, max(one.weights))

"""Remedies that a person may choose though another step is advised, and where a chain of faults goes on.

Each comes with everything that it takes to carry it out: cautions, set-ups, proof. What is chosen is shown and asked
for in `stepping`.
"""

from collections.abc import Mapping

from troubleshoot.cli.session import Session
from troubleshoot.diagnosis import Diagnosis, RemedyStep, in_force_at, named, set_up_places, with_proof
from troubleshoot.layout import Place
from troubleshoot.rulebook import Remedy, Rulebook

LIKELIEST = 4
"""Remedies of so many causes are offered."""
WAITING = ("nothing", "block", "district", "layout")


def remedies_now(session: Session, made: Diagnosis) -> list[RemedyStep]:
    """The remedies of the likeliest causes, each at its likeliest place, each remedy and place once."""
    found: dict[tuple[str, str], RemedyStep] = {}
    for line in [r for r in made.ranking[:LIKELIEST] if r.cause in session.rulebook.causes]:
        place = named(session.layout, line.places[0][0], made.subject)
        for remedy in session.rulebook.remedies_of(line.cause):
            key = remedy.name, place.name
            if key not in found:
                found[key] = remedy_step(session, made, remedy, place)
    return list(found.values())


def remedy_step(session: Session, made: Diagnosis, remedy: Remedy, place: Place) -> RemedyStep:
    """A remedy at a place as a step, with what it takes and what it costs the others."""
    layout, rulebook = session.layout, session.rulebook
    here = in_force_at(layout, rulebook, session.inquiry, remedy.set_up, place)
    enter = tuple(s for s in remedy.set_up if s not in here)
    cautions = {*remedy.cautions, *(c for s in remedy.set_up for c in rulebook.set_ups[s].cautions)}
    stops = max(("nothing", *(rulebook.set_ups[s].stops for s in remedy.set_up)), key=WAITING.index)
    if remedy.price == "lifts-bus":
        stops = max(stops, "district", key=WAITING.index)
    chances: Mapping[str, float] = {r.cause: r.chance for r in made.ranking}
    chance = sum(chances.get(c, 0.0) for c in remedy.mends)
    at = set_up_places(layout, rulebook, enter, place)
    step = RemedyStep(
        remedy, place, remedy.minutes, min(1.0, chance), 0.0, tuple(sorted(cautions)), enter, at, stops=stops
    )
    return with_proof(layout, rulebook, step, made.subject)


def chain_option(rulebook: Rulebook, made: Diagnosis) -> list[tuple[str, str]]:
    """To go on where the likeliest cause shows itself, as a choice; none where it ends here."""
    if not made.chain:
        return []
    _, symptom, places = made.chain
    where = places[0].name if places else "that"
    return [("chain", f"Go on with {where} now, with all answers kept: {rulebook.symptoms[symptom].says}")]

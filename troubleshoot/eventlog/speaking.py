"""What findings mean to the rules: the symptoms they speak for, and the answers they give to an inquiry's checks.

All of it stands in packs, under `log-signs`; no name of a symptom, check or outcome stands here. An answer is offered
only where the finding concerns what is complained about and the symptom's causes speak of what the check reports; what
a person has answered already is left alone. Whether it is taken is asked by `cli`.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from troubleshoot.eventlog.findings import Finding
from troubleshoot.inquiry import Answer, Complaint, Inquiry, about, sick_places, where
from troubleshoot.layout import Layout, Place, Unknown
from troubleshoot.rulebook import Check, LogSign, Rulebook

HOW = "from the log"
"""How such an answer was come by, as a case remembers it."""


@dataclass(frozen=True)
class Offer:
    """An answer that a finding gives: outcome of a check at a place."""

    check: str
    place: str
    outcome: str
    finding: Finding


def signs(rulebook: Rulebook, finding: Finding) -> list[LogSign]:
    """What packs say about a kind of finding, in the order of their layers."""
    return [s for s in rulebook.log_signs.values() if s.kind == finding.kind]


def symptoms_for(rulebook: Rulebook, finding: Finding) -> tuple[str, ...]:
    """The symptoms that a finding speaks for, the likeliest first. When it comes says nothing of what it is."""
    of_kind = [s for s in rulebook.log_signs.values() if s.kind == (finding.of_kind or finding.kind)]
    return tuple(dict.fromkeys(symptom for sign in of_kind for symptom in sign.symptoms))


def subject_of(layout: Layout, rulebook: Rulebook, finding: Finding, symptom: str) -> str:
    """The place to complain about with a symptom: the first of the finding's places that is of the symptom's kind."""
    wanted = rulebook.symptoms[symptom].about
    for name in finding.places:
        try:
            if layout.place(name).kind == wanted:
                return name
        except Unknown:
            continue
    try:
        return layout.related(f"{wanted}-of", layout.place(finding.about))[0].name
    except (Unknown, ValueError):
        # power that trips is named second, after what trips it
        return finding.others[0] if wanted == "district" and finding.others else finding.about


def supposed(layout: Layout, rulebook: Rulebook, finding: Finding, found: Sequence[Finding]) -> Inquiry | None:
    """The inquiry that would stand if the likeliest symptom of a finding were complained about; None for none."""
    symptoms = symptoms_for(rulebook, finding)
    if not symptoms:
        return None
    subject = subject_of(layout, rulebook, finding, symptoms[0])
    begun = Inquiry((Complaint(symptoms[0], subject),))
    answers = [Answer(o.check, o.place, o.outcome, None, HOW) for o in offers(layout, rulebook, begun, found)]
    return begun.and_then(*answers)


def offers(layout: Layout, rulebook: Rulebook, inquiry: Inquiry, found: Sequence[Finding]) -> list[Offer]:
    """The answers that findings give to an inquiry, the surest finding first; one for a check at a place."""
    complaint = inquiry.complaint
    if complaint is None or complaint.symptom not in rulebook.symptoms:
        return []
    subject = about(layout, inquiry, rulebook)
    sick = {p.name for p in sick_places(layout, inquiry, rulebook)}
    asked = {*rulebook.spoken_of(complaint.symptom)}
    given = {(name, where(layout, rulebook.checks[name], place, subject).name)
             for name, place in inquiry.latest if name in rulebook.checks}  # fmt: skip
    made: list[Offer] = []
    for finding in found:
        if sick & {*finding.places}:
            for check, outcome in _answers(rulebook, finding):
                place = _place(layout, check, subject, finding)
                if check.finding in asked and (check.name, place) not in given:
                    given.add((check.name, place))
                    made.append(Offer(check.name, place, outcome, finding))
    return made


def _answers(rulebook: Rulebook, finding: Finding) -> Iterator[tuple[Check, str]]:
    for sign in signs(rulebook, finding):
        for name, outcome in sign.answers.items():
            yield rulebook.checks[name], outcome


def _place(layout: Layout, check: Check, subject: Place, finding: Finding) -> str:
    """Where the check is made: at a thing the finding names, if the relation leads there; else as usual."""
    places = layout.related(check.relation, subject)
    named = next((p.name for p in places if p.name in finding.places), None)
    return named or where(layout, check, None, subject).name

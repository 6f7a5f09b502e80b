"""Which places of a layout an inquiry speaks of: that complained about, other sick or healthy ones, those of answers.

A name that the record does not know is still a place, of the kind that is complained about.
"""

from troubleshoot.inquiry.course import Inquiry
from troubleshoot.layout import Layout, Place, Unknown
from troubleshoot.rulebook import Check, Rulebook


def about(layout: Layout, inquiry: Inquiry, rulebook: Rulebook) -> Place:
    """The place complained about; unnamed when the layout record does not know it."""
    complaint = inquiry.complaint
    kind = (
        rulebook.symptoms[complaint.symptom].about if complaint and complaint.symptom in rulebook.symptoms else "layout"
    )
    name = complaint.about if complaint else None
    if name is None:
        return Place(kind, f"the {kind}")
    try:
        return layout.place(name)
    except Unknown:
        return Place(kind, name)


def sick_places(layout: Layout, inquiry: Inquiry, rulebook: Rulebook) -> tuple[Place, ...]:
    """All places that show the symptom, the one complained about first."""
    first = about(layout, inquiry, rulebook)
    rest = _looking(layout, inquiry, first, True)
    return (first, *(p for p in rest if p != first))


def healthy_places(layout: Layout, inquiry: Inquiry, rulebook: Rulebook) -> tuple[Place, ...]:
    """All places that are said not to show the symptom."""
    first = about(layout, inquiry, rulebook)
    return tuple(p for p in _looking(layout, inquiry, first, False) if p != first)


def _looking(layout: Layout, inquiry: Inquiry, first: Place, sick: bool) -> list[Place]:
    places = []
    for name in [n for n, ill in inquiry.looks.items() if ill is sick]:
        try:
            places.append(layout.place(name))
        except Unknown:
            places.append(Place(first.kind, name))
    return places


def where(layout: Layout, check: Check, place: str | None, subject: Place) -> Place:
    """The place an answer speaks of: the one named, else the first that the check's relation gives.

    What is asked once for a whole inquiry speaks of whatever is complained about now, wherever it was asked.
    """
    if check.asked_once:
        return subject
    places = layout.related(check.relation, subject)
    if place is not None:
        for known in places:
            if known.name == place:
                return known
        try:
            return layout.place(place)
        except Unknown:
            return Place(places[0].kind if places else subject.kind, place)
    return places[0] if places else subject

"""What a layout assumes, and the traits and facts that follow from its record."""

import pytest

from tests.conftest import KINDS_COMPLAINED_ABOUT, made
from troubleshoot.layout import (
    EMPTY,
    FACTS,
    FIGURES,
    HOME,
    SCALES,
    TRAITS,
    Layout,
    Place,
)

# --- figures -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", HOME)
@pytest.mark.parametrize("kind", KINDS_COMPLAINED_ABOUT)
def test_without_a_record_figures_are_assumed(kind: str, name: str) -> None:
    """Every figure that can be asked of any place is either assumed for it or honestly unknown."""
    found = EMPTY.figure(Place(kind, f"the {kind}"), name)

    if name in ("zones", "decoder-address"):
        assert found is None
    else:
        assert found is not None
        assert found.assumed
        assert found.value >= 0


@pytest.mark.parametrize("scale", SCALES)
def test_defaults_are_within_their_own_range(scale: str) -> None:
    """What is assumed for a scale would also be accepted in a record."""
    for kind, specs in FIGURES.items():
        for name, spec in specs.items():
            assumed = spec.assumed(scale)
            assert assumed is None or spec.least <= assumed <= spec.most, (kind, name)


@pytest.mark.parametrize(
    ("scale", "volts"), [("N", 12), ("Z", 12), ("HO", 15), ("OO", 15), ("S", 15), ("O", 15), ("large", 18)]
)
def test_track_volts_are_the_standard_ones(scale: str, volts: float) -> None:
    """Nominal volts at the track are those of NMRA S-9.1 (2020) Table 3."""
    figure = made(f"name: a\nscale: {scale}\n").figure(Place("layout", "the layout"), "track-volts")

    assert figure is not None
    assert (figure.value, figure.assumed, figure.said) == (volts, True, "track volts")


def test_defaults_follow_from_what_is_given() -> None:
    """A trip is assumed at 80 % of the booster's limit, an output at the track volts, a drop by detector kind."""
    layout = made(
        "name: a\ntrack-volts: 14 V\nboosters: {boo-1: {limit: 10 A}}\ndistricts: {north: {booster: boo-1}}\n"
        "detectors: {d-1: {kind: diode-drop}}\nblocks: {b-1: {district: north, detector: d-1, rail-code: 70}}\n"
    )
    block = layout.place("b-1")

    got = {n: layout.figure(block, n) for n in ("trip", "booster-output", "detector-drop", "rail-ohms")}

    assert {n: f.value for n, f in got.items() if f} == {
        "trip": 8.0,
        "booster-output": 14.0,
        "detector-drop": 0.7,
        "rail-ohms": 0.206,
    }
    assert all(f.assumed for f in got.values() if f)


def test_assumed_figures_are_called_as_a_person_would() -> None:
    """Without a record a figure is named by its kind of place, and no word comes twice."""
    said = {n: EMPTY.figure(Place("block", "the block"), n) for n in ("feeder-length", "threshold", "supply-volts")}

    assert [f.said for f in said.values() if f] == ["feeder length", "threshold of the detector", "supply volts"]


def test_a_figure_that_no_place_has_is_none(club: Layout) -> None:
    """Asking for a figure out of the lists, or one that has no default, gives nothing."""
    assert club.figure(club.place("yard-2"), "colour") is None
    assert club.figure(Place("detector", "the detector"), "zones") is None


# --- traits and facts --------------------------------------------------------------------------------


def test_traits_and_facts_have_the_listed_names_and_values(club: Layout, home: Layout) -> None:
    """From every place each trait is yes, no or unknown, and each fact has a value of its list."""
    for layout in (club, home, EMPTY):
        for place in (*layout.all_places(), Place("block", "stranger")):
            traits, facts = layout.traits(place), layout.facts(place)
            assert tuple(traits) == TRAITS
            assert set(traits.values()) <= {"yes", "no", "unknown"}
            assert tuple(facts) == tuple(FACTS)
            assert all(facts[name] in FACTS[name] for name in facts)


def test_traits_of_places() -> None:
    """Without a record every trait is unknown."""
    assert set(EMPTY.traits(Place("block", "the block")).values()) == {"unknown"}


@pytest.mark.parametrize(
    ("layout", "about", "trait", "value"),
    [
        ("club", "yard-2", "coil-detector", "yes"),
        ("club", "yard-2", "diode-drop-detector", "no"),
        ("club", "yard-2", "reversing-section", "no"),
        ("club", "loop-2", "reversing-section", "yes"),
        ("club", "loop-2", "reverser-fitted", "yes"),
        ("club", "yard-district", "breaker-fitted", "yes"),
        ("club", "yard-district", "turnouts-in-district", "yes"),
        ("club", "t-301", "stall-motor", "yes"),
        ("club", "t-321", "coil-motor", "yes"),
        ("club", "t-321", "capacitor-discharge-unit", "yes"),
        ("club", "t-337", "servo-motor", "yes"),
        ("club", "t-337", "wide-decoder", "no"),
        ("club", "yard-2", "filter-fitted", "unknown"),
        ("club", "yard-2", "several-detector-boards", "yes"),
        ("home", "front-2", "several-boosters", "no"),
        ("home", "front-2", "several-detector-boards", "no"),
        ("home", "front-2", "reversing-section", "no"),
        ("home", "branch-1", "reversing-section", "yes"),
        ("home", "front-2", "routes-stored", "unknown"),
        ("home", "t-5", "feedback-contact-fitted", "yes"),
        ("home", "front-2", "current-sensing-detector", "yes"),
    ],
)
def test_traits_of_the_bundled_layouts(
    layout: str, about: str, trait: str, value: str, request: pytest.FixtureRequest
) -> None:
    """Traits say what the record says of the place, and no more."""
    record: Layout = request.getfixturevalue(layout)

    assert record.traits(record.place(about))[trait] == value


def test_an_empty_section_says_that_there_is_none() -> None:
    """An empty mapping, or `none`, is a statement; leaving the section out is not."""
    layout = made(
        "name: a\nroutes: {}\ncontrol-bus: none\ndistricts: {north: {breaker: none}}\n"
        "blocks: {b-1: {district: north}}\n"
    )
    traits = layout.traits(layout.place("b-1"))

    wanted = ("routes-stored", "control-bus-fitted", "panel-fitted", "computer-interface", "breaker-fitted")
    assert {traits[t] for t in wanted} == {"no"}
    assert traits["feedback-contact-fitted"] == "unknown"
    assert layout.related("breaker-of", layout.place("north")) == (Place("breaker", "the breaker"),)


@pytest.mark.parametrize(
    ("sick", "shared"),
    [
        (["yard-2"], "nothing"),
        (["yard-12", "harbour-1"], "detector"),
        (["yard-1", "yard-3"], "board"),
        (["harbour-5", "station-2"], "detector"),
        (["harbour-1", "station-8"], "duct"),
        (["yard-2", "tunnel-6"], "nothing"),
        (["t-301", "t-302", "t-304"], "decoder"),
        (["t-301", "t-311"], "booster"),
        (["mill-district", "tunnel-district"], "booster"),
        (["yard-2", "t-301"], "nothing"),
    ],
)
def test_what_all_the_sick_share(club: Layout, sick: list[str], shared: str) -> None:
    """The smallest thing behind all the sick and not behind every place of their kind is named."""
    places = [club.place(n) for n in sick]

    facts = club.facts(places[0], places)

    assert facts["shared-by-all-sick"] == shared
    assert facts["sick"] == ("several" if len(sick) > 1 else "one")
    thing = club.shared(places)
    assert (thing.kind if thing else "nothing") == shared


def test_what_everyone_shares_tells_nothing(home: Layout) -> None:
    """On a layout with one detector and one booster, two sick blocks of two districts share nothing telling."""
    assert home.shared([home.place("front-1"), home.place("branch-1")]) is None

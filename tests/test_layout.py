"""Layout records: contradictions refused in words, the bundled layouts, the plain form, first records."""

import json
import subprocess
import sys
from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.conftest import LAYOUTS, made, names, refused
from troubleshoot.documents import Problems, dump, parse
from troubleshoot.layout import (
    EMPTY,
    FIRST_QUESTIONS,
    RELATIONS,
    SCALES,
    Layout,
    Unknown,
    check,
    from_plain,
    record_from,
    to_plain,
)

# --- what is refused ---------------------------------------------------------------------------------

REFUSED: Mapping[str, tuple[str, int, str]] = {
    "two blocks on one zone": (
        "name: a\ndetectors: {d-1: {zones: 4}}\nblocks:\n  b-1: {detector: d-1, zone: 1}\n"
        "  b-2: {detector: d-1, zone: 1}\n",
        5,
        "zone 1 of d-1 is already that of b-1 in line 4; free there: 2, 3, 4",
    ),
    "zone beyond the detector": (
        "name: a\ndetectors: {d-1: {zones: 4}}\nblocks:\n  b-1: {detector: d-1, zone: 5}\n",
        4,
        "zone 5 is beyond d-1, which has 4 zones; give a zone from 1 to 4",
    ),
    "more blocks than zones": (
        "name: a\ndetectors: {d-1: {zones: 1}}\nblocks:\n  b-1: {detector: d-1}\n  b-2: {detector: d-1}\n",
        5,
        "is block 2 of d-1, which has 1 zones; name another detector",
    ),
    "zone without detector": ("name: a\nblocks:\n  b-1: {zone: 5}\n", 3, "has zone 5 but no detector"),
    "zone that is no number": (
        "name: a\ndetectors: {d-1: }\nblocks:\n  b-1: {detector: d-1, zone: left}\n",
        4,
        "zone 'left' is no zone number",
    ),
    "turnout number its decoder cannot have": (
        "name: a\ndecoders: {dec-1: {address: 3}}\nturnouts:\n  t-5: {number: 5, decoder: dec-1}\n",
        4,
        "number 5 cannot be on dec-1 (address 3, counting from 1), which has 9 to 12; give one of these, "
        "or put it on the decoder with address 2",
    ),
    "turnout number counting from nought": (
        "name: a\ndecoders: {dec-1: {address: 3, base: 0}}\nturnouts:\n  t-5: {number: 12, decoder: dec-1}\n",
        4,
        "which has 13 to 16; give one of these, or put it on the decoder with address 2",
    ),
    "output that does not fit the number": (
        "name: a\ndecoders: {dec-1: {address: 1}}\nturnouts:\n  t-2: {number: 2, decoder: dec-1, output: 3}\n",
        4,
        "output 3 of dec-1 (address 1, counting from 1) has number 3, not 2",
    ),
    "output beyond the decoder": (
        "name: a\ndecoders: {dec-1: {address: 1}}\nturnouts:\n  t-2: {decoder: dec-1, output: 5}\n",
        4,
        "output 5 is beyond dec-1, which has 4",
    ),
    "address nought counting from one": (
        "name: a\ndecoders:\n  dec-1: {address: 0}\n",
        3,
        "address 0 cannot be, counting from 1; addresses run from 1 to 510",
    ),
    "district on no booster": (
        "name: a\nboosters: {boo-1: , boo-2: }\ndistricts:\n  north:\n    trip: 3 A\n",
        4,
        "north: is on no booster; say which one feeds it: booster: one of boo-1, boo-2",
    ),
    "district on an unknown booster": (
        "name: a\nboosters: {booster-1: }\ndistricts:\n  north: {booster: boster-1}\n",
        4,
        "'boster-1' is not under boosters; did you mean 'booster-1'?",
    ),
    "reference to another kind": (
        "name: a\ndetectors: {d-1: }\nblocks:\n  b-1: {district: d-1}\n",
        4,
        "'d-1' is a detector, not a district",
    ),
    "reference to nothing": (
        "name: a\nblocks:\n  b-1: {board: top}\n",
        3,
        "'top' is not known; add it under boards",
    ),
    "joint of an unknown block": (
        "name: a\nblocks: {yard-1: }\njoints:\n  yard-1/yrad-1:\n",
        4,
        "'yrad-1' is not under blocks; did you mean 'yard-1'?",
    ),
    "joint of one block": (
        "name: a\nblocks: {yard-1: }\njoints:\n  yard-1/yard-1:\n",
        4,
        "a joint lies between two blocks",
    ),
    "joint twice": (
        "name: a\nblocks: {b-1: , b-2: }\njoints:\n  b-1/b-2:\n  b-2/b-1:\n",
        5,
        "is the joint b-1/b-2 written the other way round",
    ),
    "one name for two kinds": (
        "name: a\ndistricts:\n  north:\nblocks:\n  north:\n",
        5,
        "'north' is already the name of the district in line 3; every place needs a name of its own: "
        "call this one 'block-north'",
    ),
    "two contacts on one input": (
        "name: a\nturnouts:\n  t-1: {feedback: {input: 7}}\n  t-2: {feedback: {input: 7}}\n",
        4,
        "t-2: input 7 is already that of t-1 in line 3",
    ),
    "nought volts": (
        "name: a\ntrack-volts: 0 V\n",
        2,
        "track-volts: 0 V cannot be; track volts goes from 7 V to 27 V",
    ),
    "mains volts": ("name: a\ntrack-volts: 400 V\n", 2, "track-volts: 400 V cannot be"),
    "wire of thirty kilometres": (
        "name: a\nblocks:\n  b-1:\n    feeder: {length: 30000 m}\n",
        4,
        "length: 30000 m cannot be; feeder length goes from 20 mm to 200 m. Is the unit right?",
    ),
    "negative figure": ("name: a\nboosters:\n  boo-1: {limit: -5 A}\n", 3, "limit:"),
    "figure without unit": ("name: a\ntrack-volts: 15\n", 2, "has no unit"),
    "figure with another unit": ("name: a\ntrack-volts: 15 A\n", 2, "15 A"),
    "count that is no number": (
        "name: a\ndetectors:\n  d-1: {zones: many}\n",
        3,
        "'many' is no whole number",
    ),
    "unknown key": ("name: a\nblocks:\n  b-1: {distict: north}\n", 3, "district"),
    "unknown word": ("name: a\nscale: H0\n", 2, "HO"),
    "name with a space": (
        "name: a\nblocks:\n  yard 2:\n",
        3,
        "'yard 2' is no name; write it in letters, figures and hyphens",
    ),
    "no name": ("scale: HO\n", 1, "name"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_contradictions_are_refused_with_line_and_repair(what: str) -> None:
    """Each contradiction names file and line, and says what is likely meant."""
    text, line, expected = REFUSED[what]

    told = refused(text)

    assert any(t.startswith(f"mine.yaml:{line}: ") and expected in t for t in told), told


def test_everything_wrong_is_told_at_once() -> None:
    """Problems of form, figures and references of one record come together, in the order of the lines."""
    told = refused(
        "name: a\nscale: H0\ntrack-volts: 400 V\nblocks:\n  b-1: {district: nowhere, distict: 3}\n"
        "turnouts:\n  t-1: {block: b-2}\n"
    )

    lines = [int(t.split(":")[1]) for t in told]
    assert lines == sorted(lines)
    assert set(lines) == {2, 3, 5, 7}


def test_a_problem_is_told_once() -> None:
    """A wrong value is not told by form and by content both."""
    assert len(refused("name: a\nblocks:\n  b-1: {length: [3 m]}\n")) == 1


@pytest.mark.parametrize("text", ["", "[]", "just words"])
def test_what_is_no_mapping_is_no_record(text: str) -> None:
    """A file that holds something else is refused in words."""
    assert "name:" in refused(text)[0]


def test_a_breaker_above_its_booster_is_not_refused() -> None:
    """A trip above the booster's limit is a weak spot, not a contradiction."""
    layout = made("name: a\nboosters: {boo-1: {limit: 3 A}}\ndistricts: {north: {booster: boo-1, trip: 5 A}}\n")

    assert layout.notes == ()


def test_a_detector_of_another_booster_is_a_note() -> None:
    """A block fed by one booster and watched by a detector of another is pointed out and loads."""
    layout = made(
        "name: a\nboosters: {boo-1: , boo-2: }\ndistricts: {north: {booster: boo-1}}\n"
        "detectors: {d-1: {kind: coil, booster: boo-2}}\nblocks:\n  b-1: {district: north, detector: d-1}\n"
    )

    assert layout.notes[0].startswith("mine.yaml:6: b-1 is fed by boo-1, but its detector d-1 by boo-2")


def test_only_the_name_is_needed() -> None:
    """A record of one line loads, and everything else is assumed."""
    layout = made("name: Attic\n")

    assert layout.known
    volts = layout.figure(layout.itself, "track-volts")
    assert volts is not None
    assert (volts.value, volts.assumed) == (15.0, True)


# --- the bundled layouts -----------------------------------------------------------------------------


def test_the_club_layout_is_as_large_as_said(club: Layout) -> None:
    """Six boosters, eight districts, 64 blocks, 40 turnouts on ten decoders, 30 signals."""
    counted = {k: len(club.places_of(k)) for k in ("booster", "district", "block", "turnout", "decoder", "signal")}

    assert counted == {"booster": 6, "district": 8, "block": 64, "turnout": 40, "decoder": 10, "signal": 30}


def test_a_larger_club_loads() -> None:
    """100 turnouts in decoders of four and 60 signals are taken in."""
    parts: dict[str, Any] = {
        "name": "large",
        "decoders": {f"d-{n}": {"address": n} for n in range(1, 26)},
        "turnouts": {f"t-{n}": {"number": n, "decoder": f"d-{(n + 3) // 4}"} for n in range(1, 101)},
        "signals": {f"s-{n}": {"listens-to": [f"t-{n}"]} for n in range(1, 61)},
    }

    layout = made(dump(parts))

    assert len(layout.places_of("turnout")) == 100
    assert len(layout.related("motor-of", layout.itself)) == 1  # a hundred are too many to ask about


def test_figures_of_the_club(club: Layout) -> None:
    """Given figures come back in SI, not assumed, and called as a person would."""
    feeder = club.figure(club.place("tunnel-6"), "feeder-length")
    area = club.figure(club.place("yard-2 feeder"), "area")
    trip = club.figure(club.place("yard-2"), "trip")

    assert feeder is not None
    assert (feeder.value, feeder.unit, feeder.assumed) == (22.0, "m", False)
    assert feeder.said == "feeder length of tunnel-6"
    assert area is not None
    assert area.value == pytest.approx(0.5e-6)
    assert trip is not None
    assert (trip.value, trip.said) == (3.5, "trip current of yard-district")


def test_bus_stretches_count_as_one_wire(club: Layout) -> None:
    """A bus of two wires has the length of both and the area that gives the same resistance."""
    bus = club.place("yard-district bus")
    length, area = club.figure(bus, "length"), club.figure(bus, "area")

    assert length is not None
    assert area is not None
    assert length.value == pytest.approx(9.0)
    assert length.value / area.value == pytest.approx(6 / 2.5e-6 + 3 / 1.5e-6)
    assert club.place("yard-district bus 2").kind == "bus-segment"


def test_spacing_gives_an_assumed_capacitance(club: Layout) -> None:
    """How the wires run gives picofarads per metre, still marked as assumed."""
    bundled = club.figure(club.place("tunnel-6 feeder"), "capacitance")
    loose = club.figure(club.place("yard-2 feeder"), "capacitance")

    assert bundled is not None
    assert loose is not None
    assert (bundled.value, loose.value) == (100e-12, 50e-12)
    assert bundled.assumed


def test_words_and_kit(club: Layout, home: Layout) -> None:
    """Words of a part and the owner's tools are kept as said; what is not said is unknown."""
    assert club.word(club.place("booster-a"), "reference") == "common"
    assert club.word(club.place("det-west"), "kind") == "coil"
    assert club.words(club.place("plug-yard-harbour"), "between") == ("board-yard", "board-harbour")
    assert (club.meter, club.kit["multimeter"], club.kit["true-rms-meter"]) == ("average", "yes", "no")
    assert (club.kit["lamp"], club.kit["clamp-meter"], club.kit["oscilloscope"]) == ("yes", "no", "unknown")
    assert home.kit["second-person"] == "no"


def test_an_unknown_place_names_the_nearest(club: Layout) -> None:
    """A mistyped place is answered with the one that was likely meant; letter case does not matter."""
    with pytest.raises(Unknown) as caught:
        club.place("yrad-2")

    assert caught.value.nearest == "yard-2"
    assert "did you mean 'yard-2'?" in str(caught.value)
    assert club.place("Yard-2").name == "yard-2"


# --- the plain form and the first record -------------------------------------------------------------


def test_the_plain_form_gives_the_same_layout(club: Layout, home: Layout) -> None:
    """A layout from its plain form, through JSON, answers alike."""
    for layout in (club, home):
        again = from_plain(json.loads(json.dumps(to_plain(layout))))

        assert to_plain(again) == to_plain(layout)
        for place in layout.all_places()[::17]:
            assert all(again.related(r, place) == layout.related(r, place) for r in RELATIONS)
            assert again.facts(place) == layout.facts(place)
    assert from_plain(to_plain(EMPTY)) is EMPTY


@pytest.mark.parametrize("damaged", [{}, {"format": 0}, {"format": 1}, {"format": 1, "known": True, "parts": [[1]]}])
def test_a_damaged_plain_form_is_refused(damaged: dict[str, Any]) -> None:
    """Anything that is no plain form raises ValueError, so that the file is read again."""
    with pytest.raises(ValueError):
        from_plain(damaged)


def test_importing_and_a_plain_form_need_no_pydantic() -> None:
    """A start from the cache pays for no validation library."""
    code = (
        "import sys; from troubleshoot.layout import EMPTY, from_plain, to_plain; from_plain(to_plain(EMPTY)); "
        "assert 'pydantic' not in sys.modules"
    )

    subprocess.run([sys.executable, "-c", code], check=True, cwd=LAYOUTS.parents[2])


def test_a_first_record_from_the_default_answers_loads() -> None:
    """The questions' own defaults give a record that loads without problems."""
    answers = {key: default for key, _, default, _ in FIRST_QUESTIONS}

    layout = made(dump(record_from(answers)))

    assert layout.name == "My layout"
    assert len(layout.places_of("block")) == 8
    assert names(layout, "detector-of", "block-3") == ["detector-1"]
    assert layout.notes == ()


_COUNTS = {"boosters": 20, "districts": 60, "blocks": 40, "zones": 64, "turnouts": 40}


@settings(max_examples=60, deadline=None)
@given(
    counts=st.fixed_dictionaries({}, optional={k: st.integers(0, most).map(str) for k, most in _COUNTS.items()}),
    kinds=st.fixed_dictionaries(
        {},
        optional={
            "scale": st.sampled_from(SCALES),
            "detector-kind": st.sampled_from(["none", "coil", "diode-drop", "optical"]),
            "threshold": st.sampled_from(["0.5 mA", "3 mA"]),
            "trip": st.sampled_from(["none", "3 A"]),
            "booster-limit": st.just("5 A"),
            "motor": st.sampled_from(["stall", "coil", "hand"]),
            "feedback": st.sampled_from(["none", "contact"]),
            "meter": st.sampled_from(["none", "average", "true-rms"]),
        },
    ),
)
def test_any_answers_give_a_record_that_loads(counts: dict[str, str], kinds: dict[str, str]) -> None:
    """Whatever is answered and left out, the first record contradicts nothing."""
    layout = made(dump(record_from({**counts, **kinds})))

    assert len(layout.places_of("block")) == int(counts.get("blocks", "0"))


@pytest.mark.parametrize("said", ["-1", "many", "1000000", "2.5"])
def test_a_count_out_of_range_is_refused(said: str) -> None:
    """A count that cannot be is an error for the one who asks to ask again."""
    with pytest.raises(ValueError, match="blocks"):
        record_from({"blocks": said})


@settings(max_examples=150, deadline=None)
@given(
    st.recursive(
        st.none() | st.integers(-5, 500) | st.sampled_from(["yes", "3 A", "b-1", "none", "x y", ""]),
        lambda inner: (
            st.lists(inner, max_size=3)
            | st.dictionaries(
                st.sampled_from(
                    [
                        "name",
                        "kit",
                        "blocks",
                        "districts",
                        "joints",
                        "turnouts",
                        "detectors",
                        "control-bus",
                        "stock",
                        "vehicles",
                        "b-1",
                        "b-1/b-2",
                        "feeder",
                        "feedback",
                        "zone",
                        "detector",
                        "number",
                        "bus",
                        "trip",
                        "between",
                        "turnouts",
                        "routes",
                        "panels",
                        "interface",
                        "track-volts",
                    ]
                ),
                inner,
                max_size=5,
            )
        ),
        max_leaves=25,
    )
)
def test_no_record_breaks_the_reader(data: Any) -> None:
    """Whatever stands in a file is either a layout or problems in words, never a crash."""
    try:
        layout = check(parse(dump(data), "mine.yaml"))
    except Problems as wrong:
        assert wrong.problems
    else:
        assert layout.known

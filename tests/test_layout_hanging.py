"""Records whose parts do not hang together, and figures that cannot be: each is named with file and line."""

from collections.abc import Mapping
from pathlib import Path

import pytest

from tests.conftest import made, refused
from tests.running import ran
from troubleshoot.layout import Layout

BLOCKS = "name: a\nblocks: {b-1: , b-2: , b-3: , b-4: , b-5: }\njoints:\n  b-1/b-2:\n  b-2/b-3:\n"
NOTED: Mapping[str, tuple[str, int, str]] = {
    "an island of one block": (BLOCKS + "  b-3/b-4:\n", 2, "b-5 is joined to no other block; add the joint"),
    "an island of two blocks": (BLOCKS + "  b-4/b-5:\n", 2, "b-4, b-5 are joined to none of the others"),
    "a ring of signals": (
        "name: a\nsignals:\n  s-1: {listens-to: [s-2]}\n  s-2: {listens-to: [s-3]}\n  s-3: {listens-to: [s-1]}\n",
        3,
        "signals listen to each other in a ring: s-1 -> s-2 -> s-3 -> s-1",
    ),
    "a booster without a district": (
        "name: a\nboosters:\n  boo-1:\n  boo-2:\ndistricts: {north: {booster: boo-1}}\n",
        4,
        "boo-2 feeds no district",
    ),
    "a district without a block": (
        "name: a\ndistricts:\n  north:\n  south:\nblocks: {b-1: {district: north}}\n",
        4,
        "south has no block",
    ),
    "a detector without a block": (
        "name: a\ndetectors:\n  d-1:\n  d-2:\nblocks: {b-1: {detector: d-1}}\n",
        4,
        "d-2 watches no block",
    ),
    "a decoder without a turnout": (
        "name: a\ndecoders:\n  dec-1:\n  dec-2:\nturnouts: {t-1: {decoder: dec-1}}\n",
        4,
        "dec-2 works no turnout and no signal",
    ),
    "a supply that feeds nothing": (
        "name: a\nsupplies:\n  s-1:\n  s-2:\nboosters: {boo: {supply: s-1}}\n",
        4,
        "s-2 feeds nothing",
    ),
    "a bus longer in parts than whole": (
        "name: a\ncontrol-bus:\n  length: 10 m\n  segments: {west: {length: 8 m}, east: {length: 7 m}}\n",
        2,
        "the segments of the control bus are 15 m together, and it is 10 m",
    ),
}
REFUSED: Mapping[str, tuple[str, int, str]] = {
    "a booster that feeds itself": (
        "name: a\nboosters:\n  boo-1: {supply: boo-1}\n",
        3,
        "supply 'boo-1' is a booster, not a supply",
    ),
    "a district fed by itself": (
        "name: a\ndistricts:\n  north: {booster: north}\n",
        3,
        "'north' is a district, not a booster",
    ),
    "a signal that listens to itself": (
        "name: a\nsignals:\n  s-1: {listens-to: [s-1]}\n",
        3,
        "s-1: listens to itself, so it never clears",
    ),
    "a plug on one board": (
        "name: a\nboards: {west: }\nplugs:\n  p-1: {between: [west, west]}\n",
        4,
        "p-1: a plug lies between two boards",
    ),
    "a plug between three boards": (
        "name: a\nboards: {a-1: , a-2: , a-3: }\nplugs:\n  p-1: {between: [a-1, a-2, a-3]}\n",
        4,
        "p-1: a plug lies between two boards",
    ),
    "a wire of no length": ("name: a\nblocks:\n  b-1: {feeder: {length: 0 m}}\n", 3, "length: 0 m cannot be"),
    "a block of no length": ("name: a\nblocks:\n  b-1: {length: 0 m}\n", 3, "length: 0 m cannot be"),
    "a bus of no length": (
        "name: a\ndistricts:\n  north:\n    bus: [{length: 5 m}, {length: 0 m}]\n",
        4,
        "length: 0 m cannot be",
    ),
    "a feeder of four kilometres": (
        "name: a\nblocks:\n  b-1: {feeder: {length: 4 km}}\n",
        3,
        "length: 4 km cannot be; feeder length goes from 20 mm to 200 m",
    ),
    "a track of 900 volts": ("name: a\ntrack-volts: 900 V\n", 2, "track-volts: 900 V cannot be"),
    "a booster of 900 volts": ("name: a\nboosters:\n  boo: {output: 900 V}\n", 3, "output: 900 V cannot be"),
    "a wire given by its thickness": (
        "name: a\nblocks:\n  b-1: {feeder: {wire: 0.0001 mm}}\n",
        3,
        "is a length; an area is wanted here",
    ),
    "a wire that nobody can see": (
        "name: a\nblocks:\n  b-1: {feeder: {wire: 0.0001 mm2}}\n",
        3,
        "wire: 0.0001 mm2 cannot be; feeder wire goes from 0.02 mm2 to 10 mm2",
    ),
    "a negative length": ("name: a\nblocks:\n  b-1: {length: -2 m}\n", 3, "length:"),
    "a negative threshold": ("name: a\ndetectors:\n  d-1: {threshold: -1 mA}\n", 3, "threshold:"),
    "a negative delay": ("name: a\ndistricts:\n  north: {delay: -5 ms}\n", 3, "delay:"),
    "no passes through a coil": ("name: a\ndetectors:\n  d-1: {passes: 0}\n", 3, "passes: 0 cannot be"),
    "a gap of half a metre": ("name: a\nblocks:\n  b-1: {gap: 50 cm}\n", 3, "gap: 50 cm cannot be"),
    "a delay of a minute": ("name: a\ndistricts:\n  north: {delay: 60 s}\n", 3, "delay: 60 s cannot be"),
    "an endless figure": ("name: a\nboosters:\n  boo: {limit: inf A}\n", 3, "limit:"),
}


@pytest.mark.parametrize("what", NOTED)
def test_what_hangs_loose_is_noted_with_its_line(what: str) -> None:
    """The record loads, and a note says which part and what is mostly meant."""
    text, line, expected = NOTED[what]

    notes = made(text).notes

    assert len(notes) == 1, notes
    assert notes[0].startswith(f"mine.yaml:{line}: ")
    assert expected in notes[0]


@pytest.mark.parametrize("what", REFUSED)
def test_what_cannot_be_is_refused_with_its_line(what: str) -> None:
    """Absurd figures and parts that lead to themselves are refused where they stand."""
    text, line, expected = REFUSED[what]

    told = refused(text)

    assert any(t.startswith(f"mine.yaml:{line}: ") and expected in t for t in told), told


def test_the_bundled_layouts_hang_together(club: Layout, home: Layout) -> None:
    """Nothing in the bundled records is left over."""
    assert (club.notes, home.notes) == ((), ())


def test_a_ring_of_hundreds_of_signals_is_noted_once() -> None:
    """A long ring is shown shortened, and reading it stays quick and shallow."""
    ring = "".join(f"  s-{n}: {{listens-to: [s-{(n + 1) % 900}]}}\n" for n in range(900))

    notes = made(f"name: a\nsignals:\n{ring}").notes

    assert len(notes) == 1
    assert "s-0 -> s-1 -> s-2 -> ... -> s-0" in notes[0]


def test_the_check_of_a_record_prints_its_notes(shelf: Path, tmp_path: Path) -> None:
    """Notes go to standard error and into the JSON; the record is good all the same."""
    file = tmp_path / "mine.yaml"
    file.write_text(NOTED["an island of one block"][0])

    told, data = ran("layout", "check", str(file)), ran("layout", "check", str(file), "--json")

    assert (told.code, data.code) == (0, 0)
    assert f"{file}:2: b-5 is joined to no other block" in told.err
    assert data.data["notes"][0].startswith(f"{file}:2: ")

"""Named quantities at places of a record: the figures they rest on, and how they follow a changed record."""

import math
import re
from pathlib import Path

import pytest

from troubleshoot.electrics import QUANTITIES, meters, packets, quantity
from troubleshoot.layout import EMPTY, KINDS, Layout, Place, load, unnamed

LAYOUTS = Path(__file__).parents[1] / "rules" / "core" / "layouts"
CLOSED_LIST = """
leak-limit[ohm] joint-leak-limit[ohm] axle-ohms[ohm] axle-current[A] detector-threshold[A]
known-load-seen[ohm] known-load-unseen[ohm] feeder-current[A] filter-current[A]
track-volts[V] gap-volts-in-phase[V]
gap-volts-out-of-phase[V] gap-volts-common-rail[V] breaker-trip[A] booster-limit[A] breaker-delay[s]
booster-delay[s] loop-limit[ohm] loop-expected[ohm] drop-limit[V] joint-drop-limit[V] inrush-time[s]
district-load[A] input-low-limit[V] input-high-limit[V] input-supply[V]
contact-limit[ohm] wire-leak-limit[ohm]
supply-volts[V] back-to-back-least[m] back-to-back-most[m] blade-opening-least[m] gap-least[m] stagger-most[m]
section-least[m] storage-charge-time[s] feeder-capacitance[F/m]
"""


def changed(folder: Path, record: str, old: str, new: str) -> Layout:
    """A bundled record with one text replaced everywhere."""
    text = (LAYOUTS / record).read_text(encoding="utf-8")
    assert re.search(old, text), f"{record} has no {old!r}"
    path = folder / record
    path.write_text(re.sub(old, new, text), encoding="utf-8")
    return load(path)


def at(layout: Layout, place: str, name: str) -> float:
    """The value of a quantity at a named place."""
    return quantity(name, layout, layout.place(place)).value


def test_the_closed_list_is_kept() -> None:
    """Every name that a pack may use has a quantity of the right unit, and there are no others."""
    assert dict(QUANTITIES) == dict(re.findall(r"([a-z-]+)\[([^]]+)\]", CLOSED_LIST))


def test_the_leak_limit_at_the_yard_is_five_kilohm(club: Layout) -> None:
    """15 V over a 3 mA coil detector of one pass."""
    limit = quantity("leak-limit", club, club.place("yard-2"))

    assert limit.value == pytest.approx(5000.0)
    assert limit.assumed == ()
    assert {f.value for f in limit.data} == {15.0, 0.003, 1.0}


@pytest.mark.parametrize("place", ["yard-2 feeder", "yard-2 zone", "det-west", "yard-1/yard-2", "t-302", "t-302 frog"])
def test_the_leak_limit_is_found_from_any_place(club: Layout, place: str) -> None:
    """Relations lead from every part to its detector and booster."""
    assert at(club, place, "leak-limit") == pytest.approx(5000.0)


def test_behind_diodes_the_limit_is_a_little_lower(home: Layout) -> None:
    """14.3 V over 1 mA."""
    assert at(home, "front-2", "leak-limit") == pytest.approx(14.3e3)


TWICE = [
    ("leak-limit", "yard-2", r"threshold: 3 mA", "threshold: 6 mA", 0.5),
    ("leak-limit", "yard-2", r"passes: 1", "passes: 2", 2.0),
    ("leak-limit", "yard-2", r"output: 15 V", "output: 7.5 V", 0.5),
    ("known-load-seen", "yard-2", r"threshold: 3 mA", "threshold: 6 mA", 0.5),
    ("known-load-unseen", "yard-2", r"threshold: 3 mA", "threshold: 6 mA", 0.5),
    ("joint-leak-limit", "yard-2/yard-3", r"threshold: 3 mA", "threshold: 6 mA", 0.5),
    ("joint-leak-limit", "loop-6/loop-7", r"threshold: 3 mA", "threshold: 6 mA", 0.5),
    ("joint-leak-limit", "harbour-8/station-1", r"threshold: 3 mA", "threshold: 6 mA", 0.5),
    ("axle-current", "yard-2", r"axle-ohms: 10 kohm", "axle-ohms: 5 kohm", 2.0),
    ("feeder-current", "tunnel-6", r"length: 22 m", "length: 44 m", 2.0),
    ("feeder-current", "tunnel-6", r"output: 15 V", "output: 7.5 V", 0.5),
    ("filter-current", "yard-2", r"output: 15 V", "output: 7.5 V", 0.5),
    ("loop-limit", "yard-district", r"trip: 3.5 A", "trip: 1.75 A", 2.0),
    ("loop-limit", "yard-district", r"output: 15 V", "output: 7.5 V", 0.5),
    ("drop-limit", "yard-2", r"output: 15 V", "output: 7.5 V", 0.5),
    ("joint-drop-limit", "yard-2", r"output: 15 V", "output: 7.5 V", 0.5),
    ("breaker-trip", "yard-2", r"trip: 3.5 A", "trip: 1.75 A", 0.5),
    ("breaker-delay", "yard-2", r"delay: 12 ms", "delay: 24 ms", 2.0),
    ("booster-delay", "yard-2", r"delay: 200 ms", "delay: 400 ms", 2.0),
    ("booster-limit", "yard-2", r"limit: 5 A", "limit: 10 A", 2.0),
    ("inrush-time", "yard-district", r"storage-vehicles: 8", "storage-vehicles: 16", 2.0),
    ("inrush-time", "yard-district", r"limit: 5 A", "limit: 10 A", 0.5),
    ("storage-charge-time", "yard-2", r"storage-charge-ohms: 100 ohm", "storage-charge-ohms: 50 ohm", 0.5),
    ("district-load", "yard-district", r"storage-vehicles: 8", "storage-vehicles: 16", 2.0),
    ("input-low-limit", "t-301 input", r"volts: 5 V", "volts: 10 V", 2.0),
    ("input-high-limit", "t-301 input", r"volts: 5 V", "volts: 10 V", 2.0),
    ("contact-limit", "t-301 contact", r"pull-up: 10 kohm", "pull-up: 20 kohm", 2.0),
    ("wire-leak-limit", "t-301 field wire", r"pull-up: 10 kohm", "pull-up: 20 kohm", 2.0),
    ("supply-volts", "det-west", r"volts: 12 V", "volts: 24 V", 2.0),
    ("track-volts", "yard-2", r"output: 15 V", "output: 7.5 V", 0.5),
    ("gap-volts-out-of-phase", "yard-2/yard-3", r"output: 15 V", "output: 7.5 V", 0.5),
    ("gap-volts-out-of-phase", "harbour-8/station-1", r"common-rail: no", "common-rail: yes", 2.0),
    ("gap-volts-common-rail", "harbour-8/station-1", r"output: 15 V", "output: 7.5 V", 0.5),
    ("feeder-capacitance", "yard-2", r"spacing: loose-pair", "spacing: bundled", 2.0),
]


@pytest.mark.parametrize(("name", "place", "old", "new", "factor"), TWICE)
def test_a_changed_record_changes_its_limit(
    tmp_path: Path, club: Layout, *, name: str, place: str, old: str, new: str, factor: float
) -> None:
    """Twice or half a figure in the record moves the limit by the formula's own factor."""
    other = changed(tmp_path, "club.yaml", old, new)

    assert at(other, place, name) / at(club, place, name) == pytest.approx(factor)


def test_a_longer_bus_adds_its_own_loop(tmp_path: Path, club: Layout) -> None:
    """Ten metres more of 2.5 mm2 add twice ten metres of its copper."""
    other = changed(tmp_path, "club.yaml", r"wire: 2.5 mm2, length: 10 m", "wire: 2.5 mm2, length: 20 m")
    more = at(other, "ridge-1", "loop-expected") - at(club, "ridge-1", "loop-expected")

    assert more == pytest.approx(2 * 10 * 1.7241e-8 / 2.5e-6, rel=1e-3)


def test_a_longer_feeder_raises_the_joint_limit_by_its_own_drop(tmp_path: Path, club: Layout) -> None:
    """Four metres more of 0.5 mm2 under half an amp add 69 mV, which is 23 ohm at 3 mA."""
    other = changed(tmp_path, "club.yaml", r"wire: 0.5 mm2, length: 4 m", "wire: 0.5 mm2, length: 8 m")
    more = at(other, "yard-2/yard-3", "joint-leak-limit") - at(club, "yard-2/yard-3", "joint-leak-limit")

    assert more == pytest.approx(0.5 * 4 * 1.7241e-8 / 0.5e-6 / 0.003, rel=1e-3)


@pytest.mark.parametrize(("kind", "bandwidth"), [("average", 1e5), ("true-rms", 1e3), ("true-rms", 1e5)])
def test_another_meter_shows_other_volts(tmp_path: Path, club: Layout, kind: str, bandwidth: float) -> None:
    """The volts shown follow the meter's kind and bandwidth by the one-pole model."""
    other = changed(
        tmp_path,
        "club.yaml",
        r"meter: average\n  bandwidth: 1 kHz",
        f"meter: {kind}\n  bandwidth: {bandwidth:.0f} Hz",
    )
    wanted = meters.factor_at(kind, bandwidth) / meters.factor_at("average", 1e3)

    for name in ("track-volts", "gap-volts-out-of-phase"):
        assert at(other, "yard-2", name) / at(club, "yard-2", name) == pytest.approx(wanted)


def test_the_club_meter_shows_a_tenth_of_the_track_volts(club: Layout) -> None:
    """An average meter good to 1 kHz shows about 1.5 V of 15 V."""
    shown = quantity("track-volts", club, club.place("yard-2"))

    assert shown.value == pytest.approx(1.5, abs=0.05)
    assert shown.low <= shown.value <= shown.high < 3.0


def test_a_meter_of_unknown_bandwidth_gives_a_wide_range(tmp_path: Path) -> None:
    """Without a bandwidth in the record the shown volts may be anything from a twentieth to a ninth more."""
    other = changed(tmp_path, "club.yaml", r"\n  bandwidth: 1 kHz", "")
    shown = quantity("track-volts", other, other.place("yard-2"))

    assert shown.low < 1.0
    assert shown.high == pytest.approx(16.66, abs=0.01)
    assert shown.spread > 0.5
    assert shown.assumed


def test_a_joint_between_two_boosters_has_more_volts_across_it(club: Layout) -> None:
    """Behind one booster tens of ohms matter, between two hundreds, at a reversing section kilohms."""
    limits = [
        at(club, joint, "joint-leak-limit") for joint in ("yard-2/yard-3", "harbour-8/station-1", "loop-6/loop-7")
    ]

    assert limits == sorted(limits)
    assert limits[1] == pytest.approx(1.0 / 0.003)
    assert limits[2] == pytest.approx(15.0 / 0.003)


def test_a_diode_detector_next_door_sets_the_joint_limit(home: Layout) -> None:
    """0.7 V over 1 mA, whatever the wiring."""
    assert at(home, "front-2/front-3", "joint-leak-limit") == pytest.approx(700.0)


def test_a_district_takes_its_farthest_block(club: Layout) -> None:
    """The expected loop of a district is that of its block with the longest way."""
    district = club.place("tunnel-district")
    blocks = club.related("own-block", district)
    loops = [quantity("loop-expected", club, b).value for b in blocks]

    assert quantity("loop-expected", club, district).value == pytest.approx(max(loops))


def test_without_a_breaker_the_booster_limit_decides(tmp_path: Path) -> None:
    """Where no breaker is fitted the trip current and delay are the booster's."""
    other = changed(
        tmp_path, "club.yaml", r"booster: booster-c, breaker: electronic, trip: 3.5 A, delay: 12 ms",
        "booster: booster-c, breaker: none",
    )  # fmt: skip

    assert at(other, "ridge-1", "breaker-trip") == pytest.approx(5.0)
    assert at(other, "ridge-1", "breaker-delay") == pytest.approx(0.2)


def test_a_vehicle_of_its_own_storage_charges_longer(club: Layout) -> None:
    """The railcar's 2200 uF count, not the usual 470 uF."""
    assert at(club, "railcar", "storage-charge-time") == pytest.approx(3 * 100 * 2200e-6)


@pytest.mark.parametrize("kind", KINDS)
def test_everything_has_a_value_without_any_record(kind: str) -> None:
    """With nothing known every quantity is assumed and finite, in its range."""
    for name in QUANTITIES:
        found = quantity(name, EMPTY, unnamed(kind))

        assert 0.0 < found.low <= found.value <= found.high < math.inf, name
        assert found.assumed, name


@pytest.mark.parametrize("record", ["club", "home"])
def test_everything_has_a_value_at_every_kind_of_place(record: str, request: pytest.FixtureRequest) -> None:
    """Every quantity can be had from every kind of place, with formula, source and data."""
    layout: Layout = request.getfixturevalue(record)
    one_of_each = {p.kind: p for p in layout.all_places()}

    for place in one_of_each.values():
        for name in QUANTITIES:
            found = quantity(name, layout, place)

            assert 0.0 < found.low <= found.value <= found.high < math.inf, (name, place)
            assert found.formula, name
            assert found.source, name
            assert found.data, name


def test_small_scales_have_smaller_lengths(tmp_path: Path, club: Layout) -> None:
    """Wheels, gaps and blades of N are finer than those of HO."""
    other = changed(tmp_path, "club.yaml", "scale: HO", "scale: N")

    for name in (
        "back-to-back-least",
        "back-to-back-most",
        "blade-opening-least",
        "gap-least",
        "stagger-most",
    ):
        assert at(other, "yard-2", name) < at(club, "yard-2", name)


def test_numbers_of_the_record_follow_the_packets(club: Layout) -> None:
    """The club's turnouts sit on the decoders that their numbers ask for."""
    for turnout in club.places_of("turnout"):
        number, decoder = club.figure(turnout, "number"), club.related("decoder-of", turnout)[0]
        address, base = club.figure(decoder, "address"), club.figure(decoder, "base")
        assert number
        assert address
        assert base

        assert packets.output_of(int(number.value), int(base.value)).decoder == address.value


def test_an_unknown_name_is_refused() -> None:
    """A quantity that is not on the list is an error of whoever asks."""
    with pytest.raises(KeyError):
        quantity("moon-phase", EMPTY, Place("block", "the block"))

"""Faults that come and go, found in the logs of a simulated railway; none found on a healthy one.

The railway (`tests/railway.py`) shares no code with the analysis. More runs stand in the benchmark; here are enough to
show that each fault is found, named rightly and alone.
"""

import random
from collections.abc import Iterable
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.railway import Faults, Hour, Row
from troubleshoot.eventlog import LEVEL, Finding, Log, Look, Track, look
from troubleshoot.eventlog.findings import FAMILIES, Family, settle
from troubleshoot.eventlog.log import CLEAR, OCCUPIED
from troubleshoot.eventlog.moves import moves
from troubleshoot.eventlog.pulses import story
from troubleshoot.eventlog.speaking import symptoms_for
from troubleshoot.eventlog.surroundings import surroundings
from troubleshoot.eventlog.telling import sentence
from troubleshoot.eventlog.together import meet
from troubleshoot.eventlog.turnouts import kind_of_silence, turnouts
from troubleshoot.eventlog.volleys import expected
from troubleshoot.layout import EMPTY, Layout, load
from troubleshoot.rulebook import load as load_rules
from troubleshoot.rulebook.signs import SIGNS

CLUB = load(Path(__file__).parents[1] / "rules" / "core" / "layouts" / "club.yaml")
CODES = {"occupied": 1, "clear": 0, "trip": 0, "restore": 1}
SIX = Faults(
    joints={("harbour-4", "harbour-5"): 0.7},
    surges={("t-325", "loop-4"): 0.8},
    glitches={"det-east": 4},
    missed={"ridge-5": 0.4},
    silent={"t-316": 0.7},
    warming={"yard-5": 45},
)
NAMED = {
    ("board", "det-east"), ("joint", "harbour-4"), ("throw", "loop-4"), ("missed", "ridge-5"), ("phantom", "yard-5"),
    ("unconfirmed", "t-316"),
}  # fmt: skip


def log_of(rows: Iterable[Row], start: float = 0.0, clocked: bool = True) -> Log:
    """A log from rows of the simulator, without a file between."""
    blocks: dict[str, Track] = {}
    commands: dict[str, Track] = {}
    reports: dict[str, Track] = {}
    power: dict[str, Track] = {}
    for when, kind, name, state in rows:
        verb, _, way = state.partition(" ")
        if kind == "turnout":
            track, code = (commands if verb == "commanded" else reports), int(way == "thrown")
        else:
            track, code = (blocks if kind == "block" else power), CODES[state]
        track.setdefault(name, Track()).add(start + when, code)
    return Log(blocks, commands, reports, power, clocked=clocked)


def seen(faults: Faults | None, seed: int, layout: Layout = CLUB, seconds: float = 3600.0) -> Look:
    """What is seen in the log of one run."""
    return look(log_of(Hour(CLUB, seed, faults, seconds).rows()), layout)


@cache
def sixfold(seed: int) -> Look:
    """An hour with six faults at once."""
    return seen(SIX, seed)


def blocks(**times: list[float]) -> Log:
    """A log of blocks that change at the moments given, beginning with occupied; a minute of quiet around it."""
    last = max(t for row in times.values() for t in row)
    names = {**times, "far-off": [0.0, last + 60.0]}
    made = {n.replace("_", "-"): Track() for n in names}
    for name, row in names.items():
        for i, when in enumerate(row):
            made[name.replace("_", "-")].add(when, OCCUPIED if i % 2 == 0 else CLEAR)
    return Log(made)


# --- a healthy railway ------------------------------------------------------------------------------


def test_a_healthy_railway_shows_next_to_nothing() -> None:
    """In 30 healthy hours with ordinary noise, no more are called than the level allows with luck against it."""
    false = [s for s in range(700, 730) if seen(None, s).found]

    assert len(false) <= 3


def test_a_dirty_train_is_not_taken_for_a_dirty_block() -> None:
    """A train far dirtier than the others makes many flickers where it stands, and no block is blamed for them."""
    blamed = [s for s in range(900, 912) if look(log_of(Hour(CLUB, s, dirt=15.0).rows()), CLUB).found]

    assert len(blamed) <= 1


def test_a_clock_of_whole_seconds_or_a_slow_bus_calls_no_fault() -> None:
    """Rounded or delayed times of a healthy railway make no false findings."""
    r = random.Random(3)
    for seed in range(4):
        rows = Hour(CLUB, 800 + seed).rows()
        rounded = [(float(round(w)), k, n, s) for w, k, n, s in rows]
        late = sorted((w + r.random() * 0.3, k, n, s) for w, k, n, s in rows)
        for shaken in (rounded, late):
            assert look(log_of(shaken), CLUB).found == ()


# --- six planted faults -----------------------------------------------------------------------------


def test_six_faults_of_one_hour_are_found_and_nothing_else() -> None:
    """Each is named by its kind and its place; in most hours all of them, and in none anything besides."""
    silent = ("never-confirmed", "one-way", "unconfirmed")
    hours = [
        {("unconfirmed" if f.kind in silent else f.kind, f.about) for f in sixfold(seed).found if not f.of_kind}
        for seed in range(4)
    ]

    assert set.union(*hours) == NAMED
    assert sum(len(h) for h in hours) >= 21


def test_findings_come_in_rank_order_with_their_figures() -> None:
    """The least likely by chance comes first; every finding has a count, moments, a test and its looks."""
    found = sixfold(0).found

    assert [f.corrected for f in found] == sorted(f.corrected for f in found)
    for one in found:
        assert one.corrected <= LEVEL
        assert one.chance <= one.corrected
        assert one.count >= 3
        assert one.expected < one.count
        assert one.test
        assert one.looks > 0
        assert len(one.times) >= one.count or one.of_kind


def test_a_finding_names_the_turnout_and_the_lag_of_a_surge() -> None:
    """The turnout whose throw flickers a block, and how long after."""
    (surge,) = [f for f in sixfold(1).found if f.kind == "throw"]

    assert surge.others == ("t-325",)
    assert surge.lag is not None
    assert 0.03 < surge.lag < 0.25


def test_a_phantom_that_grows_with_warmth_is_said_to() -> None:
    """From the moments alone: later rather than sooner after the start."""
    grown = [f for seed in range(6) for f in seen(Faults(warming={"yard-5": 60}), seed).found if f.of_kind]

    assert {(f.kind, f.about, f.of_kind) for f in grown} == {("warms-up", "yard-5", "phantom")}
    assert len(grown) >= 3


def test_what_explains_one_fault_is_not_counted_again() -> None:
    """Blocks that flicker with their board are no chatter, no pairs and no phantoms besides."""
    for seed in range(3):
        kinds = {f.kind for f in seen(Faults(glitches={"det-east": 20}), seed).found}
        assert kinds <= {"board", "warms-up", "wears-off"}
        assert "board" in kinds


def test_dirt_in_one_block_and_a_short_at_one_gap_are_found() -> None:
    """Further faults: plain chatter with its rate, and trips as trains enter a block."""
    faults = Faults(dirty={"ridge-3": 8}, shorts={("loop-7", "loop-district"): 0.6})

    found = {(f.kind, f.about): f for f in seen(faults, 2).found}

    assert ("chatter", "ridge-3") in found
    assert found["trip-on-entry", "loop-7"].others == ("loop-district",)


def test_without_a_record_what_needs_none_is_still_found() -> None:
    """Surges and unconfirmed throws need no neighbours; what shares a board is only a list of blocks."""
    made = seen(SIX, 1, EMPTY)
    kinds = {f.kind for f in made.found}

    assert {"throw", "together", "at-once"} <= kinds
    assert not kinds & {"joint", "board", "missed"}
    assert any("--layout" in note for note in made.notes)


def test_order_of_names_changes_nothing() -> None:
    """The same log with its tracks in another order gives the same findings to the last bit."""
    log = log_of(Hour(CLUB, 1, SIX).rows())
    blocks_, commands, reports, power = (
        dict(reversed([*t.items()])) for t in (log.blocks, log.commands, log.reports, log.power)
    )
    turned = Log(blocks_, commands, reports, power, clocked=True)

    assert look(turned, CLUB) == look(log, CLUB)


# --- the parts --------------------------------------------------------------------------------------


def test_flickers_are_told_from_stays() -> None:
    """A train with two drop-outs is one stay with two flickers; a pulse in an empty block is a blip."""
    log = blocks(yard_1=[100.0, 110.0, 110.2, 115.0, 115.1, 115.2, 115.3, 130.0, 300.0, 300.3])
    told = story(log, "yard-1", log.blocks["yard-1"])

    assert [(s.start, s.end) for s in told.stays] == [(100.0, 130.0)]
    assert [(f.start, f.pulses, f.with_train) for f in told.flickers] == [
        (110.0, 1, True), (115.0, 2, True), (300.0, 1, False),
    ]  # fmt: skip
    assert [b.start for b in told.blips] == [300.0]


def test_what_goes_dark_with_the_power_is_no_flicker() -> None:
    """Changes in an outage are left out; a train that moved away meanwhile has left."""
    log = blocks(yard_1=[100.0, 199.9, 203.0, 250.0], yard_2=[150.0, 200.1])
    told = [story(log, n, log.blocks[n], [(200.0, 204.5)]) for n in ("yard-1", "yard-2")]

    assert [[(s.start, s.end) for s in t.stays] for t in told] == [[(100.0, 250.0)], [(150.0, 204.5)]]
    assert not any(t.flickers for t in told)


@given(st.lists(st.floats(10.0, 5000.0).map(lambda x: round(x, 3)), min_size=2, max_size=60, unique=True))
@settings(max_examples=80, deadline=None)
def test_stays_and_flickers_cover_what_was_logged(moments: list[float]) -> None:
    """Whatever the changes: stays follow each other, and every pulse lies in a flicker."""
    log = blocks(yard_1=sorted(moments))
    told = story(log, "yard-1", log.blocks["yard-1"])
    ends = [x for s in told.stays for x in (s.start, s.end)]
    edges = [t for t, _ in told.edges]
    pulses = [a for a, b in pairwise(edges) if b - a < 1.0]

    assert ends == sorted(ends)
    assert all(any(f.start <= p <= f.end for f in told.flickers) for p in pulses)


def test_a_jump_a_phantom_and_a_train_lost_for_a_while_are_told_apart() -> None:
    """Three impossible moves on one chain of blocks, each counted for the right block."""
    log = blocks(
        yard_1=[10.0, 20.0],
        yard_2=[19.0, 30.0],
        yard_4=[31.0, 60.0],
        yard_5=[59.0, 80.0, 95.0, 110.0],
        yard_6=[109.0, 140.0],
        station_4=[200.0, 230.0],
    )
    log = Log({**log.blocks, "yard-3": track((0, CLEAR)), "station-3": track((0, CLEAR))})
    around = surroundings(log, CLUB)
    found = moves(log, {n: story(log, n, t) for n, t in log.blocks.items()}, around.neighbours)

    assert found.missed == {"yard-3": [31.0]}
    assert [n for n, times in found.phantoms.items() if times and n != "far-off"] == ["station-4"]
    assert [n for n, lost in found.lost.items() if lost] == ["yard-5"]


def test_commands_are_matched_with_their_reports() -> None:
    """Confirmed, late, unasked for because it lay so already, called back too soon, and never confirmed."""
    log = Log(
        commands={"t-301": track((0, 1), (60, 1), (120, 0), (123, 1), (200, 0), (300, 1), (900, 0))},
        reports={"t-301": track((2, 1), (204, 0), (600, 0))},
    )
    one = turnouts(log)["t-301"]

    assert [(a, round(lag)) for a, lag in one.confirmed] == [(0, 2), (200, 4)]
    assert one.silent == [300]
    assert one.alone == [600]
    assert kind_of_silence(one) == "unconfirmed"


@pytest.mark.parametrize(
    ("reports", "kind"),
    [((), "never-confirmed"), (((101, 1), (301, 1), (501, 1)), "one-way"), (((101, 1),), "unconfirmed")],
)
def test_the_kind_of_silence_is_told(reports: tuple[tuple[float, int], ...], kind: str) -> None:
    """Never, one way only, or now and then."""
    log = Log(
        blocks={"far-off": track((0, 1), (2000, 0))},
        commands={"t-301": track((0, 0), (100, 1), (200, 0), (300, 1), (400, 0), (500, 1), (600, 0))},
        reports={"t-301": track(*reports)},
    )

    assert kind_of_silence(turnouts(log)["t-301"]) == kind


def track(*rows: tuple[float, int]) -> Track:
    """A track from moments and states."""
    made = Track()
    for when, state in rows:
        made.add(when, state)
    return made


def test_meetings_by_chance_are_called_as_rarely_as_they_say() -> None:
    """Flickers thrown at random beside triggers come out below a level no more often than that level."""
    r = np.random.default_rng(8)
    tails = []
    for _ in range(1500):
        triggers, effects = np.sort(r.uniform(0, 3600, 300)), np.sort(r.uniform(0, 3600, 20))
        tails.append(meet([*triggers], [*effects], 0.0, 0.4).chance)

    for level in (0.1, 0.01):
        assert np.mean(np.array(tails) <= level) <= level + 3 * (level / len(tails)) ** 0.5


def test_the_number_of_volleys_to_expect_is_that_of_thrown_points() -> None:
    """The formula against points thrown into a minute, by counting."""
    r = np.random.default_rng(4)
    many, size, within = 40, 3, 0.4
    counted = []
    for _ in range(4000):
        points = np.sort(r.uniform(0, 60, many))
        counted.append(int(np.sum(points[size - 1 :] - points[: 1 - size] <= within)))
    mean = expected([(float(p), "a") for p in np.linspace(0.1, 59.9, many)], within, size)

    assert mean == pytest.approx(np.mean(counted), abs=4 * np.std(counted) / len(counted) ** 0.5)


def test_the_level_is_shared_among_the_families() -> None:
    """A chance is multiplied by the looks of its family and by the number of families, as Holm and Bonferroni say."""
    family = Family(FAMILIES[0], "a test", 10, [Finding("chatter", "a", count=3, chance=0.0001)])

    assert settle(family)[0].corrected == pytest.approx(0.0001 * 10 * len(FAMILIES))


# --- words and rules --------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", SIGNS)
def test_every_kind_of_finding_has_its_sentence(kind: str) -> None:
    """Said with its places and its count."""
    made = Finding(
        kind, "yard-1", ("t-301",), 7, 9, 0.2, 0.001, (1.0,), 19.0, of_kind="phantom" if kind == "hour" else ""
    )

    assert "7" in sentence(made)
    assert "yard-1" in sentence(made) or kind in ("warms-up", "wears-off", "at-once")


def test_every_kind_but_times_of_day_speaks_for_a_symptom_of_the_core_rules() -> None:
    """What a finding means stands in the pack, and nothing is left without meaning."""
    rulebook = load_rules()
    silent = {k for k in SIGNS if not symptoms_for(rulebook, Finding(k, "yard-1"))}

    assert silent == {"wears-off", "hour"}


def test_an_unknown_kind_is_no_finding() -> None:
    """The list of kinds is closed."""
    with pytest.raises(ValueError, match="chatter"):
        Finding("chattering", "yard-1")

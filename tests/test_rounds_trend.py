"""Where readings go: slopes, limits and their dates, and all that must not be taken for a fault."""

import math
import random
from collections.abc import Callable, Sequence
from datetime import date, timedelta

import pytest

from tests.drifting import BEGIN, CHECK, World, play, watched
from troubleshoot.layout import Layout
from troubleshoot.quantities import read_reading
from troubleshoot.rounds import History, Taken, Trend, due_checks, of, trends
from troubleshoot.rounds.due import offer_for
from troubleshoot.rounds.telling import pace, reach_text
from troubleshoot.rulebook import Rulebook
from troubleshoot.rulebook import load as load_rules

PLACE = "yard-1/yard-2"
YEAR = 365.25
MONTHLY = [30 * i for i in range(25)]


@pytest.fixture(scope="module")
def core() -> Rulebook:
    """The core rules."""
    return load_rules()


def taken(
    day: float,
    said: str,
    place: str = PLACE,
    check: str = CHECK,
    meter: str | None = None,
    humidity: float | None = None,
    unit: str = "ohm",
) -> Taken:
    """One reading, typed as a person types it."""
    return Taken(check, place, BEGIN + timedelta(days=round(day)), read_reading(said, unit), meter, None, humidity)


def falling(per_year: float, start: float = 5e6, days: Sequence[float] = MONTHLY, place: str = PLACE) -> list[Taken]:
    """Readings that fall by a factor a year, without any noise."""
    return [taken(d, f"{start * per_year ** (d / YEAR):.6g}", place) for d in days]


def one(layout: Layout, core: Rulebook, readings: Sequence[Taken], on: date | None = None) -> Trend:
    """The trend of the first place."""
    history = of(layout, core, readings)
    found = trends(history, on or history.taken[-1].day)
    return next(t for t in found if t.place.name == PLACE)


def noisy(
    seed: int, value: Callable[[float], float], days: Sequence[float] = MONTHLY, spread: float = 0.1
) -> list[Taken]:
    """Readings of a course of ohms with a spread on the logarithm."""
    dice = random.Random(seed)
    return [taken(d, f"{value(d) * math.exp(dice.gauss(0, spread)):.4g}") for d in days]


def test_an_even_fall_is_found_exactly_and_its_limit_to_the_week(club: Layout, core: Rulebook) -> None:
    """Ohms that fall to a tenth in a year from 20 Mohm reach 100 kohm after 2.301 years, and so it is said."""
    days = [30.0 * i for i in range(19)]
    readings = falling(0.1, 19e6, days)
    trend = one(club, core, readings)

    assert trend.state == "drifting"
    assert trend.slope == pytest.approx(-0.9, abs=1e-3)
    assert trend.low == pytest.approx(trend.high, abs=1e-3)
    assert trend.reaches[0].outcome == "leaky"
    assert trend.reaches[0].limit == pytest.approx(1e5)
    true = BEGIN + timedelta(days=YEAR * math.log10(190))
    assert trend.reaches[0].likely is not None
    assert abs((trend.reaches[0].likely - true).days) <= 8


def test_the_fall_is_told_in_words(club: Layout, core: Rulebook) -> None:
    """A tenth in a year is a half every 4 months; a slow rise is told in per cent."""
    assert pace(one(club, core, falling(0.1))) == "halves every 4 months"
    assert pace(one(club, core, falling(1.1))) == "rises 10 % a year"


def test_too_little_is_said_with_its_reason(club: Layout, core: Rulebook) -> None:
    """Four readings, or six within a fortnight, or all over range, or a new meter each time, give no trend."""
    few = one(club, core, falling(0.01, days=[0, 100, 200, 300]))
    quick = one(club, core, falling(0.01, days=[0, 2, 4, 6, 9, 14]))
    over = one(club, core, [taken(d, "OL") for d in MONTHLY])
    meters = one(club, core, [taken(30 * i, "5M", meter=f"m{i}") for i in range(8)])

    assert [t.state for t in (few, quick, over, meters)] == ["too-little"] * 4
    assert "needs 5" in few.why
    assert "needs 60" in quick.why
    assert "over range" in over.why
    assert "one and the same meter" in meters.why
    assert few.slope is None
    assert few.reaches == ()


def test_five_readings_are_the_fewest_that_can_tell_anything() -> None:
    """All in one order, either way, comes by chance in 2/4! of fours, over 5 in 100, and in 2/5! of fives, under it."""
    assert 2 / math.factorial(4) > 0.05 > 2 / math.factorial(5)
    assert 2 / math.factorial(5) > 0.01 > 2 / math.factorial(6)


def test_a_season_is_not_called_a_drift(club: Layout, core: Rulebook) -> None:
    """Ohms that swing threefold with the seasons around a level, looked at in their fall, are steady."""

    def swing(day: float) -> float:
        return 3e6 * math.exp(0.6 * math.cos(2 * math.pi * day / YEAR))

    for seed in range(8):
        readings = noisy(seed, swing, [30.0 * i for i in range(31)])
        assert one(club, core, readings).state in ("steady", "moving")


def test_within_the_first_year_a_fall_may_be_the_season_and_that_is_said(club: Layout, core: Rulebook) -> None:
    """Ten months of steady falling that would reach the limit within a year are season or drift, and no more."""
    trend = one(club, core, falling(0.02, 5e6, [30.0 * i for i in range(11)]))

    assert trend.state == "season-or-drift"
    assert any("less than a year" in r for r in trend.remarks)


def test_a_drift_under_a_season_is_found_by_the_same_season_a_year_before(club: Layout, core: Rulebook) -> None:
    """A fall to a twelfth a year under a threefold swing is found, its true slope inside the interval."""
    found = 0
    for seed in range(10):
        readings = noisy(
            seed, lambda d: 15e6 * 0.08 ** (d / YEAR) * math.exp(0.6 * math.cos(2 * math.pi * d / YEAR + 1)), MONTHLY
        )
        trend = one(club, core, readings)
        found += trend.state in ("drifting", "shifted")
        assert trend.how == "season"
        assert trend.low is not None
        assert trend.high is not None
        assert trend.low - 0.02 <= 0.08 - 1 <= trend.high + 0.02
    assert found >= 9


def test_wild_readings_do_not_make_a_trend(club: Layout, core: Rulebook) -> None:
    """Three readings of twenty-five a thousand times too low leave a steady place steady."""
    readings = [taken(d, "5" if i in (20, 22, 24) else f"{5 + 0.01 * (i % 7)}M") for i, d in enumerate(MONTHLY)]

    assert one(club, core, readings).state == "steady"


def test_a_new_meter_is_a_step_and_no_fall(club: Layout, core: Rulebook) -> None:
    """A meter that reads a third lower from one day on makes no trend: alone, and with others read beside it."""

    def club_of(count: int) -> list[Taken]:
        names = [p.name for p in club.places_of("joint")][:count]
        dice = random.Random(9)
        return [
            taken(d, f"{5e6 * math.exp(dice.gauss(0, 0.05)) * (0.67 if d >= 400 else 1):.4g}", n,
                  meter="new" if d >= 400 else "old")
            for d in MONTHLY for n in names
        ]  # fmt: skip

    for count, step in ((1, "within each only"), (8, "known from the other places")):
        trend = one(club, core, club_of(count))
        assert trend.state in ("steady", "too-little")
        assert any(step in r for r in trend.remarks)


def test_a_new_meter_read_side_by_side_lets_a_fall_be_followed_through_it(club: Layout, core: Rulebook) -> None:
    """With three readings by both meters on one day the fall before and after counts as one."""
    names = [p.name for p in club.places_of("joint")][:4]
    readings = []
    for d in MONTHLY:
        for n in names:
            ohms = 9e6 * (0.06 ** (d / YEAR) if n == PLACE else 1.0)
            for meter, factor in (("old", 1.0), ("new", 0.67)):
                if (meter == "old") == (d < 360) or d == 360:
                    readings.append(taken(d, f"{ohms * factor:.5g}", n, meter=meter))
    together = one(club, core, readings)
    apart = one(club, core, [t for t in readings if not (t.meter == "old" and t.day == BEGIN + timedelta(days=360))])

    assert together.state in ("drifting", "shifted")
    assert together.slope == pytest.approx(-0.94, abs=0.02)
    assert apart.state not in ("drifting", "steady")


def test_humidity_noted_beside_readings_is_taken_out(club: Layout, core: Rulebook) -> None:
    """Where ohms follow the humidity alone, noting it tells the season from a drift within the first year."""
    dice, days = random.Random(1), [15.0 * i for i in range(20)]
    damp = [50 + 20 * math.sin(2 * math.pi * d / YEAR) + dice.gauss(0, 6) for d in days]
    readings = [
        taken(d, f"{6e6 * math.exp(-0.06 * (h - 50) + dice.gauss(0, 0.05)):.4g}", humidity=round(h))
        for d, h in zip(days, damp, strict=True)
    ]
    with_it = one(club, core, readings)
    without = one(club, core, [Taken(t.check, t.place, t.day, t.reading) for t in readings])

    assert with_it.how == "humidity"
    assert with_it.state == "steady"
    assert without.how == "young"


def test_over_range_readings_count_as_the_top_of_the_meter(club: Layout, core: Rulebook) -> None:
    """A place that was over range and falls now is found; how many were beyond is said."""
    readings = [taken(d, "OL") for d in MONTHLY[:9]] + [
        taken(d, f"{20e6 * 0.02 ** ((d - 240) / YEAR):.4g}") for d in MONTHLY[9:22]
    ]
    trend = one(club, core, readings)

    assert trend.state in ("drifting", "shifted")
    assert any("9 readings beyond" in r for r in trend.remarks)


def test_rising_volts_reach_the_limit_above(club: Layout, core: Rulebook) -> None:
    """Volts lost across the rails of two boosters that double every quarter reach `unclear` from below."""
    readings = [
        taken(30 * i, f"{0.004 * 2 ** (i / 3):.4g}", "harbour-8/station-1", "core/gap-volts", unit="V AC")
        for i in range(13)
    ]
    (trend,) = trends(of(club, core, readings), readings[-1].day)

    assert trend.slope is not None
    assert trend.slope > 0
    assert [r.outcome for r in trend.reaches][:1] == ["unclear"]


def test_a_reading_in_per_cent_is_fitted_as_it_is(club: Layout, core: Rulebook) -> None:
    """Per cent of a supply fall by points, not by factors, and the limit is met on that straight line."""
    readings = [
        taken(30 * i, f"{99.6 - 0.4 * i:.1f}", "driver-1", "core/driver-supply-while-throwing", unit="%")
        for i in range(14)
    ]
    (trend,) = trends(of(club, core, readings), readings[-1].day)

    assert trend.slope == pytest.approx(-0.4 * YEAR / 30, rel=1e-3)
    assert trend.reaches[0].outcome == "marginal"
    assert trend.reaches[0].limit == 93.0
    assert trend.reaches[0].likely is not None
    true = BEGIN + timedelta(days=30 * 6.6 / 0.4)
    assert abs((trend.reaches[0].likely - true).days) <= 8


def test_a_line_is_not_drawn_further_ahead_than_it_was_seen_behind(club: Layout, core: Rulebook) -> None:
    """A slow fall that would need ten years more gets no date, and no call."""
    trend = one(club, core, falling(0.7, 15e6))

    assert trend.state == "moving"
    assert trend.reaches == ()


def test_a_fault_that_begins_late_is_dated_from_its_beginning(club: Layout, core: Rulebook) -> None:
    """Among steady neighbours a joint that begins to fall after a year is told to fall since about then."""
    names = [p.name for p in club.places_of("joint")][:6]
    dice, readings = random.Random(3), []
    for d in MONTHLY[:22]:
        for n in names:
            ohms = 6e6 * math.exp(dice.gauss(0, 0.1))
            readings.append(taken(d, f"{ohms * (0.03 ** (max(0, d - 360) / YEAR) if n == PLACE else 1):.4g}", n))
    trend = one(club, core, readings)

    assert trend.state == "drifting"
    assert trend.since is not None
    assert abs((trend.since - BEGIN).days - 360) <= 60
    assert trend.slope == pytest.approx(-0.97, abs=0.02)
    assert trend.reaches[0].likely is not None
    true = BEGIN + timedelta(days=360 + YEAR * math.log(1 / 60) / math.log(0.03))
    assert abs((trend.reaches[0].likely - true).days) <= 45


def test_what_moves_all_places_alike_is_no_fault_of_one(club: Layout, core: Rulebook) -> None:
    """When a damp year pulls every joint down together for half a year, none of eight is called."""
    names = [p.name for p in club.places_of("joint")][:8]
    dice = random.Random(6)
    readings = [
        taken(d, f"{8e6 * math.exp(dice.gauss(0, 0.08)) * 0.02 ** (max(0, d - 150) / YEAR):.4g}", n)
        for d in MONTHLY[:10] for n in names
    ]  # fmt: skip

    assert {t.state for t in trends(of(club, core, readings), readings[-1].day)} <= {"steady", "moving"}


def test_the_order_in_which_readings_were_kept_does_not_matter(club: Layout, core: Rulebook) -> None:
    """The same readings shuffled give the same trends to the bit."""
    played = play(club, 2, World(joints=6, failing=1))
    shuffled = list(played.taken)
    random.Random(0).shuffle(shuffled)
    day = played.days[-1]

    def plain(history: History) -> list[tuple[object, ...]]:
        return [(t.key, t.state, t.slope, t.low, t.high, t.reaches) for t in trends(history, day)]

    assert plain(of(club, core, played.taken)) == plain(of(club, core, shuffled))


def test_failing_joints_of_a_simulated_club_are_called_before_their_limit(club: Layout, core: Rulebook) -> None:
    """Over three clubs all nine failing joints are called, months ahead, and at most one of 111 sound ones."""
    done = [watched(club, core, play(club, seed)) for seed in range(3)]

    assert [c.missed for c in done] == [[]] * 3
    ahead = sorted(d for c in done for d in c.ahead)
    assert len(ahead) == 9
    assert ahead[len(ahead) // 2] > 120
    assert sum(len(c.false) for c in done) <= 1
    dates = [right for c in done for right in c.dates]
    assert dates.count(True) >= 0.8 * len(dates)


def test_sound_joints_alone_are_left_in_peace(club: Layout, core: Rulebook) -> None:
    """Over twelve clubs of four sound joints with season and wild readings, at most one of 48 is ever called."""
    done = [watched(club, core, play(club, seed, World(joints=4, failing=0, meter_step=0.0))) for seed in range(12)]

    assert sum(len(c.false) for c in done) <= 1


def test_what_is_due_comes_most_pressing_first_with_why_minutes_and_set_ups(club: Layout, core: Rulebook) -> None:
    """Beyond a limit before drifting before overdue; each with the minutes and set-ups of its check."""
    drifting = falling(0.1, 19e6, [30.0 * i for i in range(19)])
    old = [taken(0, "8M", "yard-2/yard-3")]
    beyond = [taken(500, "43k", "yard-3/yard-4")]
    due = due_checks(of(club, core, [*old, *beyond, *drifting]), drifting[-1].day)

    assert [(d.place, d.state) for d in due] == [
        ("yard-3/yard-4", "beyond-limit"), (PLACE, "drifting"), ("yard-2/yard-3", "overdue"),
    ]  # fmt: skip
    assert "43 kohm" in due[0].why
    assert "halves every 4 months" in due[1].why
    assert "540 days" in due[2].why
    for one_due in due:
        assert one_due.set_ups == core.checks[CHECK].set_up
        assert one_due.minutes > core.checks[CHECK].minutes


def test_what_was_read_lately_and_is_steady_is_not_due(club: Layout, core: Rulebook) -> None:
    """A steady reading is due only after its days."""
    readings = falling(1.0, days=[30.0 * i for i in range(10)])
    last = readings[-1].day

    assert due_checks(of(club, core, readings), last + timedelta(days=90)) == ()
    assert [d.state for d in due_checks(of(club, core, readings), last + timedelta(days=91))] == ["overdue"]
    assert due_checks(of(club, core, readings), last + timedelta(days=91), every=120) == ()


def test_a_drift_offers_the_inquiry_that_its_check_belongs_to(club: Layout, core: Rulebook) -> None:
    """A joint that gets leaky offers a symptom that its finding speaks of, about a block beside it."""
    due = due_checks(of(club, core, falling(0.1, 19e6, [30.0 * i for i in range(19)])), BEGIN + timedelta(days=540))
    offer = due[0].offer

    assert offer is not None
    assert core.checks[CHECK].finding in core.spoken_of(offer.symptom)
    assert offer.about in ("yard-1", "yard-2")
    assert (offer.check, offer.place) == (CHECK, PLACE)
    assert read_reading(offer.reading, "ohm").value < 1e6


def test_every_planned_kind_of_reading_has_an_inquiry_to_offer(club: Layout, core: Rulebook) -> None:
    """For each reading of a planned round, going to a band that is not sound leads to a symptom about a known place."""
    from troubleshoot.rounds.choosing import choose
    from troubleshoot.rounds.planning import healthy

    without = []
    for chosen in choose(club, core).readings:
        for band in chosen.check.bands:
            if band.outcome in healthy(core, chosen.check):
                continue
            offer = offer_for(club, core, chosen.check, chosen.place, band.outcome, "1")
            if offer is None:
                without.append((chosen.check.name, band.outcome))
            elif offer.about is not None:
                assert club.place(offer.about)
    # A band that no cause speaks of has nothing to inquire about; there are few of these.
    assert len(without) <= 6, without


def test_dates_are_told_with_both_ends(club: Layout, core: Rulebook) -> None:
    """An end that is out of sight is said to be so."""
    trend = one(club, core, noisy(4, lambda d: 9e6 * 0.1 ** (d / YEAR), [30.0 * i for i in range(19)], 0.3))
    text = reach_text(trend.reaches[0])

    assert text.startswith("leaky about 20")
    assert "between" in text


def test_a_place_by_itself_is_given_dates_that_hold(club: Layout, core: Rulebook) -> None:
    """Four joints alone: the limit comes within the dates said in four of five: height and slope are in doubt."""
    few = World(joints=4, failing=1, meter_step=0.0)

    held = [date for seed in range(60) for date in watched(club, core, play(club, seed, few)).dates]

    assert len(held) >= 30
    assert sum(held) >= 0.8 * len(held)

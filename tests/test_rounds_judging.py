"""One reading held against its limits and against its own past."""

import math
import random
from collections.abc import Sequence
from datetime import timedelta

import pytest

from tests.drifting import BEGIN, CHECK
from troubleshoot.layout import Layout
from troubleshoot.quantities import read_reading
from troubleshoot.rounds import Judged, Taken, judge, of
from troubleshoot.rounds.judging import unlike_after
from troubleshoot.rounds.ranks import median, spread
from troubleshoot.rounds.telling import judged_data, judged_text
from troubleshoot.rulebook import Rulebook
from troubleshoot.rulebook import load as load_rules

PLACE = "yard-1/yard-2"


@pytest.fixture(scope="module")
def core() -> Rulebook:
    """The core rules."""
    return load_rules()


def taken(day: int, said: str, place: str = PLACE, meter: str | None = None) -> Taken:
    """One reading of a joint."""
    return Taken(CHECK, place, BEGIN + timedelta(days=day), read_reading(said, "ohm"), meter)


def last(layout: Layout, core: Rulebook, readings: Sequence[Taken]) -> Judged:
    """The last of some readings, judged."""
    return judge(of(layout, core, readings), readings[-1])


def steady(count: int, seed: int = 1, place: str = PLACE, meter: str | None = None, wide: float = 0.1) -> list[Taken]:
    """Monthly readings about 5 Mohm."""
    dice = random.Random(f"{seed} {place}")
    return [taken(30 * i, f"{5e6 * math.exp(dice.gauss(0, wide)):.4g}", place, meter) for i in range(count)]


def test_a_reading_beyond_the_limit_is_told_whatever_its_past(club: Layout, core: Rulebook) -> None:
    """43 kohm is leaky with no past, and with a past of the same."""
    first = last(club, core, [taken(0, "43k")])
    always = last(club, core, [taken(30 * i, "43k") for i in range(9)])

    assert (first.state, first.band, first.healthy) == ("beyond-limit", "leaky", False)
    assert (always.state, always.past) == ("beyond-limit", 8)


def test_the_first_readings_are_held_against_the_limits_only(club: Layout, core: Rulebook) -> None:
    """With four before it a reading has no past yet, and that is said."""
    judged = last(club, core, steady(5))

    assert judged.state == "first"
    assert judged.low is None
    assert "limits only" in judged_text(judged)


def test_a_reading_like_those_before_is_as_before(club: Layout, core: Rulebook) -> None:
    """It lies inside the range of its past, which is told with the number of readings."""
    judged = last(club, core, steady(12))

    assert judged.state == "as-before"
    assert judged.low is not None
    assert judged.high is not None
    assert judged.low < 5e6 < judged.high
    assert "(11 readings)" in judged_text(judged)


def test_a_sound_reading_unlike_its_past_is_seen_long_before_the_limit(club: Layout, core: Rulebook) -> None:
    """900 kohm is nine times the limit and sound, but not where 5 Mohm was read before: make it once more."""
    judged = last(club, core, [*steady(14), taken(420, "900k")])

    assert (judged.state, judged.healthy, judged.worse) == ("unlike-before", True, True)
    assert "once more" in judged_text(judged)


def test_a_wild_reading_in_the_past_does_not_widen_it(club: Layout, core: Rulebook) -> None:
    """With one reading a hundred times too low among the earlier ones, the odd one is still seen."""
    readings = steady(14)
    readings[6] = taken(180, "50k")

    assert last(club, core, [*readings, taken(420, "900k")]).state == "unlike-before"


def test_what_the_meter_cannot_tell_apart_is_not_unlike(club: Layout, core: Rulebook) -> None:
    """Ten equal readings leave no spread, but the meter's own error stays: 4 % more is as before."""
    same = [taken(30 * i, "5.00M") for i in range(10)]

    assert last(club, core, [*same, taken(300, "5.2M")]).state == "as-before"
    assert last(club, core, [*same, taken(300, "15M")]).state == "unlike-before"


def test_a_rise_of_ohms_that_should_be_high_is_not_worse(club: Layout, core: Rulebook) -> None:
    """A joint that reads higher than ever is unlike its past, the harmless way."""
    judged = last(club, core, [*(taken(30 * i, "500k") for i in range(10)), taken(300, "15M")])

    assert (judged.state, judged.worse) == ("unlike-before", False)


def test_a_reading_with_another_meter_is_not_held_against_the_old_one(club: Layout, core: Rulebook) -> None:
    """The first readings with a new meter are held against the limits only, and that is said."""
    judged = last(club, core, [*steady(12, meter="old"), taken(360, "2M", meter="new")])

    assert judged.state == "new-meter"
    assert "this meter" in judged_text(judged)


def test_places_read_with_it_show_the_step_of_a_new_meter(club: Layout, core: Rulebook) -> None:
    """Where six places were read that day with the new meter, the step is known: the same fall is as before, a deeper
    one is not."""
    names = [p.name for p in club.places_of("joint")][:6]
    before = [t for n in names for t in steady(12, place=n, meter="old")]
    others = [taken(360, "2M", n, "new") for n in names if n != PLACE]

    alike = last(club, core, [*before, *others, taken(360, "2.1M", PLACE, "new")])
    deeper = last(club, core, [*before, *others, taken(360, "500k", PLACE, "new")])

    assert alike.state == "as-before"
    assert deeper.state == "unlike-before"


def test_a_day_on_which_all_moved_is_told(club: Layout, core: Rulebook) -> None:
    """When every other place of some fell that day as well, it is the meter or the weather, and no place is blamed."""
    names = ["yard-1/yard-2", "yard-3/yard-4", "yard-5/yard-6", "yard-7/yard-8", "yard-9/yard-10"]
    # Each on days of its own, so that no round shows what all share; then all on one day, with a tired battery.
    before = [
        taken(30 * i + 6 * k, f"{5e6 * math.exp(random.Random(9 * i + k).gauss(0, 0.1)):.4g}", n)
        for i in range(12)
        for k, n in enumerate(names)
    ]
    same_day = [taken(420, "1M", n) for n in names]
    history = of(club, core, [*before, *same_day])
    judged = judge(history, same_day[0])

    assert judged.state == "unlike-before"
    assert judged.moved_together == (4, 4)
    assert "not this place" in judged_text(judged)


def test_summer_is_held_against_summer(club: Layout, core: Rulebook) -> None:
    """With two years of seasons, a summer's value in winter is unlike its season although the year knows it."""

    def season(day: int) -> float:
        return 1e6 if day % 365 < 60 or day % 365 > 305 else 8e6

    dice = random.Random(4)
    days = [d for d in range(0, 1095, 15) if d % 365 < 60 or d % 365 > 305 or d % 45 == 0]
    readings = [taken(d, f"{season(d) * math.exp(dice.gauss(0, 0.05)):.4g}") for d in days]
    winter = last(club, core, [*readings, taken(1100, "8M")])
    usual = last(club, core, [*readings, taken(1100, "1M")])

    assert usual.state == "as-before"
    assert winter.state == "unlike-before"


@pytest.mark.parametrize("count", [5, 6, 8, 10, 12, 15, 20])
def test_one_good_reading_in_a_hundred_is_called_unlike(count: int) -> None:
    """For a past of so many normal readings, at most 1.5 in 100 good ones lie beyond what is allowed."""
    dice, odd, tries = random.Random(count), 0, 4000
    for _ in range(tries):
        past = [dice.gauss(0, 1) for _ in range(count)]
        z = (dice.gauss(0, 1) - median(past)) / (spread(past) * math.sqrt(1 + 1 / count))
        odd += abs(z) > unlike_after(count)

    assert 0.004 <= odd / tries <= 0.015


def test_a_reading_over_range_is_healthy_where_high_is_sound(club: Layout, core: Rulebook) -> None:
    """OL across a gap is sound, and the plain data hold no infinity."""
    judged = last(club, core, [taken(0, "OL")])

    assert (judged.band, judged.healthy) == ("sound", True)
    assert judged_data(judged)["value"] is None

"""Practice: a hidden fault answers as physics and a railway would, and whoever looks for it is judged fairly."""

import math
from pathlib import Path

import pytest

from tests.running import ran
from troubleshoot.circuit import Fault
from troubleshoot.documents import Problems
from troubleshoot.inquiry import Answer, PutAside
from troubleshoot.layout import load as load_layout
from troubleshoot.practice import WAYS, HiddenFault, Trainee, World, draw, load_faults, play, summary
from troubleshoot.practice.running import exercises, run
from troubleshoot.practice.world import Unfit
from troubleshoot.rulebook import load, rules_folder

BOOK = load()
CLUB = load_layout(rules_folder() / "core" / "layouts" / "club.yaml")
HOME = load_layout(rules_folder() / "core" / "layouts" / "home.yaml")
FAULTS = load_faults(BOOK)
BALLAST = "core/leak-through-ballast"


def leaking(least: float = 1e3, most: float = 3e3) -> HiddenFault:
    """A leak in the ballast of a block, and two answers that no physics gives."""
    answers = {"core/when-worse": {"damp": 1.0}, "core/clears-when-feed-lifted": {"yes": 1.0}}
    healthy = {"core/clears-when-feed-lifted": "no"}
    return HiddenFault("leaking", BALLAST, "core/phantom-occupancy", Fault("leak", least, most), "", answers, healthy)


def world(seed: int = 1, fault: HiddenFault | None = None) -> World:
    """A club with that leak somewhere."""
    return draw(CLUB, BOOK, fault or leaking(), seed)


def test_every_bundled_fault_is_known_to_the_rules_and_fits_a_bundled_layout() -> None:
    """The file names only checks, outcomes, causes and symptoms that there are, and each fault can be somewhere."""
    fitting = 0
    for fault in FAULTS:
        try:
            hidden = draw(CLUB, BOOK, fault, 7)
            fitting += 1
        except Unfit:
            hidden = draw(HOME, BOOK, fault, 7)
        assert fault.symptom in BOOK.causes[fault.cause].weights
        assert hidden.subject.kind == BOOK.symptoms[fault.symptom].about
    assert fitting >= 50


def test_the_bundled_faults_come_from_all_six_families() -> None:
    """Nobody practises on one kind of trouble alone."""
    assert {BOOK.symptoms[f.symptom].family for f in FAULTS} == {s.family for s in BOOK.symptoms.values()}


def test_a_reading_is_that_of_the_circuit_with_the_fault_in_it() -> None:
    """Ohms across the leaking block read the leak; across another block they read as where all is well."""
    hidden = world(fault=leaking(2e3, 2e3))
    check = BOOK.checks["core/block-leak-ohms"]
    other = next(b for b in CLUB.places_of("block") if b != hidden.place)

    here, there = hidden.answer(check, hidden.place), hidden.answer(check, other)

    assert isinstance(here, Answer) and here.reading is not None
    assert here.reading.value == pytest.approx(2e3, rel=0.15)
    assert isinstance(there, Answer) and there.reading is not None
    assert there.reading.over_range or there.reading.value > 50e3


def test_the_same_question_has_the_same_answer() -> None:
    """However often it is asked, and in whatever order."""
    first, second = world(3), world(3)
    names = [n for n in ("core/block-leak-ohms", "core/when-worse") if n in BOOK.checks]

    forwards = [first.answer(BOOK.checks[n], first.place) for n in names]
    backwards = [second.answer(BOOK.checks[n], second.place) for n in reversed(names)]

    assert forwards == backwards[::-1] == [first.answer(BOOK.checks[n], first.place) for n in names]


def test_what_nobody_could_know_is_answered_not_sure() -> None:
    """A question that neither the circuit nor the file answers is put aside, never guessed."""
    hidden = world()
    unknown = next(
        c for c in BOOK.checks.values() if not c.measures and c.name not in hidden.fault.answers and not c.unit
    )

    assert isinstance(hidden.answer(unknown, hidden.place), PutAside)


def test_only_the_right_remedy_at_the_right_place_mends() -> None:
    """The right thing next door mends nothing, nor does another thing here."""
    hidden = world()
    right = BOOK.remedies_of(BALLAST)[0]
    other = next(b for b in CLUB.places_of("block") if b != hidden.place)
    wrong = next(r for r in BOOK.remedies.values() if BALLAST not in r.mends)

    assert hidden.cured_by(right.name, hidden.place)
    assert not hidden.cured_by(right.name, other)
    assert not hidden.cured_by(wrong.name, hidden.place)


def test_sizes_are_spread_evenly_by_ratio() -> None:
    """Over many exercises a fault is as often small as large."""
    sizes = [math.log10(world(seed, leaking(100.0, 10e3)).size) for seed in range(120)]

    assert min(sizes) >= 2.0 and max(sizes) <= 4.0
    assert sum(sizes) / len(sizes) == pytest.approx(3.0, abs=0.2)


def test_a_layout_that_cannot_have_a_fault_says_so() -> None:
    """Where no part fits, the exercise is refused in words."""
    strange = HiddenFault("strange", "core/booster-signal-crossed", "core/boosters-out-of-phase", None, "", {}, {})

    with pytest.raises(Unfit, match="no place for the fault"):
        draw(HOME, BOOK, strange, 1)


@pytest.mark.parametrize("way", WAYS)
def test_every_way_comes_to_an_end_and_counts_its_minutes(way: str) -> None:
    """The tool, the list and the halving all end with the mend or with somebody else called in."""
    done = play(world(5, next(f for f in FAULTS if f.cause == BALLAST)), way)

    assert done.minutes > 0.0
    assert done.checks >= 1
    assert done.found or done.minutes >= 120.0


def test_exercises_are_reproducible_by_seed() -> None:
    """The same seed gives the same figures, also for the summary."""
    file = str(rules_folder() / "core" / "layouts" / "club.yaml")
    tasks = exercises(file, [f.name for f in FAULTS], 3, 11, 0.05, "advice")
    heard: list[str] = []

    once, twice = run(tasks, 1, heard.append), run(tasks, 1, heard.append)

    assert once == twice
    assert len(heard) == 6
    assert summary("advice", once).cases == len(once)


def test_a_trainee_is_stopped_before_ohms_with_power_on() -> None:
    """A check that needs power off is refused while it is on, and counts as unsafe."""
    trainee = Trainee(world())
    check = BOOK.checks["core/block-leak-ohms"]

    assert trainee.check(check, trainee.world.place) is None
    assert trainee.score(10.0).unsafe == 1

    for name in trainee.missing(check, trainee.world.place):
        entry = BOOK.set_ups[name]
        trainee.set_up(name, CLUB.related(entry.relation, trainee.world.place)[0], True)
    assert trainee.check(check, trainee.world.place) is not None


def test_a_trainee_who_asks_twice_wastes_time() -> None:
    """The second time is needless, and its minutes count."""
    trainee = Trainee(world())
    check = BOOK.checks["core/when-worse"]
    trainee.check(check, trainee.world.subject)
    before = trainee.score(1.0)

    trainee.check(check, trainee.world.subject)
    after = trainee.score(1.0)

    assert after.needless == before.needless + 1
    assert after.minutes > before.minutes


def test_a_mend_ends_the_exercise_only_where_the_fault_is() -> None:
    """The score says solved once the right thing was done at the right place."""
    trainee = Trainee(world())
    right = BOOK.remedies_of(BALLAST)[0].name
    other = next(b for b in CLUB.places_of("block") if b != trainee.world.place)

    assert not trainee.mend(right, other)
    assert trainee.mend(right, trainee.world.place)
    assert trainee.score(5.0).solved


def test_practice_can_be_had_without_a_terminal() -> None:
    """Plain lines take a trainee through advice and giving up, and tell what it was."""
    told = ran("practice", "--seed", "4", "--plain", said="5\n6\n")

    assert told.code == 3
    assert "The tool would:" in told.out
    assert "The fault:" in told.out
    assert "minutes" in told.out


def test_practice_left_in_the_middle_says_how_to_come_back() -> None:
    """The end of input leaves the exercise, which its seed brings back."""
    told = ran("practice", "--seed", "4", "--plain", said="1\n")

    assert told.code == 5
    assert "--seed 4" in told.out


def test_the_tool_plays_itself_by_command() -> None:
    """A table of how each way did, or the same as data."""
    told = ran("practice", "--self", "2", "--way", "advice", "--processes", "1", "--json")

    assert told.code == 0
    assert told.data[0]["cases"] == 2


def test_an_unknown_fault_is_refused_in_words() -> None:
    """A slip of the pen in a name is told."""
    told = ran("practice", "--fault", "no-such-fault")

    assert told.code == 2
    assert "is no fault of the file" in told.err


def test_a_file_of_faults_tells_all_its_problems_at_once(tmp_path: Path) -> None:
    """Unknown causes, checks, outcomes, shares and kinds are named with file and line."""
    file = tmp_path / "faults.yaml"
    file.write_text(
        "faults:\n"
        "  one:\n"
        "    cause: leak-through-ballst\n"
        "    symptom: phantom-occupancy\n"
        "    circuit: {kind: leek}\n"
        "    answers:\n"
        "      when-worse: dampish\n"
        "      no-such-check: yes\n"
        "      clears-when-feed-lifted: {yes: 0.5, no: 0.2}\n",
        encoding="utf-8",
    )

    with pytest.raises(Problems) as caught:
        load_faults(BOOK, file)
    text = "\n".join(str(p) for p in caught.value.problems)

    for words in ("leak-through-ballst", "leek", "dampish", "no-such-check", "total 0.7"):
        assert words in text
    assert f"{file}:3" in text

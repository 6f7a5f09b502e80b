"""People's own words find the right symptom, British or American, and words about something else find none."""

from pathlib import Path

import pytest
import yaml

from troubleshoot.rulebook import Rulebook, load
from troubleshoot.rulebook.search import find, sort

PHRASES = yaml.safe_load((Path(__file__).parent / "data" / "phrases.yaml").read_text(encoding="utf-8"))
TWINS = [
    ("points throw but do not report", "switch throws but does not report"),
    ("wagon is not detected", "car is not detected"),
    ("handset dead everywhere", "throttle dead everywhere"),
    ("controllers do nothing", "throttles do nothing"),
    ("no handset works on the railway", "no cab works on the railroad"),
    ("trips as a locomotive crosses the rail break", "trips as an engine crosses the gap"),
    ("points change by themselves", "turnouts flip by themselves"),
    ("point motor hums", "switch machine hums"),
    ("neighbouring section shows occupied too", "neighboring block shows occupied too"),
    ("signal colours swapped", "signal colors swapped"),
    ("sleepers melted", "ties melted"),
    ("penny test fails", "quarter test fails"),
    ("coach shorts the railway", "car shorts the railroad"),
]
NONSENSE = ["", "the and of", "asdf qwer zxcv", "chocolate cake recipe", "purple elephant sings opera", "1234", "?!"]


@pytest.fixture(scope="module")
def core() -> Rulebook:
    """The core rules."""
    return load()


def missed(core: Rulebook, half: str) -> list[str]:
    """The phrases of a half whose symptom is not among the first three."""
    wrong = []
    for phrase in PHRASES[half]:
        found = [name for name, _ in find(core, phrase["says"], 3)]
        if not {f"core/{name}" for name in phrase["means"]} & set(found):
            wrong.append(f"{phrase['says']}: {found}")
    return wrong


@pytest.mark.parametrize("half", ["tuning", "held-out"])
def test_phrases_find_their_symptom_among_the_first_three(core: Rulebook, half: str) -> None:
    """At least 90 in 100 phrases written before the symptoms were read, also of those the search was not tuned on."""
    wrong = missed(core, half)

    assert len(wrong) <= 0.1 * len(PHRASES[half]), "\n".join(wrong)


def test_the_halves_are_equal_apart_and_of_known_symptoms(core: Rulebook) -> None:
    """Sixty phrases each, none in both, each meaning symptoms that exist, and none copied into the packs."""
    tuning, held = ({phrase["says"] for phrase in PHRASES[half]} for half in ("tuning", "held-out"))
    meant = {f"core/{name}" for half in PHRASES.values() for phrase in half for name in phrase["means"]}
    said = {words.lower() for s in core.symptoms.values() for words in (s.says, *s.also_said)}

    assert len(tuning) == len(held) == 60
    assert not tuning & held
    assert meant <= core.symptoms.keys()
    assert not {words.lower() for words in held} & said


@pytest.mark.parametrize(("british", "american"), TWINS)
def test_british_and_american_twins_find_the_same_symptom(core: Rulebook, british: str, american: str) -> None:
    """The same trouble in either trade's words comes out the same."""
    assert find(core, british, 1)[0][0] == find(core, american, 1)[0][0]


@pytest.mark.parametrize("words", NONSENSE)
def test_nonsense_finds_nothing(core: Rulebook, words: str) -> None:
    """Words about something else, or none, find no symptom."""
    assert find(core, words) == []


def test_own_words_of_a_symptom_find_it_first(core: Rulebook) -> None:
    """The sentence a symptom is shown by leads to that symptom before all others."""
    assert [name for name, s in core.symptoms.items() if find(core, s.says, 1)[0][0] != name] == []


def test_slips_of_the_keys_are_understood(core: Rulebook) -> None:
    """A misspelt trade word still counts."""
    assert find(core, "turnuot reports nothing", 1)[0][0] == find(core, "turnout reports nothing", 1)[0][0]


def test_unknown_words_around_the_trouble_do_not_hide_it(core: Rulebook) -> None:
    """A person may tell a story around what is seen."""
    found = find(core, "yesterday my grandson visited and now the block shows occupied with nothing there", 1)

    assert found[0][0] == "core/phantom-occupancy"


def test_fewer_are_found_when_fewer_are_asked_for_and_the_best_come_first(core: Rulebook) -> None:
    """The count limits what is found, and scores never rise down the list."""
    scores = [score for _, score in find(core, "breaker trips", 5)]

    assert len(scores) == 5
    assert scores == sorted(scores, reverse=True)
    assert len(find(core, "breaker trips", 2)) == 2


@pytest.mark.parametrize(
    ("family", "where", "when", "first"),
    [
        ("power", "one", "as-it-throws", "core/trips-at-a-turnout"),
        ("occupancy", "several", "after-a-while", "core/several-blocks-of-one-detector"),
        ("occupancy", "one", "weather", "core/phantom-occupancy"),
        ("control-bus", "everywhere", "at-switch-on", "core/throttles-do-not-respond"),
        ("turnouts", "several", "at-switch-on", "core/turnout-throws-by-itself"),
    ],
)
def test_sorting_puts_fitting_symptoms_first(core: Rulebook, family: str, where: str, when: str, first: str) -> None:
    """All that fit where and when come before any that fits one of them only, and all of a family are listed."""
    names = sort(core, family, where, when)
    fits = [where in core.symptoms[name].where and when in core.symptoms[name].when for name in names]

    assert first in names[: sum(fits)]
    assert fits == sorted(fits, reverse=True)
    assert sorted(names) == sorted(name for name, s in core.symptoms.items() if s.family == family)


def test_every_symptom_says_where_and_when(core: Rulebook) -> None:
    """The sorting dialogue has something to go by for each."""
    assert [name for name, s in core.symptoms.items() if not s.where or not s.when] == []

"""What is weak in a pack is found, the language lint knows plain words, and simulated looks go wrong as they should."""

import json
import random
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from troubleshoot.belief import weigh
from troubleshoot.cli import group
from troubleshoot.inquiry import Observation
from troubleshoot.quality import judge, world
from troubleshoot.quality.answered import Answered, place_of
from troubleshoot.quality.judging import CAUTIONS, EXAMPLES, NEVER, PAIRS, SELDOM, SEPARATING, lacking
from troubleshoot.quality.language import LINTS, Text, slips, texts
from troubleshoot.quality.looks import TOGETHER, Looks
from troubleshoot.quality.wording import BOTH_SIDES, JARGON, PLAIN, SPELLINGS
from troubleshoot.rulebook import Cause, Rulebook, load

SYMPTOM = "core/several-blocks-of-one-detector"


@pytest.fixture(scope="module")
def core() -> Rulebook:
    """The core rules."""
    return load()


@pytest.fixture(scope="module")
def few(core: Rulebook) -> Rulebook:
    """The core rules with one symptom only, to be looked at quickly."""
    causes = {c.name: replace_cause(c, weights={SYMPTOM: c.weights[SYMPTOM]}) for c in core.causes_of(SYMPTOM)}
    return replace(core, symptoms={SYMPTOM: core.symptoms[SYMPTOM]}, causes=causes)


def replace_cause(cause: Cause, **fields: object) -> Cause:
    """A cause with some fields changed."""
    return Cause(**{**{name: getattr(cause, name) for name in cause.__slots__}, **fields})


def found(rulebook: Rulebook, kind: str) -> set[str]:
    """The names of what is weak in one way."""
    return {w.name for w in judge(rulebook, "core", cases=12).of(kind)}


def test_a_cause_without_words_is_found_as_a_twin_and_as_hidden(few: Rulebook) -> None:
    """Two causes that say nothing are nowhere apart, and the less likely of them never comes first though true."""
    one, two = sorted(few.causes_of(SYMPTOM), key=lambda c: -c.weights[SYMPTOM])[-2:]
    blank = {c.name: replace_cause(c, shows={}, under={}, as_sound=frozenset()) for c in (one, two)}
    weak = replace(few, causes={**few.causes, **blank})

    assert found(few, PAIRS) == set()
    assert found(weak, PAIRS) & {one.name, two.name}
    assert (found(weak, NEVER) | found(weak, SELDOM)) & {one.name, two.name}
    assert any("nothing separates" in w.says or "0.0 dB" in w.says for w in judge(weak, "core", cases=4).of(PAIRS))


def test_a_declared_pair_is_no_weakness(few: Rulebook) -> None:
    """A pair that a pack declares inseparable, with its reason, is not listed."""
    one, two = sorted(few.causes_of(SYMPTOM), key=lambda c: -c.weights[SYMPTOM])[-2:]
    blank = {c.name: replace_cause(c, shows={}, under={}, as_sound=frozenset()) for c in (one, two)}
    blank[one.name] = replace_cause(blank[one.name], inseparable={two.name: "one mend"})

    weak = judge(replace(few, causes={**few.causes, **blank}), "core", cases=1).of(PAIRS)

    assert not [
        w for w in weak if {one.name.split("/")[1], two.name.split("/")[1]} <= set(f"{w.name[5:]} {w.says}".split())
    ]


def test_a_check_that_tells_nothing_apart_is_found(few: Rulebook, core: Rulebook) -> None:
    """With one symptom left, the checks of all the others separate nothing; those it speaks of do."""
    idle = found(few, SEPARATING)
    spoken = {c.name for f in few.spoken_of(SYMPTOM) for c in few.checks_for(f)}

    assert len(idle) > len(core.checks) / 2
    assert len(spoken - idle) > len(spoken) / 2


def test_a_cause_that_no_example_finds_is_found(few: Rulebook) -> None:
    """Without any example that comes out, every cause is listed; where examples are not tried, none is."""
    assert len(judge(few, "core", [], cases=1).of(EXAMPLES)) == len(few.causes)
    assert EXAMPLES not in judge(few, "core", cases=1).looked_at


@pytest.mark.parametrize(
    ("said", "caution"),
    [
        ("Switch off. Solder a wire to the rail.", "soldering"),
        ("Wipe with a drop of alcohol.", "solvents-power-off"),
        ("Lie down under the baseboard and look up.", "under-the-baseboard"),
        ("Put a lamp in series and switch on.", "lamp-gets-hot"),
        ("Touch a jumper to the input.", "inputs-take-no-track-volts"),
        ("Give the coil one pulse.", "coil-not-held"),
        ("Moisten the ballast.", "damp-and-mains"),
    ],
)
def test_words_that_call_for_a_caution(said: str, caution: str) -> None:
    """A step that names a hazard without its caution is found, and with it is not."""
    bare = list(lacking("core/step", said, frozenset(), "a.yaml", 1))

    assert [w.says.split()[0] for w in bare] == [caution]
    assert {w.kind for w in bare} == {CAUTIONS}
    assert list(lacking("core/step", said, frozenset({caution}), "a.yaml", 1)) == []


def _text(said: str, tells: bool = True) -> Text:
    return Text("core/a", "do", said, tells, said, "a.yaml", 1)


@pytest.mark.parametrize(
    ("kind", "bad", "good"),
    [
        ("sentences over 30 words", "Press " + "the rail " * 16 + "down.", "Press the rail. " * 16),
        ("words an owner would not know", "Measure the impedance.", "Measure the impedance (how much it resists)."),
        ("words an owner would not know", "Look for ripple.", "Look for ripple, which means volts that rise."),
        ("short forms not explained", "Use a DMM.", "Use a DMM (a meter with a display)."),
        ("instructions in the passive", "The power must be switched off.", "Switch the power off."),
        ("instructions in the passive", "The wire is to be soldered.", "The wire is soldered."),
        ("words doubled", "Lift the the wire.", "Lift the wire."),
        ("words doubled", "Measure the AC current.", "Measure the alternating current."),
        ("British and American in one text", "Grey wire, red color.", "Grey wire, red colour."),
    ],
)
def test_a_slip_of_language_is_found(kind: str, bad: str, good: str) -> None:
    """Each kind of slip is found where it is, and not where the sentence is mended."""
    assert slips([_text(bad)])[kind]
    assert not slips([_text(good)])[kind]


def test_what_one_text_of_an_entry_explains_the_others_need_not() -> None:
    """The word in a question counts as explained when the instructions below it explain it."""
    text = Text(
        "core/a", "asks", "Is there ripple?", False, "Is there ripple?\nRipple is volts that rise and fall.", "", 1
    )

    assert not slips([text])["words an owner would not know"]


def test_the_lists_of_words_agree_with_each_other() -> None:
    """No word is plain and jargon at once, what is said instead is no jargon, and spellings differ by side."""
    plain_words = {w for said in JARGON.values() for w in said.split()}

    assert not PLAIN & set(JARGON)
    assert not plain_words & set(JARGON)
    assert not set(SPELLINGS) & (set(SPELLINGS.values()) - BOTH_SIDES)


def test_every_text_a_person_reads_is_looked_at(core: Rulebook) -> None:
    """Symptoms, checks, causes, remedies, cautions, set-ups and deductions all have texts in the lint."""
    entries = {t.entry for t in texts(core, "core")}
    sections = (core.symptoms, core.checks, core.causes, core.remedies, core.cautions, core.set_ups, core.deductions)

    assert all(set(section) <= entries for section in sections)
    assert len(LINTS) == 6


def test_the_quick_sum_is_the_belief(core: Rulebook) -> None:
    """Every check answered: the quick sum of decibans gives what belief gives, on twenty cases of every symptom."""
    for symptom in sorted(core.symptoms):
        quick, true = Answered(core, symptom), world(core, symptom, noisy=True, seed=5)
        dice = random.Random(symptom)
        causes = [c.name for c in core.causes_of(symptom)]
        for cause in (dice.choice(causes) for _ in range(20)):
            shown = {f: int(i) for f, i in true.draw(cause, dice).items()}
            seen = [_observed(core, finding, index) for finding, index in shown.items()]
            slow = dict(weigh(quick.rows, seen).by_cause())
            assert quick.chances(shown) == pytest.approx(slow, abs=1e-9)


def _observed(rulebook: Rulebook, finding: str, index: int) -> Observation:
    outcomes = rulebook.findings[finding].outcomes
    weights = tuple(1.0 if i == index else 0.0 for i in range(len(outcomes)))
    return Observation(finding, finding, place_of(rulebook, finding), outcomes[index], weights, 0.0, 0, outcomes[index])


def _errors(core: Rulebook, together: float) -> list[tuple[bool, bool]]:
    """Whether two looks at one finding were wrong, over many faults."""
    check = core.checks["core/clears-when-input-lifted"]
    pairs = []
    for number in range(4000):
        looks = Looks(core, {check.finding: 0}, 0.2, together, random.Random(number))
        right = core.findings[check.finding].outcomes[0]
        pairs.append((looks.again(check.name) != right, looks.again(check.name) != right))
    return pairs


@pytest.mark.parametrize("together", [0.0, TOGETHER])
def test_looks_at_one_finding_go_wrong_together_by_the_stated_share(core: Rulebook, together: float) -> None:
    """The errors of two looks are correlated as stated: not at all in the drawn world, half in the moved one."""
    pairs = _errors(core, together)
    first, both = sum(a for a, _ in pairs) / len(pairs), sum(a and b for a, b in pairs) / len(pairs)

    assert first == pytest.approx(0.2, abs=0.02)
    assert (both - first * first) / (first - first * first) == pytest.approx(together, abs=0.06)


def test_a_look_says_the_same_in_any_order_of_checks(core: Rulebook) -> None:
    """What the first look of a check says does not depend on what was looked at before."""
    names = ["core/clears-when-input-lifted", "core/block-leak-ohms", "core/swapped-inputs"]
    shown = dict.fromkeys((core.checks[n].finding for n in names), 1)
    one, other = (Looks(core, shown, 0.5, TOGETHER, random.Random(3)) for _ in range(2))

    assert {n: one.again(n) for n in names} == {n: other.again(n) for n in reversed(names)}
    assert one.first(names[0]) == other.first(names[0])


def test_every_reason_for_a_bold_word_stands_beside_a_word(core: Rulebook) -> None:
    """A reason under `bolder` belongs to a finding of which the cause speaks."""
    lost = []
    for cause in core.causes.values():
        spoken = {
            f.split("/")[-1] for f in (*cause.shows, *cause.as_sound, *(g for u in cause.under.values() for g in u))
        }
        lost += [f"{cause.name}: {f}" for f in cause.bolder if f.split("/")[-1] not in spoken]

    assert lost == []
    assert sum(len(c.bolder) for c in core.causes.values()) > 150


def test_the_command_tells_a_table_and_the_weak_spots(tmp_path: Path) -> None:
    """`rules quality` prints a table for people, and the same counts with file and line for scripts."""
    club = tmp_path / "club"
    (club / "remedies").mkdir(parents=True)
    head = "pack: club\nversion: 1.0.0\nformat: 1\nsays: A club's own\nowner: The club\nlicence: CC0-1.0\n"
    (club / "pack.yaml").write_text(head + "needs: {core: '>=1.0.0'}\n", encoding="utf-8")
    mend = (
        "remedies:\n  wipe-it:\n    mends: [core/wheels-or-rail-dirty]\n    minutes: 5\n"
        "    do: The impedance must be lowered. Put a lamp in series before you wipe the rail.\n"
        "    proof: {check: core/better-after-cleaning, outcome: no-change}\n"
    )
    (club / "remedies" / "dirt.yaml").write_text(mend, encoding="utf-8")
    runner = CliRunner()

    drawn = runner.invoke(group, ["rules", "quality", str(club), "--width", "80"], standalone_mode=False)
    told = runner.invoke(group, ["rules", "quality", str(club), "--json"], standalone_mode=False)

    assert drawn.exception is None, drawn.output
    assert "Quality of the pack club" in drawn.output
    data = json.loads(told.stdout)
    kinds = {w["kind"] for w in data["found"]}
    assert kinds == {"cautions missing", "words an owner would not know", "instructions in the passive"}
    assert all(w["line"] == 2 and w["file"].endswith("dirt.yaml") for w in data["found"])
    assert data["table"]["cautions missing"] == {"among": 1, "found": 1}

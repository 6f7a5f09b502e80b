"""How likely each suspect is: against brute force and another library, and what must hold of any answers."""

import math
import random
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests import independent
from tests.independent import Report, World
from troubleshoot.belief import (
    ODD,
    QUIET,
    Field,
    Mended,
    Posterior,
    Rows,
    both,
    clipped,
    field_of,
    mistaken,
    seen_as,
    weigh,
    weights,
)
from troubleshoot.inquiry import Answer, Complaint, Inquiry, Mend, Observation, PutAside, Record, observations
from troubleshoot.layout import EMPTY, Layout, Place, load
from troubleshoot.quantities import Reading
from troubleshoot.rulebook import Rulebook, row, rules_folder
from troubleshoot.rulebook import load as load_rules
from troubleshoot.rulebook.rows import share
from troubleshoot.rulebook.tally import Tally
from troubleshoot.rulebook.words import LIKELIHOOD, REPORTED_WRONG, SOMETHING_ELSE

FINDINGS = independent.FINDINGS
PHANTOM = "core/phantom-occupancy"
LEAK, FILTER = "core/leak-through-ballast", "core/filter-on-track-side"
HOWS = ("typed", "seen", "remembered", "thought")
BLOCK = Place("block", "yard-2")


@cache
def core() -> Rulebook:
    """The core rules as they stand."""
    return load_rules()


@cache
def twice() -> Rulebook:
    """The core rules with a second check for every finding, so that anything can be asked in two ways."""
    again = {f"club/again-{n[5:]}": replace(c, name=f"club/again-{n[5:]}") for n, c in core().checks.items()}
    return replace(core(), checks={**core().checks, **again})


@cache
def layout(name: str) -> Layout:
    """A bundled layout, or the empty one."""
    return EMPTY if name == "none" else load(rules_folder() / "core" / "layouts" / f"{name}.yaml")


def judged(records: Sequence[Record], where: str = "club", about: str = "yard-2") -> tuple[Rows, list[Observation]]:
    """Rows and observations of answers to a phantom occupancy."""
    inquiry = Inquiry((Complaint(PHANTOM, about), *records))
    subject = Place("block", about)
    rows = Rows(twice(), layout(where), field_of(twice(), layout(where), PHANTOM, subject))
    return rows, list(observations(layout(where), twice(), inquiry))


def chances(made: Posterior) -> dict[tuple[str, str], float]:
    """Chances by cause and place."""
    return {(s.cause, s.place): p for s, p in zip(made.field.suspects, made.chances, strict=True)}


def after(*records: Record) -> dict[str, float]:
    """Chances by cause after answers to a phantom occupancy."""
    rows, seen = judged(records)
    return dict(weigh(rows, seen).by_cause())


# -- against brute force and another library -------------------------------------------------------------------


def _reading(dice: random.Random, name: str, layout_: Layout, place: Place) -> tuple[Reading, independent.Row]:
    """A reading anywhere about the limits, often close to one, sometimes given only as a bound or off the scale."""
    limits, _ = independent.edges(layout_, independent.CHECKS[name], place)
    value = dice.choice(list(limits)) * math.exp(dice.gauss(0.0, dice.choice([0.02, 0.1, 1.0])))
    bound = dice.choice(["", "", "", "~", "<", ">"])
    unit = str(independent.CHECKS[name]["unit"])
    reading = Reading(math.inf, unit, "", True, "OL") if dice.random() < 0.1 else Reading(value, unit, bound, False, "")
    return reading, independent.shares(layout_, name, place, reading)


def _place(dice: random.Random, layout_: Layout, name: str, subject: Place) -> Place:
    """Mostly a place that a check is meant for, at times another of its kind."""
    meant = layout_.related(str(independent.CHECKS[name].get("at", "itself")), subject)
    alike = layout_.places_of(meant[0].kind)
    return dice.choice(alike) if alike and dice.random() < 0.2 else dice.choice(meant)


def _answers(dice: random.Random, layout_: Layout, subject: Place) -> tuple[list[Record], list[Report]]:
    """Random answers, right or wrong, and the same as reports; each finding reported up to twice."""
    records: list[Record] = []
    reports: list[Report] = []
    for name in dice.sample(sorted(independent.CHECKS), dice.randint(1, 4)):
        place = _place(dice, layout_, name, subject)
        for asked in dice.sample([name, f"club/again-{name[5:]}"], dice.randint(1, 2)):
            how = dice.choice(HOWS)
            if independent.CHECKS[name].get("unit") and dice.random() < 0.7:
                reading, said = _reading(dice, name, layout_, place)
                records.append(Answer(asked, place.name, None, reading, how))
            else:
                shown = dice.choice(independent.outcomes_of(independent.CHECKS[name]))
                said = {o: float(o == shown) for o in independent.outcomes_of(independent.CHECKS[name])}
                records.append(Answer(asked, place.name, shown, None, how))
            reports.append(Report(independent.finding_of(name), place, said, independent.WRONG[how]))
    return records, reports


def _world(dice: random.Random) -> tuple[World, list[Record], list[Report]]:
    """A random symptom on a random layout, with rules, counts and mends at random."""
    symptom = dice.choice(sorted(core().symptoms))
    layout_ = layout(dice.choice(["club", "club", "home", "none"]))
    kind = core().symptoms[symptom].about
    subject = dice.choice(layout_.places_of(kind) or (Place(kind, f"the {kind}"),))
    causes = [c.name for c in core().causes_of(symptom)]
    failed = []
    for remedy in dice.sample(sorted(core().remedies), 40)[: dice.choice([0, 0, 6, 40])]:
        entry = core().remedies[remedy]
        failed.append((frozenset(entry.mends), None, entry.works))
    world = World(
        layout_,
        symptom,
        subject,
        frozenset(dice.sample(causes, dice.randint(0, 4))),
        {c: dice.choice([0.3, 2.0, 4.0]) for c in dice.sample(causes, dice.randint(0, 3))},
        {c: float(dice.randint(1, 30)) for c in dice.sample(causes, dice.choice([0, 0, 3]))},
        failed,
    )
    return (world, *_answers(dice, layout_, subject))


class ByWords(Rows):
    """Rows without the circuit of the layout, which has tests of its own: here the words of the rules are tested."""

    def computed(self, seen: Observation) -> dict[int, float]:
        """Nothing is computed."""
        del seen
        return {}


def _by_the_tool(world: World, records: Sequence[Record]) -> dict[tuple[str, str], float]:
    """The posterior that the tool works out from the records of an inquiry."""
    inquiry = Inquiry((Complaint(world.symptom, world.subject.name), *records))
    tally = Tally({world.symptom: world.tally})
    made = field_of(twice(), world.layout, world.symptom, world.subject, world.ruled_out, world.raised, tally)
    seen = observations(world.layout, twice(), inquiry)
    mended = [Mended(causes, place, works, False, 99) for causes, place, works in world.failed]
    return chances(weigh(ByWords(twice(), world.layout, made), seen, mended))


def _furthest(one: Mapping[tuple[str, str], float], other: Mapping[tuple[str, str], float]) -> float:
    assert one.keys() == other.keys()
    return max(abs(one[s] - other[s]) for s in one)


@pytest.mark.parametrize("part", range(10))
def test_posteriors_of_a_thousand_random_models(part: int) -> None:
    """The tool, brute-force enumeration and another library agree to 1e-9 on random rules and answers."""
    for number in range(100 * part, 100 * part + 100):
        world, records, reports = _world(random.Random(number))
        ours = _by_the_tool(world, records)

        assert _furthest(ours, world.enumerated(reports)) <= 1e-9, number
        assert _furthest(ours, independent.by_network(world, reports)) <= 1e-9, number


def test_the_random_models_hold_what_they_are_meant_to_hold() -> None:
    """Among the thousand are soft bands, bounds, repeats in two ways, placed findings and failed mends, in plenty."""
    soft = repeats = placed = elsewhere = failed = 0
    for number in range(1000):
        world, _, reports = _world(random.Random(number))
        soft += any(0.02 < s < 0.98 for r in reports for s in r.said.values())
        repeats += any(len(group) > 1 for group in independent.grouped(reports).values())
        at = {r.place.name for r in reports}
        split = {name for _, name in world.prior()}
        placed += bool(at & split)
        elsewhere += any(
            r.place not in world.layout.related(FINDINGS[r.finding].relation, world.subject) for r in reports
        )
        failed += any(world.spared(s) < 1.0 for s in world.prior())

    assert min(soft, repeats, placed, elsewhere, failed) >= 100


def test_every_row_of_the_core_rules() -> None:
    """Each word of the core rules becomes the number that the design gives it, for each cause, finding and symptom."""
    for symptom in core().symptoms:
        for cause in core().causes_of(symptom):
            for name, finding in core().findings.items():
                theirs = independent.row(cause.name, name, symptom)
                ours = dict(zip(finding.outcomes, row(core(), name, cause, symptom), strict=True))
                assert ours == pytest.approx(theirs, abs=1e-11), (cause.name, name, symptom)


def test_the_tables_of_words() -> None:
    """The words and the ways of coming by an answer have the numbers of the design."""
    assert dict(LIKELIHOOD) == independent.NUMBERS
    assert dict(REPORTED_WRONG) == independent.WRONG
    assert SOMETHING_ELSE == independent.BEYOND


@given(st.integers(2, 6), st.data())
def test_a_shared_row_is_a_row(count: int, data: st.DataObject) -> None:
    """A row totals one, no outcome is 0 or 1, and a single stated word keeps its number nearly."""
    outcomes = tuple(f"o{i}" for i in range(count))
    word = data.draw(st.sampled_from(sorted(LIKELIHOOD)))
    told = data.draw(st.sampled_from(outcomes))
    made = dict(zip(outcomes, share(outcomes, {told: word}, (1.0 / count,) * count), strict=True))

    assert math.fsum(made.values()) == pytest.approx(1.0, abs=1e-9)
    assert all(0.0 < p < 1.0 for p in made.values())
    assert made[told] == pytest.approx(LIKELIHOOD[word], abs=0.02)


# -- what must hold of any answers -----------------------------------------------------------------------------

SPOKEN = tuple(
    c.name
    for c in sorted(twice().checks.values(), key=lambda c: c.name)
    if c.finding in twice().spoken_of(PHANTOM) and not c.unit
)


@st.composite
def answers(draw: st.DrawFn, most: int = 8) -> list[Record]:
    """Answers to different checks of a phantom occupancy, with some put aside."""
    names = draw(st.lists(st.sampled_from(SPOKEN), max_size=most, unique=True))
    said: list[Record] = []
    for name in names:
        outcome = draw(st.sampled_from(core().findings[twice().checks[name].finding].outcomes))
        said.append(Answer(name, None, outcome, None, draw(st.sampled_from(HOWS))))
    return said


@given(answers(), st.randoms(use_true_random=False))
def test_order_does_not_show_in_a_single_bit(said: list[Record], dice: random.Random) -> None:
    """The same answers in another order give exactly the same chances and decibans."""
    rows, seen = judged(said)
    mixed = list(said)
    dice.shuffle(mixed)
    _, again = judged(mixed)
    dice.shuffle(again)
    one, other = weigh(rows, seen), weigh(rows, again)

    assert one.chances == other.chances
    assert one.evidence == other.evidence


@given(answers())
def test_chances_total_one_and_nothing_is_ever_certain(said: list[Record]) -> None:
    """Chances total one; no suspect is ever at 0 or 1, those beyond the rules neither."""
    rows, seen = judged(said)
    made = weigh(rows, seen)

    assert math.fsum(made.chances) == pytest.approx(1.0, abs=1e-12)
    assert all(0.0 < p < 1.0 for p in made.chances)
    assert {QUIET, ODD} <= {s.cause for s in made.field.suspects}


@given(answers())
def test_decibans_add_up_to_the_log_odds(said: list[Record]) -> None:
    """For any two suspects the prior and each answer's decibans add up to the log-odds of their chances."""
    rows, seen = judged(said)
    made = weigh(rows, seen)
    for one, other in ((0, 1), (2, -1), (-1, 5)):
        prior = 10 * math.log10(made.field.prior[one] / made.field.prior[other])
        moved = math.fsum(parts[one] - parts[other] for _, parts in made.evidence)
        assert prior + moved == pytest.approx(10 * math.log10(made.chances[one] / made.chances[other]), abs=1e-9)


@settings(max_examples=300)
@given(answers(), st.sampled_from(SPOKEN), st.sampled_from(HOWS), st.data())
def test_what_speaks_for_a_suspect_never_lowers_it(
    said: list[Record], name: str, how: str, data: st.DataObject
) -> None:
    """An answer that is likeliest under a suspect never lowers it, least likely never raises it, whatever was said."""
    finding = twice().checks[name].finding
    said = [a for a in said if isinstance(a, Answer) and twice().checks[a.check].finding != finding]
    outcome = data.draw(st.sampled_from(core().findings[finding].outcomes))
    rows, seen = judged(said)
    _, more = judged([*said, Answer(name, None, outcome, None, how)])
    before, later = weigh(rows, seen), weigh(rows, more)
    place = more[[o.finding for o in more].index(finding)].place
    column = core().findings[finding].outcomes.index(outcome)
    told = [r[column] for r in rows.of(finding, place)]
    for index, chance in enumerate(told):
        if chance == max(told):
            assert later.chances[index] >= before.chances[index] - 1e-12
        if chance == min(told):
            assert later.chances[index] <= before.chances[index] + 1e-12


@given(answers(), st.sampled_from(SPOKEN), st.sampled_from(["not-sure", "cant-do", "already-tried"]))
def test_not_knowing_changes_nothing(said: list[Record], name: str, why: str) -> None:
    """A check that is put aside leaves every chance and every deciban as it was, to the bit."""
    said = [a for a in said if isinstance(a, Answer) and a.check != name]
    rows, seen = judged(said)
    _, more = judged([*said, PutAside(name, None, why)])

    assert weigh(rows, more).chances == weigh(rows, seen).chances
    assert weigh(rows, more).evidence == weigh(rows, seen).evidence


@given(answers())
def test_an_answer_put_aside_later_no_longer_counts(said: list[Record]) -> None:
    """The last word on a check counts: not sure after an answer takes the answer away."""
    aside = [PutAside(a.check, None) for a in said if isinstance(a, Answer)]
    rows, seen = judged([*said, *aside])

    assert seen == []
    assert weigh(rows, seen).chances == pytest.approx(rows.field.prior, abs=1e-12)


@given(st.sampled_from(SPOKEN), st.data())
def test_the_same_check_repeated_counts_once(name: str, data: st.DataObject) -> None:
    """An answer given again replaces the first, whether its place is named or goes without saying."""
    outcome = data.draw(st.sampled_from(core().findings[twice().checks[name].finding].outcomes))
    rows, seen = judged([Answer(name, None, outcome)])
    place = seen[0].place.name
    once = weigh(rows, seen)
    for again in (None, place):
        _, more = judged([Answer(name, None, outcome), Answer(name, again, outcome)])
        assert weigh(rows, more).chances == once.chances


@given(st.sampled_from([n for n in SPOKEN if n.startswith("core/")]), st.sampled_from(HOWS), st.data())
def test_the_same_thing_asked_in_two_ways_does_not_count_twice(name: str, how: str, data: st.DataObject) -> None:
    """Two checks that report one finding move no suspect further than knowing the finding for certain would."""
    outcomes = core().findings[core().checks[name].finding].outcomes
    outcome = data.draw(st.sampled_from(outcomes))
    rows, one = judged([Answer(name, None, outcome, None, how)])
    _, two = judged(
        [Answer(name, None, outcome, None, how), Answer(f"club/again-{name[5:]}", None, outcome, None, how)]
    )
    table = rows.of(one[0].finding, one[0].place)
    column = core().findings[one[0].finding].outcomes.index(outcome)
    sure = [10 * math.log10(r[column]) for r in table]
    (_, once), (_, again) = weigh(rows, one).evidence[0], weigh(rows, two).evidence[0]

    assert len(weigh(rows, two).evidence) == 1
    for index in range(1, len(sure)):
        known = sure[index] - sure[0]
        by_one, by_two = once[index] - once[0], again[index] - again[0]
        assert abs(by_one) <= abs(by_two) + 1e-9 <= abs(known) + 2e-9
        if how == "typed" and abs(by_one) > 6:
            assert abs(by_two) < 1.7 * abs(by_one)


def test_two_reports_that_contradict_each_other_nearly_cancel() -> None:
    """By eye yes and by a second look no, of one finding: what is left is close to not having asked."""
    name = "core/reacts-to-touch"
    outcomes = core().findings[name].outcomes
    rows, seen = judged([Answer(name, None, outcomes[0]), Answer("club/again-reacts-to-touch", None, outcomes[1])])
    made = weigh(rows, seen)

    assert len(outcomes) == 2
    assert made.chances == pytest.approx(rows.field.prior, abs=1e-12)


# -- how an answer was come by ---------------------------------------------------------------------------------


@given(st.sampled_from(SPOKEN), st.data())
def test_a_surer_answer_moves_further(name: str, data: st.DataObject) -> None:
    """From `I think so` over remembered and seen to typed, the same answer speaks ever more for and against."""
    outcome = data.draw(st.sampled_from(core().findings[twice().checks[name].finding].outcomes))
    spreads = []
    for how in ("thought", "remembered", "seen", "typed"):
        rows, seen = judged([Answer(name, None, outcome, None, how)])
        parts = weigh(rows, seen).evidence[0][1]
        spreads.append(max(parts) - min(parts))

    assert spreads == sorted(spreads)


def test_a_report_keeps_its_share_and_gives_the_rest_to_the_others() -> None:
    """A report at 5 % error is right with .95, and each other outcome of three may stand behind it with .025."""
    assert seen_as((1.0, 0.0, 0.0), 0.05) == pytest.approx((0.95, 0.025, 0.025))
    assert seen_as((0.5, 0.5, 0.0), 0.02) == pytest.approx((0.495, 0.495, 0.01))


def test_a_reading_near_a_limit_counts_softly() -> None:
    """On the limit a reading tells least; the further from it, the more, and over the whole way in one direction."""
    edge = independent.edges(layout("club"), independent.CHECKS["core/block-leak-ohms"], BLOCK)[0][0]
    tells = []
    for factor in (0.2, 0.7, 0.9, 1.0):
        answer = Answer("core/block-leak-ohms", None, None, Reading(edge * factor, "ohm", "", False, ""), "typed")
        rows, seen = judged([answer])
        tells.append(chances(weigh(rows, seen))[LEAK, "yard-2"])
        assert math.fsum(seen[0].weights) == pytest.approx(1.0)

    assert tells == sorted(tells, reverse=True)
    assert tells[0] > tells[-1] + 0.01


# -- places ----------------------------------------------------------------------------------------------------


def test_a_placed_check_speaks_of_its_own_place() -> None:
    """A bad joint at one end raises the suspects there and lowers the same causes at the other end."""
    first, second = (p.name for p in layout("club").related("joint-of", BLOCK))
    joints = next(
        c for c in core().checks.values() if c.relation == "joint-of" and c.finding in core().spoken_of(PHANTOM)
    )
    finding = core().findings[joints.finding]
    telling = next(o for i, o in enumerate(finding.outcomes) if i != finding.quiet)
    rows, seen = judged([Answer(joints.name, second, telling)])
    before, later = dict(zip(rows.field.suspects, rows.field.prior, strict=True)), chances(weigh(rows, seen))
    table = dict(
        zip(((s.cause, s.place) for s in rows.field.suspects), rows.of(joints.finding, seen[0].place), strict=True)
    )
    told = {s.cause for s in before if s.place == second and table[s.cause, second] != finding.sound}

    assert told
    for suspect in before:
        if suspect.cause in told and suspect.place == first:
            assert table[suspect.cause, first] == finding.sound
            assert later[suspect.cause, first] < later[suspect.cause, second]


def test_places_share_the_weight_of_their_cause() -> None:
    """A weight is of the cause: with two places each has half, and the total is that of one place."""
    made = field_of(core(), layout("club"), PHANTOM, BLOCK)
    alone = field_of(core(), EMPTY, PHANTOM, Place("block", "the block"))

    def by_cause(field: Field) -> dict[str, list[float]]:
        found: dict[str, list[float]] = {}
        for suspect, prior in zip(field.suspects, field.prior, strict=True):
            found.setdefault(suspect.cause, []).append(prior)
        return found

    split, whole = by_cause(made), by_cause(alone)
    assert any(len(v) > 1 for v in split.values())
    for cause, parts in split.items():
        assert len(set(parts)) == 1
        assert math.fsum(parts) == pytest.approx(math.fsum(whole[cause]))


# -- mends -----------------------------------------------------------------------------------------------------


def test_a_failed_remedy_makes_its_causes_unlikely_and_never_impossible() -> None:
    """A remedy that works in .95 and did not cure costs its causes 13 dB against all others, which keep their ratio."""
    rows, _ = judged([])
    failed = Mended(frozenset({LEAK}), "yard-2", 0.95, False, 3)
    before, later = chances(weigh(rows, [])), chances(weigh(rows, [], [failed]))
    mine, others = (LEAK, "yard-2"), [s for s in before if s[0] != LEAK]
    fall = 10 * math.log10((later[mine] / later[others[0]]) / (before[mine] / before[others[0]]))

    assert fall == pytest.approx(10 * math.log10(0.05))
    for one, other in pairwise(others):
        assert later[one] / later[other] == pytest.approx(before[one] / before[other])


def test_a_failed_remedy_elsewhere_says_nothing_here() -> None:
    """A remedy at another place spares the suspects of this one; one without a place speaks of all."""
    rows, _ = judged([])
    elsewhere = weigh(rows, [], [Mended(frozenset({LEAK}), "yard-3", 0.95, False, 3)])
    anywhere = weigh(rows, [], [Mended(frozenset({LEAK}), None, 0.95, False, 3)])

    assert elsewhere.chances == pytest.approx(rows.field.prior, abs=1e-12)
    assert chances(anywhere)[LEAK, "yard-2"] < 0.1 * chances(elsewhere)[LEAK, "yard-2"]


def test_failed_remedies_add_up() -> None:
    """Two remedies that failed on one cause multiply; a group remedy speaks for the whole group."""
    rows, _ = judged([])
    one = Mended(frozenset({LEAK, FILTER}), None, 0.9, False, 3)
    two = Mended(frozenset({LEAK}), None, 0.8, False, 4)
    before, later = chances(weigh(rows, [])), chances(weigh(rows, [], [one, two]))
    rest = (QUIET, "")

    def moved(cause: str) -> float:
        mine = next(s for s in before if s[0] == cause)
        return (later[mine] / later[rest]) / (before[mine] / before[rest])

    assert moved(LEAK) == pytest.approx(0.1 * 0.2)
    assert moved(FILTER) == pytest.approx(0.1)


def test_after_a_part_mend_the_evidence_of_the_first_fault_speaks_for_nobody_else() -> None:
    """A low reading that the mended leak explains no longer speaks against faults that leave the ohms open."""
    answer = Answer("core/block-leak-ohms", None, "below-limit", None, "typed")
    rows, seen = judged([answer])
    partly = [Mended(frozenset({LEAK}), "yard-2", 0.95, True, 5)]
    wholly = [Mended(frozenset({LEAK}), "yard-2", 0.95, False, 5)]
    single, double = chances(weigh(rows, seen, wholly)), chances(weigh(rows, seen, partly))
    filtered = next(s for s in single if s[0] == FILTER)
    (_, alone), (_, beside) = weigh(rows, seen).evidence[0], weigh(rows, seen, partly).evidence[0]

    assert double[filtered] > 3 * single[filtered]
    assert double[LEAK, "yard-2"] < 0.2
    assert max(beside) - min(beside) < 0.2 * (max(alone) - min(alone))


def test_answers_after_a_part_mend_are_those_of_the_second_fault_alone() -> None:
    """What is seen after the first fault was mended is read as ever: only one fault is left."""
    partly = [Mended(frozenset({LEAK}), "yard-2", 0.95, True, 0)]
    rows, seen = judged([Answer("core/block-leak-ohms", None, "below-limit", None, "typed")])
    assert seen[0].order > partly[0].order

    assert weigh(rows, seen, partly).evidence[0] == weigh(rows, seen).evidence[0]


@given(st.lists(st.floats(0.01, 1.0), min_size=3, max_size=3), st.lists(st.floats(0.01, 1.0), min_size=3, max_size=3))
def test_two_faults_show_what_either_shows(first: list[float], second: list[float]) -> None:
    """A telling outcome is at least as likely as under either fault until they must share, the rest is quiet."""
    one = tuple(p / sum(first) for p in first)
    two = tuple(p / sum(second) for p in second)
    made = both(one, two, 0)

    assert math.fsum(made) == pytest.approx(1.0)
    assert made == pytest.approx(both(two, one, 0))
    assert made[0] == pytest.approx(
        max(0.02, 1.0 - sum(1 - (1 - a) * (1 - b) for a, b in zip(one[1:], two[1:], strict=True)))
    )
    if made[0] > 0.02 + 1e-9:
        assert all(m >= max(a, b) - 1e-12 for m, a, b in zip(made[1:], one[1:], two[1:], strict=True))


# -- surprise, tally, odds and ends ----------------------------------------------------------------------------


def test_an_answer_against_all_others_is_probably_a_mistake() -> None:
    """With a clear picture, the answer that fits it is trusted, and its opposite is probably reported wrongly."""
    clear: list[Record] = [
        Answer("core/block-leak-ohms", None, "sound", None, "typed"),
        Answer("core/standing-current", None, "filter-size", None, "typed"),
        Answer("core/clears-when-filter-lifted", None, "yes"),
    ]
    chance = {}
    for outcome in ("yes", "no"):
        rows, seen = judged([*clear, Answer("core/clears-when-input-lifted", None, outcome)])
        one = next(o for o in seen if o.check == "core/clears-when-input-lifted")
        chance[outcome] = mistaken(rows, weigh(rows, seen), one)

    assert chance["yes"] < 0.1
    assert chance["no"] > 0.5


def test_the_surprise_is_the_log_of_what_was_to_be_expected() -> None:
    """Surprise is the decimal log of the chance of all answers together, worked out by adding up."""
    rows, seen = judged([Answer("core/reacts-to-touch", None, "yes"), Answer("core/worked-before", None, "no")])
    total = 0.0
    for suspect, prior in enumerate(rows.field.prior):
        chance = prior
        for one in seen:
            row_ = rows.of(one.finding, one.place)[suspect]
            chance *= sum(p * s for p, s in zip(row_, seen_as(one.weights, one.error), strict=True))
        total += chance

    assert weigh(rows, seen).surprise == pytest.approx(math.log10(total))


def test_the_tally_moves_priors_as_twenty_cases_against_the_count() -> None:
    """Thirty closed cases of one cause count thirty against the authors' twenty."""
    before = weights(core(), PHANTOM, Tally())
    later = weights(core(), PHANTOM, Tally({PHANTOM: {LEAK: 30.0, "core/of-another-symptom": 9.0}}))

    assert math.fsum(before.values()) == pytest.approx(0.95)
    assert math.fsum(later.values()) == pytest.approx(0.95)
    assert later[LEAK] == pytest.approx(0.4 * before[LEAK] + 0.95 * 0.6)
    assert later[FILTER] == pytest.approx(0.4 * before[FILTER])


def test_what_is_ruled_out_is_no_suspect_and_what_is_raised_gains() -> None:
    """A ruled-out cause leaves the field; a raised one gains its factor in odds; the total stays one."""
    made = field_of(core(), layout("club"), PHANTOM, BLOCK, [LEAK], {FILTER: 4.0})
    plain = field_of(core(), layout("club"), PHANTOM, BLOCK, [LEAK])

    def odds(field: Field) -> float:
        mine = math.fsum(p for s, p in zip(field.suspects, field.prior, strict=True) if s.cause == FILTER)
        return mine / next(p for s, p in zip(field.suspects, field.prior, strict=True) if s.cause == QUIET)

    assert LEAK not in {s.cause for s in made.suspects}
    assert math.fsum(made.prior) == pytest.approx(1.0)
    assert odds(made) == pytest.approx(4.0 * odds(plain))


def test_what_no_rule_describes_stays_whatever_is_ruled_out() -> None:
    """With every cause ruled out, the two suspects beyond the rules are left, shown as one line."""
    everything = [c.name for c in core().causes_of(PHANTOM)]
    made = field_of(core(), layout("club"), PHANTOM, BLOCK, everything)
    rows = Rows(core(), layout("club"), made)

    assert [s.cause for s in made.suspects] == [ODD, QUIET]
    assert dict(weigh(rows, []).by_cause()) == pytest.approx({"something-else": 1.0})


@pytest.mark.parametrize(("said", "kept"), [(0.0, 0.02), (0.5, 0.5), (1.0, 0.98)])
def test_likelihoods_are_clipped(said: float, kept: float) -> None:
    """Nothing is ever 0 or 1."""
    assert clipped(said) == kept


def test_a_quiet_stranger_gains_from_sound_readings_and_an_odd_one_from_strange_ones() -> None:
    """Sound outcomes everywhere raise the quiet suspect beyond the rules; telling ones everywhere the odd one."""
    checks = [n for n in SPOKEN if n.startswith("core/")][:14]
    sound, strange = [], []
    for name in checks:
        finding = core().findings[core().checks[name].finding]
        best = max(range(len(finding.outcomes)), key=lambda i: finding.sound[i])
        sound.append(Answer(name, None, finding.outcomes[best]))
        strange.append(Answer(name, None, finding.outcomes[best - 1]))
    quiet, odd = (chances(weigh(*judged(said))) for said in (sound, strange))

    assert quiet[QUIET, ""] > 0.5
    assert odd[ODD, ""] > 0.5


def test_mends_are_read_from_the_inquiry_by_their_last_result() -> None:
    """A later result of the same mend replaces the earlier one."""
    inquiry = Inquiry((Mend("core/x", "a", "not-fixed"), Mend("core/x", "a", "fixed"), Mend("core/x", "b", "partly")))

    assert [m.result for _, m in inquiry.mends] == ["fixed", "partly"]

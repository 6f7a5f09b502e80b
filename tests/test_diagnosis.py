"""The one function that everything calls: pure, the same in any order, and what it advises and what it never does."""

import ast
import io
import json
import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from tests.test_deduction import python
from troubleshoot.diagnosis import CheckStep, Diagnosis, RemedyStep, as_data, diagnose, minutes_of
from troubleshoot.inquiry import (
    Answer,
    AtHand,
    Complaint,
    Inquiry,
    Mend,
    Note,
    ProofSeen,
    PutAside,
    Record,
    SetUpChange,
)
from troubleshoot.layout import EMPTY, Layout, Place, load
from troubleshoot.quantities import read_reading
from troubleshoot.rulebook import Check, Rulebook, row, rules_folder
from troubleshoot.rulebook import load as load_rules
from troubleshoot.rulebook.tally import Tally
from troubleshoot.screen import RenderableType, console
from troubleshoot.screen.steps import first_lines

ROOT = Path(__file__).resolve().parents[1]
PHANTOM = "core/phantom-occupancy"
LEAK, FILTER, CHANNEL = "core/leak-through-ballast", "core/filter-on-track-side", "core/detector-channel-faulty"
WAITING = ("nothing", "block", "district", "layout")


@cache
def core() -> Rulebook:
    """The core rules as they stand."""
    return load_rules()


@cache
def layout(name: str = "club") -> Layout:
    """A bundled layout, or the empty one."""
    return EMPTY if name == "none" else load(rules_folder() / "core" / "layouts" / f"{name}.yaml")


def said(check: str, outcome: str, place: str | None = None, how: str = "seen") -> Answer:
    """An outcome of a core check."""
    return Answer(f"core/{check}", place, outcome, None, how)


def read(check: str, text: str, place: str | None = None) -> Answer:
    """A reading of a core check, typed."""
    return Answer(f"core/{check}", place, None, read_reading(text, str(core().checks[f"core/{check}"].unit)), "typed")


def made(*records: Record, symptom: str = PHANTOM, about: str | None = "yard-2", where: str = "club") -> Diagnosis:
    """The diagnosis of an inquiry on a bundled layout."""
    return diagnose(layout(where), core(), Inquiry((Complaint(symptom, about), *records)))


def data(diagnosis: Diagnosis, rulebook: Rulebook | None = None) -> str:
    """A diagnosis as strict JSON: no figure that JSON does not know."""
    return json.dumps(as_data(rulebook or core(), diagnosis), allow_nan=False)


ASKED_FIRST = (said("danger-signs", "none"), said("what-changed", "nothing"), said("who-else-is-sick", "only-this"))
LED = (*ASKED_FIRST, said("when-worse", "damp"), said("how-it-develops", "back-each-season"))


def text_of(parts: Sequence[RenderableType]) -> str:
    """What lines on a wide screen say."""
    drawn = io.StringIO()
    for part in parts:
        console(drawn, width=300).print(part)
    return drawn.getvalue()


def first_place(symptom: str) -> str | None:
    """The first place of the club that may show a symptom; none for what the whole layout shows."""
    return next((p.name for p in layout().places_of(core().symptoms[symptom].about)), None)


def steps(diagnosis: Diagnosis) -> list[CheckStep]:
    """All checks that a diagnosis offers."""
    own = [diagnosis.step] if isinstance(diagnosis.step, CheckStep) else []
    return [*own, *diagnosis.others, *diagnosis.together]


def walk(symptom: str, about: str, truth: str, dice: random.Random, where: str = "club") -> Iterator[Diagnosis]:
    """An inquiry that follows the advice while one cause is the true one; a tenth of the answers is put aside."""
    inquiry = Inquiry((Complaint(symptom, about),))
    for _ in range(25):
        now = diagnose(layout(where), core(), inquiry)
        yield now
        step = now.step
        if not isinstance(step, CheckStep):
            return
        if dice.random() < 0.1:
            inquiry = inquiry.and_then(PutAside(step.check.name, step.place.name))
            continue
        finding = core().findings[step.check.finding]
        chances = row(core(), finding.name, core().causes[truth], symptom)
        outcome = dice.choices(finding.outcomes, chances)[0]
        inquiry = inquiry.and_then(Answer(step.check.name, step.place.name, outcome))


@cache
def walked_for() -> tuple[tuple[str, tuple[Diagnosis, ...]], ...]:
    """A walk for every eighth cause of every symptom: the cause, and each step."""
    found = []
    for symptom in sorted(core().symptoms):
        places = layout().places_of(core().symptoms[symptom].about) or (Place("layout", "the layout"),)
        for number, cause in enumerate(core().causes_of(symptom)[::8]):
            about = places[(7 * number) % len(places)].name
            dice = random.Random(f"{symptom} {cause.name}")
            found.append((cause.name, tuple(walk(symptom, about, cause.name, dice))))
    return tuple(found)


def walks() -> list[tuple[Diagnosis, ...]]:
    """The walks without their causes."""
    return [walked for _, walked in walked_for()]


def every_step() -> Iterator[Diagnosis]:
    """All diagnoses of all walks."""
    return (d for one in walks() for d in one)


# -- purity and order ------------------------------------------------------------------------------------------


def test_the_same_inquiry_gives_the_same_diagnosis_whatever_was_asked_between() -> None:
    """Nothing of one call shows in another, and its arguments stay as they were."""
    records = (*ASKED_FIRST, read("block-leak-ohms", "2.2k"))
    first = made(*records)
    inquiry = Inquiry((Complaint(PHANTOM, "yard-2"), *records))
    before = (inquiry.records, dict(layout().kit))
    made(said("danger-signs", "warm-part"), about="harbour-2")
    made(symptom="core/district-trips-at-power-up", about="yard-district")
    again = diagnose(layout(), core(), inquiry)

    assert again == first
    assert data(again) == data(first)
    assert (inquiry.records, dict(layout().kit)) == before


def test_no_memory_is_needed() -> None:
    """A rulebook and a layout opened afresh give the same diagnosis as the ones in use."""
    records = (Complaint(PHANTOM, "yard-2"), *ASKED_FIRST, read("block-leak-ohms", "2.2k"))
    fresh = load(rules_folder() / "core" / "layouts" / "club.yaml"), load_rules()

    assert data(diagnose(*fresh, Inquiry(records)), fresh[1]) == data(made(*records[1:]))


@pytest.mark.parametrize("module", ["belief", "advice.py", "inquiry", "diagnosis", "deduction/strata.py"])
def test_reasoning_reaches_for_nothing_outside(module: str) -> None:
    """The modules of reasoning import no files, clock, terminal or random numbers, and open nothing."""
    path = ROOT / "troubleshoot" / module
    outside = {"os", "sys", "io", "time", "datetime", "random", "pathlib", "subprocess", "socket", "shutil", "secrets"}
    for file in path.rglob("*.py") if path.is_dir() else [path]:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                assert not {a.name.split(".")[0] for a in node.names} & outside
            elif isinstance(node, ast.ImportFrom):
                assert (node.module or "").split(".")[0] not in outside
            elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                assert node.func.id not in ("open", "print", "input")


def test_the_order_of_answers_does_not_show() -> None:
    """A hundred shuffles of a full inquiry give the same diagnosis to the last bit and letter."""
    records: list[Record] = [
        *ASKED_FIRST,
        read("block-leak-ohms", "18k"),
        read("joint-ohms", "OL", "yard-1/yard-2"),
        said("when-worse", "damp", how="remembered"),
        said("reacts-to-touch", "no", how="thought"),
        said("lamp-and-screen", "both-wrong"),
        PutAside("core/clears-when-input-lifted"),
        Note("the room was cold"),
    ]
    first = made(*records)
    dice = random.Random(7)
    assert len(first.observed) == 8
    for _ in range(100):
        dice.shuffle(records)
        again = made(*records)
        assert data(again) == data(first)
        assert [(r.cause, r.chance) for r in again.ranking] == [(r.cause, r.chance) for r in first.ranking]


UNDER_SEED = """
import json
from troubleshoot.diagnosis import as_data, diagnose
from troubleshoot.inquiry import Answer, Complaint, Inquiry
from troubleshoot.layout import load as load_layout
from troubleshoot.rulebook import load, rules_folder
book = load()
club = load_layout(rules_folder() / "core" / "layouts" / "club.yaml")
for symptom in sorted(book.symptoms):
    places = club.places_of(book.symptoms[symptom].about)
    said = [Answer(c.name, None, c.outcomes[i % len(c.outcomes)])
            for i, c in enumerate(book.checks.values()) if c.finding in book.spoken_of(symptom)][::5]
    for records in ([], said):
        made = diagnose(club, book, Inquiry((Complaint(symptom, places[0].name if places else None), *records)))
        print(json.dumps(as_data(book, made)))
"""


def test_hash_seeds_do_not_show() -> None:
    """Processes with other hash seeds print the same diagnoses, letter by letter, for every symptom."""
    first, *others = (python(UNDER_SEED, seed=s) for s in range(4))

    assert first.count("\n") == 2 * len(core().symptoms)
    assert others == [first] * 3


# -- as data ---------------------------------------------------------------------------------------------------


def test_every_diagnosis_is_plain_data() -> None:
    """Every step of every walk, and every kind of end, is strict JSON and comes back as it was."""
    ends = [
        diagnose(layout(), core(), Inquiry()),
        made(said("danger-signs", "water")),
        made(SetUpChange("core/power-off", "yard-2"), AtHand(5.0, "nothing")),
        made(Mend("core/dry-and-clean-ballast", "yard-2", "partly")),
        made(about="no-such-place", where="none"),
    ]
    kinds = set()
    for one in [*every_step(), *ends]:
        text = data(one)
        kinds.add(one.kind)
        assert json.loads(text) == json.loads(json.dumps(as_data(core(), one)))

    assert kinds >= {"check", "remedy", "stop", "no-symptom"}


def test_chances_shown_total_one_and_fall() -> None:
    """At every step the ranking falls from the first to the last, and its chances total one."""
    for one in every_step():
        shown = [r.chance for r in one.ranking]
        assert shown == sorted(shown, reverse=True)
        assert sum(shown) == pytest.approx(1.0)


def test_the_evidence_of_a_line_adds_up() -> None:
    """For a cause at a single place, prior and evidence add up to the odds against the rival it is shown with."""
    tried = 0
    for one in every_step():
        lines = {r.cause: r for r in one.ranking}
        single = {c for c, r in lines.items() if len(r.places) == 1}
        for line in one.ranking:
            if line.cause in single and line.rival in single:
                total = line.prior_decibans + sum(e.decibans for e in line.evidence)
                odds = line.chance / lines[line.rival].chance
                assert 10 ** (total / 10) == pytest.approx(odds, rel=1e-6)
                tried += 1

    assert tried > 1000


# -- what is advised, and what never ---------------------------------------------------------------------------


def test_what_the_symptom_asks_first_is_asked_first() -> None:
    """The first questions are those of the symptom, in its order, under every symptom."""
    for symptom, entry in core().symptoms.items():
        place = first_place(symptom)
        records: list[Record] = []
        for name in entry.ask_first:
            step = made(*records, symptom=symptom, about=place).step
            assert isinstance(step, CheckStep)
            assert step.check.name == name
            records.append(PutAside(name, step.place.name))


def test_nothing_is_offered_that_was_answered_put_aside_or_vetoed() -> None:
    """No step and no alternative is a check that has had its answer, was put aside, or is vetoed now."""
    for walked in walks():
        had: set[tuple[str, str]] = set()
        for one in walked:
            offered = {(s.check.name, s.place.name) for s in steps(one)}
            assert not offered & had
            assert not {name for name, _ in offered} & set(one.deduced.vetoed)
            if isinstance(one.step, CheckStep):
                had.add((one.step.check.name, one.step.place.name))


def test_walks_end_in_a_remedy() -> None:
    """Following the advice leads to a remedy within 25 steps nearly always, and to the right one mostly."""
    ends = [(truth, walked[-1].step) for truth, walked in walked_for()]
    remedies = [(truth, step.remedy) for truth, step in ends if isinstance(step, RemedyStep)]
    right = sum(truth in remedy.mends for truth, remedy in remedies)

    assert len(ends) > 20
    assert len(remedies) > 0.9 * len(ends)
    assert right > 0.7 * len(remedies)


def test_tools_that_are_not_owned_are_not_advised() -> None:
    """The club has no true-RMS meter: no walk ever asks for it, and a layout that has one does offer it."""
    assert layout().kit["true-rms-meter"] == "no"
    offered = {s.check.tool for one in every_step() for s in steps(one)}
    lacking = {tool for tool, owned in layout().kit.items() if owned == "no"}
    current = core().checks["core/standing-current"]
    on_none = {s.check.name for d in walk(PHANTOM, "x", FILTER, random.Random(1), "none") for s in steps(d)}

    assert not offered & lacking
    assert current.tool in lacking
    assert current.name in on_none


@pytest.mark.parametrize("most", WAITING)
def test_what_may_not_stop_vetoes_checks(most: str) -> None:
    """With no more than so much to be kept waiting, no check offered stops more, its set-ups included."""
    reach = WAITING.index(most)
    beyond = 0
    for symptom in core().symptoms:
        place = first_place(symptom)
        first = [PutAside(n) for n in core().symptoms[symptom].ask_first]
        for one in (made(AtHand(None, most), *first[:i], symptom=symptom, about=place) for i in range(4)):
            assert all(WAITING.index(w) <= reach for s in steps(one) for w in stopped(s.check))
        free = made(*first, symptom=symptom, about=place)
        beyond += any(WAITING.index(w) > reach for s in steps(free) for w in stopped(s.check))

    assert beyond or most in ("district", "layout")


def stopped(check: Check) -> list[str]:
    """What a check and its set-ups keep waiting."""
    return [check.keeps_waiting, *(core().set_ups[s].stops for s in check.set_up)]


def test_set_ups_cost_minutes_until_they_stand() -> None:
    """A check costs its own minutes, those of entering its set-ups, and of leaving what clashes; not what stands."""
    check = core().checks["core/block-leak-ohms"]
    enter = {s: core().set_ups[s].enter for s in check.set_up}
    on = next(n for n, s in core().set_ups.items() if s.power == "on" and not s.limits_current)
    off = next(s for s in check.set_up if core().set_ups[s].power == "off")

    assert minutes_of(core(), check, frozenset()) == pytest.approx(check.minutes + sum(enter.values()))
    assert minutes_of(core(), check, frozenset(enter)) == pytest.approx(check.minutes)
    assert minutes_of(core(), check, frozenset(enter) - {off} | {on}) == pytest.approx(
        check.minutes + enter[off] + core().set_ups[on].leave
    )


def test_a_standing_set_up_makes_its_checks_cheaper_in_the_advice() -> None:
    """In a diagnosis, the same check costs less once its set-up is entered, as much again once it is left."""
    enter = SetUpChange("core/stock-off", "yard-2")
    leave = replace(enter, entered=False)

    def minutes(*records: Record) -> float:
        offered = steps(made(*LED, said("clears-when-input-lifted", "yes"), *records))
        return next(s.minutes for s in offered if s.check.name == "core/how-the-ohms-behave")

    saved = core().set_ups["core/stock-off"].enter
    assert "core/stock-off" in core().checks["core/how-the-ohms-behave"].set_up
    assert minutes() == pytest.approx(minutes(enter) + saved)
    assert minutes(enter, leave) == pytest.approx(minutes())
    assert made(enter, leave).in_force == ()
    assert made(enter).in_force == (enter,)


def test_checks_that_share_a_set_up_are_offered_together() -> None:
    """What is offered together needs exactly the set-ups of the step, and is a different check."""
    pairs = 0
    for one in every_step():
        for other in one.together:
            assert isinstance(one.step, CheckStep)
            assert set(other.check.set_up) == set(one.step.check.set_up) != set()
            assert (other.check, other.place) != (one.step.check, one.step.place)
            pairs += 1

    assert pairs


def test_a_long_mend_is_confirmed_first() -> None:
    """A mend of twenty minutes or more is advised only once the best check of its cause is answered or out of reach."""
    seen = 0
    for walked in walks():
        asked = {(d.step.check.name, d.step.place.kind) for d in walked if isinstance(d.step, CheckStep)}
        end = walked[-1]
        if not isinstance(end.step, RemedyStep) or end.step.remedy.minutes < 20:
            continue
        led = {r.cause for r in end.ranking if r.chance > 0.005} & set(end.step.remedy.mends)
        best = {core().causes[c].best_check for c in led}
        findings = {core().checks[n].finding for n, _ in asked}
        assert any(
            core().checks[b].finding in findings
            or core().checks[b].finding not in core().spoken_of(str(end.symptom))
            or b in end.deduced.vetoed
            or layout().kit.get(core().checks[b].tool) == "no"
            or (end.step.chance >= 0.9 and any(core().checks[o.check].unit for o in end.observed))
            or minutes_of(core(), core().checks[b], frozenset()) > end.step.minutes / 2
            for b in best
        ), (end.step.remedy.name, best)
        seen += 1

    assert seen > 5


def test_without_the_confirming_check_a_long_mend_waits() -> None:
    """Everything points at damp ballast: its leak in ohms is asked before an hour of drying, unless put aside."""
    strong = (*LED, said("clears-when-input-lifted", "yes"), said("clears-when-feed-lifted", "no"))
    wanted, aside = made(*strong), made(*strong, PutAside("core/block-leak-ohms"))

    assert wanted.leader is not None
    assert wanted.leader.cause == LEAK
    assert isinstance(wanted.step, CheckStep)
    assert wanted.step.check.name == "core/block-leak-ohms"
    assert not any(s.check.name == "core/block-leak-ohms" for s in steps(aside))


def test_a_step_that_costs_parts_waits_for_a_check_that_settles_it() -> None:
    """The same remedy is held back by price alone: advised for nothing, preceded by a cheaper check for parts."""
    held = 0
    for walked in walks():
        inquiry = Inquiry((Complaint(str(walked[0].symptom), walked[0].subject.name), *answers_of(walked)))
        plain = diagnose(layout(), free(core()), inquiry)
        if not isinstance(plain.step, RemedyStep):
            continue
        dear = replace(plain.step.remedy, price="parts")
        book = replace(free(core()), remedies={**free(core()).remedies, dear.name: dear})
        priced = diagnose(layout(), book, inquiry)
        if isinstance(priced.step, CheckStep):
            held += 1
            assert priced.step.minutes < plain.step.minutes
            assert [r.chance for r in priced.ranking] == [r.chance for r in plain.ranking]

    assert held


@cache
def free(book: Rulebook) -> Rulebook:
    """A rulebook whose remedies all cost nothing."""
    return replace(book, remedies={n: replace(r, price="nothing") for n, r in book.remedies.items()})


def answers_of(walked: tuple[Diagnosis, ...]) -> tuple[Answer, ...]:
    """The answers of a walk but for its last few, so that not everything is settled."""
    seen = walked[-1].observed
    ordered = sorted(seen, key=lambda o: o.order)[: max(3, len(seen) - 2)]
    return tuple(Answer(o.check, o.place.name, o.outcome) for o in ordered)


# -- danger ----------------------------------------------------------------------------------------------------


def test_a_stop_shows_no_step() -> None:
    """Water ends the questions: no step, whatever the ranking says, and the reason is shown."""
    one = made(*LED, said("danger-signs", "water"))

    assert (one.kind, one.step) == ("stop", None)
    assert one.deduced.stop
    assert json.loads(data(one))["stop"][0]["because"]


def test_after_make_safe_no_live_check_is_offered() -> None:
    """A warm part leaves only checks without power or behind a limit, in every walk from there."""
    for symptom in core().symptoms:
        place = first_place(symptom)
        records: list[Record] = [said("danger-signs", "warm-part")]
        for _ in range(8):
            one = made(*records, symptom=symptom, about=place)
            assert one.deduced.make_safe
            for step in steps(one):
                states = [core().set_ups[s] for s in step.check.set_up]
                assert step.check.tool != "coin" or any(s.limits_current for s in states)
                assert not any(s.power == "on" for s in states) or any(s.limits_current for s in states)
            if not isinstance(one.step, CheckStep):
                break
            records.append(PutAside(one.step.check.name, one.step.place.name))


def test_ohms_come_with_the_power_off_and_their_caution() -> None:
    """While power is on, a reading in ohms leaves it first and carries its caution."""
    on = SetUpChange("core/power-on", None)
    one = made(*LED, said("clears-when-input-lifted", "yes"), on)
    ohms = next(s for s in steps(one) if s.check.unit == "ohm")

    assert "core/power-on" in ohms.prepared.leave
    assert "core/power-off" in ohms.prepared.enter
    assert "core/ohms-only-unpowered" in ohms.prepared.cautions


# -- mending, proving, what remains ----------------------------------------------------------------------------

REMEDY = "core/dry-and-clean-ballast"
FIXED = Mend(REMEDY, "yard-2", "fixed")


def test_a_mend_waits_for_its_proof() -> None:
    """Fixed is mended, not proven; a passed proof after its quiet time proves it; a failed one opens it again."""
    wanted = core().remedies[REMEDY].proof.quiet_seconds
    assert wanted > 0

    assert made(FIXED).state == "mended"
    assert made(FIXED, ProofSeen(REMEDY, "yard-2", True, wanted - 1)).state == "mended"
    assert made(FIXED, ProofSeen(REMEDY, "yard-2", True, wanted)).state == "proven"
    assert made(FIXED, ProofSeen(REMEDY, "yard-2", False, wanted)).state == "open"


def test_an_intermittent_fault_is_proven_by_a_longer_quiet_spell() -> None:
    """A fault that was quiet for two days before is not proven mended by one."""

    def state(quiet: float) -> str:
        complaint = Complaint(PHANTOM, "yard-2", (), 2 * 86400.0)
        records = (complaint, FIXED, ProofSeen(REMEDY, "yard-2", True, quiet))
        return diagnose(layout(), core(), Inquiry(records)).state

    assert (state(86400.0), state(2 * 86400.0 + 60.0)) == ("mended", "proven")


def test_a_failed_proof_makes_its_cause_unlikely() -> None:
    """A mend whose proof fails counts as one that did not cure: its cause falls, and is never gone."""
    led = (*LED, read("block-leak-ohms", "1.2k"))
    before, failed = made(*led), made(*led, FIXED, ProofSeen(REMEDY, "yard-2", False))
    chance = {r.cause: r.chance for r in failed.ranking}

    assert before.leader is not None
    assert before.leader.cause == LEAK
    assert 0.0 < chance[LEAK] < before.leader.chance
    assert any(e.finding == "mended" for r in failed.ranking for e in r.evidence)


def test_a_part_mend_opens_the_second_fault() -> None:
    """Better but not all: the first cause is confirmed, facts are kept, and what its evidence hid comes forward."""
    led = (*LED, read("block-leak-ohms", "1.2k"))
    partly, not_at_all = made(*led, replace(FIXED, result="partly")), made(*led, replace(FIXED, result="not-fixed"))
    asked = made(*led, replace(FIXED, result="partly"), said("lamp-and-screen", "both-wrong"))

    assert partly.state == "partly"
    assert asked.state == "open"
    assert LEAK in partly.confirmed
    assert partly.observed == not_at_all.observed == made(*led).observed
    assert partly.leader is not None
    assert partly.leader.cause != LEAK
    low = next(r for r in partly.ranking if r.cause == FILTER)
    assert low.chance > next(r for r in not_at_all.ranking if r.cause == FILTER).chance


def test_a_mend_of_an_earlier_complaint_proves_nothing_about_the_next() -> None:
    """When the inquiry moves on, the next fault begins open; saying the same complaint again moves nothing."""
    proof = ProofSeen(REMEDY, "yard-2", True, 1e9)

    assert made(FIXED, proof, Complaint(PHANTOM, "yard-3")).state == "open"
    assert made(FIXED, Complaint(PHANTOM, "yard-2", (), 60.0), proof).state == "proven"


def test_stopgaps_go_with_the_likeliest_causes() -> None:
    """The stopgaps offered are those of the first three causes, in their order."""
    one = made(*LED)
    wanted = [r.cause for r in one.ranking[:3] if r.cause in core().causes and core().causes[r.cause].stopgap]

    assert wanted
    assert [s.cause for s in one.stopgaps] == wanted


def test_a_cause_that_continues_elsewhere_shows_the_chain() -> None:
    """When the likeliest cause is itself a symptom elsewhere, the chain names it and its places; else there is none."""
    cause = replace(core().causes[LEAK], continues_as=("core/coin-does-not-trip", "neighbour-of"))
    book = replace(core(), causes={**core().causes, LEAK: cause})
    inquiry = Inquiry((Complaint(PHANTOM, "yard-2"), *LED, read("block-leak-ohms", "1.2k")))
    one = diagnose(layout(), book, inquiry)

    assert one.chain == (LEAK, "core/coin-does-not-trip", layout().related("neighbour-of", Place("block", "yard-2")))
    assert json.loads(data(one, book))["chain"]["symptom"] == "core/coin-does-not-trip"
    assert diagnose(layout(), book, Inquiry(inquiry.records[:1])).chain is None
    assert diagnose(layout(), core(), inquiry).chain is None


def test_moving_on_along_a_chain_asks_nothing_twice() -> None:
    """After the complaint changes, what was answered for the whole layout is not asked again."""
    moved = made(*ASKED_FIRST, Complaint("core/neighbour-shows-too", "yard-2"))
    step = moved.step

    assert moved.symptom == "core/neighbour-shows-too"
    assert isinstance(step, CheckStep)
    assert step.check.name not in {r.check for r in ASKED_FIRST}
    assert {o.check for o in moved.observed} == {r.check for r in ASKED_FIRST}


def test_what_contradicts_everything_else_is_asked_again_once() -> None:
    """An answer that all others make very unlikely is to be repeated; repeated, it is believed."""
    clear = (read("block-leak-ohms", "OL"), read("standing-current", "48 mA"), said("clears-when-filter-lifted", "yes"))
    odd = said("when-worse", "damp")
    once, again = made(*clear, odd, about="harbour-2"), made(*clear, odd, odd, about="harbour-2")

    assert [o.check for o in once.ask_again] == ["core/when-worse"]
    assert again.ask_again == ()
    assert [(r.cause, r.chance) for r in again.ranking] == [(r.cause, r.chance) for r in once.ranking]
    assert made(*clear, said("when-worse", "no-pattern"), about="harbour-2").ask_again == ()


def test_the_first_answer_is_never_doubted() -> None:
    """With nothing to contradict, nothing is asked again."""
    for outcome in core().checks["core/when-worse"].outcomes:
        assert made(said("when-worse", outcome)).ask_again == ()


def test_past_cases_move_the_ranking() -> None:
    """Closed cases of one cause raise it; an empty tally changes nothing."""
    inquiry = Inquiry((Complaint(PHANTOM, "yard-2"),))
    plain = diagnose(layout(), core(), inquiry)
    counted = diagnose(layout(), core(), inquiry, Tally({PHANTOM: {CHANNEL: 15.0}}))
    chance = {r.cause: r.chance for r in plain.ranking}

    assert diagnose(layout(), core(), inquiry, Tally()).ranking == plain.ranking
    assert next(r.chance for r in counted.ranking if r.cause == CHANNEL) > 3 * chance[CHANNEL]


def test_a_strange_picture_is_lost_or_handed_over_and_never_forced() -> None:
    """When only something else explains the answers, the state says so."""
    records: list[Record] = list(ASKED_FIRST)
    for name in core().spoken_of(PHANTOM):
        check = next((c for c in core().checks_for(name) if not c.unit), None)
        if check and check.name not in {r.check for r in ASKED_FIRST}:
            finding = core().findings[name]
            records.append(Answer(check.name, None, finding.outcomes[finding.sound.index(max(finding.sound))]))
    one = made(*records)

    assert one.leader is not None
    assert one.leader.cause == "something-else"
    assert one.state in ("lost", "hand-over")


# -- the filter on the track side ------------------------------------------------------------------------------


def at_a_detector() -> set[str]:
    """Causes that sit in a detector, its board, its supply or its settings."""
    behind = {"detector-of", "zone-of", "board-of", "supply-of", "settings-of"}
    return {c.name for c in core().causes_of(PHANTOM) if c.relation in behind}


@pytest.mark.parametrize("where", ["club", "home", "none"])
@pytest.mark.parametrize("current", ["15 mA", "22 mA", "30 mA", "48 mA", "70 mA", "95 mA"])
def test_a_filter_on_the_track_side_is_no_dead_detector(where: str, current: str) -> None:
    """Open in ohms and tens of milliamps standing: a detector never leads, nor is work on one advised, at any block."""
    assert CHANNEL in at_a_detector()
    for place in layout(where).places_of("block") or (Place("block", "the block"),):
        one = made(read("block-leak-ohms", "OL"), read("standing-current", current), about=place.name, where=where)
        assert one.leader is not None
        assert one.leader.cause not in at_a_detector()
        assert sum(r.chance for r in one.ranking if r.cause in at_a_detector()) < 0.1
        assert one.repair is None or not set(one.repair.remedy.mends) <= at_a_detector()


@pytest.mark.parametrize("where", ["club", "home", "none"])
def test_a_filter_leads_whatever_one_more_answer_says(where: str) -> None:
    """With a filter's current, one further answer that a filter may well give never puts a detector in front."""
    place = (layout(where).places_of("block") or (Place("block", "the block"),))[0].name
    base = (read("block-leak-ohms", "OL"), read("standing-current", "45 mA"))
    first = made(*base, about=place, where=where)
    assert first.leader is not None
    assert first.leader.cause == FILTER
    for name in core().spoken_of(PHANTOM):
        for check in core().checks_for(name):
            for outcome in () if check.unit else check.outcomes:
                one = made(*base, Answer(check.name, None, outcome), about=place, where=where)
                assert one.leader is not None
                assert one.leader.cause not in at_a_detector(), (check.name, outcome)


@pytest.mark.parametrize("symptom", [PHANTOM, "core/loco-does-not-respond", "core/district-trips-at-power-up"])
def test_what_is_mended_in_vain_is_not_mended_for_ever(symptom: str) -> None:
    """No remedy a third time at one place; when going on costs more than fresh eyes do, the case is handed over."""
    records: list[Record] = [Complaint(symptom, layout().places_of(core().symptoms[symptom].about)[0].name)]
    tried: list[tuple[str, str]] = []
    for _ in range(200):
        made = diagnose(layout(), core(), Inquiry(tuple(records)))
        if isinstance(made.step, CheckStep):
            records.append(PutAside(made.step.check.name, made.step.place.name, "not-sure"))
        elif isinstance(made.step, RemedyStep):
            tried.append((made.step.remedy.name, made.step.place.name))
            records.append(Mend(*tried[-1], "not-fixed"))
        else:
            break

    assert made.state == "hand-over"
    assert len(set(tried)) >= 3
    assert max(tried.count(one) for one in tried) <= 2
    assert made.repair is not None


def test_a_remedy_that_cures_at_the_second_try_is_mended_though_others_failed_between() -> None:
    """First in vain, then another in vain, then the first again and the trouble is gone: its proof is asked for."""
    led = (*LED, read("block-leak-ohms", "1.2k"))
    other = Mend("core/use-another-input", "yard-2 zone", "not-fixed")

    found = made(*led, replace(FIXED, result="not-fixed"), other, FIXED)

    assert found.state == "mended"
    assert made(
        *led, replace(FIXED, result="not-fixed"), other, FIXED, ProofSeen(REMEDY, "yard-2", True, 1e9)
    ).state == ("proven")


def test_a_trouble_that_was_never_quiet_is_proven_gone_without_a_quiet_time() -> None:
    """Ten good throws prove a contact that never reported; hours of silence would prove nothing more."""
    wanted = core().remedies[REMEDY].proof.quiet_seconds
    records = (*LED, read("block-leak-ohms", "1.2k"), FIXED, ProofSeen(REMEDY, "yard-2", True))
    assert wanted > 0.0

    comes_and_goes = diagnose(layout(), core(), Inquiry((Complaint(PHANTOM, "yard-2"), *records)))
    always_there = diagnose(layout(), core(), Inquiry((Complaint(PHANTOM, "yard-2", steady=True), *records)))

    assert comes_and_goes.state == "mended"
    assert always_there.state == "proven"


def test_a_lamp_and_a_clip_come_off_with_nothing_live_the_clip_first() -> None:
    """Before the next reading what was put on last comes off first; power off stands before all of it."""
    entered = ("lamp-in-series", "rails-bridged-behind-the-lamp")
    places = ("ridge-district breaker", "ridge-district")
    states = tuple(SetUpChange(f"core/{name}", at, True) for name, at in zip(entered, places, strict=True))
    inquiry = Inquiry((Complaint("core/low-volts-far-from-the-feed", "ridge-district"), *states))
    found: list[CheckStep] = []
    while not found and isinstance((now := diagnose(layout(), core(), inquiry)).step, CheckStep):
        found = [s for s in steps(now) if {f"core/{name}" for name in entered} <= set(s.prepared.leave)]
        inquiry = inquiry.and_then(PutAside(now.step.check.name, now.step.place.name))

    assert found
    for step in found:
        left = [s for s in step.prepared.leave if s in {f"core/{name}" for name in entered}]
        assert left == ["core/rails-bridged-behind-the-lamp", "core/lamp-in-series"]
        shown = text_of(first_lines(core(), step))
        assert shown.index("power off") < shown.index("clipped across") < shown.index("Take the lamp out")


def test_what_is_asked_once_is_carried_along_when_the_inquiry_moves_on() -> None:
    """From a signal to its turnout: what was done is not asked again, and counts once, for the turnout."""
    records = (
        Complaint("core/signal-stays-at-danger", "sig-11"),
        said("danger-signs", "none", "sig-11"),
        said("what-changed", "wiring", "sig-11"),
        said("block-ahead-told", "really-occupied", "sig-11"),
        Complaint("core/turnout-reports-nothing", "t-311"),
    )
    found = diagnose(layout(), core(), Inquiry(records))

    assert all(step.check.name != "core/what-changed" for step in steps(found))
    spoken = [e for e in found.ranking[0].evidence if e.finding == "core/began-after"]
    assert [e.place for e in spoken] == ["t-311"]
    assert all(e.finding != core().checks["core/block-ahead-told"].finding for r in found.ranking for e in r.evidence)

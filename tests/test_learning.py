"""Learning: closed cases move the authors' numbers as counting says, for all to see, and it can be taken back."""

import os
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta, timezone
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from tests.benchmarks.club_year import Club, by_kind, mean, miscalibrated, year
from tests.running import ran, spawned
from troubleshoot import casebook
from troubleshoot.belief import weights
from troubleshoot.casebook.shelf import SMALL, Shelf
from troubleshoot.diagnosis import CheckStep, Diagnosis, diagnose
from troubleshoot.diagnosis.recalled import dangerous
from troubleshoot.documents import Problems, dump
from troubleshoot.inquiry import Answer, Complaint, Inquiry
from troubleshoot.layout import Layout
from troubleshoot.layout import load as load_layout
from troubleshoot.learning import CAME_BACK, Recall, account, forget, forgotten, learn, recall, remember, tally
from troubleshoot.rulebook import Rulebook, load, row, rules_folder
from troubleshoot.rulebook.tally import (
    RETURNS,
    ROW_CASES,
    SPLIT_STRENGTH,
    STRENGTH,
    Tally,
    moved_row,
    moved_shares,
    returning,
    shares_here,
)

PHANTOM = "core/phantom-occupancy"
LEAK, FILTER, CHANNEL = "core/leak-through-ballast", "core/filter-on-track-side", "core/detector-channel-faulty"
DRY, MOVE = "core/dry-and-clean-ballast", "core/move-the-filter-to-the-bus-at-the-accessory"
BEGAN = datetime(2026, 3, 1, 19, 0, tzinfo=timezone.utc)


@cache
def core() -> Rulebook:
    """The core rules."""
    return load()


@cache
def club() -> Layout:
    """The bundled club layout."""
    return load_layout(rules_folder() / "core" / "layouts" / "club.yaml")


def remedy_of(cause: str) -> str:
    """A remedy that mends this cause of a phantom and no other."""
    alone = [
        r for r in core().remedies_of(cause) if [c for c in r.mends if PHANTOM in core().causes[c].weights] == [cause]
    ]
    return alone[0].name


def made(
    folder: Path, name: str, cause: str = LEAK, about: str = "yard-2", day: float = 0.0, proven: bool = True,
    closed: bool = True, result: str = "fixed", answers: Mapping[str, str] | None = None, proof: str = "passed",
) -> Path:  # fmt: skip
    """A case file about a phantom: complaint, answers, remedy, proof, closing."""
    remedy = remedy_of(cause)
    events: list[dict[str, object]] = [{"symptom": PHANTOM, "about": about}]
    events += [{"answer": c, "at": about, "outcome": o, "how": "seen"} for c, o in (answers or {}).items()]
    events.append({"remedy": remedy, "at": about, "result": result})
    if proven:
        events.append({"proof": remedy, "at": about, "outcome": proof, "quiet": "3 d"})
    if closed:
        events.append({"closed": "proven", "remedy-was": remedy, "causes": list(core().remedies[remedy].mends)})
    when = BEGAN + timedelta(days=day)
    timed = [{"when": (when + timedelta(minutes=i)).isoformat(), **e} for i, e in enumerate(events)]
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{name}.yaml"
    path.write_text(dump({"case": name, "format": 1, "layout": "club", "packs": {"core": "1"}, "events": timed}))
    return path


def learned(folder: Path, but: str = "") -> Tally:
    """What a folder of cases teaches about phantoms on the club layout."""
    with Shelf(folder) as shelf:
        shelf.refresh(whole=True)
        return learn(shelf, core(), club(), [PHANTOM], but, "club")


def asked(counts: Tally | None, *answers: Answer, about: str = "yard-9") -> Diagnosis:
    """The diagnosis of a phantom with a tally."""
    return diagnose(club(), core(), Inquiry((Complaint(PHANTOM, about), *answers)), counts)


# -- the arithmetic ------------------------------------------------------------------------------------------------


def test_weights_move_as_the_mean_of_a_dirichlet() -> None:
    """Prior (2, 1, 1) and counts (0, 3, 0) give .2857 .5714 .1429 (W16), here at five times the size; and as scipy."""
    moved = moved_shares({"a": 2.0, "b": 1.0, "c": 1.0}, {"b": 15.0}, {})

    assert [f"{moved[c]:.4f}" for c in "abc"] == ["0.2857", "0.5714", "0.1429"]
    assert list(moved.values()) == pytest.approx(stats.dirichlet([10.0, 5.0 + 15.0, 5.0]).mean(), abs=1e-12)


@settings(max_examples=60)
@given(
    st.lists(st.tuples(st.floats(0.1, 50), st.floats(0, 80)), min_size=2, max_size=8),
    st.integers(0, 7),
)
def test_a_case_against_a_cause_moves_weights_as_bayes_does(pairs: list[tuple[float, float]], which: int) -> None:
    """One case in which a cause was not it: the exact posterior mean, from scipy's Dirichlet moments."""
    names = [f"c{i}" for i in range(len(pairs))]
    authored = {n: w for n, (w, _) in zip(names, pairs, strict=True)}
    counts = {n: k for n, (_, k) in zip(names, pairs, strict=True)}
    out = names[which % len(names)]
    total = sum(authored.values())
    alpha = [STRENGTH * authored[n] / total + counts[n] for n in names]
    law = stats.dirichlet(alpha)
    means, cov, at = law.mean(), law.cov(), names.index(out)
    joint = [cov[i, at] + means[i] * means[at] for i in range(len(names))]
    exact = [(m - j) / (1.0 - means[at]) for m, j in zip(means, joint, strict=True)]

    moved = moved_shares(authored, counts, {(out,): 1.0})

    assert list(moved.values()) == pytest.approx(exact, abs=1e-9)


@given(
    st.dictionaries(st.sampled_from("abcdef"), st.floats(0.1, 99), min_size=2),
    st.dictionaries(st.sampled_from("abcdef"), st.floats(0, 99)),
    st.dictionaries(st.sampled_from([("a",), ("b",), ("a", "c"), ("d", "e")]), st.floats(0.5, 9)),
    st.floats(0.01, 0.99),
)
def test_shares_always_total_one_and_rise_with_their_cases(
    authored: dict[str, float], counts: dict[str, float], against: dict[tuple[str, ...], float], returns: float
) -> None:
    """Whatever was counted, shares total one; a further case for a cause raises it and lowers no other's rank above."""
    moved = moved_shares(authored, counts, against)
    one = sorted(authored)[0]
    more = moved_shares(authored, {**counts, one: counts.get(one, 0.0) + 1.0}, against)
    here = shares_here(moved, counts, returns)

    assert sum(moved.values()) == pytest.approx(1.0)
    assert sum(here.values()) == pytest.approx(1.0)
    assert min(moved.values()) > 0.0
    assert more[one] > moved[one] - 1e-12


@given(st.lists(st.floats(0.05, 1), min_size=2, max_size=5), st.lists(st.floats(0, 60), min_size=5, max_size=5))
def test_rows_move_as_the_mean_of_a_dirichlet_and_never_to_nothing(rough: list[float], seen: list[float]) -> None:
    """From twenty cases on a row is the posterior mean, as scipy has it; before, it is the authors'; never 0 or 1."""
    stated = tuple(p / sum(rough) for p in rough)
    counts = seen[: len(stated)]

    moved = moved_row(stated, counts)

    if sum(counts) < ROW_CASES:
        assert moved == stated
        return
    exact = stats.dirichlet([STRENGTH * p + n for p, n in zip(stated, counts, strict=True)]).mean()
    assert moved == pytest.approx(exact, abs=0.03)
    assert min(moved) > 0.0
    if min(exact) > 0.03:
        assert moved == pytest.approx(exact, abs=1e-9)


def test_a_row_of_two_moves_as_the_mean_of_a_beta() -> None:
    """Usually (.85) as twenty cases, then seen in 10 of 30: Beta(27, 23), mean .54."""
    moved = moved_row((0.85, 0.15), (10.0, 20.0))

    assert moved[0] == pytest.approx(stats.beta(20 * 0.85 + 10, 20 * 0.15 + 20).mean())
    assert f"{moved[0]:.2f}" == "0.54"


def test_how_often_trouble_returns_is_learned_as_a_beta() -> None:
    """One in three beforehand; after six pairs of which five were the same cause, Beta(6, 3)."""
    assert returning([]) == pytest.approx(1 / 3)
    assert returning([True] * 5 + [False]) == pytest.approx(stats.beta(RETURNS[0] + 5, RETURNS[1] + 1).mean())


def test_one_earlier_case_here_makes_its_cause_as_likely_as_causes_return() -> None:
    """With half of all pairs returning, a cause of one in ten stands at .5 + .05 after one case at this place."""
    here = shares_here({"a": 0.1, "b": 0.9}, {"a": 1.0}, 0.5)

    assert here["a"] == pytest.approx(0.55)


def test_the_places_of_a_cause_share_by_where_it_was_mended() -> None:
    """Two mends at one of four places, against an even split worth five: (1.25 + 2) / 7."""
    split = Tally(spots={LEAK: {"b": 2.0}}).split(LEAK, ["a", "b", "c", "d"])

    assert split == pytest.approx(stats.dirichlet([SPLIT_STRENGTH / 4 + n for n in (0, 2, 0, 0)]).mean())
    assert sum(split) == pytest.approx(1.0)


def test_a_remedy_that_does_not_last_is_counted_on_less() -> None:
    """.95 as twenty cases, three that failed: 19 of 23; and never as sure as certain."""
    assert Tally(held={DRY: (0.0, 3.0)}).works(DRY, 0.95) == pytest.approx(stats.beta(19, 4).mean())
    assert Tally(held={DRY: (500.0, 0.0)}).works(DRY, 0.95) == 0.98


# -- what a case teaches -------------------------------------------------------------------------------------------


def test_proven_counts_one_unproven_a_half_open_nothing(tmp_path: Path) -> None:
    """Who closed without a proof teaches half as much; who has not closed teaches nothing."""
    made(tmp_path, "a")
    made(tmp_path, "b", FILTER, "yard-3", proven=False)
    made(tmp_path, "c", CHANNEL, "yard-4", closed=False)

    found = learned(tmp_path)

    assert found.counts == {PHANTOM: {LEAK: 1.0, FILTER: 0.5}}
    assert found.cases == {PHANTOM: {LEAK: ("a",), FILTER: ("b",)}}
    assert found.here == {PHANTOM: {"yard-2": {LEAK: 1.0}, "yard-3": {FILTER: 0.5}}}
    assert learned(tmp_path, but="a").counts == {PHANTOM: {FILTER: 0.5}}


def test_a_failed_remedy_counts_against_its_causes(tmp_path: Path) -> None:
    """A case closed although its remedy failed, or its proof, lowers the cause and raises the others."""
    made(tmp_path, "a", result="not-fixed", proven=False)
    made(tmp_path, "b", about="yard-3", proof="failed")

    found = learned(tmp_path)
    before, after = weights(core(), PHANTOM, Tally()), weights(core(), PHANTOM, found)

    assert found.against == {PHANTOM: {(LEAK,): 1.0}}
    assert found.counts == {}
    assert after[LEAK] < before[LEAK]
    assert all(after[c] > before[c] for c in before if c != LEAK)


@pytest.mark.parametrize(
    ("second", "closed", "days", "weight", "refuted", "lasted"),
    [
        (LEAK, True, 30, 2.0, False, (1.0, 1.0)),
        (FILTER, True, 30, 0.0, True, (0.0, 1.0)),
        (FILTER, False, 30, 0.5, False, (0.0, 1.0)),
        (FILTER, True, CAME_BACK + 2, 1.0, False, (1.0, 0.0)),
    ],
)
def test_a_cure_that_did_not_hold_counts_against(
    tmp_path: Path, second: str, closed: bool, days: float, weight: float, refuted: bool, lasted: tuple[float, float]
) -> None:
    """The same trouble here again too soon: the remedy failed; another cause next time speaks against the first one."""
    made(tmp_path, "first")
    made(tmp_path, "second", second, day=days, closed=closed)

    found = learned(tmp_path)

    assert found.counts[PHANTOM].get(LEAK, 0.0) == weight if PHANTOM in found.counts else weight == 0.0
    assert bool(found.against) is refuted
    assert found.held[remedy_of(LEAK)] == lasted


def test_what_no_rule_knows_teaches_nothing_and_former_names_are_followed(tmp_path: Path) -> None:
    """A case of a pack that is gone, or with an answer that no check has, is left aside."""
    path = made(tmp_path, "a", answers={"core/when-worse": "odd"})
    other = made(tmp_path, "b")
    other.write_text(other.read_text().replace("core/dry", "gone/dry"))

    assert learned(tmp_path).counts == {}
    path.write_text(path.read_text().replace("outcome: odd", "outcome: damp"))
    assert learned(tmp_path).counts == {PHANTOM: {LEAK: 1.0}}


def test_rows_are_learned_from_twenty_cases_on(tmp_path: Path) -> None:
    """Twenty-five leaks that were never worse when damp: what the rules call usual is usual no longer, here."""
    finding = core().checks["core/when-worse"].finding
    outcomes, stated = core().findings[finding].outcomes, row(core(), finding, core().causes[LEAK], PHANTOM)
    never, damp = outcomes.index("no-pattern"), outcomes.index("damp")
    for number in range(19):
        made(tmp_path, f"c{number}", about=f"b{number}", answers={"core/when-worse": "no-pattern"})
    few = learned(tmp_path)
    for number in range(19, 25):
        made(tmp_path, f"c{number}", about=f"b{number}", answers={"core/when-worse": "no-pattern"})
    many = learned(tmp_path)

    assert few.row(PHANTOM, LEAK, finding, outcomes, stated) == stated
    moved = many.row(PHANTOM, LEAK, finding, outcomes, stated)
    assert moved[never] > stated[never] + 0.3
    assert moved[damp] < stated[damp] - 0.3
    plain = asked(None, Answer("core/when-worse", None, "no-pattern"))
    with_rows = asked(Tally(rows=many.rows), Answer("core/when-worse", None, "no-pattern"))
    chance = [next(r.chance for r in d.ranking if r.cause == LEAK) for d in (plain, with_rows)]
    assert chance[1] > chance[0]


def test_only_the_last_two_hundred_cases_of_a_symptom_teach(tmp_path: Path) -> None:
    """What is local stays bounded, and the newest count."""
    for number in range(210):
        made(tmp_path, f"c{number:03}", FILTER if number < 10 else LEAK, f"b{number}", day=number)

    assert learned(tmp_path).counts == {PHANTOM: {LEAK: 200.0}}


# -- what it does --------------------------------------------------------------------------------------------------


def test_a_ranking_shows_what_was_normal_what_is_here_and_from_which_cases(tmp_path: Path) -> None:
    """`normally 16 of 100, here 31, from ...`: the figures are those of the priors, the names those of the cases."""
    for number in range(4):
        made(tmp_path, f"c{number}", about=f"b{number}")
    found = learned(tmp_path)

    ranked = next(r for r in asked(found).ranking if r.cause == LEAK)

    assert ranked.learned is not None
    assert ranked.learned.normally == weights(core(), PHANTOM, Tally())[LEAK]
    assert ranked.learned.here == weights(core(), PHANTOM, found)[LEAK]
    assert ranked.learned.here > ranked.learned.normally
    assert set(ranked.learned.cases) == {"c0", "c1", "c2", "c3"}
    assert asked(None).ranking[0].learned is None


def test_a_diagnosis_with_a_tally_is_pure(tmp_path: Path) -> None:
    """The same tally gives the same diagnosis to the bit, another one leaves no trace in it, and equals are equal."""
    for number in range(3):
        made(tmp_path, f"c{number}", about="yard-9", day=100.0 * number)
    found, again = learned(tmp_path), learned(tmp_path)
    first = asked(found)
    asked(Tally({PHANTOM: {FILTER: 50.0}}))

    assert found == again
    assert hash(found) == hash(again)
    assert found != Tally()
    assert asked(again) == first
    assert asked(Tally()).ranking == asked(None).ranking


def test_trouble_that_came_here_before_is_believed_first_here_and_not_elsewhere(tmp_path: Path) -> None:
    """One earlier case moves its own place much and the others little."""
    made(tmp_path, "a", FILTER, "yard-2")
    found = learned(tmp_path)

    here, there = (
        next(r.chance for r in asked(found, about=p).ranking if r.cause == FILTER) for p in ("yard-2", "yard-9")
    )

    assert here > 0.3
    assert there < 0.15


def _safe_step(symptom: str, place: str, counts: Tally) -> Iterator[Diagnosis]:
    """Diagnoses until the questions that could end in danger are answered with nothing found."""
    records: list[Complaint | Answer] = [Complaint(symptom, place)]
    for _ in range(6):
        made_ = diagnose(club(), core(), Inquiry(tuple(records)), counts)
        yield made_
        step = made_.step
        if not isinstance(step, CheckStep) or step.check.finding not in dangerous(core()):
            return
        finding = core().findings[step.check.finding]
        records.append(Answer(step.check.name, step.place.name, finding.outcomes[finding.quiet]))


def test_the_check_of_an_earlier_cause_goes_first_where_it_saves_minutes_and_never_before_danger() -> None:
    """Over all symptoms: what is put first confirms an earlier cause and is expected to save minutes; danger stays."""
    first = 0
    for symptom in sorted(core().symptoms)[::3]:
        places = club().places_of(core().symptoms[symptom].about)
        for cause in core().causes_of(symptom)[::5] if places else ():
            place = places[len(cause.name) % len(places)].name
            counts = Tally({symptom: {cause.name: 2.0}}, here={symptom: {place: {cause.name: 2.0}}})
            for made_ in _safe_step(symptom, place, counts):
                asks = core().symptoms[symptom].ask_first
                if made_.recalled is None:
                    continue
                first += 1
                assert made_.recalled.minutes <= made_.recalled.asking - 1.0
                assert made_.recalled.causes == (cause.name,)
                assert made_.kind != "hand-over"
                if isinstance(made_.step, CheckStep) and made_.recalled.check >= 0:
                    proofs = {r.proof.check for r in core().remedies_of(cause.name)}
                    assert made_.step.check.name in {cause.best_check, *proofs}
                open_danger = [a for a in asks if core().checks[a].finding in dangerous(core())]
                answered = {o.check for o in made_.observed}
                assert set(open_danger[:1]) <= answered
    assert first >= 3


# -- what was here before ------------------------------------------------------------------------------------------


def remembered(folder: Path, about: str = "yard-2", days: float = 30.0) -> Recall:
    """What the casebook says of a phantom, so many days after the first case."""
    with Shelf(folder) as shelf:
        shelf.refresh(whole=True)
        now = (BEGAN + timedelta(days=days)).timestamp()
        return recall(shelf, core(), club(), Complaint(PHANTOM, about), "club", now)


def test_the_casebook_says_what_was_here_what_cured_it_and_what_did_not_hold(tmp_path: Path) -> None:
    """Cases here and elsewhere, their cures with how often they came back, the season, and the links."""
    made(tmp_path, "here", day=0.0)
    made(tmp_path, "again", day=20.0)
    made(tmp_path, "there", FILTER, "yard-3", day=10.0)

    found = remembered(tmp_path)

    assert [a.entry.name for a in found.here] == ["again", "here"]
    assert [a.entry.name for a in found.near] == ["there"]
    cure = found.cures[0]
    assert (cure.remedy, cure.spot, cure.times, cure.came_back) == (remedy_of(LEAK), "yard-2", 2, 1)
    assert found.cures[1].remedy == remedy_of(FILTER)
    assert [case for case, _ in found.not_held] == ["again", "here"]
    assert found.not_held[0][1] == pytest.approx(10.0, abs=0.1)
    assert found.season == ("spring", 3, 3)
    assert set(found.see) == {"again", "here", "there"}
    assert remembered(tmp_path, days=20.0 + CAME_BACK + 1).not_held == ()
    assert not remembered(tmp_path / "none")


def test_a_new_case_is_linked_with_the_cases_like_it(shelf: Path) -> None:
    """The first event of a new case names them, the screen and the data say why."""
    made(shelf, "2026-03-01-yard-2")

    done = ran("open", "--layout", "club", "--symptom", "phantom-occupancy", "--about", "yard-2", "--json")
    drawn = ran("open", "--layout", "club", "--symptom", "phantom-occupancy", "--about", "yard-2", "--width", "60")

    first = casebook.read(Path(done.data["case"])).events[0]
    assert first["see"] == ["2026-03-01-yard-2"]
    (here,) = done.data["earlier"]["here"]
    assert here["case"] == "2026-03-01-yard-2"
    assert here["alike"][:2] == ["same place", "same symptom"]
    assert done.data["earlier"]["cures"][0]["times"] == 1
    assert "From the casebook" in drawn.out
    assert max(map(len, drawn.out.splitlines()[:12])) <= 60


def test_the_guided_inquiry_tells_it_right_after_the_complaint(shelf: Path, tmp_path: Path) -> None:
    """Before the first question stands what happened here; without earlier cases nothing of the kind."""
    answers = tmp_path / "answers.yaml"
    answers.write_text("layout: club\nsymptom: phantom-occupancy\nabout: yard-2\nanswers: {}\n")
    bare = ran("start", "--answers", str(answers), "--cases", str(tmp_path / "empty"))
    made(shelf, "2026-03-01-yard-2")

    told = ran("start", "--answers", str(answers))

    assert "From the casebook" not in bare.out
    assert 0 <= told.out.index("From the casebook") < told.out.index("Suspects")


# -- showing, forgetting, remembering ------------------------------------------------------------------------------


def test_everything_learned_is_shown_with_its_cases(shelf: Path) -> None:
    """By symptom: the authors' figure, the figure here, the cases for and against, places, and cures that failed."""
    made(shelf, "a")
    made(shelf, "b", day=10.0)
    made(shelf, "c", FILTER, "yard-3", result="not-fixed", proven=False)

    done, drawn = ran("learned", "--layout", "club", "--json"), ran("learned", "--width", "60")

    (symptom,) = done.data["symptoms"]
    by_cause = {c["cause"]: c for c in symptom["causes"]}
    assert (symptom["symptom"], symptom["cases"]) == (PHANTOM, 3)
    assert sorted(by_cause[LEAK]["cases"]) == ["a", "b"]
    assert by_cause[LEAK]["here"] > by_cause[LEAK]["normally"]
    assert by_cause[FILTER]["against"] == ["c"]
    assert symptom["places"] == [{"place": "yard-2", "cause": LEAK, "cases": 2.0}]
    assert done.data["remedies"][0]["remedy"] == remedy_of(LEAK)
    assert done.data["returns"] == pytest.approx(0.5)
    assert "normally" in drawn.out
    assert max(map(len, drawn.out.splitlines())) <= 60
    assert ran("learned", "phantom-occupancy", "--json").data["symptoms"] == [symptom]
    assert ran("learned", "district-trips-at-power-up", "--json").data["symptoms"] == []


def test_a_case_can_be_forgotten_and_remembered(shelf: Path) -> None:
    """What is forgotten stays in the casebook and teaches no longer; taken back, it teaches again."""
    made(shelf, "a")
    made(shelf, "b", FILTER, "yard-3")
    before = (shelf / "a.yaml").read_bytes()

    done = ran("learned", "--forget", "a", "--json")
    causes = [c["cause"] for c in done.data["symptoms"][0]["causes"]]

    assert causes == [FILTER]
    assert done.data["forgotten"]["cases"] == ["a"]
    assert "To take it back: troubleshoot learned --remember a" in done.err
    assert (shelf / "a.yaml").read_bytes() == before
    assert {c["case"] for c in ran("cases", "--json").data["cases"]} == {"a", "b"}
    assert learned(shelf).counts == {PHANTOM: {FILTER: 1.0}}
    ran("learned", "--remember", "a.yaml")
    assert learned(shelf).counts == {PHANTOM: {LEAK: 1.0, FILTER: 1.0}}


def test_everything_can_be_forgotten_and_single_cases_kept(tmp_path: Path) -> None:
    """All cases closed so far teach no longer, later ones do; one can be kept, all can be taken back."""
    made(tmp_path, "a")
    made(tmp_path, "b", FILTER, "yard-3")
    forget(tmp_path, "all")
    none = learned(tmp_path).counts
    later = (datetime.now(timezone.utc) - BEGAN).total_seconds() / 86400 + 1
    made(tmp_path, "c", CHANNEL, "yard-4", day=later)
    new = learned(tmp_path).counts
    remember(tmp_path, "a")
    kept = learned(tmp_path).counts
    remember(tmp_path, "all")
    every = learned(tmp_path).counts

    assert none == {}
    assert set(new[PHANTOM]) == {CHANNEL}
    assert set(kept[PHANTOM]) == {CHANNEL, LEAK}
    assert set(every[PHANTOM]) == {CHANNEL, LEAK, FILTER}
    assert forgotten(tmp_path).before == 0.0


def test_wrong_names_and_a_broken_file_of_what_is_forgotten_are_told(shelf: Path) -> None:
    """A near miss is named; a file that says nothing sensible is told with its line, and an inquiry still begins."""
    made(shelf, "2026-a")

    assert "did you mean '2026-a'?" in ran("learned", "--forget", "2026-aa").err
    assert ran("learned", "--forget", "2026-a", "--remember", "2026-a").code == 2
    (shelf / ".teaching").write_text("events:\n  - forgets\n")
    with pytest.raises(Problems):
        forgotten(shelf)
    done = ran("open", "--layout", "club", "--symptom", "phantom-occupancy", "--about", "yard-2", "--json")
    assert done.code == 0
    assert ".teaching" in done.err
    assert "nothing is learned" in done.err


def test_the_account_of_rows_names_what_moved(tmp_path: Path) -> None:
    """From twenty cases on the account shows the row by the rules and the row here."""
    for number in range(22):
        made(tmp_path, f"c{number}", about=f"b{number}", answers={"core/when-worse": "no-pattern"})
    with Shelf(tmp_path) as shelf:
        shelf.refresh()
        found = account(shelf, core(), club(), [PHANTOM], "club")

    moved = {r.finding: r for r in found.symptoms[0].rows}[core().checks["core/when-worse"].finding]
    at = moved.outcomes.index("no-pattern")
    assert moved.here[at] > moved.normally[at]
    assert moved.cases == pytest.approx(22.0)


# -- at the start --------------------------------------------------------------------------------------------------

COUNTING = """
import atexit, sys
opened = []
def watch(name, said):
    if name == "open" and "shelved-" in str(said[0]):
        opened.append(str(said[0]))
sys.addaudithook(watch)
atexit.register(lambda: print(len(set(opened)), file=sys.stderr))
"""


def test_beside_a_big_shelf_a_start_reads_the_index_and_not_the_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However many cases there are, a start opens hardly any of their files, and learns from all of them."""
    cache_ = {"XDG_CACHE_HOME": str(tmp_path / "cache")}
    for name, value in cache_.items():
        monkeypatch.setenv(name, value)
    shelf = tmp_path / "cases"
    for number in range(SMALL + 60):
        made(shelf, f"shelved-{number:03}", FILTER, f"yard-{number % 9}", day=float(number))
    for path in shelf.iterdir():
        os.utime(path, (1.0, 1.0))  # what was written just now is looked at again, because it may change again
    with Shelf(shelf) as one:
        one.refresh()
    opening = ("open", "--layout", "club", "--symptom", "phantom-occupancy", "--about", "yard-2", "--json")
    spawned(*opening, "--cases", str(shelf), env=cache_)

    done = spawned(*opening, "--cases", str(shelf), before=COUNTING, env=cache_)

    assert int(done.err.splitlines()[-1]) <= 2, done.err
    learned_ = {r["cause"]: r["learned"] for r in done.data["ranking"] if r["learned"]}
    assert len(learned_[FILTER]["cases"]) == SMALL + 60


def test_what_is_not_read_yet_is_told_at_the_start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A start beside a big shelf without an index does not wait for it, and says how to have it read."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr("troubleshoot.casebook.shelf.GLANCE", -1.0)
    for number in range(SMALL + 5):
        made(tmp_path / "cases", f"c{number}")
    opening = ("open", "--layout", "club", "--symptom", "phantom-occupancy", "--about", "yard-2", "--json")

    done = ran(*opening, "--cases", str(tmp_path / "cases"))

    assert done.code == 0
    assert f"{SMALL + 5} cases in {tmp_path / 'cases'} have not been read yet" in done.err


# -- a year of a club ----------------------------------------------------------------------------------------------


def test_a_club_with_a_casebook_needs_fewer_minutes_and_states_its_chances_as_honestly(tmp_path: Path) -> None:
    """Four dozen simulated faults, a third of which come back, with hidden rates that are not the pack's.

    The full year, with its table, is a benchmark (`bench_year`).
    """
    few = (PHANTOM, "core/turnout-reports-nothing", "core/district-trips-at-power-up")
    place = Club(core(), club(), 5, few)
    faults = place.faults(48)
    kept, bare = year(place, faults, tmp_path), year(place, faults, None)

    assert any(f.again for f in faults)
    assert mean([e.minutes for e in kept]) < mean([e.minutes for e in bare])
    assert by_kind(kept)["come back"] < 0.8 * by_kind(bare)["come back"]
    assert mean([float(e.right) for e in kept]) >= mean([float(e.right) for e in bare])
    assert miscalibrated(kept, 4) <= miscalibrated(bare, 4) + 0.05
    closed = [c for c in casebook.cases_in(tmp_path)[0] if c.closed]
    assert sum(tally(closed, core(), club()).counts.get(PHANTOM, {}).values()) > 0


def test_the_simulated_club_is_the_same_every_time_and_not_the_packs(tmp_path: Path) -> None:
    """The same seed gives the same faults; its causes do not strike as the pack's weights say."""
    one, two = (Club(core(), club(), 5) for _ in range(2))

    assert one.faults(10) == two.faults(10)
    assert Club(core(), club(), 6).faults(10) != one.faults(10)
    rates = [one._cause[c.name] for c in core().causes_of(PHANTOM)]
    authored = [c.weights[PHANTOM] for c in core().causes_of(PHANTOM)]
    assert abs(stats.spearmanr(rates, authored).statistic) < 0.6

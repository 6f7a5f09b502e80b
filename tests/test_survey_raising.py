"""What a survey finds raises its causes in later inquiries: at the very place, by a factor that is said to be one."""

import math
from pathlib import Path

import pytest

from tests.conftest import made
from tests.running import opened, ran
from troubleshoot.belief import field_of
from troubleshoot.layout import Layout, Place
from troubleshoot.rulebook import Rulebook, load, rules_folder
from troubleshoot.rulebook.library import open_packs
from troubleshoot.rulebook.linking import link
from troubleshoot.survey import FACTOR, KINDS, REMARK_FACTOR, account, factor, raising, survey

TRAIN = "name: a\ntrack-volts: 15 V\nstock: {axle-ohms: 10 kohm, resistor-axles: yes}\nblocks: {b-1: {detector: d-1}}\n"


@pytest.fixture(scope="module")
def book() -> Rulebook:
    """The core rules."""
    return load()


def share(book: Rulebook, layout: Layout, symptom: str, about: str, cause: str) -> float:
    """The prior odds of a cause against what no rule describes, whose share the survey never moves."""
    field = field_of(book, layout, f"core/{symptom}", layout.place(about))
    mine = math.fsum(p for s, p in zip(field.suspects, field.prior, strict=True) if s.cause == f"core/{cause}")
    beyond = math.fsum(p for s, p in zip(field.suspects, field.prior, strict=True) if s.beyond)
    return mine / beyond


def test_a_weak_spot_makes_its_causes_three_times_as_likely(book: Rulebook) -> None:
    """One axle that a dull detector cannot see raises both the axle and the threshold, and no other cause."""
    dull = made(TRAIN + "detectors: {d-1: {kind: coil, threshold: 5 mA}}\n")
    sharp = made(TRAIN + "detectors: {d-1: {kind: coil, threshold: 1 mA}}\n")

    def times(cause: str) -> float:
        both = (share(book, layout, "one-train-not-detected", "b-1", cause) for layout in (dull, sharp))
        return next(both) / next(both)

    assert times("axle-resistor-too-high") == pytest.approx(FACTOR)
    assert times("threshold-too-high") == pytest.approx(FACTOR)
    assert times("wheels-or-rail-dirty") == pytest.approx(1.0)


def test_a_remark_counts_less(book: Rulebook, club: Layout) -> None:
    """The long feeder of tunnel-6 is a mere remark and counts half as much again; that of yard-2 counts as it is."""
    remark = share(book, club, "phantom-occupancy", "tunnel-6", "long-feeder-coupling")
    plain = share(book, club, "phantom-occupancy", "yard-2", "long-feeder-coupling")

    assert remark / plain == pytest.approx(REMARK_FACTOR)


def test_only_the_suspect_at_the_place_is_raised(book: Rulebook, club: Layout) -> None:
    """Of the two joints of staging-6's neighbour the narrow one is raised, the wide one is not."""
    field = field_of(book, club, "core/neighbour-shows-too", club.place("staging-5"))
    priors = {
        s.place: p for s, p in zip(field.suspects, field.prior, strict=True) if s.cause == "core/gap-closed-by-heat"
    }

    assert priors["staging-5/staging-6"] / priors["staging-4/staging-5"] == pytest.approx(FACTOR)


def test_a_weak_spot_elsewhere_raises_nothing(book: Rulebook, club: Layout) -> None:
    """The thin feeder of ridge-8 is no reason to suspect the feeder of loop-2."""
    near = raising(club, club.place("loop-2"))

    assert "feeder-lighter-than-trip" not in {s.kind for s in near.spots}
    assert "feeder-lighter-than-trip" in {s.kind for s in raising(club, club.place("ridge-8")).spots}


def test_a_spot_at_a_detector_reaches_its_settings_and_no_others(club: Layout) -> None:
    """A suspect's place counts if it belongs to what the survey names."""
    near = raising(club, club.place("yard-2"))

    assert near.found(("axle-unseen",), "settings-of", Place("settings", "det-west settings"))
    assert not near.found(("axle-unseen",), "settings-of", Place("settings", "det-east settings"))
    assert not near.found((), "settings-of", Place("settings", "det-west settings"))


def test_the_gravest_spot_counts_once(club: Layout) -> None:
    """Several spots do not multiply: the gravest decides."""
    spots = survey(club)

    assert factor(()) == 1.0
    assert factor(spots) == FACTOR
    assert factor(s for s in spots if s.severity == "remark") == REMARK_FACTOR


def test_the_ranking_names_what_the_survey_found(shelf: Path) -> None:
    """A ranking says for each raised cause what the survey finds and what that counts; JSON holds it too."""
    case = opened(shelf, symptom="one-train-not-detected", about="yard-2")

    drawn, data = ran("ranking", case), ran("ranking", case, "--json")

    flat = " ".join(drawn.out.split())
    assert "the survey finds: One axle of 10 kohm draws 1.5 mA; to be sure of it det-west wants 4.5 mA" in flat
    assert "That makes it 3 times as likely here (an estimate)" in flat
    ranking = data.data["ranking"]
    raised = {r["cause"]: r["survey"] for r in ranking if r["survey"]}
    assert raised["core/threshold-too-high"][0]["kind"] == "axle-unseen"
    assert raised["core/threshold-too-high"][0]["at"] == "det-west"


def test_an_account_of_a_spot_says_that_it_is_an_estimate(club: Layout) -> None:
    """Every weak spot can be told in a ranking."""
    for spot in survey(club):
        text = account(spot)
        assert text.startswith("the survey finds: ")
        assert "(an estimate)" in text


def test_every_kind_that_can_show_a_symptom_raises_a_cause(book: Rulebook) -> None:
    """Core causes speak of nearly all kinds; the few that have no cause yet are known."""
    spoken = {kind for c in book.causes.values() for kind in c.weak_spots}

    assert set(KINDS) - spoken == {"no-breaker", "track-volts-high"}
    assert spoken <= set(KINDS)


def pack(folder: Path, kinds: str) -> Path:
    """A pack of one cause that names weak spots."""
    folder.mkdir()
    (folder / "pack.yaml").write_text(
        "pack: mine\nversion: 1.0.0\nformat: 1\nsays: Mine\nowner: me\nlicence: CC0\nneeds: {core: 1.0.0}\n"
    )
    (folder / "causes.yaml").write_text(
        "causes:\n  my-cause:\n    says: A cause of mine\n    sits-at: own-block\n"
        f"    weak-spots: {kinds}\n    explains: {{phantom-occupancy: 3}}\n"
        "    shows: {}\n    best-check: block-leak-ohms\n    sources: [estimate]\n"
    )
    return folder


def test_an_unknown_kind_in_a_pack_is_refused_with_the_nearest(tmp_path: Path) -> None:
    """A slip of the pen in weak-spots is told with file, line and the kind that is meant."""
    folder = pack(tmp_path / "mine", "[axle-unsen, axle-unseen]")

    done = ran("rules", "check", str(folder), "--no-examples")

    assert done.code == 4
    told = f"{folder}/causes.yaml:2: my-cause: weak spot 'axle-unsen' is not known; did you mean 'axle-unseen'?"
    assert told in done.out
    assert "'axle-unseen' is not known" not in done.out


def test_a_club_pack_may_name_weak_spots_too(tmp_path: Path) -> None:
    """A cause of another pack carries its kinds, read afresh and from its compiled form."""
    folder = pack(tmp_path / "mine", "[axle-unseen]")

    for _ in range(2):
        rulebook = link(open_packs([folder], rules_folder() / "core"))
        assert rulebook.causes["mine/my-cause"].weak_spots == ("axle-unseen",)

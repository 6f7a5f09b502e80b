"""A typed figure is judged by the circuit of the layout where the circuit knows it, and the screens say so."""

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from tests.running import ROOT, ran
from troubleshoot.diagnosis import CheckStep, Diagnosis, by_circuit, diagnose, spoken_by, worth_measuring
from troubleshoot.inquiry import Answer, Complaint, Inquiry, Record
from troubleshoot.layout import load as load_layout
from troubleshoot.quantities import read_reading
from troubleshoot.rulebook import load, rules_folder

BOOK = load()
CLUB = load_layout(rules_folder() / "core" / "layouts" / "club.yaml")
PHANTOM, LONG = "core/phantom-occupancy", "core/long-feeder-shows-occupied"


def reading(check: str, text: str, place: str) -> Answer:
    """A figure typed for a core check at a place."""
    entry = BOOK.checks[f"core/{check}"]
    return Answer(entry.name, place, None, read_reading(text, str(entry.unit)), "typed")


def made(*records: Record, symptom: str = PHANTOM, about: str = "yard-2") -> Diagnosis:
    """The diagnosis of an inquiry on the club layout."""
    return diagnose(CLUB, BOOK, Inquiry((Complaint(symptom, about), *records)))


def chance(found: Diagnosis, cause: str) -> float:
    """The chance of a core cause."""
    return next((r.chance for r in found.ranking if r.cause == f"core/{cause}"), 0.0)


def test_a_figure_too_high_to_be_seen_by_the_detector_speaks_against_a_leak() -> None:
    """Between cores 120 kohm pass an eighth of a milliamp: a detector of 3 mA cannot see it, 2.6 kohm it can."""
    far = made(reading("feeder-pair-ohms", "120k", "tunnel-6 feeder"), symptom=LONG, about="tunnel-6")
    near = made(reading("feeder-pair-ohms", "2.6k", "tunnel-6 feeder"), symptom=LONG, about="tunnel-6")

    assert chance(near, "feeder-insulation-damaged") > 2.0 * chance(far, "feeder-insulation-damaged")


def test_a_figure_in_the_same_band_but_elsewhere_counts_otherwise() -> None:
    """Two readings in one band are not the same evidence: rails that touch read next to nothing, filings some ohms."""
    hard, soft = made(reading("joint-ohms", "0.2", "yard-1/yard-2")), made(reading("joint-ohms", "20", "yard-1/yard-2"))

    assert chance(hard, "gap-closed-by-heat") > 2.0 * chance(soft, "gap-closed-by-heat")
    assert chance(soft, "gap-bridged-by-metal") > 0.5 * chance(hard, "gap-bridged-by-metal")


def test_the_evidence_of_a_figure_moves_smoothly_with_it() -> None:
    """A hundredth more or less never turns a ranking over."""
    figures = [reading("block-leak-ohms", f"{ohms}", "yard-2") for ohms in range(2800, 3000, 20)]
    chances = [chance(made(figure), "leak-through-ballast") for figure in figures]

    assert max(chances) - min(chances) < 0.03


def test_an_answer_by_word_is_judged_by_words_alone() -> None:
    """Where no figure was typed the circuit has nothing to say, and the same outcome counts as the rules have it."""
    word = made(Answer("core/block-leak-ohms", "yard-2", "below-limit", None, "seen"))
    figure = made(reading("block-leak-ohms", "2.9k", "yard-2"))

    assert chance(word, "leak-through-ballast") != chance(figure, "leak-through-ballast")


def test_the_step_says_what_the_circuit_makes_the_meter_read() -> None:
    """Healthy stands first; a leading suspect that would read otherwise follows, at its place."""
    lines = by_circuit(CLUB, BOOK, asking(made(), "block-leak-ohms"))

    assert lines[0].who == "healthy"
    assert all(line.low <= line.high for line in lines)
    assert any(line.who != "healthy" for line in lines)


def test_the_missing_figure_that_matters_most_is_named() -> None:
    """The club's record lacks the capacitance of its feeders, on which the standing current of a block hangs."""
    worth = worth_measuring(CLUB, asking(made(), "standing-current"))

    assert worth is not None
    assert "capacitance" in worth[0]
    assert worth[1] > 1.05


def asking(found: Diagnosis, check: str) -> Diagnosis:
    """The diagnosis as if a core check of yard-2 were its step."""
    any_ = next(s for s in (found.step, *found.others) if isinstance(s, CheckStep))
    return replace(found, step=replace(any_, check=BOOK.checks[f"core/{check}"], place=CLUB.place("yard-2")))


def test_a_case_says_which_of_the_two_judged_a_figure(shelf: Path) -> None:
    """With a typed reading the case records whether the circuit or plain formulas spoke."""
    case = ran("open", "--layout", "club", "--symptom", "phantom-occupancy", "--about", "yard-2", "--json").data["case"]
    file = next(shelf.glob("*.yaml"))
    assert ran("answer", str(file), "block-leak-ohms", "2.9k", "--at", "yard-2").code in (0, 3)

    assert "by: circuit" in file.read_text(encoding="utf-8")
    assert case


def test_without_the_numeric_libraries_words_and_formulas_do() -> None:
    """A machine without them reaches a diagnosis of the same figure, by the bands alone, and says so."""
    code = (
        "import importlib.abc, sys\n"
        "class Absent(importlib.abc.MetaPathFinder):\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        "        if name.split('.')[0] in ('numpy', 'scipy'):\n"
        "            raise ModuleNotFoundError(name)\n"
        "sys.meta_path.insert(0, Absent())\n"
        "from tests import test_computed_readings as t\n"
        "found = t.made(t.reading('block-leak-ohms', '2.9k', 'yard-2'))\n"
        "print(found.ranking[0].cause, t.spoken_by(t.BOOK.checks['core/block-leak-ohms']))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)

    assert done.stdout.split() == ["core/leak-through-ballast", "formulas"]
    assert spoken_by(BOOK.checks["core/block-leak-ohms"]) == "circuit"


def test_the_meter_command_answers_what_if() -> None:
    """Healthy, with a leak of two kilohms, and from which figures; the same as data."""
    asked = (
        "layout",
        "meter",
        "block-rails",
        "yard-2",
        "--layout",
        "club",
        "--while",
        "block-wire-lifted",
        "--if",
        "leak:2k",
    )
    told, data = ran(*asked), ran(*asked, "--json").data

    assert told.code == 0
    assert "healthy     447 kohm" in told.out
    assert data["if"]["least"] == pytest.approx(2000.0, rel=0.02)
    assert any(f["assumed"] for f in data["figures"])


def test_the_meter_command_says_which_breaker_acts_first() -> None:
    """A solid short switches its district off before any meter is read."""
    told = ran("layout", "meter", "block-rails", "yard-2", "--layout", "club", "--with", "volts", "--if", "short:0.2")

    assert "yard-district switches off" in told.out
    assert "next to nothing" in told.out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("blok-rails", "yard-2"), "did you mean 'block-rails'"),
        (("block-rails", "yard-22"), "did you mean"),
        (("block-rails", "yard-2", "--if", "leek:2k"), "did you mean 'leak'"),
        (("block-rails", "yard-2", "--if", "leak:much"), "much"),
        (("block-rails", "yard-2", "--if", "leak:-3"), "below zero"),
        (("block-rails", "yard-2", "--if", "leak:0"), "above 0"),
        (("block-rails", "yard-2", "--while", "wire-lifted"), "is no state"),
    ],
)
def test_the_meter_command_refuses_in_words(arguments: tuple[str, ...], words: str) -> None:
    """A slip of the pen is named, with what was probably meant."""
    told = ran("layout", "meter", *arguments, "--layout", "club")

    assert told.code in (2, 4)
    assert words in told.err
    assert "Traceback" not in told.err


def test_the_meter_command_says_where_a_spot_cannot_be() -> None:
    """A home with one booster has no second one to measure to."""
    told = ran("layout", "meter", "two-boosters", "front-1", "--layout", "home", "--with", "volts")

    assert told.code == 3
    assert "no such spot" in told.err

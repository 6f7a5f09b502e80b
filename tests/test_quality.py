"""The rules are tried out, and the trial itself can be trusted. Figures are simulations, never measurements."""

import io
import json
import random
from pathlib import Path

import pytest
from click.testing import CliRunner

from troubleshoot import screen
from troubleshoot.cli import group
from troubleshoot.documents import Problem
from troubleshoot.quality import Tried, judge, play, try_deductions, try_examples, world
from troubleshoot.quality.running import Task, run
from troubleshoot.rulebook import Cause, Rulebook, load, row
from troubleshoot.rulebook.matrix import faults, pairs, separation
from troubleshoot.screen.quality import quality_table

SYMPTOM = "core/phantom-occupancy"


@pytest.fixture(scope="module")
def core() -> Rulebook:
    """The core rules."""
    return load()


def test_the_core_pack_has_no_hole(core: Rulebook) -> None:
    """Every cell is decided or declared open, every pair is 6 dB apart, every cause has what it must have."""
    assert [str(p) for p in faults(core)] == []


@pytest.fixture(scope="module")
def tried(core: Rulebook) -> list[Tried | Problem]:
    """Every example of the core pack, tried once for all tests here."""
    return list(try_examples(core))


def test_every_example_of_the_core_pack_comes_out(tried: list[Tried | Problem]) -> None:
    """Each cause is found by its examples, and stays back where it must."""
    wrong = [str(t) for t in tried if isinstance(t, Problem) or not t.right]

    assert wrong == []


def test_the_table_in_the_documents_is_what_the_command_prints(core: Rulebook, tried: list[Tried | Problem]) -> None:
    """`troubleshoot rules quality rules/core` is kept in the benchmarks; when it differs, print it there again."""
    drawn = io.StringIO()
    screen.console(drawn, width=100).print(quality_table(judge(core, "core", tried)))
    kept = Path(__file__).parent.joinpath("benchmarks", "trial.md").read_text(encoding="utf-8")

    lines = [line.rstrip() for line in drawn.getvalue().splitlines()]
    assert "\n".join(lines) in "\n".join(line.rstrip() for line in kept.splitlines())


def test_the_core_pack_is_weak_nowhere_that_is_looked_at(core: Rulebook, tried: list[Tried | Problem]) -> None:
    """No cause without an example, no idle check, no close pair, none hidden, no caution missing, plain language."""
    assert [f"{w.kind}: {w.name} {w.where}: {w.says}" for w in judge(core, "core", tried).found] == []


def test_no_deduction_of_the_core_pack_is_an_ornament(core: Rulebook) -> None:
    """Each deduction fires in its example, and taking it out changes what a person is told."""
    assert [str(p) for p in try_deductions(core)] == []


def test_the_world_of_the_pack_is_the_pack(core: Rulebook) -> None:
    """Without noise the true rows are the rows that the tool reasons with."""
    true = world(core, SYMPTOM, noisy=False, seed=1)
    cause = core.causes_of(SYMPTOM)[0]

    assert all(true.rows[cause.name][f] == row(core, f, cause, SYMPTOM) for f in core.spoken_of(SYMPTOM))


def test_the_moved_world_is_moved_and_still_a_world(core: Rulebook) -> None:
    """With noise most rows differ from the pack's, and each still totals one."""
    true = world(core, SYMPTOM, noisy=True, seed=1)
    cause = core.causes_of(SYMPTOM)[0]
    rows = true.rows[cause.name]
    moved = [
        f for f in rows if max(abs(a - b) for a, b in zip(rows[f], row(core, f, cause, SYMPTOM), strict=True)) > 0.01
    ]

    assert len(moved) > len(rows) / 2
    assert all(abs(sum(r) - 1.0) < 1e-9 for r in rows.values())


def test_a_trial_is_the_same_for_the_same_seed_on_any_number_of_processes() -> None:
    """One process and two give the same figures to the last digit."""
    tasks = [Task(s, (), True, 6, 3, 0.05, None, True) for s in (SYMPTOM, "core/wrong-turnout-throws")]

    alone = run(tasks, 1, lambda _: None)
    together = run(tasks, 2, lambda _: None)

    assert alone == together
    assert alone != run([Task(t.symptom, (), True, 6, 4, 0.05, None, True) for t in tasks], 1, lambda _: None)


def test_answers_without_error_find_a_fault_of_the_packs_own_world(core: Rulebook) -> None:
    """In the world of the pack, answered truly, the tool mends what is wrong."""
    true = world(core, SYMPTOM, noisy=False, seed=1)
    dice = random.Random(11)
    ends = [play(core, true, "core/leak-through-ballast", 0.0, dice) for _ in range(8)]

    assert sum(e.found for e in ends) == 8
    assert sum(e.three for e in ends) >= 7


def test_the_trial_command_prints_and_tells_json() -> None:
    """The command for rule writers gives a table for people and the same figures for scripts."""
    runner = CliRunner()
    arguments = ["rules", "trial", "phantom-occupancy", "--cases", "4", "--processes", "1"]

    drawn = runner.invoke(group, arguments, standalone_mode=False)
    told = runner.invoke(group, [*arguments, "--json"], standalone_mode=False)

    assert "phantom occupancy" in drawn.output
    assert "Simulated" in drawn.output
    assert json.loads(told.stdout)[0]["played"]["cases"] == 4


def _silent(cause: Cause) -> Cause:
    """A cause with its words taken away."""
    fields = {name: getattr(cause, name) for name in cause.__slots__}
    return Cause(**{**fields, "shows": {}, "under": {}, "as_sound": frozenset()})


def test_separation_falls_when_words_are_taken_away(core: Rulebook) -> None:
    """The measure of separation is no constant: without words for a pair it is nought."""
    worst = next(iter(pairs(core, SYMPTOM)))
    blank, other = (_silent(cause) for cause in worst[1:3])

    assert separation(core, SYMPTOM, blank, other)[0] == 0.0
    assert worst[0] > 6.0

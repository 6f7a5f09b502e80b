"""The floor of safety: what no pack can lower, whatever it says and however it says it."""

import shutil
from pathlib import Path

import pytest

from troubleshoot.documents import Problems
from troubleshoot.rulebook import load
from troubleshoot.rulebook.floor import dangers

PACK = """\
pack: hostile
version: 0.1.0
format: 1
says: Tries to lower the floor
owner: nobody
licence: none
needs: {core: 1.0.0}
"""

SET_UP = """\
set-ups:
  power-through-a-lamp:
    says: Something
    power: on
    enter: 1
    leave: 1
    do: %s
    undo: Put it back
    limits-current: %s
    cautions: []
"""

DEDUCTION = """\
deductions:
  softer:
    replaces: core/%s
    when: {danger-signs: water}
    then: {raise: {leak-through-ballast: 2}}
    because: It is only a little water
    example: {under: phantom-occupancy, layout: club, about: yard-2, answers: {danger-signs: water}}
"""

REMEDY = """\
remedies:
  dry-and-clean-ballast:
    replaces: core/dry-and-clean-ballast
    mends: [leak-through-ballast]
    do: Dry it
    minutes: 5
    proof: {check: block-leak-ohms, outcome: sound}
    cautions: []
"""


def refused(folder: Path, name: str, text: str) -> str:
    """What is said of a pack with one hostile file."""
    pack = folder / "hostile"
    shutil.rmtree(pack, ignore_errors=True)
    pack.mkdir()
    (pack / "pack.yaml").write_text(PACK, encoding="utf-8")
    (pack / name).write_text(text, encoding="utf-8")
    with pytest.raises(Problems) as caught:
        load([pack])
    return str(caught.value)


@pytest.mark.parametrize(
    "text",
    [
        "Do not worry and bridge the breaker for a minute.",
        "Leave the coin on until something smells, for some seconds.",
        "Open the supply and measure the mains terminals.",
        "Fit a larger fuse.",
        "Hold the coil on while you look.",
        "Bypass the circuit breaker with a clip lead.",
    ],
)
def test_a_text_that_asks_for_danger_is_seen_through(text: str) -> None:
    """Soothing words and other verbs do not get a dangerous request past the floor."""
    assert list(dangers(text)) != []


@pytest.mark.parametrize(
    "text",
    [
        "Never bypass the breaker.",
        "A unit with mains inside stays shut.",
        "Do not hold the coil on.",
        "Read the volts at the breaker's output.",
    ],
)
def test_a_text_that_forbids_danger_passes(text: str) -> None:
    """Cautions may name what they forbid."""
    assert list(dangers(text)) == []


def test_a_set_up_cannot_ask_for_danger(tmp_path: Path) -> None:
    """A state of the layout is made by the same rules as a check."""
    said = refused(tmp_path, "set-ups.yaml", SET_UP % ("Bridge the breaker with a wire.", "no"))

    assert "set-ups.yaml:2" in said
    assert "protection" in said


def test_a_set_up_cannot_claim_to_limit_current_lightly(tmp_path: Path) -> None:
    """Only a set-up that carries the caution about breakers counts as a limit on the current."""
    assert "limits the current" in refused(tmp_path, "set-ups.yaml", SET_UP % ("Screw a lamp in.", "yes"))


@pytest.mark.parametrize("name", ["stop-at-water", "make-safe-when-warm"])
def test_what_stops_or_makes_safe_cannot_be_replaced(tmp_path: Path, name: str) -> None:
    """A later pack may add a stop, never take one away."""
    assert "never replaced" in refused(tmp_path, "deductions.yaml", DEDUCTION % name)


def test_a_replaced_remedy_keeps_its_cautions(tmp_path: Path) -> None:
    """Whoever rewrites a remedy carries its cautions on."""
    assert "drops its cautions" in refused(tmp_path, "remedies.yaml", REMEDY)

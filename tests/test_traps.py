"""What experienced electricians know to go wrong in a search: each such trap is prevented, warned of, detected or told.

*prevents* means a set-up or a caution that comes before the step; *warns* that the check or the remedy says so where it
matters; *asks* that a check finds it out; *tells* that a remark says so when the answer comes. Every line of the table
is looked up in the rules themselves.
"""

import re
from dataclasses import dataclass
from functools import lru_cache

import pytest

from troubleshoot.diagnosis import CheckStep, diagnose
from troubleshoot.inquiry import Answer, Complaint, Inquiry, Mend, ProofSeen, SetUpChange
from troubleshoot.layout import EMPTY
from troubleshoot.quality.language import texts
from troubleshoot.rulebook import Rulebook, load


@dataclass(frozen=True)
class Trap:
    """A trap in plain words, how the rules deal with it, in which text of which entry, and what stands there."""

    trap: str
    how: str
    entry: str
    field: str
    says: str


TRAPS = (
    # Occupancy and track power
    Trap("Ohms with locos and boards still joined", "prevents", "ohms-only-unpowered", "do", "clear vehicles, lamps"),
    Trap(
        "A forgotten resistor car reads like damp", "tells", "block-leak-ohms", "remark below-limit", "resistor axles"
    ),
    Trap("One square wave, three figures on three meters", "prevents", "one-meter-compares", "do", "same meter"),
    Trap("Ghost volts on a rail that floats", "warns", "where-the-volts-stop", "usual-mistake", "ghost volts.*lamp"),
    Trap("Full volts as long as nothing draws", "warns", "volts-lost-under-a-load", "usual-mistake", "without a load"),
    Trap("A filter behind the detector", "warns", "move-the-filter-to-the-bus", "do", "[Nn]othing.*can be tuned away"),
    Trap("Resistors on every axle eat the power", "warns", "fit-resistor-axles", "do", "tenth of the breaker's trip"),
    Trap("Wheels over a joint hold both blocks", "asks", "vehicle-bridges-joint", "says", "which is normal"),
    Trap("Boosters with one supply and a common rail", "warns", "gap-the-common-rail", "do", "each on its own supply"),
    Trap("Gaps that are not opposite each other", "asks", "gap-offset", "asks", "opposite each other"),
    Trap("Board lamp right, screen wrong: no wiring fault", "asks", "lamp-and-screen", "choice only-screen", "lamp is"),
    Trap("Wire and label changed over together", "warns", "swapped-inputs", "usual-mistake", "label.*both swapped"),
    Trap("A coil sees no direct current", "warns", "known-load-test", "usual-mistake", "sees no direct current"),
    Trap(
        "A duller detector hides the damp", "warns", "sensitivity-turned-down", "usual-mistake", "last car next winter"
    ),
    Trap("A coin at the feed", "warns", "where-the-coin-fails", "usual-mistake", "proves the feed only"),
    Trap(
        "A new breaker outruns an old frog unit",
        "warns",
        "frog-unit-against-breaker",
        "usual-mistake",
        "faster breaker",
    ),
    Trap("Every restart charges all capacitors again", "asks", "retries-clash", "says", "never finish charging"),
    Trap("A turnout that joins two blocks", "asks", "route-joins-blocks", "says", "power-routing.*joins the two"),
    Trap("Gaps also shut in dry winter air", "asks", "gap-closed-by-dry-wood", "says", "shrunk the wooden base"),
    Trap("Graphite and paint conduct later", "asks", "paint-or-graphite-bridge", "says", "graphite"),
    Trap("A wheelset lost in the tunnel", "warns", "what-lies-on-the-block", "usual-mistake", "lost in the tunnel"),
    Trap("Nearly no volts, and yet out of phase", "warns", "gap-volts", "how", "diagonal"),
    Trap("Piercing connectors of the wrong size", "warns", "make-the-terminal-anew", "do", "piercing connectors"),
    Trap("Tinned strands under a screw", "warns", "make-the-terminal-anew", "do", "[Nn]ever tin strands"),
    Trap("A short that goes as the leaf is opened", "asks", "trips-in-common", "choice something-moved", "drop leaf"),
    Trap("Leads that slip off", "prevents", "one-meter-compares", "do", "surprising reading three times"),
    Trap(
        "A lamp left in series hides the fault", "prevents", "lamp-gets-hot", "do", "Take it out when the search ends"
    ),
    Trap("Peaks that one meter counts and another not", "warns", "standing-current", "usual-mistake", "five times"),
    Trap("The pause for return data looks like a fault", "warns", "rail-spikes", "usual-mistake", "no fault"),
    Trap("A dead district reads clear", "asks", "no-power-reads-clear", "says", "no power.*read clear"),
    Trap("Seasons need a record, not a visit", "asks", "ohms-dry-against-damp", "how", "air humidity"),
    Trap("Wet ballast is a battery", "warns", "how-the-ohms-behave", "how", "weak battery"),
    # Turnouts, signals, control bus, stock
    Trap(
        "A symbol that only repeats the command", "asks", "symbol-moves-with-motor-unplugged", "how", "repeats the com"
    ),
    Trap("A decoder that learnt a new number", "warns", "decoder-address-read-back", "usual-mistake", "learn mode"),
    Trap("Off by four", "asks", "which-number-moves-the-turnout", "how", r"T\+4, T-4"),
    Trap("One way only is no number", "tells", "which-commands-fail", "remark one-way", "wire, an end contact, half"),
    Trap("Stiff blades burn the next coil too", "warns", "replace-the-motor-and-find-out-why", "do", "what cooked it"),
    Trap("A short in mid-throw is timing", "asks", "frog-contact-mistimed", "says", "too early or too late"),
    Trap("Vehicle or place", "asks", "vehicles-off-and-back", "how", "at another place too"),
    Trap("All signals red have one thing in common", "asks", "what-holds-the-signal", "choice stopped", "general stop"),
    Trap("A dead green waits until it is needed", "warns", "exchange-the-colour-leads", "do", "Force all aspects"),
    Trap("A throttle with a battery on a dead bus", "warns", "which-throttles-are-dead", "usual-mistake", "dead bus"),
    Trap("Earth by way of the computer", "asks", "fine-on-battery", "asks", "from its battery"),
    Trap(
        "A short under a turnout nobody can throw",
        "warns",
        "feed-decoders-apart-from-track",
        "do",
        "supply of their own",
    ),
    Trap("Two districts, one parked coach", "warns", "mid-district-coin", "usual-mistake", "coach over the boundary"),
    Trap("Everything in reach is programmed", "asks", "how-many-on-the-programming-track", "asks", "touch it"),
    Trap("Four taken off setting 29 unseen", "warns", "analogue-setting-read", "usual-mistake", "without looking"),
    Trap("Touched and well is not mended", "warns", "reacts-to-touch", "usual-mistake", "only re-seated"),
    Trap("What was done lately, anywhere", "asks", "what-changed", "how", "whole layout"),
    Trap(
        "A good contact on the motor, and no drawbar", "tells", "feedback-contact-ohms", "remark good", "not the blades"
    ),
    Trap("Coils beside feedback wires", "asks", "when-it-goes-wrong", "choice with-trains", "neighbour's coil fires"),
    Trap("Stock parked over a programming gap", "asks", "vehicle-across-the-gaps", "how", "joins the two"),
    Trap("Control bus tied to the track bus", "asks", "bus-cable-moved-away", "how", "Cut the ties"),
    Trap(
        "First press nothing, second press works", "asks", "button-out-of-step", "says", "another side than the blades"
    ),
    Trap("The commonest ghost is a wagon", "asks", "block-ahead-told", "how", "tunnel included"),
    Trap("A head that is dark by design", "asks", "approach-lit-head", "says", "dark by design"),
)


@lru_cache(maxsize=1)
def core() -> Rulebook:
    """The core rules."""
    return load()


@lru_cache(maxsize=1)
def said() -> dict[tuple[str, str], str]:
    """Every text of the core rules by entry and field."""
    return {(t.entry, t.field): " ".join(t.says.split()) for t in texts(core(), "core")}


@pytest.mark.parametrize("trap", TRAPS, ids=lambda t: t.trap)
def test_a_trap_is_dealt_with_where_it_matters(trap: Trap) -> None:
    """The text that deals with a trap exists and says it."""
    found = said().get((f"core/{trap.entry}", trap.field), "")

    assert re.search(trap.says, found), f"{trap.trap}: {trap.entry}, {trap.field}: {found!r}"


@pytest.mark.parametrize("trap", [t for t in TRAPS if t.how != "prevents"], ids=lambda t: t.trap)
def test_whoever_is_in_a_trap_can_meet_its_text(trap: Trap) -> None:
    """The entry is in use: its check tells causes apart, its cause explains a symptom, its remedy mends a cause."""
    rulebook, name = core(), f"core/{trap.entry}"
    asked = {f for s in rulebook.symptoms for f in rulebook.spoken_of(s)}
    check, cause, remedy = rulebook.checks.get(name), rulebook.causes.get(name), rulebook.remedies.get(name)

    assert any(
        (
            check is not None and check.finding in asked,
            cause is not None and bool(cause.weights),
            remedy is not None and any(c in rulebook.causes for c in remedy.mends),
        )
    )


def test_ohms_come_after_the_stock_is_off_and_the_feed_is_lifted() -> None:
    """The state in which ohms mean something is part of the check; nobody has to remember it."""
    needed = {s.split("/")[1] for s in core().checks["core/block-leak-ohms"].set_up}

    assert {"power-off", "stock-off"} <= needed
    assert any("lifted" in s for s in needed)


def test_a_meter_that_averages_is_warned_of_before_it_misleads() -> None:
    """With a meter whose kind is not known, the caution to compare only goes with a reading of track power."""
    made = diagnose(EMPTY, core(), Inquiry((Complaint("core/low-volts-far-from-the-feed"),)))

    assert "core/one-meter-compares" in made.deduced.cautions


def test_what_was_put_in_stays_on_the_screen_until_it_is_out() -> None:
    """A lamp put in series is listed as still undone, and no longer once it is taken out."""
    said_ = (Complaint("core/trips-at-random"), SetUpChange("core/lamp-in-series", "main"))
    inside = diagnose(EMPTY, core(), Inquiry(said_))
    after = diagnose(EMPTY, core(), Inquiry((*said_, SetUpChange("core/lamp-in-series", "main", entered=False))))

    assert [s.set_up for s in inside.in_force] == ["core/lamp-in-series"]
    assert not after.in_force


def test_half_a_cure_is_no_cure() -> None:
    """A mend that helps in part does not close a case: a second fault is looked for, with everything known kept."""
    told = (Complaint("core/phantom-occupancy"), Answer("core/when-worse", None, "damp"))
    mend = Mend("core/dry-and-clean-ballast", "block", "partly")
    partly = diagnose(EMPTY, core(), Inquiry((*told, mend)))

    assert partly.state == "partly"
    assert "core/leak-through-ballast" in partly.confirmed
    assert [o.check for o in partly.observed] == ["core/when-worse"]


def test_a_mend_counts_only_by_the_original_symptom() -> None:
    """After a mend the proof is asked for; a proof that fails puts the suspect back in play."""
    told = (Complaint("core/phantom-occupancy"), Mend("core/dry-and-clean-ballast", "block", "fixed"))
    mended = diagnose(EMPTY, core(), Inquiry(told))
    failed = diagnose(EMPTY, core(), Inquiry((*told, ProofSeen("core/dry-and-clean-ballast", "block", passed=False))))

    assert (mended.state, failed.state) == ("mended", "open")
    assert core().remedies["core/dry-and-clean-ballast"].proof.also
    assert any(r.cause == "core/leak-through-ballast" for r in failed.ranking)


def test_what_changed_lately_is_asked_first_wherever_it_can_tell() -> None:
    """The question what was done since the last good run stands among the first where it can tell."""
    first = [s for s in core().symptoms.values() if "core/what-changed" in s.ask_first]
    made = diagnose(EMPTY, core(), Inquiry((Complaint("core/phantom-occupancy"),)))

    assert len(first) > len(core().symptoms) / 3
    assert isinstance(made.step, CheckStep)
    assert made.step.check.name in core().symptoms["core/phantom-occupancy"].ask_first

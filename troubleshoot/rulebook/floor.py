"""The floor of safety that no pack can lower: refusals in code.

The tool never asks anyone to open, probe or defeat anything on the mains side, to bypass or up-rate a breaker
or fuse, to hold a coil energised, or to hunt a short without a limit on the current. Packs carry cautions on
top of this; they cannot replace or soften what is refused here. Judging words is crude on purpose: a sentence
that forbids the dangerous thing passes, any other sentence that names it does not.
"""

import re
from collections.abc import Iterable, Iterator, Mapping

from troubleshoot.rulebook.kinds import Check, Remedy, SetUp

_FORBIDS = re.compile(
    r"\b(never|don't|no|without|cannot|must not|instead of|avoid|nobody|nor|stays? shut|refuse\w*|is not|are not|"
    r"not (?!worry|hesitate|mind|be afraid)\w+)\b",
    re.I,
)
_MAINS = r"(mains|wall socket|wall outlet|house wiring|building wiring|fuse box|consumer unit|line voltage|primary)"
_DANGERS: tuple[tuple[str, re.Pattern[str]], ...] = (
    (
        "asks somebody to work on the mains side",
        re.compile(rf"\b(open|probe|measure|touch|unscrew|test|meter)\w*\b[^.;]*\b{_MAINS}\b", re.I),
    ),
    (
        "asks somebody to work on the mains side",
        re.compile(rf"\b{_MAINS}\b[^.;]*\b(volts|terminals|open|probe|measure)", re.I),
    ),
    (
        "asks somebody to open a supply",
        re.compile(r"\b(open|unscrew)\b[^.;]*\b(supply|transformer|power pack|adapter)('s)?\b(?! lead)", re.I),
    ),
    (
        "asks somebody to defeat a protection",
        re.compile(
            r"\b(bypass|bridge|defeat|wire round|wire around|short out|up-?rate|jump)\w*\b[^.;]*"
            r"\b(breaker|fuse|cut-?out|circuit protection)",
            re.I,
        ),
    ),
    (
        "asks somebody to fit a larger fuse or breaker",
        re.compile(r"\b(larger|bigger|higher[- ]rated|stronger)\b[^.;]*\b(fuse|breaker)\b", re.I),
    ),
    (
        "asks somebody to hold a coil energised",
        re.compile(r"\b(hold|keep)\w*\b[^.;]*\bcoil\w*\b[^.;]*\b(on|energi[sz]ed|powered|live)\b", re.I),
    ),
    (
        "asks somebody to hold a short on",
        re.compile(r"\b(hold|keep|leave)\w*\b[^.;]*\b(coin|short)\b[^.;]*\b(until|longer|minutes?|seconds)\b", re.I),
    ),
)
_WANTED: Mapping[str, tuple[str, ...]] = {
    "ohm": ("ohms-only-unpowered",),
    "A": ("meter-left-on-amps",),
    "mA": ("meter-left-on-amps",),
    "mA AC": ("meter-left-on-amps",),
    "coin": ("coin-one-second", "heat-under-the-trip"),
    "live behind a limit": ("lamp-gets-hot", "never-defeat-breaker"),
    "live": ("live-low-volts-one-hand",),
}


def dangers(text: str) -> Iterator[str]:
    """What a text asks for that must never be asked, one line a danger."""
    for sentence in re.split(r"(?<=[.;:!?])\s+", text.replace("\n", " ")):
        for what, pattern in _DANGERS:
            if pattern.search(sentence) and not _FORBIDS.search(sentence):
                yield f"{what} ({sentence.strip()[:80]!r}); the tool never does, whatever a pack says"


def _wanted(check: Check, set_ups: Mapping[str, SetUp]) -> Iterator[str]:
    states = [set_ups[s] for s in check.set_up if s in set_ups]
    yield from _WANTED.get(check.unit or "", ())
    yield from _WANTED.get(check.tool, ()) if check.tool == "coin" else ()
    if any(s.limits_current and s.power == "on" for s in states):
        yield from _WANTED["live behind a limit"]
    probing = check.unit is not None and check.tool not in ("none", "monitor", "stopwatch", "hygrometer")
    if probing and any(s.power == "on" for s in states):
        yield from _WANTED["live"]


def live_unlimited(check: Check, set_ups: Mapping[str, SetUp]) -> bool:
    """Whether a check lets the full current of a booster or a supply flow: refused once something is to be made safe.

    A check that is worthless with the power or the accessory supply off needs it on.
    """
    states = [set_ups[s] for s in check.set_up if s in set_ups]
    needs = [set_ups[s] for s in check.clean_of if s in set_ups]
    live = any(s.power == "on" for s in states) or check.tool == "coin"
    live = live or any("off" in (s.power, s.supply) for s in needs)
    return live and not any(s.limits_current for s in states)


def check_refusals(check: Check, set_ups: Mapping[str, SetUp], cautions: Iterable[str]) -> Iterator[str]:
    """Why a check may not be used at all, one sentence a reason."""
    carried = {c.rsplit("/", 1)[-1] for c in cautions}
    powers = {set_ups[s].power for s in check.set_up if s in set_ups}
    if check.unit in ("ohm", "nF", "pF/m") and ("off" not in powers or "on" in powers):
        yield f"measures in {check.unit} without a set-up that has the power off"
    if {"on", "off"} <= powers:
        yield "needs power on and off at once"
    for text in (check.asks, check.how, check.drawing, *check.remarks.values(), *check.labels.values()):
        yield from dangers(text)
    for wanted in sorted(set(_wanted(check, set_ups)) - carried):
        yield f"lacks the caution {wanted!r}, which goes with what it touches"


def remedy_refusals(remedy: Remedy) -> Iterator[str]:
    """Why a remedy may not be used at all, one sentence a reason."""
    yield from dangers(remedy.do)
    yield from dangers(remedy.proof.also)
    carried = {c.rsplit("/", 1)[-1] for c in remedy.cautions}
    if re.search(r"\bsolder(?!ed)\w*", remedy.do, re.I) and "soldering" not in carried:
        yield "solders without the caution 'soldering'"
    if (
        re.search(r"\b(alcohol|solvent|spirit|cleaner|thinner)\b", remedy.do, re.I)
        and "solvents-power-off" not in carried
    ):
        yield "uses a solvent without the caution 'solvents-power-off'"


def set_up_refusals(set_up: SetUp) -> Iterator[str]:
    """Why a set-up may not be used at all, one sentence a reason."""
    yield from dangers(set_up.do)
    yield from dangers(set_up.undo)
    carried = {c.rsplit("/", 1)[-1] for c in set_up.cautions}
    if set_up.limits_current and "never-defeat-breaker" not in carried:
        yield "says that it limits the current without the caution 'never-defeat-breaker'"

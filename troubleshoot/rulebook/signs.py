"""What a log of events can show: the closed list of kinds of findings that packs may speak of under `log-signs`.

Here are names only, because packs are read before any log is. How each is found is left to `eventlog`; which symptom
it speaks for, and which checks it answers, is said by the packs.
"""

from collections.abc import Mapping
from typing import Any

from troubleshoot.rulebook.kinds import Check, LogSign
from troubleshoot.rulebook.packs import Pack
from troubleshoot.rulebook.resolving import Linker

SIGNS: Mapping[str, str] = {
    "chatter": "a block drops out under trains more than the others do",
    "joint": "two neighbouring blocks flicker at the same moment",
    "together": "two blocks that are no neighbours flicker at the same moment",
    "throw": "a block flickers as a turnout is thrown",
    "board": "several blocks of one detector board change at the same moment",
    "shared": "several blocks that share a supply, plug, district or booster change at the same moment",
    "at-once": "several blocks change at the same moment, and nothing is known that they share",
    "missed": "trains pass through a block that stays clear",
    "phantom": "a block shows occupied where no train can have come from",
    "trip-on-entry": "power trips as a train enters a block",
    "trip-on-throw": "power trips as a turnout is thrown",
    "trips-together": "power trips at two places at once",
    "pulse-on-trip": "a block flickers as power trips elsewhere",
    "never-confirmed": "a turnout that is commanded never reports",
    "unconfirmed": "some throws of a turnout are not confirmed, either way",
    "one-way": "one direction of a turnout is confirmed, the other is not",
    "late": "a turnout is confirmed later than it should be",
    "bursts": "a turnout reports several times at one throw",
    "uncommanded": "a turnout reports a change that nobody commanded",
    "warms-up": "it grows with the time since the layout was switched on",
    "wears-off": "it fades with the time since the layout was switched on",
    "hour": "it comes at a certain time of day",
}
"""Each kind of finding in words."""


def log_sign_of(link: Linker, full: str, checks: Mapping[str, Check], pack: Pack, entry: Mapping[str, Any]) -> LogSign:
    """One sign from its entry, which is called as the kind of finding is; what does not fit is noted."""
    kind = full.split("/", 1)[1]
    link.known(kind, SIGNS, entry, "kind of finding in a log")
    answers = {link.ref("checks", c, pack, entry, "answers "): str(o) for c, o in entry.get("answers", {}).items()}
    for check, outcome in answers.items():
        if check in checks:
            link.known(outcome, checks[check].outcomes, entry, f"{kind}: {check}: outcome")
    return LogSign(
        name=full,
        kind=kind,
        symptoms=link.refs("symptoms", entry["speaks-for"], pack, entry, "speaks-for "),
        answers=answers,
        file=str(entry["@file"]),
        line=int(entry["@line"]),
    )

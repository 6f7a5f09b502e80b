"""A first layout record from a dozen answers, good enough to begin with and to be filled in later.

Blocks, districts, turnouts and so on are numbered and shared out evenly; the person renames and corrects
them in the file. What is not answered is left out and stays assumed. Asking the questions is left to
others.
"""

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

FIRST_QUESTIONS: tuple[tuple[str, str, str, str], ...] = (
    ("name", "What is the layout called?", "My layout", "text"),
    ("scale", "Which scale?", "HO", "one of Z, N, TT, HO, OO, S, O, large"),
    ("track-volts", "How many track volts does the booster give, as its label or settings say?", "15 V", "V"),
    ("meter", "What kind of multimeter is there?", "average", "one of none, average, true-rms, unknown"),
    ("bandwidth", "Up to which frequency is the meter good on AC volts, as its sheet says?", "1 kHz", "Hz"),
    ("highest-ohms", "What is the highest ohms range of the meter?", "20 Mohm", "ohm"),
    ("lamp", "Is there a 12 V car lamp of about 20 W with two leads to limit current?", "no", "yes-no"),
    ("clamp-meter", "Is there a clamp meter for small currents?", "no", "yes-no"),
    ("second-person", "Can a second person help now and then?", "yes", "yes-no"),
    ("boosters", "How many boosters are there?", "1", "count"),
    ("booster-limit", "At how many amps does a booster limit its current?", "5 A", "A"),
    ("districts", "Into how many power districts is the track divided, each with its breaker?", "1", "count"),
    ("trip", "At how many amps does a district's breaker trip? (none if there is no breaker)", "4 A", "A"),
    ("blocks", "How many blocks are there?", "8", "count"),
    (
        "detector-kind",
        "What kind of occupancy detectors are fitted?",
        "coil",
        "one of none, coil, diode-drop, optical, contact, unknown",
    ),
    ("threshold", "At how many milliamps does a detector say occupied?", "2 mA", "A"),
    ("zones", "How many blocks can one detector board watch?", "8", "count"),
    ("turnouts", "How many turnouts have a motor?", "4", "count"),
    ("motor", "What kind of turnout motor is usual?", "stall", "one of stall, coil, servo, hand, unknown"),
    (
        "feedback",
        "Do turnouts report where they lie?",
        "none",
        "one of none, contact, optical, computed, unknown",
    ),
)
"""Key, question, default, and kind of answer: text, yes-no, count, an SI unit, or `one of` a list."""

_MOST = {"boosters": 20, "districts": 60, "blocks": 400, "zones": 64, "turnouts": 400}


def record_from(answers: Mapping[str, Any]) -> dict[str, Any]:
    """A first record, as data for a record file, from answers under the keys of FIRST_QUESTIONS.

    What is not answered is left out. Raises ValueError on a count that is no whole number in range.
    """
    given = {k: str(v).strip() for k, v in answers.items() if v is not None and str(v).strip()}
    record: dict[str, Any] = {"name": given.get("name", "My layout")}
    record.update({k: given[k] for k in ("scale", "track-volts") if k in given})
    kit = ("meter", "bandwidth", "highest-ohms", "lamp", "clamp-meter", "second-person")
    if any(k in given for k in kit):
        record["kit"] = {k: given[k] for k in kit if k in given}
    districts = _power(record, given)
    blocks = _track(record, given, districts)
    _turnouts(record, given, blocks)
    return record


def _count(given: Mapping[str, str], key: str) -> int:
    said = given.get(key, "0")
    if not said.isdecimal() or int(said) > _MOST[key]:
        raise ValueError(f"{key}: {said!r} is no whole number from 0 to {_MOST[key]}")
    return int(said)


def _names(stem: str, count: int) -> list[str]:
    return [f"{stem}-{n}" for n in range(1, count + 1)]


def _share(names: list[str], index: int, count: int) -> str:
    """Which of the names the index-th of `count` things belongs to, in even runs."""
    return names[index * len(names) // count]


def _power(record: dict[str, Any], given: Mapping[str, str]) -> list[str]:
    boosters = _names("booster", _count(given, "boosters"))
    districts = _names("district", _count(given, "districts") or (1 if boosters else 0))
    if boosters:
        record["boosters"] = {
            n: {"limit": given["booster-limit"]} if "booster-limit" in given else {} for n in boosters
        }
    if districts:
        breaker = (
            {} if "trip" not in given else {"breaker": "none"} if given["trip"] == "none" else {"trip": given["trip"]}
        )
        fed = [{"booster": _share(boosters, i, len(districts))} if boosters else {} for i in range(len(districts))]
        record["districts"] = {n: {**f, **breaker} for n, f in zip(districts, fed, strict=True)}
    return districts


def _track(record: dict[str, Any], given: Mapping[str, str], districts: list[str]) -> list[str]:
    blocks = _names("block", _count(given, "blocks"))
    kind, zones = given.get("detector-kind", "none"), _count(given, "zones") or 8
    detectors = [] if kind == "none" else _names("detector", -(-len(blocks) // zones))
    if detectors:
        board = {
            "kind": kind,
            **({"threshold": given["threshold"]} if "threshold" in given else {}),
            "zones": zones,
        }
        record["detectors"] = {name: dict(board) for name in detectors}
    table: dict[str, Any] = {}
    for index, name in enumerate(blocks):
        entry: dict[str, Any] = {"district": _share(districts, index, len(blocks))} if districts else {}
        if detectors:
            entry.update(detector=detectors[index // zones], zone=index % zones + 1)
        table[name] = entry
    if blocks:
        record["blocks"] = table
        record["joints"] = {f"{a}/{b}": {} for a, b in pairwise(blocks)}
    return blocks


def _turnouts(record: dict[str, Any], given: Mapping[str, str], blocks: list[str]) -> None:
    turnouts = _names("turnout", _count(given, "turnouts"))
    if not turnouts:
        return
    record["decoders"] = {f"decoder-{n}": {"address": n} for n in range(1, -(-len(turnouts) // 4) + 1)}
    kinds = {k: given[k] for k in ("motor", "feedback") if k in given}
    record["turnouts"] = {
        name: {
            "number": index + 1,
            "decoder": f"decoder-{index // 4 + 1}",
            **kinds,
            **({"block": _share(blocks, index, len(turnouts))} if blocks else {}),
        }
        for index, name in enumerate(turnouts)
    }

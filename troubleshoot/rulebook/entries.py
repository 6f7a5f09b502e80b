"""From checked plain data to the records of a rulebook, one maker a kind; what does not fit is noted, not raised."""

import re
from collections.abc import Mapping
from typing import Any

from troubleshoot.electrics import QUANTITIES
from troubleshoot.layout import FACTS, RELATIONS, TRAITS
from troubleshoot.quantities import Unreadable, read_reading
from troubleshoot.rulebook.kinds import (
    Band,
    Cause,
    Caution,
    Check,
    Deduction,
    Finding,
    Proof,
    Remedy,
    SetUp,
    Stopgap,
    Symptom,
)
from troubleshoot.rulebook.network import fault_of, measures_of
from troubleshoot.rulebook.packs import Pack
from troubleshoot.rulebook.resolving import Linker
from troubleshoot.rulebook.rows import default_elsewhere, default_sound, share
from troubleshoot.survey import KINDS

UNITS = (
    "ohm", "V", "V AC", "V DC", "mA", "mA AC", "A", "mm", "s", "ms", "min", "nF", "pF/m", "C", "%", "count", "N",
)  # fmt: skip
_BAND = re.compile(r"up to (?:(?P<factor>\d+(?:\.\d+)?) x (?P<quantity>[a-z0-9-]+)|(?P<plain>[<0-9].*))")
_PERIOD = re.compile(r"(\d+(?:\.\d+)?) ?(s|min|h|d)")
_PERIODS = {"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0}


def _bands(link: Linker, entry: Mapping[str, Any], name: str) -> tuple[Band, ...]:
    bands = []
    said = dict(entry.get("bands") or {})
    for position, (outcome, text) in enumerate(said.items()):
        last = position == len(said) - 1
        if str(text) == "above":
            if not last:
                link.say(entry, f"{name}: band {outcome!r} says 'above' but is not the last")
            bands.append(Band(outcome))
            continue
        match = _BAND.fullmatch(str(text))
        if not match or last:
            link.say(
                entry,
                f"{name}: band {outcome!r}: {text!r} is no limit; write 'up to NUMBER x QUANTITY', 'up to 20 mA', "
                "and 'above' for the last",
            )
        elif match["quantity"]:
            link.known(match["quantity"], QUANTITIES, entry, f"{name}: quantity")
            bands.append(Band(outcome, float(match["factor"]), match["quantity"]))
        else:
            try:
                plain = read_reading(match["plain"], str(entry.get("unit"))).value
                bands.append(Band(outcome, plain=plain))
            except Unreadable as error:
                link.say(entry, f"{name}: band {outcome!r}: {error}")
    return tuple(bands)


def check_of(link: Linker, full: str, pack: Pack, entry: Mapping[str, Any]) -> Check:
    """One check from its entry; what does not fit is noted."""
    name = full.split("/", 1)[1]
    reading = entry.get("unit") is not None
    if reading:
        link.known(str(entry["unit"]), UNITS, entry, f"{name}: unit")
        if not entry.get("bands") or entry.get("choices"):
            link.say(entry, f"{name}: a reading has a unit and bands, and no choices")
        labels = {o: o.replace("-", " ") for o in entry.get("bands") or {"?": "?"}}
    else:
        if entry.get("bands"):
            link.say(entry, f"{name}: has bands but no unit")
        labels = dict(entry.get("choices") or {"yes": "Yes", "no": "No"})
    if entry.get("looks-at"):
        link.say(entry, f"{name}: looks-at is not for packs; there is no check of the mains side")
    link.known(str(entry.get("at", "itself")), RELATIONS, entry, f"{name}: relation")
    reports = str(entry.get("reports") or name)
    finding = reports if "/" in reports else f"{pack.name}/{reports}"
    for outcome in (*entry.get("remarks", {}), *([entry["over-range"]] if entry.get("over-range") else ())):
        link.known(outcome, labels, entry, f"{name}: outcome")
    return Check(
        name=full,
        asks=str(entry["asks"]),
        finding=finding,
        relation=str(entry.get("at", "itself")),
        labels=labels,
        unit=entry.get("unit"),
        bands=_bands(link, entry, name) if reading else (),
        over_range=entry.get("over-range") or (list(labels)[-1] if reading else None),
        set_up=link.refs("set-ups", entry.get("set-up", ()), pack, entry, f"{name}: set-up "),
        clean_of=link.refs("set-ups", entry.get("clean-of", ()), pack, entry, f"{name}: clean-of "),
        asked_once=entry.get("asked") == "once",
        tool=str(entry.get("tool", "none")),
        minutes=float(entry["minutes"]),
        keeps_waiting=str(entry.get("keeps-waiting", "nothing")),
        how=str(entry.get("how", "")).strip(),
        drawing=str(entry.get("drawing", "")).rstrip(),
        usual_mistake=str(entry.get("usual-mistake", "")).strip(),
        compare=entry.get("compare"),
        remarks=dict(entry.get("remarks", {})),
        cautions=link.refs("cautions", entry.get("cautions", ()), pack, entry, f"{name}: caution "),
        file=str(entry["@file"]),
        line=int(entry["@line"]),
        measures=measures_of(link, entry.get("measures"), entry, name),
        lifts_in_turn=entry.get("lifts") == "in-turn",
    )


def _finding(link: Linker, check: Check, entry: Mapping[str, Any]) -> Finding:
    outcomes = check.outcomes
    quiet_name = entry.get("quiet") or ("no" if set(outcomes) == {"yes", "no"} else None)
    name = check.finding.split("/", 1)[1]
    if quiet_name not in outcomes:
        link.say(
            entry,
            f"{name}: says no `quiet` outcome, the one that tells nothing; it has {', '.join(outcomes)}",
        )
        quiet_name = outcomes[-1]
    quiet = outcomes.index(quiet_name)
    plain = Finding(check.finding, outcomes, quiet, (), (), check.relation)
    rows = []
    for key, default in (
        ("sound", default_sound(outcomes, quiet)),
        ("elsewhere", default_elsewhere(outcomes, quiet, check.unit is not None)),
    ):
        stated = link.words(entry.get(key) or {}, plain, entry)
        like = default if key == "elsewhere" else default_elsewhere(outcomes, quiet, True)
        rows.append(share(outcomes, stated, like) if stated else default)
    return Finding(check.finding, outcomes, quiet, rows[0], rows[1], check.relation)


def findings_of(link: Linker, checks: Mapping[str, Check]) -> None:
    """One finding for each name reported; checks that report the same one must agree on its outcomes."""
    first: dict[str, Check] = {}
    for full, check in checks.items():
        entry = link.names["checks"][full][1]
        before = first.get(check.finding)
        if before is None or (entry.get("elsewhere") and not link.names["checks"][before.name][1].get("elsewhere")):
            first[check.finding] = check
            link.findings[check.finding] = _finding(link, check, entry)
        if before is not None and set(before.outcomes) != set(check.outcomes):
            link.say(
                entry,
                f"reports {check.finding.split('/')[1]!r} with other outcomes than {before.name!r} does",
            )


def _cells(
    link: Linker, shows: Mapping[str, Any], pack: Pack, entry: Mapping[str, Any]
) -> dict[str, Mapping[str, str]]:
    cells: dict[str, Mapping[str, str]] = {}
    for said, word in shows.items():
        full = link.ref("findings", said, pack, entry, "shows ")
        finding = link.findings.get(full)
        if finding is None:
            continue
        if isinstance(word, str) and "yes" not in finding.outcomes:
            known = ", ".join(finding.outcomes)
            link.say(entry, f"shows {said!r}: a bare word is for yes/no findings; it has {known}")
            continue
        stated = {"yes": word} if isinstance(word, str) else word
        cells[full] = link.words(stated, finding, entry)
    return cells


def _reads(link: Linker, said: Mapping[str, str], pack: Pack, entry: Mapping[str, Any]) -> dict[str, tuple[float, str]]:
    """The figures that physics computes for a finding under this cause: factor x quantity."""
    reads = {}
    for finding, text in said.items():
        factor, quantity = text.split(" x ")
        link.known(quantity, QUANTITIES, entry, f"reads {finding}: quantity")
        reads[link.ref("findings", finding, pack, entry, "reads ")] = (float(factor), quantity)
    return reads


def _stopgap(said: Any) -> Stopgap | None:
    if said is None:
        return None
    return Stopgap(said, 2.0) if isinstance(said, str) else Stopgap(said["do"], float(said.get("minutes", 2)))


def cause_of(link: Linker, full: str, pack: Pack, entry: Mapping[str, Any]) -> Cause:
    """One cause from its entry; what does not fit is noted."""
    name = full.split("/", 1)[1]
    link.known(str(entry["sits-at"]), RELATIONS, entry, f"{name}: relation")
    for need in entry.get("needs", ()):
        link.known(need, TRAITS, entry, f"{name}: need")
    for kind in entry.get("weak-spots", ()):
        link.known(kind, KINDS, entry, f"{name}: weak spot")
    chain = entry.get("continues-as")
    if chain:
        link.known(str(chain["at"]), RELATIONS, entry, f"{name}: relation")
    under = {
        link.ref("symptoms", s, pack, entry, "under "): _cells(link, shows, pack, entry)
        for s, shows in entry.get("under", {}).items()
    }
    return Cause(
        name=full,
        says=str(entry["says"]),
        relation=str(entry["sits-at"]),
        weights={link.ref("symptoms", s, pack, entry, "explains "): float(w) for s, w in entry["explains"].items()},
        needs=tuple(entry.get("needs", ())),
        shows=_cells(link, entry["shows"], pack, entry),
        as_sound=frozenset(link.refs("findings", entry.get("as-sound", ()), pack, entry, "as-sound ")),
        undecided=frozenset(link.refs("findings", entry.get("as-elsewhere", ()), pack, entry, "as-elsewhere ")),
        under=under,
        reads=_reads(link, entry.get("reads", {}), pack, entry),
        best_check=link.ref("checks", entry["best-check"], pack, entry, "best-check "),
        look_alikes=link.refs("causes", entry.get("look-alikes", ()), pack, entry, "look-alike "),
        stopgap=_stopgap(entry.get("stopgap")),
        continues_as=(link.ref("symptoms", chain["symptom"], pack, entry), str(chain["at"])) if chain else None,
        inseparable={link.ref("causes", c, pack, entry): str(t) for c, t in entry.get("inseparable-from", {}).items()},
        bolder=dict(entry.get("bolder", {})),
        sources=tuple(entry["sources"]),
        examples=tuple(entry.get("examples", ())),
        file=str(entry["@file"]),
        line=int(entry["@line"]),
        fault=fault_of(link, entry.get("fault"), entry),
        weak_spots=tuple(entry.get("weak-spots", ())),
    )


def _period(link: Linker, said: str | None, entry: Mapping[str, Any]) -> float:
    match = _PERIOD.fullmatch(str(said or "0 s").strip())
    if not match:
        link.say(entry, f"quiet-for {said!r} is no period; write such as '30 min', '1 h' or '1 d'")
        return 0.0
    return float(match[1]) * _PERIODS[match[2]]


def remedy_of(link: Linker, full: str, pack: Pack, entry: Mapping[str, Any]) -> Remedy:
    """One remedy from its entry; what does not fit is noted."""
    proof = entry["proof"]
    check = link.ref("checks", proof["check"], pack, entry, "proof ")
    return Remedy(
        name=full,
        mends=link.refs("causes", entry["mends"], pack, entry, "mends "),
        do=str(entry["do"]).strip(),
        minutes=float(entry["minutes"]),
        works=float(entry.get("works", 0.95)),
        price=str(entry.get("price", "nothing")),
        proof=Proof(
            check,
            str(proof["outcome"]),
            _period(link, proof.get("quiet-for"), entry),
            str(proof.get("and", "")),
        ),
        set_up=link.refs("set-ups", entry.get("set-up", ()), pack, entry, "set-up "),
        cautions=link.refs("cautions", entry.get("cautions", ()), pack, entry, "caution "),
        file=str(entry["@file"]),
        line=int(entry["@line"]),
    )


def caution_of(full: str, entry: Mapping[str, Any]) -> Caution:
    """One caution from its entry; what does not fit is noted."""
    place = str(entry["@file"]), int(entry["@line"])
    return Caution(full, str(entry["hazard"]).strip(), str(entry["do"]).strip(), dict(entry.get("applies", {})), *place)


def set_up_of(link: Linker, full: str, pack: Pack, entry: Mapping[str, Any]) -> SetUp:
    """One set-up from its entry; what does not fit is noted."""
    link.known(str(entry.get("at", "itself")), RELATIONS, entry, "relation")
    return SetUp(
        name=full,
        says=str(entry["says"]),
        power=entry.get("power"),
        supply=entry.get("supply"),
        relation=str(entry.get("at", "itself")),
        enter=float(entry["enter"]),
        leave=float(entry["leave"]),
        do=str(entry["do"]).strip(),
        undo=str(entry["undo"]).strip(),
        stops=str(entry.get("stops", "nothing")),
        limits_current=entry.get("limits-current") == "yes",
        disturbs_live=entry.get("disturbs-live") == "yes",
        bridges=entry.get("bridges") == "yes",
        cautions=link.refs("cautions", entry.get("cautions", ()), pack, entry, "caution "),
        file=str(entry["@file"]),
        line=int(entry["@line"]),
    )


def _facts(link: Linker, said: Mapping[str, Any], pack: Pack, entry: Mapping[str, Any]) -> dict[str, tuple[str, ...]]:
    facts: dict[str, tuple[str, ...]] = {}
    for name, value in said.items():
        values = tuple(str(v) for v in (value if isinstance(value, list) else [value]))
        if name == "symptom":
            facts[name] = tuple(link.ref("symptoms", v, pack, entry, "symptom ") for v in values)
        elif name in FACTS or name in TRAITS or name.startswith("concluded-"):
            facts[name] = values
        else:
            full = link.ref("findings", name, pack, entry, "fact ")
            for value_ in values:
                if full in link.findings:
                    link.known(value_, link.findings[full].outcomes, entry, f"{name}: outcome")
            facts[full] = values
    return facts


def deduction_of(link: Linker, full: str, pack: Pack, entry: Mapping[str, Any]) -> Deduction:
    """One deduction from its entry; what does not fit is noted."""
    then = dict(entry["then"])
    for key, section in (("rule-out", "causes"), ("veto", "checks"), ("caution", "cautions")):
        if key in then:
            then[key] = list(link.refs(section, then[key], pack, entry, f"{key} "))
    if "raise" in then:
        then["raise"] = {link.ref("causes", c, pack, entry, "raise "): float(f) for c, f in then["raise"].items()}
    return Deduction(
        name=full,
        when=_facts(link, entry["when"], pack, entry),
        unless=_facts(link, entry.get("unless", {}), pack, entry),
        then=then,
        because=str(entry["because"]).strip(),
        example=dict(entry["example"]),
        file=str(entry["@file"]),
        line=int(entry["@line"]),
    )


def symptom_of(link: Linker, full: str, pack: Pack, entry: Mapping[str, Any]) -> Symptom:
    """One symptom from its entry; what does not fit is noted."""
    return Symptom(
        name=full,
        says=str(entry["says"]),
        also_said=tuple(entry["also-said"]),
        about=str(entry["about"]),
        family=str(entry["family"]),
        ask_first=link.refs("checks", entry.get("ask-first", ()), pack, entry, "ask-first "),
        where=tuple(entry.get("where", ())),
        when=tuple(entry.get("when", ())),
        file=str(entry["@file"]),
        line=int(entry["@line"]),
    )

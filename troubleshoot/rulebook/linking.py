"""Putting packs together: layers, qualified names, references; every fault at once with file and line.

Layers go from first to last (core, then club, then the layout's own). A later layer adds entries, or replaces
one by saying `replaces: core/that-name`. Cautions and set-ups of an earlier layer cannot be replaced: a pack may
add care, never take it away. Whether the rules are any good is judged by `matrix`, not here.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from troubleshoot.documents import Problem, Problems, nearest
from troubleshoot.electrics import QUANTITIES
from troubleshoot.layout import FACTS, RELATIONS, TRAITS
from troubleshoot.quantities import Unreadable, read_reading
from troubleshoot.rulebook import floor
from troubleshoot.rulebook.kinds import (
    Band,
    Caution,
    Cause,
    Check,
    Deduction,
    Finding,
    PackInfo,
    Proof,
    Remedy,
    Rulebook,
    SetUp,
    Stopgap,
    Symptom,
)
from troubleshoot.rulebook.packs import Pack
from troubleshoot.rulebook.rows import default_elsewhere, default_sound, share
from troubleshoot.rulebook.words import LIKELIHOOD

UNITS = (
    "ohm", "V", "V AC", "V DC", "mA", "mA AC", "A", "mm", "s", "ms", "min", "nF", "pF/m", "C", "%", "count", "N",
)  # fmt: skip
_BAND = re.compile(r"up to (?:(?P<factor>\d+(?:\.\d+)?) x (?P<quantity>[a-z0-9-]+)|(?P<plain>[<0-9].*))")
_PERIOD = re.compile(r"(\d+(?:\.\d+)?) ?(s|min|h|d)")
_PERIODS = {"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0}


class Linker:
    """Gathers entries of all packs and the problems met on the way."""

    def __init__(self, packs: Sequence[Pack]) -> None:
        self.packs = packs
        self.problems: list[Problem] = []
        self.names: dict[str, dict[str, tuple[Pack, Mapping[str, Any]]]] = {}
        self.findings: dict[str, Finding] = {}
        self.former: dict[str, str] = {}
        self._gather()

    def say(self, entry: Mapping[str, Any], text: str) -> None:
        """Note a problem at an entry's line."""
        self.problems.append(Problem(str(entry["@file"]), int(entry["@line"]), 0, text))

    def _gather(self) -> None:
        for pack in self.packs:
            for section, entries in pack.sections.items():
                table = self.names.setdefault(section, {})
                for name, entry in entries.items():
                    full = f"{pack.name}/{name}"
                    target = entry.get("replaces")
                    if target:
                        full = self._replaced(section, str(target), entry)
                    elif any(other.split("/", 1)[1] == name for other in table) and section in ("cautions", "set-ups"):
                        self.say(entry, f"{name!r}: a pack cannot redefine a {section[:-1]} of an earlier layer")
                        continue
                    table[full] = (pack, entry)
                    for old in entry.get("was", ()):
                        self.former[f"{pack.name}/{old}"] = full

    def _replaced(self, section: str, target: str, entry: Mapping[str, Any]) -> str:
        if section in ("cautions", "set-ups"):
            self.say(entry, f"replaces {target!r}: {section} can be added, never replaced or softened")
            return f"{target}@refused"
        if target not in self.names[section]:
            hint = nearest(target, self.names[section])
            self.say(entry, f"replaces {target!r}, which no earlier layer has" + (f"; nearest is {hint!r}" if hint else ""))
        return target

    def ref(self, section: str, said: str, pack: Pack, entry: Mapping[str, Any], what: str = "") -> str:
        """The qualified name that a reference means; a problem with the nearest known name if there is none."""
        table: Mapping[str, Any] = self.findings if section == "findings" else self.names.get(section, {})
        full = said if "/" in said else f"{pack.name}/{said}"
        if full in table:
            return full
        if full in self.former:
            return self.former[full]
        if "/" not in said:
            for other in self.packs:
                if f"{other.name}/{said}" in table:
                    return f"{other.name}/{said}"
        hint = nearest(said, [n.split("/", 1)[1] for n in table])
        also = f"; did you mean {hint!r}?" if hint else ""
        self.say(entry, f"{what}{said!r} is no known {section[:-1]}{also}")
        return full

    def refs(self, section: str, said: Iterable[str], pack: Pack, entry: Mapping[str, Any], what: str = "") -> tuple[str, ...]:
        """References in order."""
        return tuple(self.ref(section, s, pack, entry, what) for s in said)

    def known(self, said: str, words: Iterable[str], entry: Mapping[str, Any], what: str) -> str:
        """A word of a closed list; a problem with the nearest one if it is not in it."""
        allowed = list(words)
        if said not in allowed:
            hint = nearest(said, allowed)
            self.say(entry, f"{what} {said!r} is not known" + (f"; did you mean {hint!r}?" if hint else ""))
        return said

    def words(self, stated: Mapping[str, str], finding: Finding, entry: Mapping[str, Any]) -> Mapping[str, str]:
        """Words of a row, checked against the finding's outcomes and that they do not total over one."""
        for outcome in stated:
            self.known(outcome, finding.outcomes, entry, f"{finding.name.split('/')[1]}: outcome")
        given = {o: w for o, w in stated.items() if o in finding.outcomes}
        total = sum(LIKELIHOOD[w] for w in given.values())
        if total > 1.0 + 1e-9 and not (len(given) == len(finding.outcomes) and total <= 1.05):
            self.say(entry, f"{finding.name.split('/')[1]}: the words {stated} total {total:.2f}, which is over 1")
        return given


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


def _check(link: Linker, full: str, pack: Pack, entry: Mapping[str, Any]) -> Check:
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
    )


def _finding(link: Linker, check: Check, entry: Mapping[str, Any]) -> Finding:
    outcomes = check.outcomes
    quiet_name = entry.get("quiet") or ("no" if set(outcomes) == {"yes", "no"} else None)
    name = check.finding.split("/", 1)[1]
    if quiet_name not in outcomes:
        link.say(entry, f"{name}: says no `quiet` outcome, the one that tells nothing; it has {', '.join(outcomes)}")
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


def _findings(link: Linker, checks: Mapping[str, Check]) -> None:
    """One finding for each name reported; checks that report the same one must agree on its outcomes."""
    first: dict[str, Check] = {}
    for full, check in checks.items():
        entry = link.names["checks"][full][1]
        before = first.get(check.finding)
        if before is None or (entry.get("elsewhere") and not link.names["checks"][before.name][1].get("elsewhere")):
            first[check.finding] = check
            link.findings[check.finding] = _finding(link, check, entry)
        if before is not None and set(before.outcomes) != set(check.outcomes):
            link.say(entry, f"reports {check.finding.split('/')[1]!r} with other outcomes than {before.name!r} does")


def _cells(link: Linker, shows: Mapping[str, Any], pack: Pack, entry: Mapping[str, Any]) -> dict[str, Mapping[str, str]]:
    cells: dict[str, Mapping[str, str]] = {}
    for said, word in shows.items():
        full = link.ref("findings", said, pack, entry, "shows ")
        finding = link.findings.get(full)
        if finding is None:
            continue
        if isinstance(word, str):
            if "yes" not in finding.outcomes:
                link.say(entry, f"shows {said!r}: a bare word is for yes/no findings; it has {', '.join(finding.outcomes)}")
                continue
            word = {"yes": word}
        cells[full] = link.words(word, finding, entry)
    return cells


def _reads(
    link: Linker, said: Mapping[str, str], pack: Pack, entry: Mapping[str, Any]
) -> dict[str, tuple[float, str]]:
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


def _cause(link: Linker, full: str, pack: Pack, entry: Mapping[str, Any]) -> Cause:
    name = full.split("/", 1)[1]
    link.known(str(entry["sits-at"]), RELATIONS, entry, f"{name}: relation")
    for need in entry.get("needs", ()):
        link.known(need, TRAITS, entry, f"{name}: need")
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
        inseparable={
            link.ref("causes", c, pack, entry): str(t) for c, t in entry.get("inseparable-from", {}).items()
        },
        bolder=dict(entry.get("bolder", {})),
        sources=tuple(entry["sources"]),
        examples=tuple(entry.get("examples", ())),
        file=str(entry["@file"]),
        line=int(entry["@line"]),
    )


def _period(link: Linker, said: str | None, entry: Mapping[str, Any]) -> float:
    match = _PERIOD.fullmatch(str(said or "0 s").strip())
    if not match:
        link.say(entry, f"quiet-for {said!r} is no period; write such as '30 min', '1 h' or '1 d'")
        return 0.0
    return float(match[1]) * _PERIODS[match[2]]


def _remedy(link: Linker, full: str, pack: Pack, entry: Mapping[str, Any]) -> Remedy:
    proof = entry["proof"]
    check = link.ref("checks", proof["check"], pack, entry, "proof ")
    return Remedy(
        name=full,
        mends=link.refs("causes", entry["mends"], pack, entry, "mends "),
        do=str(entry["do"]).strip(),
        minutes=float(entry["minutes"]),
        works=float(entry.get("works", 0.95)),
        price=str(entry.get("price", "nothing")),
        proof=Proof(check, str(proof["outcome"]), _period(link, proof.get("quiet-for"), entry), str(proof.get("and", ""))),
        set_up=link.refs("set-ups", entry.get("set-up", ()), pack, entry, "set-up "),
        cautions=link.refs("cautions", entry.get("cautions", ()), pack, entry, "caution "),
        file=str(entry["@file"]),
        line=int(entry["@line"]),
    )


def _caution(full: str, entry: Mapping[str, Any]) -> Caution:
    place = str(entry["@file"]), int(entry["@line"])
    return Caution(full, str(entry["hazard"]).strip(), str(entry["do"]).strip(), dict(entry.get("applies", {})), *place)


def _set_up(link: Linker, full: str, pack: Pack, entry: Mapping[str, Any]) -> SetUp:
    link.known(str(entry.get("at", "itself")), RELATIONS, entry, "relation")
    return SetUp(
        name=full,
        says=str(entry["says"]),
        power=entry.get("power"),
        relation=str(entry.get("at", "itself")),
        enter=float(entry["enter"]),
        leave=float(entry["leave"]),
        do=str(entry["do"]).strip(),
        undo=str(entry["undo"]).strip(),
        stops=str(entry.get("stops", "nothing")),
        limits_current=entry.get("limits-current") == "yes",
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


def _deduction(link: Linker, full: str, pack: Pack, entry: Mapping[str, Any]) -> Deduction:
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


def _symptom(link: Linker, full: str, pack: Pack, entry: Mapping[str, Any]) -> Symptom:
    return Symptom(
        name=full,
        says=str(entry["says"]),
        also_said=tuple(entry["also-said"]),
        about=str(entry["about"]),
        family=str(entry["family"]),
        ask_first=link.refs("checks", entry.get("ask-first", ()), pack, entry, "ask-first "),
        file=str(entry["@file"]),
        line=int(entry["@line"]),
    )


def _safe(link: Linker, book: Rulebook) -> None:
    """Refuse what goes below the floor of safety."""
    for check in book.checks.values():
        for reason in floor.check_refusals(check, book.set_ups, check.cautions):
            link.say(link.names["checks"][check.name][1], f"{check.name.split('/')[1]}: {reason}")
    for remedy in book.remedies.values():
        for reason in floor.remedy_refusals(remedy):
            link.say(link.names["remedies"][remedy.name][1], f"{remedy.name.split('/')[1]}: {reason}")
        outcomes = book.checks[remedy.proof.check].outcomes if remedy.proof.check in book.checks else None
        if outcomes is not None and remedy.proof.outcome not in outcomes:
            text = f"proof: {remedy.proof.outcome!r} is no outcome of {remedy.proof.check}; it has {', '.join(outcomes)}"
            link.say(link.names["remedies"][remedy.name][1], text)
    for cause in book.causes.values():
        for stopgap in [cause.stopgap.do] if cause.stopgap else []:
            for reason in floor.dangers(stopgap):
                link.say(link.names["causes"][cause.name][1], f"stopgap: {reason}")


def link(packs: Sequence[Pack]) -> Rulebook:
    """One rulebook from packs in layer order. Raises Problems with everything that does not fit, at once."""
    linker = Linker(packs)
    table = linker.names

    def entries(section: str) -> Iterable[tuple[str, Pack, Mapping[str, Any]]]:
        return ((full, pack, entry) for full, (pack, entry) in table.get(section, {}).items())

    cautions = {f: _caution(f, e) for f, _, e in entries("cautions")}
    set_ups = {f: _set_up(linker, f, p, e) for f, p, e in entries("set-ups")}
    checks = {f: _check(linker, f, p, e) for f, p, e in entries("checks")}
    _findings(linker, checks)
    book = Rulebook(
        packs=tuple(_info(p) for p in packs),
        symptoms={f: _symptom(linker, f, p, e) for f, p, e in entries("symptoms")},
        checks=checks,
        findings=linker.findings,
        causes={f: _cause(linker, f, p, e) for f, p, e in entries("causes")},
        remedies={f: _remedy(linker, f, p, e) for f, p, e in entries("remedies")},
        cautions=cautions,
        set_ups=set_ups,
        deductions={f: _deduction(linker, f, p, e) for f, p, e in entries("deductions")},
        former=linker.former,
    )
    _safe(linker, book)
    if linker.problems:
        raise Problems(tuple(sorted(set(linker.problems), key=lambda p: (p.file, p.line, p.text))))
    return book


def _info(pack: Pack) -> PackInfo:
    head = pack.head
    return PackInfo(
        name=pack.name,
        version=str(head["version"]),
        says=str(head["says"]),
        owner=str(head["owner"]),
        licence=str(head["licence"]),
        changes=tuple(head.get("changes") or ()),
        folder=pack.folder,
        digest=pack.digest,
    )

"""Putting packs together, layer after layer, into one rulebook; every fault at once with file and line.

Layers go from first to last: core, then club, then the layout's own. The floor of safety is applied here to all of
them. Whether the rules are any good is judged by `matrix`, not here.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from troubleshoot.documents import Problems
from troubleshoot.rulebook import floor
from troubleshoot.rulebook.entries import (
    cause_of,
    caution_of,
    check_of,
    deduction_of,
    findings_of,
    remedy_of,
    set_up_of,
    symptom_of,
)
from troubleshoot.rulebook.kinds import PackInfo, Rulebook
from troubleshoot.rulebook.packs import Pack
from troubleshoot.rulebook.resolving import Linker
from troubleshoot.rulebook.signs import log_sign_of


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
            text = (
                f"proof: {remedy.proof.outcome!r} is no outcome of {remedy.proof.check}; it has {', '.join(outcomes)}"
            )
            link.say(link.names["remedies"][remedy.name][1], text)
    for set_up in book.set_ups.values():
        for reason in floor.set_up_refusals(set_up):
            link.say(link.names["set-ups"][set_up.name][1], f"{set_up.name.split('/')[1]}: {reason}")
    for name, deduction in book.deductions.items():
        told = [str(deduction.then[k]) for k in ("stop", "make-safe") if deduction.then.get(k)]
        for reason in (r for text in told for r in floor.dangers(text)):
            link.say(link.names["deductions"][name][1], f"{name.split('/')[1]}: {reason}")
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

    cautions = {f: caution_of(f, e) for f, _, e in entries("cautions")}
    set_ups = {f: set_up_of(linker, f, p, e) for f, p, e in entries("set-ups")}
    checks = {f: check_of(linker, f, p, e) for f, p, e in entries("checks")}
    findings_of(linker, checks)
    book = Rulebook(
        packs=tuple(_info(p) for p in packs),
        symptoms={f: symptom_of(linker, f, p, e) for f, p, e in entries("symptoms")},
        checks=checks,
        findings=linker.findings,
        causes={f: cause_of(linker, f, p, e) for f, p, e in entries("causes")},
        remedies={f: remedy_of(linker, f, p, e) for f, p, e in entries("remedies")},
        cautions=cautions,
        set_ups=set_ups,
        deductions={f: deduction_of(linker, f, p, e) for f, p, e in entries("deductions")},
        former=linker.former,
        log_signs={f: log_sign_of(linker, f, checks, p, e) for f, p, e in entries("log-signs")},
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

"""Rules described for people in the terminal: packs, symptoms, causes, checks, remedies, cautions, and matrices."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from troubleshoot.documents import Problem, Problems, nearest
from troubleshoot.rulebook import Cause, Check, Remedy, Rulebook, Symptom, short
from troubleshoot.rulebook.matrix import Matrix, pairs
from troubleshoot.rulebook.wording import label
from troubleshoot.screen.drawing import block, heading, line

SHORT = {"always": "++", "usually": "+", "often": "(+)", "sometimes": "~", "seldom": "-", "never": "--"}


def describe(rulebook: Rulebook, name: str | None) -> RenderableType:
    """Whatever a name stands for. Raises Problems with the nearest names when it stands for nothing."""
    found = entries(rulebook, name)
    parts: list[RenderableType] = [_pack(rulebook, p.name) for p in found["packs"]]
    parts += [_symptom(rulebook, e) for e in found["symptoms"]]
    parts += [_cause(rulebook, e) for e in found["causes"]]
    parts += [_check(rulebook, e) for e in found["checks"]]
    parts += [_remedy(rulebook, e) for e in found["remedies"]]
    for entry in found["cautions"]:
        title = heading(f"Caution: {label(entry.name)}")
        parts.append(Group(title, line("hazard", entry.hazard), line("do", entry.do)))
    return Group(*parts)


def entries(rulebook: Rulebook, name: str | None) -> dict[str, list[Any]]:
    """The packs, or everything that a name stands for, by kind. Raises Problems with the nearest name."""
    tables: dict[str, Mapping[str, Any]] = {
        "symptoms": rulebook.symptoms,
        "causes": rulebook.causes,
        "checks": rulebook.checks,
        "remedies": rulebook.remedies,
        "cautions": rulebook.cautions,
    }
    packs = [p for p in rulebook.packs if name is None or p.name == name]
    found: dict[str, list[Any]] = {"packs": packs} | {kind: [] for kind in tables}
    if packs or name is None:
        return found
    for said in (name, *(f"{p.name}/{name}" for p in rulebook.packs)):
        full = rulebook.former.get(said, said)
        for kind, table in tables.items():
            if full in table and table[full] not in found[kind]:
                found[kind].append(table[full])
    if not any(found.values()):
        hint = nearest(name, [short(n) for table in tables.values() for n in table])
        text = f"nothing is called {name!r}" + (f"; did you mean {hint!r}?" if hint else "")
        raise Problems((Problem("rules", 0, 0, text),))
    return found


def _pack(rulebook: Rulebook, name: str) -> RenderableType:
    info = next(p for p in rulebook.packs if p.name == name)
    tables: dict[str, Iterable[str]] = {
        "symptoms": rulebook.symptoms,
        "causes": rulebook.causes,
        "checks": rulebook.checks,
        "remedies": rulebook.remedies,
        "deductions": rulebook.deductions,
        "cautions": rulebook.cautions,
    }
    counts = ", ".join(f"{sum(n.startswith(f'{name}/') for n in t)} {what}" for what, t in tables.items())
    parts = [heading(f"Pack {info.name} {info.version}"), block(info.says), line("owner", info.owner)]
    parts += [line("licence", info.licence), line("holds", counts)]
    parts += [
        line("symptom", f"{short(n)}: {s.says}")
        for n, s in sorted(rulebook.symptoms.items())
        if n.startswith(f"{name}/")
    ]
    parts += [line("change", f"{c['version']}: {c['says']}") for c in info.changes]
    return Group(*parts)


def _symptom(rulebook: Rulebook, entry: Symptom) -> RenderableType:
    parts = [
        heading(f"Symptom: {entry.says}"),
        line("name", entry.name),
        line("also said", ", ".join(entry.also_said)),
    ]
    causes = sorted(rulebook.causes_of(entry.name), key=lambda c: -c.weights[entry.name])
    parts += [line(f"{c.weights[entry.name]:g}", f"{short(c.name)}: {c.says}") for c in causes]
    return Group(*parts)


def _cause(rulebook: Rulebook, entry: Cause) -> RenderableType:
    parts = [
        heading(f"Cause: {entry.says}"),
        line("name", f"{entry.name} ({entry.file}:{entry.line})"),
        line("sits at", entry.relation),
    ]
    parts.append(line("explains", ", ".join(f"{short(s)} {w:g}" for s, w in entry.weights.items())))
    for finding, words in sorted(entry.shows.items()):
        parts.append(line("shows", f"{label(finding)}: " + ", ".join(f"{o} {w}" for o, w in words.items())))
    parts.append(line("best check", short(entry.best_check)))
    if entry.weak_spots:
        parts.append(line("raised by", "weak spots " + ", ".join(label(w) for w in entry.weak_spots)))
    if entry.look_alikes:
        parts.append(line("like", ", ".join(short(c) for c in entry.look_alikes)))
    if entry.stopgap:
        parts.append(line("stopgap", entry.stopgap.do))
    parts += [line("remedy", f"{short(r.name)}: {r.do} ({r.minutes:g} min)") for r in rulebook.remedies_of(entry.name)]
    parts.append(line("sources", ", ".join(entry.sources)))
    return Group(*parts)


def _check(rulebook: Rulebook, entry: Check) -> RenderableType:
    parts = [
        heading(f"Check: {entry.asks}"),
        line("name", f"{entry.name} ({entry.file}:{entry.line})"),
        line("at", entry.relation),
    ]
    if entry.finding != entry.name:
        parts.append(line("reports", short(entry.finding)))
    for band in entry.bands:
        limit = (
            f"up to {band.factor:g} x {band.quantity}"
            if band.quantity
            else "above"
            if band.plain is None
            else f"up to {band.plain:g}"
        )
        parts.append(line("band", f"{band.outcome}: {limit}"))
    if not entry.unit:
        parts += [line("answer", f"{o}: {t}") for o, t in entry.labels.items()]
    parts.append(line("tool", f"{entry.tool}, {entry.minutes:g} min"))
    parts += [line("first", rulebook.set_ups[s].says) for s in entry.set_up]
    parts += [line("do", entry.how)] if entry.how else []
    parts += [block(entry.drawing, indent=4)] if entry.drawing else []
    parts += [line("mistake", entry.usual_mistake)] if entry.usual_mistake else []
    parts += [line("CAUTION", rulebook.cautions[c].hazard, "yellow") for c in entry.cautions if c in rulebook.cautions]
    return Group(*parts)


def _remedy(rulebook: Rulebook, entry: Remedy) -> RenderableType:
    proof = f"{rulebook.checks[entry.proof.check].asks}: {entry.proof.outcome}"
    return Group(
        heading(f"Remedy: {label(entry.name)}"),
        line("mends", ", ".join(short(c) for c in entry.mends)),
        line("do", entry.do),
        line("takes", f"{entry.minutes:g} min; price: {entry.price}"),
        line("proof", proof + (f"; {entry.proof.also}" if entry.proof.also else "")),
        *(line("CAUTION", rulebook.cautions[c].hazard, "yellow") for c in entry.cautions if c in rulebook.cautions),
    )


def _cell(said: str) -> str:
    for word, sign in SHORT.items():
        said = said.replace(f": {word}", f" {sign}")
    return said.replace("as-sound", ".").replace("as-elsewhere", "?")


def matrix_lines(rulebook: Rulebook, table: Matrix) -> RenderableType:
    """One symptom's matrix, a finding a paragraph: what each cause says of it."""
    parts: list[RenderableType] = [heading(f"Matrix of {label(table.symptom)}")]
    parts.append(
        block(
            f"{len(table.causes)} causes, {len(table.findings)} findings that two or more speak of, "
            f"{table.undecided:.0%} undecided"
        )
    )
    parts.append(
        block("++ always, + usually, (+) often, ~ sometimes, - seldom, -- never, . as sound, ? undecided", "dim")
    )
    for column, finding in enumerate(table.findings):
        grid = Table(box=None, show_header=False, padding=(0, 1))
        grid.add_column(width=36, no_wrap=True)
        grid.add_column(ratio=1)
        for cause, row in zip(table.causes, table.cells, strict=True):
            grid.add_row(Text(short(cause.name)), Text(_cell(row[column])))
        parts += [heading(label(finding)), grid]
    worst = [
        f"{short(a.name)} / {short(b.name)}: {db:.1f} dB, by {label(best)}"
        for db, a, b, best, _ in list(pairs(rulebook, table.symptom))[:5]
    ]
    parts += [heading("Least separated pairs"), *(block(w) for w in worst)]
    return Group(*parts)


def matrix_summary(rulebook: Rulebook, tables: Sequence[Matrix]) -> RenderableType:
    """All symptoms: causes, findings, undecided share, least separation."""
    grid = Table(box=None, padding=(0, 1))
    for name, right in (
        ("symptom", False),
        ("causes", True),
        ("findings", True),
        ("undecided", True),
        ("least dB", True),
    ):
        grid.add_column(name, justify="right" if right else "left")
    cells = undecided = 0.0
    for table in tables:
        least = next((db for db, *_ in pairs(rulebook, table.symptom)), 0.0)
        count = len(table.causes) * len(table.findings)
        cells += count
        undecided += count * table.undecided
        grid.add_row(
            Text(short(table.symptom)),
            str(len(table.causes)),
            str(len(table.findings)),
            f"{table.undecided:.0%}",
            f"{least:.1f}",
        )
    grid.add_row("all", "", "", f"{undecided / max(cells, 1):.0%}", "")
    return grid

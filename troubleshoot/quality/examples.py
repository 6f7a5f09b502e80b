"""Trying rules out: the examples of causes and of deductions, run through the same `diagnose` as everything else.

An example is a small inquiry with its expected end. A deduction's example must make it fire, and must come out
otherwise without it, so that no deduction is an ornament. Form and matrix are judged in `rulebook`.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from troubleshoot.diagnosis import Diagnosis, as_data, diagnose
from troubleshoot.documents import Problem, Problems
from troubleshoot.inquiry import Answer, Complaint, Inquiry, PutAside, Record
from troubleshoot.layout import EMPTY, Layout, load
from troubleshoot.quantities import Unreadable, read_reading
from troubleshoot.rulebook import Cause, Rulebook, short

EXPECTED = ("first", "first three", "not first", "not first three")


@dataclass(frozen=True)
class Tried:
    """One example tried: whose, what was expected, where the cause stood, and whether that is right."""

    name: str
    expected: str
    position: int
    chance: float
    right: bool
    file: str
    line: int
    first: str


class Layouts:
    """The pretend layouts that examples speak of, opened once."""

    def __init__(self, folders: Iterable[Path]) -> None:
        self.folders = list(folders)
        self._kept: dict[str, Layout] = {"none": EMPTY}

    def open(self, name: str) -> Layout:
        """A layout by name from the packs' layouts folders. Raises Problems."""
        if name not in self._kept:
            for folder in self.folders:
                path = folder / "layouts" / f"{name}.yaml"
                if path.is_file():
                    self._kept[name] = load(path)
                    break
            else:
                raise Problems((Problem(name, 0, 0, f"no pack has a layout {name!r}"),))
        return self._kept[name]


def layouts_of(rulebook: Rulebook) -> Layouts:
    """The layouts that the packs of a rulebook bring along."""
    return Layouts(Path(p.folder) for p in rulebook.packs)


def records(rulebook: Rulebook, symptom: str, example: Mapping[str, Any], pack: str) -> Inquiry:
    """An example as an inquiry. Raises Unreadable for names or readings that mean nothing."""
    about = example.get("about")
    said: list[Record] = [Complaint(symptom, str(about) if about else None, tuple(example.get("sick") or ()))]
    for name, value in (example.get("answers") or {}).items():
        bare, _, place = str(name).partition("@")
        full = (
            bare
            if "/" in bare
            else next((f"{p}/{bare}" for p in (pack, "core") if f"{p}/{bare}" in rulebook.checks), bare)
        )
        check = rulebook.checks.get(full)
        if check is None:
            raise Unreadable(f"{bare!r} is no known check")
        if str(value) in ("not-sure", "cant-do"):
            said.append(PutAside(full, place or None, str(value)))
        elif str(value) in check.outcomes:
            said.append(Answer(full, place or None, str(value), None, "seen"))
        elif check.unit:
            said.append(Answer(full, place or None, None, read_reading(str(value), check.unit), "typed"))
        else:
            raise Unreadable(f"{value!r} is no answer to {bare!r}; it has {', '.join(check.outcomes)}")
    return Inquiry(tuple(said))


def example_symptom(rulebook: Rulebook, example: Mapping[str, Any], cause: Cause | None, pack: str) -> str:
    """The symptom an example is about: the one it names, else the first its cause explains."""
    said = example.get("under")
    if said:
        return (
            said if "/" in str(said) else f"{pack}/{said}" if f"{pack}/{said}" in rulebook.symptoms else f"core/{said}"
        )
    return next(iter(cause.weights)) if cause else ""


def position(made: Diagnosis, cause: str) -> tuple[int, float]:
    """Where a cause stands in the ranking, from 1; 0 when it is ruled out."""
    for place, line in enumerate(made.ranking, 1):
        if line.cause == cause:
            return place, line.chance
    return 0, 0.0


def try_cause(rulebook: Rulebook, cause: Cause, layouts: Layouts) -> Iterator[Tried | Problem]:
    """The examples of one cause."""
    pack = cause.name.split("/")[0]
    for example in cause.examples:
        expected = str(example.get("finds"))
        try:
            symptom = example_symptom(rulebook, example, cause, pack)
            asked = records(rulebook, symptom, example, pack)
            made = diagnose(layouts.open(str(example.get("layout", "club"))), rulebook, asked)
        except (Unreadable, Problems) as error:
            yield Problem(cause.file, cause.line, 0, f"{short(cause.name)}: example: {error}")
            continue
        place, chance = position(made, cause.name)
        reach = 1 if expected.endswith("first") else 3
        inside = 1 <= place <= reach
        right = inside != expected.startswith("not")
        first = made.ranking[0].cause if made.ranking else ""
        yield Tried(short(cause.name), expected, place, chance, right, cause.file, cause.line, first)


def try_examples(rulebook: Rulebook, pack: str | None = None) -> Iterator[Tried | Problem]:
    """The examples of all causes, or of one pack's."""
    layouts = layouts_of(rulebook)
    for name, cause in sorted(rulebook.causes.items()):
        if pack is None or name.startswith(f"{pack}/"):
            yield from try_cause(rulebook, cause, layouts)


def without(rulebook: Rulebook, deduction: str) -> Rulebook:
    """The rulebook with one deduction taken out."""
    return replace(rulebook, deductions={n: d for n, d in rulebook.deductions.items() if n != deduction})


def try_deductions(rulebook: Rulebook, pack: str | None = None) -> Iterator[Problem]:
    """Deductions whose example does not make them fire, or comes out the same without them."""
    layouts = layouts_of(rulebook)
    for name, deduction in sorted(rulebook.deductions.items()):
        home = name.split("/")[0]
        if pack is not None and home != pack:
            continue
        try:
            symptom = example_symptom(rulebook, deduction.example, None, home)
            if not symptom:
                symptom = next(iter(deduction.when.get("symptom", rulebook.symptoms)))
            asked = records(rulebook, symptom, deduction.example, home)
            layout = layouts.open(str(deduction.example.get("layout", "club")))
            made = diagnose(layout, rulebook, asked)
            bare = diagnose(layout, without(rulebook, name), asked)
        except (Unreadable, Problems) as error:
            yield Problem(deduction.file, deduction.line, 0, f"{short(name)}: example: {error}")
            continue
        if all(f.rule != name for f in made.deduced.trace):
            yield Problem(deduction.file, deduction.line, 0, f"{short(name)}: its example does not make it fire")
        elif _outcome(rulebook, made) == _outcome(rulebook, bare):
            yield Problem(
                deduction.file, deduction.line, 0, f"{short(name)}: its example comes out the same without it"
            )


def _outcome(rulebook: Rulebook, made: Diagnosis) -> tuple[object, ...]:
    """What a person would notice of a diagnosis: ranking, stops, vetoes, cautions; not the trace."""
    data = as_data(rulebook, made)
    ranking = tuple((r["cause"], r["chance"]) for r in data["ranking"])
    said = tuple(tuple(x["says"] for x in data[k]) for k in ("stop", "make_safe"))
    return (ranking, said, tuple(data["ruled_out"]), tuple(data["vetoed"]), made.deduced.cautions)

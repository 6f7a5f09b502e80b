"""The casebook in the terminal: lists of cases, what was here before, and what was learned from which cases."""

from collections.abc import Sequence
from datetime import datetime

from rich.console import Group, RenderableType

from troubleshoot.casebook import Entry
from troubleshoot.casebook.likeness import Alike
from troubleshoot.learning import Cure, Learned, LearnedCause, LearnedRow, LearnedSymptom, Recall
from troubleshoot.rulebook import Rulebook
from troubleshoot.rulebook.wording import counted, label
from troubleshoot.screen.drawing import block, heading, line

MOST_NAMED = 4


def case_line(entry: Entry) -> RenderableType:
    """A case in a list: when, whether closed, what about, and what cured it."""
    state = ("proven" if entry.proven else "closed") if entry.closed else "open"
    about = f" — {entry.about}" if entry.about else ""
    text = f"{entry.name}\n{label(entry.symptom) or 'no symptom'}{about}"
    if entry.closed and entry.remedy:
        text += f"; {label(entry.remedy)}" + (f" at {entry.spot}" if entry.spot and entry.spot != entry.about else "")
    return line(entry.day or state, text if not entry.day else f"{state:7}{text}", "" if entry.closed else "yellow")


def case_list(entries: Sequence[Entry], count: int) -> RenderableType:
    """Cases found, newest first."""
    parts: list[RenderableType] = [case_line(e) for e in entries]
    if count > len(entries):
        parts.append(block(f"and {count - len(entries)} more; name a word, --place or --since, or --most N", "dim"))
    return Group(*parts)


def alike_list(found: Sequence[Alike]) -> RenderableType:
    """Cases like another, the likest first, each with its reasons."""
    parts: list[RenderableType] = []
    for one in found:
        parts += [case_line(one.entry), line("alike", "; ".join(one.reasons), "cyan")]
    return Group(*parts)


def recall_screen(memory: Recall, rulebook: Rulebook) -> RenderableType:
    """What the casebook says right after the complaint."""
    parts: list[RenderableType] = [heading("From the casebook")]
    for case, days in memory.not_held:
        parts.append(line("came back", f"The cure of {case} did not hold: it ended {_ago(days)}", "yellow"))
    if memory.here:
        parts.append(line("here", f"{_times(len(memory.here))} at this place before"))
        parts += [_before(a) for a in memory.here[:3]]
    near = [a for a in memory.near if len(a.reasons) > 1][: 3 if not memory.here else 2]
    if near or (memory.near and not memory.here):
        parts.append(line("elsewhere", f"{_times(len(memory.near))} alike elsewhere"))
        parts += [_before(a) for a in near or memory.near[:2]]
    parts += [line("cured by", _cure(c, rulebook)) for c in memory.cures[:3]]
    if memory.season:
        name, inside, whole = memory.season
        parts.append(line("season", f"{inside} of {whole} such cases began in {name}"))
    return Group(*parts)


def _before(one: Alike) -> RenderableType:
    entry = one.entry
    end = label(entry.remedy) if entry.closed and entry.remedy else "closed" if entry.closed else "still open"
    what = f"{label(entry.symptom)}{f' at {entry.about}' if entry.about else ''}: {end}"
    return line(entry.day, f"{what} ({entry.name}; {', '.join(one.reasons)})")


def _cure(cure: Cure, rulebook: Rulebook) -> str:
    known = rulebook.remedies.get(cure.remedy)
    minutes = f", about {known.minutes:.0f} min" if known else ""
    held = f", came back {_often(cure.came_back)}" if cure.came_back else ""
    at = f" at {cure.spot}" if cure.spot else ""
    return f"{label(cure.remedy)}{at}: {_often(cure.times)}{held}{minutes} ({_named(cure.cases)})"


def learned_screen(found: Learned) -> RenderableType:
    """Everything that was learned, by symptom, with the authors' figure, the figure here, and the cases."""
    parts: list[RenderableType] = []
    for symptom in found.symptoms:
        parts.append(heading(f"{label(symptom.symptom)}: {symptom.cases} {_word('case', symptom.cases)}"))
        parts += _learned_symptom(symptom)
    if found.held:
        parts.append(heading("Cures that did not always hold"))
        for remedy, normally, here, lasted, failed in found.held:
            told = f"counted on {here * 100:.0f} of 100 (by the rules {normally * 100:.0f})"
            parts.append(block(f"{label(remedy)}: held {lasted:.0f}, failed {failed:.0f}; {told}"))
    if found.symptoms:
        text = f"The same trouble at the same place is the same cause again in {found.returns * 100:.0f} of 100"
        parts.append(block(f"{text} (without cases {found.returns_normally * 100:.0f}).", "dim"))
    parts += _forgotten(found)
    return Group(*parts)


def _learned_symptom(symptom: LearnedSymptom) -> list[RenderableType]:
    parts: list[RenderableType] = [block(_learned_cause(c)) for c in symptom.causes]
    parts += [block(_learned_row(r), "", 4) for r in symptom.rows]
    places = [f"{place} {label(cause)} {count:g}" for place, cause, count in symptom.places[:MOST_NAMED]]
    if places:
        more = len(symptom.places) - len(places)
        parts.append(line("places", ", ".join(places) + (f" and {more} more" if more > 0 else "")))
    return parts


def _learned_cause(cause: LearnedCause) -> str:
    text = f"{label(cause.cause)}: normally {cause.normally * 100:.0f} of 100, here {cause.here * 100:.0f}"
    text += f", from {_named(cause.cases)}" if cause.cases else ""
    return text + (f"; against it {_named(cause.against)}" if cause.against else "")


def _learned_row(row: LearnedRow) -> str:
    told = ", ".join(
        f"{outcome.replace('-', ' ')} {here * 100:.0f} (by the rules {normally * 100:.0f})"
        for outcome, normally, here in zip(row.outcomes, row.normally, row.here, strict=True)
        if abs(here - normally) >= 0.005
    )
    return f"{label(row.cause)} shows {label(row.finding)}: {told or 'as the rules say'}; {counted(row.cases, 'case')}"


def _forgotten(found: Learned) -> list[RenderableType]:
    said = []
    if found.forgotten.before:
        when = datetime.fromtimestamp(found.forgotten.before).astimezone()
        said.append(f"all cases closed before {when:%Y-%m-%d %H:%M}")
    said += sorted(found.forgotten.names)
    return [line("forgotten", ", ".join(said), "yellow")] if said else []


def _named(names: Sequence[str]) -> str:
    more = len(names) - MOST_NAMED
    return ", ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def _word(word: str, count: int) -> str:
    return word if count == 1 else f"{word}s"


def _often(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def _times(count: int) -> str:
    return f"{count} {_word('case', count)}"


def _ago(days: float) -> str:
    return "today" if days < 1 else f"{days:.0f} {_word('day', round(days))} ago"

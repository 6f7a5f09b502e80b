"""The hand-over of a case: two sides of A4 that let somebody else go on where it was left, or learn from it.

The first side holds what is so: dangers, what is still undone, what was seen, done and read. The second holds what
follows: the ranking and why, what mends it and how that is proven, cautions. Nothing is concluded here that the
diagnosis does not say.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from troubleshoot.diagnosis import CheckStep, Ranked, RemedyStep
from troubleshoot.report import account
from troubleshoot.report.marks import marks_of
from troubleshoot.report.paper import Block, Items, Pairs, Paper, Picture, Section, Table, Words, letters
from troubleshoot.report.story import Story
from troubleshoot.report.wording import PRICES, STATES, minutes
from troubleshoot.rulebook.wording import at, chance, label, proof
from troubleshoot.sketch import fold, picture_of
from troubleshoot.sketch.weak import weak_marks

MOST_SUSPECTS = 5
MOST_CAUTIONS = 6
LONGEST_NOTE = 240
LONGEST_ANSWER = 70
SMALL = 7.5
"""Points: before the letters of a side become smaller than this, less is told on it."""


@dataclass(frozen=True)
class Trim:
    """How much is told: rows of deeds, readings, notes, lines of the picture, suspects explained, evidence of each."""

    deeds: int
    readings: int
    notes: int
    picture: int
    explained: int
    evidence: int


TRIMS = (
    Trim(26, 8, 6, 24, 3, 4),
    Trim(20, 6, 4, 22, 3, 3),
    Trim(14, 4, 3, 20, 2, 2),
    Trim(8, 3, 2, 18, 1, 2),
    Trim(4, 1, 1, 16, 1, 1),
)
"""From everything to what must never be left out: dangers, what is still undone, and the cautions."""

FOOT = (
    "Chances are estimates by experience, moved by closed cases; they are no measurements. Ten decibans (dB) are odds "
    "of ten to one. Work on the low-voltage side only: whatever has to do with the mains is for a licensed "
    "electrician, by the local codes."
)


def handover(story: Story) -> Paper:
    """The paper of a case."""
    state = STATES["by-hand" if story.by_hand else "closed" if story.closed else story.made.state]
    times = [e.when for e in story.events if e.when]
    spent = f"{times[0]} to {times[-1]}" if times else "no times given"
    packs = f"Rules: {', '.join(story.packs)}"
    return Paper(
        f"Hand-over: {story.name}",
        f"{story.layout.name if story.layout.known else 'no layout record'}; {spent}",
        (
            _fitting(lambda trim: _facts(story, state, trim)),
            _fitting(lambda trim: _conclusions(story, trim), last=True),
        ),
        f"{packs}. {FOOT}",
    )


def _fitting(tell: Callable[[Trim], Iterable[Section]], last: bool = False) -> tuple[Section, ...]:
    """As much as can be told on one side in letters that are not small."""
    sides = [tuple(tell(TRIMS[0]))]
    for trim in TRIMS[1:]:
        if letters(sides[-1], last) >= SMALL:
            return sides[-1]
        sides.append(tuple(tell(trim)))
    return max(reversed(sides), key=lambda side: letters(side, last))


# -- the first side --------------------------------------------------------------------------------------------


def _facts(story: Story, state: str, trim: Trim) -> Iterable[Section]:
    yield from _dangers(story)
    undone = _undone(story)
    if undone:
        yield Section("Still undone: put right before trains run", (Items(undone, ticks=True),), "undone")
    yield Section("What was seen", (Pairs(tuple(_seen(story, state, trim))),))
    rows, left_out = account.deeds(story, trim.deeds)
    table = Table(("when", "what was done or asked", "what was found"), (14, 54, 32), tuple(_rows(rows)))
    more = (
        Words(
            (f"{left_out} more lines of questions and states stand in the case file.",),
        )
        if left_out
        else None
    )
    blocks: list[Block] = [table if rows else Words(("Nothing has been asked or done yet.",))]
    yield Section("What was done, asked and read", (*blocks, *([more] if more else [])))
    yield from _expected(story, trim)
    marks = (*marks_of(story.rulebook, story.made), *weak_marks(story.layout, story.made.subject))
    tree = picture_of(story.layout, marks)
    yield Section("Where it is", (Picture(fold(tree, trim.picture, 0), "The part of the layout around the fault"),))


def _rows(deeds: Sequence[account.Deed]) -> Iterable[tuple[str, str, str]]:
    """Rows with the day only where it changes."""
    day = ""
    for deed in deeds:
        same = bool(deed.when) and deed.when[:10] == day
        yield deed.when[11:] if same else deed.when, deed.what, deed.found
        day = deed.when[:10] or day


def _dangers(story: Story) -> Iterable[Section]:
    stop = [f"{text} (because: {fired.sentence})" for text, fired in story.made.deduced.stop]
    safe = [f"{text} (because: {fired.sentence})" for text, fired in story.made.deduced.make_safe]
    if stop:
        yield Section("STOP", (Words(tuple(stop)),), "danger")
    if safe:
        yield Section("MAKE SAFE FIRST", (Words(tuple(safe)),), "danger")


def _undone(story: Story) -> tuple[str, ...]:
    said = []
    for change in story.made.in_force:
        entry = story.rulebook.set_ups.get(change.set_up)
        place = change.place or story.made.subject.name
        said.append(f"{at(entry.undo, place)} ({place})" if entry else f"{label(change.set_up)} ({place})")
    return tuple(said)


def _seen(story: Story, state: str, trim: Trim) -> Iterable[tuple[str, str]]:
    made, first = story.made, story.complaint
    symptom = story.rulebook.symptoms.get(made.symptom or "")
    yield "symptom", symptom.says if symptom else "none said yet"
    yield "place", _placed(story, made.subject.name)
    others = [p.name for p in made.sick if p != made.subject]
    if others:
        yield "also sick", ", ".join(others[:20]) + (f" and {len(others) - 20} more" if len(others) > 20 else "")
    if first and first.when:
        yield "since", first.when
    yield "state", state
    if made.chain:
        cause, goes_on, places = made.chain
        where = f" at {places[0].name}" if places else ""
        yield "goes on", f"{story.rulebook.causes[cause].says}: {story.rulebook.symptoms[goes_on].says}{where}"
    for note in _notes(story, trim):
        yield "note", note


def _placed(story: Story, name: str) -> str:
    """A place with what the owner calls it and where it is."""
    part = story.layout.parts.get(name)
    said = (
        [part.words[k] for k in ("says", "where", "district", "detector", "board") if k in part.words] if part else []
    )
    return f"{name} ({', '.join(said)})" if said else name


def _notes(story: Story, trim: Trim) -> Iterable[str]:
    notes = list(story.notes)
    if story.nameless and notes:
        yield f"{len(notes)} left out"
        return
    for event in notes[-trim.notes :]:
        text = " ".join(str(getattr(event.record, "text", "")).split())
        cut = text if len(text) <= LONGEST_NOTE else text[:LONGEST_NOTE].rstrip() + " … (goes on in the case file)"
        yield f"{event.when}: {cut}" if event.when else cut
    if len(notes) > trim.notes:
        yield f"{len(notes) - trim.notes} earlier notes stand in the case file"


def _expected(story: Story, trim: Trim) -> Iterable[Section]:
    held = account.readings(story, trim.readings)
    if not held:
        return
    rows = tuple((h.what, h.found, h.verdict, "; ".join(h.bands), "; ".join(h.figures)) for h in held)
    heads = ("reading", "found", "judged", "on this layout", "that follows from")
    yield Section("Expected against found", (Table(heads, (22, 11, 16, 24, 27), rows),))


# -- the second side -------------------------------------------------------------------------------------------


def _conclusions(story: Story, trim: Trim) -> Iterable[Section]:
    yield _ranking(story, trim)
    yield from _mended(story)
    step = story.made.step
    if not story.closed and story.made.state not in ("mended", "proven"):
        if isinstance(step, CheckStep):
            yield Section("The step worth taking next", (Pairs(tuple(_check(story, step))),))
        remedy = step if isinstance(step, RemedyStep) else story.made.repair
        if remedy is not None:
            title = "What mends it" if step is remedy else "What would mend the likeliest"
            yield Section(title, (Pairs(tuple(_remedy(story, remedy))),))
        if story.made.stopgaps:
            gaps = [f"If it is {label(s.cause)}: {s.do} ({minutes(s.minutes)})" for s in story.made.stopgaps]
            yield Section("To run tonight without mending", (Items(tuple(gaps)),))
    cautions = tuple(_cautions(story))
    if cautions:
        yield Section("Cautions", (Pairs(cautions),))
    doubts = tuple(_doubts(story))
    if doubts:
        yield Section("To bear in mind", (Items(doubts),))


def _ranking(story: Story, trim: Trim) -> Section:
    if not story.made.ranking or story.made.deduced.stop:
        return Section("Suspects", (Words(("Nothing is ranked here: see the first side.",)),))
    rows = []
    for number, line in enumerate(story.made.ranking[:MOST_SUSPECTS]):
        known = number < trim.explained and line.cause in story.rulebook.causes
        rows.append((chance(line.chance), line.says + _sits(line), *(_why(line, trim) if known else ("", ""))))
    table = Table(("chance", "suspect", "for it", "against it"), (13, 29, 32, 26), tuple(rows))
    certain = tuple(_certain(story))
    return Section("Suspects, and why", (table, *((Items(certain),) if certain else ())))


def _certain(story: Story) -> Iterable[str]:
    """What is ruled out and what else was deduced, each reason once."""
    deduced = story.made.deduced
    reasons: dict[str, list[str]] = {}
    for cause, fired in deduced.ruled_out.items():
        reasons.setdefault(fired.sentence, []).append(label(cause))
    for reason, causes in list(reasons.items())[:5]:
        yield f"Ruled out: {', '.join(causes)}. {reason}"
    more = [f.sentence for f in deduced.trace if not f.rule.startswith("needs ") and f.sentence not in reasons]
    yield from (f"Deduced: {sentence}" for sentence in list(dict.fromkeys(more))[:4])


def _sits(line: Ranked) -> str:
    """Where a suspect sits, as far as checks have told places apart."""
    if not line.places or not line.places[0][0]:
        return ""
    first, share = line.places[0]
    if len(line.places) > 1 and share <= 1.5 * line.places[1][1]:
        return f" (at one of {len(line.places)} places)"
    return f" (at {first})"


def _why(line: Ranked, trim: Trim) -> tuple[str, str]:
    """Evidence for and against a suspect, the weightiest first, in decibans against its strongest rival."""
    told = sorted((e for e in line.evidence if abs(e.decibans) >= 0.5), key=lambda e: -abs(e.decibans))
    sides = [[e for e in told if (e.decibans > 0) == good][: trim.evidence] for good in (True, False)]
    pro, con = ("; ".join(f"{e.decibans:+.0f} dB {label(e.finding)}: {_short(e.said)}" for e in some) for some in sides)
    return f"{pro} (against: {label(line.rival)})" if pro else "", con


def _short(text: str) -> str:
    return text if len(text) <= LONGEST_ANSWER else text[:LONGEST_ANSWER].rsplit(" ", 1)[0] + " …"


def _mended(story: Story) -> Iterable[Section]:
    rows: list[tuple[str, str]] = []
    for order, mend in story.inquiry.mends:
        remedy = story.rulebook.remedies.get(mend.remedy)
        if remedy is None:
            continue
        place = mend.place or story.made.subject.name
        seen = story.inquiry.proof_of(order, mend)
        rows.append(("done", f"{label(remedy.name)} at {place}: {at(remedy.do, place)}"))
        rows.append(("proof", proof(story.rulebook, remedy, place)))
        outcome = "not made yet" if seen is None else "passed" if seen.passed else "failed"
        rows.append(("proven", outcome))
    if rows:
        yield Section(
            "What mended it" if story.made.state == "proven" else "What was mended", (Pairs(tuple(rows[-9:])),)
        )


def _check(story: Story, step: CheckStep) -> Iterable[tuple[str, str]]:
    check, place, rules = step.check, step.place.name, story.rulebook
    yield "step", f"{at(check.asks, place)} ({minutes(step.minutes)}{_with(check.tool)})"
    for name in step.prepared.leave:
        yield "first undo", at(rules.set_ups[name].undo, step.at(name))
    for name in step.prepared.enter:
        yield "first", at(rules.set_ups[name].do, step.at(name))
    if check.how:
        yield "do", at(check.how, place)
    if check.bands:
        yield "reads", "; ".join(account.bands(story, check, step.place))
        yield "from", "; ".join(account.figures(story, check, step.place)) or "common practice"
    if check.usual_mistake:
        yield "mistake", check.usual_mistake


def _with(tool: str) -> str:
    return "" if tool == "none" else f", with {tool.replace('-', ' ')}"


def _remedy(story: Story, step: RemedyStep) -> Iterable[tuple[str, str]]:
    remedy, place, rules = step.remedy, step.place.name, story.rulebook
    price = PRICES.get(remedy.price, "; it lifts a bus")
    yield "remedy", f"{label(remedy.name)} at {place} ({minutes(remedy.minutes)}{price}; {chance(step.chance)})"
    for name in step.enter:
        yield "first", at(rules.set_ups[name].do, step.at(name))
    yield "do", at(remedy.do, place)
    yield "proof", proof(rules, remedy, step.proof_at or place)


def _cautions(story: Story) -> Iterable[tuple[str, str]]:
    """The hazards of the next step and of the mend, each spelt out once."""
    step, repair = story.made.step, story.made.repair
    names: list[str] = list(story.made.deduced.cautions)
    names += step.prepared.cautions if isinstance(step, CheckStep) else step.cautions if step else ()
    names += repair.cautions if repair else ()
    for _, mend in story.inquiry.mends[-1:]:
        remedy = story.rulebook.remedies.get(mend.remedy)
        names += remedy.cautions if remedy else ()
    known = [n for n in dict.fromkeys(names) if n in story.rulebook.cautions]
    for name in known[:MOST_CAUTIONS]:
        caution = story.rulebook.cautions[name]
        yield label(name), f"{caution.hazard} {caution.do}"
    if len(known) > MOST_CAUTIONS:
        yield "and", ", ".join(label(n) for n in known[MOST_CAUTIONS:])


def _doubts(story: Story) -> Iterable[str]:
    for one in story.made.ask_again:
        yield f"Doubtful: {label(one.check)} at {one.place.name}: “{one.said}” fits badly with everything else"
    for remark in story.made.remarks[:6]:
        yield f"{label(remark.check)} at {remark.place}: {remark.text}"

"""Commands for a log of events: read it, look through it for faults that come and go, answer a case from it.

What is found is offered to the case as answers and taken only when somebody says so, or with `--yes`. How a log is
read and looked at is left to `eventlog`.
"""

import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import click

from troubleshoot import eventlog, screen
from troubleshoot.casebook import NotSaved
from troubleshoot.cli.session import Session, open_layout, open_rules
from troubleshoot.cli.stepwise import case_session, json_option, pack_option, print_json, width_option
from troubleshoot.diagnosis import diagnose
from troubleshoot.dialogue import Paused, asker, yes_no
from troubleshoot.documents import Problem, Problems, write_text
from troubleshoot.eventlog import Account, Finding, Log, Look, Mapping, Offer
from troubleshoot.eventlog.speaking import HOW, subject_of, supposed, symptoms_for
from troubleshoot.inquiry import sick_places
from troubleshoot.layout import Layout
from troubleshoot.quantities import Unreadable, read_reading
from troubleshoot.rulebook import Rulebook, short
from troubleshoot.rulebook.wording import chance
from troubleshoot.screen import happenings

MOST_TOLD = 6
"""For so many findings the likeliest cause is worked out; each takes a moment."""


@click.group("log")
def log_command() -> None:
    """Logs of events from the layout's computer: find faults that come and go."""


@log_command.command("look")
@click.argument("file", type=click.Path())
@click.option("--layout", help="Layout record: a file, or club or home; without it that of the case.")
@click.option("--columns", help="Which column is what: time=0,kind=1,name=2,state=3, by number from 0 or by head.")
@click.option("--words", help="What words mean: WORD=occupied,WORD=clear; also kinds such as WORD=block.")
@click.option("--delimiter", help="What parts the columns: tab, semicolon, pipe, comma, or the sign itself.")
@click.option("--encoding", help="Such as utf-8, latin-1, utf-16; found by itself as a rule.")
@click.option("--times", help="date, seconds, milliseconds, clock, or a pattern such as '%d/%m/%Y %H:%M:%S'.")
@click.option("--zone", help="Time zone of times that name none: +01:00, UTC, Europe/Paris.")
@click.option("--kind", type=click.Choice(["block", "turnout", "feedback", "power"]), help="All rows are of this kind.")
@click.option("--mapping", "saved", type=click.Path(), help="A saved mapping of columns and words.")
@click.option("--save-mapping", "save_to", type=click.Path(), help="Save how this log was read, for the next one.")
@click.option("--short", "short_", default="1 s", show_default=True, help="The longest flicker.")
@click.option("--finding", type=int, help="Which finding to draw, by its number; the first, or the first of the case.")
@click.option("--window", help="How much time to draw, such as 20 s.")
@click.option("--svg", type=click.Path(), help="Write the drawing of that finding into this file.")
@click.option("--case", help="A case to answer from the log.")
@click.option("--yes", is_flag=True, help="Take every answer that is offered.")
@click.option("--plain", is_flag=True, help="Plain lines instead of arrows.")
@pack_option
@json_option
@width_option
def look_command(
    file: str, layout: str | None, finding: int | None, short_: str, window: str | None, svg: str | None,
    case: str | None, yes: bool, plain: bool, packs: Sequence[str], as_json: bool, width: int | None,
    save_to: str | None, **reading: Any,
) -> int:  # fmt: skip
    """Read a log and look through it for what chance does not explain, in rank order."""
    if yes and not case:
        raise click.UsageError("--yes takes answers for a case; name it with --case")
    longest, wide = _seconds(short_, "--short"), _seconds(window, "--window") if window else None
    session = case_session(case, packs, writes=True) if case else None
    record = session.layout if session and layout is None else open_layout(layout)
    mapping = _mapping(**reading)
    with happenings.reading_bar() as progress:
        log, account = eventlog.read(Path(file), mapping, eventlog.namer(record), progress)
    if not account.read:
        first = "; ".join(str(p) for p in account.reasons[:3]) or "it is empty"
        raise Problems((Problem(file, 0, 0, f"no row of it could be read: {first}"),))
    if save_to:
        _saved(Path(save_to), account.mapping)
    seen = eventlog.look(log, record, longest)
    rulebook = session.rulebook if session else open_rules(packs)
    number = finding if finding is not None else _first(session, seen)
    if svg:
        _draw(Path(svg), log, record, seen, number, wide)
    data = eventlog.as_data(log, account, seen) if as_json else {}
    if as_json:
        for one, entry in zip(seen.found, data["found"], strict=True):
            entry["speaks_for"] = list(symptoms_for(rulebook, one))
    else:
        _show(log, account, seen, record, rulebook, (number, wide, width))
        if session is None:
            _go_on(record, rulebook, seen, layout, file, number)
    code, taken = _answer(session, seen, Path(file), yes, plain, as_json) if session else (0, [])
    if as_json:
        print_json({**data, "case": case, "answers": taken})
    return code


def _first(session: Session | None, seen: Look) -> int:
    """The number of the first finding, or of the first that speaks of a case's own places."""
    if session is None:
        return 1
    sick = {p.name for p in sick_places(session.layout, session.inquiry, session.rulebook)}
    return next((i for i, f in enumerate(seen.found, 1) if sick & {*f.places}), 1)


def _mapping(
    columns: str | None, words: str | None, delimiter: str | None, encoding: str | None, times: str | None,
    zone: str | None, kind: str | None, saved: str | None,
) -> Mapping:  # fmt: skip
    """The saved mapping, with what was said now in its place."""
    mapping = eventlog.load(Path(saved)) if saved else Mapping()
    if delimiter is not None and len(eventlog.DELIMITERS.get(delimiter, delimiter)) != 1:
        raise click.UsageError(f"{delimiter!r} is no delimiter; it is one sign, or {', '.join(eventlog.DELIMITERS)}")
    try:
        more = eventlog.words_said(words) if words else {}
        said: dict[str, Any] = {"columns": eventlog.columns_said(columns) if columns else None}
    except ValueError as error:
        raise click.UsageError(str(error)) from error
    said |= {"encoding": encoding, "times": times, "zone": zone, "kind": kind}
    said["delimiter"] = eventlog.DELIMITERS.get(delimiter, delimiter) if delimiter else None
    kept = {key: value for key, value in said.items() if value is not None}
    return replace(mapping, words={**mapping.words, **more}, **kept)


def _seconds(said: str, option: str) -> float:
    try:
        value = read_reading(said, "s").value
    except Unreadable as error:
        raise click.UsageError(f"{option}: {error}") from error
    if not 0.0 < value <= 86_400.0:
        raise click.UsageError(f"{option}: {said!r} is no span of time for this; write such as 1 s or 20 s")
    return value


def _saved(path: Path, mapping: Mapping) -> None:
    try:
        eventlog.save(path, mapping)
    except Problems as found:
        raise NotSaved(found.problems) from found
    click.echo(f"Saved how this log was read: {path}. Use it with: --mapping {path}", err=True)


def _draw(path: Path, log: Log, record: Layout, seen: Look, number: int, window: float | None) -> None:
    """Write the drawing of one finding."""
    from troubleshoot.sketch.strips import draw

    one = _chosen(seen, number)
    if one is None:
        click.echo("Nothing was found, so there is nothing to draw.", err=True)
        return
    try:
        write_text(path, draw(eventlog.strip(log, record, one, 0, window)))
    except Problems as found:
        raise NotSaved(found.problems) from found


def _chosen(seen: Look, number: int) -> Finding | None:
    """The finding of a number; none where nothing was found."""
    if seen.found and not 1 <= number <= len(seen.found):
        raise click.UsageError(f"there is no finding {number}; they are 1 to {len(seen.found)}")
    return seen.found[number - 1] if seen.found else None


def _show(
    log: Log, account: Account, seen: Look, record: Layout, rulebook: Rulebook,
    how: tuple[int, float | None, int | None],
) -> None:  # fmt: skip
    """The screen: how it was read, what was found, a strip of time, the worst blocks and turnouts."""
    number, window, width = how
    out = screen.console(width=width)
    out.print(happenings.account_lines(log, account))
    notes = {i: _meaning(record, rulebook, f, seen.found, i <= MOST_TOLD) for i, f in enumerate(seen.found, 1)}
    out.print(happenings.findings_table(seen.found, notes, sum(seen.looks.values())))
    one = _chosen(seen, number)
    if one is not None:
        out.print(happenings.strips_plot(eventlog.strip(log, record, one, 0, window), out.width))
    for part in (happenings.watch_lines(seen.watch), happenings.blocks_table(seen), happenings.turnouts_table(seen)):
        out.print(*part, sep="", end="\n" if part else "")
    out.print(*happenings.note_lines(seen.notes), sep="", end="")


def _go_on(record: Layout, rulebook: Rulebook, seen: Look, layout: str | None, file: str, number: int) -> None:
    """The commands that make a case of a finding."""
    one = _chosen(seen, number)
    symptoms = symptoms_for(rulebook, one) if one is not None else ()
    if one is not None and symptoms:
        subject = subject_of(record, rulebook, one, symptoms[0])
        said = f" --layout {layout}" if layout else ""
        text = f"troubleshoot open{said} --symptom {short(symptoms[0])} --about '{screen.printable(subject)}'"
        click.echo(f"\nGo on with: {text}\nand with the case that it makes: troubleshoot log look {file} --case CASE")


def _meaning(record: Layout, rulebook: Rulebook, finding: Finding, found: Sequence[Finding], deep: bool) -> list[str]:
    """What a finding speaks for: the symptom, and the cause that leads once all answers from the log are given."""
    symptoms = symptoms_for(rulebook, finding)
    if finding.of_kind or not symptoms:
        return []
    told = [f"speaks for: {rulebook.symptoms[symptoms[0]].says}"]
    inquiry = supposed(record, rulebook, finding, found) if deep else None
    if inquiry is not None:
        ranking = diagnose(record, rulebook, inquiry).ranking
        if ranking:
            told.append(f"leads there now: {ranking[0].says} ({chance(ranking[0].chance)})")
    return told


def _answer(
    session: Session, seen: Look, file: Path, yes: bool, plain: bool, as_json: bool
) -> tuple[int, list[dict[str, Any]]]:
    """Offer what the log answers to the case; what is taken is saved at once. The exit code, and what was taken."""
    offered = eventlog.offers(session.layout, session.rulebook, session.inquiry, seen.found)
    messages = sys.stderr if as_json else sys.stdout
    if not offered:
        click.echo("The log answers nothing that this case still asks.", err=True)
        return 0, []
    taken: list[dict[str, Any]] = []
    who = asker(plain, sys.stdin, messages)
    for offer in offered:
        try:
            if not yes and who.ask(yes_no(_asked(session, offer), offer.check)) != "yes":
                continue
        except (Paused, KeyboardInterrupt) as ended:
            click.echo(f"\nStopped here; answers saved: {len(taken)}. With --yes all are taken.", err=True)
            return (5 if isinstance(ended, Paused) else 130), taken
        event = {"answer": offer.check, "at": offer.place, "outcome": offer.outcome, "how": HOW}
        event["log"] = f"{file.name}: {eventlog.sentence(offer.finding)}"
        session.add(event)
        taken.append(event)
        if yes:
            click.echo(f"Answered from the log: {screen.label(offer.check)}: {_outcome(session, offer)}", err=True)
    click.echo(f"Go on with: troubleshoot next {session.case.path}", err=True)
    return 0, taken


def _outcome(session: Session, offer: Offer) -> str:
    return str(session.rulebook.checks[offer.check].labels[offer.outcome])


def _asked(session: Session, offer: Offer) -> str:
    """The question whether an answer is to be taken."""
    asks = session.rulebook.checks[offer.check].asks.replace("{place}", offer.place)
    told = screen.printable(f"The log says: {eventlog.sentence(offer.finding)}.")
    return f"{told}\n{asks}\nTake as the answer: {_outcome(session, offer)}?"

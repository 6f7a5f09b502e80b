"""Papers to give to others: the hand-over of a case, and the work list of an evening."""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import click

from troubleshoot import casebook, screen
from troubleshoot.casebook import Case, NotSaved
from troubleshoot.cli.round import date_of, history_path, on_option, width_option
from troubleshoot.cli.session import BUNDLED, Session, cases_folder, layout_path, open_layout, open_rules, resume
from troubleshoot.cli.shelf import shelved
from troubleshoot.documents import Problem, Problems, write_text
from troubleshoot.report.jobs import Job, State, states_of
from troubleshoot.report.paper import Paper
from troubleshoot.rounds import read as read_history


def paper_options(command: Any) -> Any:
    """The options that papers share."""
    for option in (
        click.option("--json", "as_json", is_flag=True, help="Print the content as JSON."),
        click.option("--markdown", type=click.Path(), help="Write it as Markdown into this file; - prints it."),
        click.option("--html", type=click.Path(), help="Write it as a page that stands by itself; - prints it."),
    ):
        command = option(command)
    return command


@click.command("report")
@click.argument("case")
@paper_options
@click.option("--no-names", is_flag=True, help="Without names of layout, places and vehicles, and without notes.")
def report_command(case: str, html: str | None, markdown: str | None, as_json: bool, no_names: bool) -> int:
    """Hand a case over: what was seen, done and read, what follows, what is undone. Two sides of A4."""
    from troubleshoot.report.handover import handover
    from troubleshoot.report.naming import nameless
    from troubleshoot.report.paper import plain_data
    from troubleshoot.report.story import story_of

    session = resume(shelved(case))
    story = story_of(session.case, session.layout, session.rulebook, session.tally)
    paper = handover(nameless(story) if no_names else story)
    if as_json:
        click.echo(json.dumps(plain_data(paper), indent=2, ensure_ascii=False))
    _put(paper, html, markdown if markdown or html or as_json else "-")
    return 0


def _put(paper: Paper, html: str | None, markdown: str | None) -> None:
    """Write a paper where it was asked for."""
    from troubleshoot.report.markdown import markdown as as_markdown
    from troubleshoot.report.page import page

    for where, make in ((html, page), (markdown, as_markdown)):
        if where == "-":
            click.echo(make(paper), nl=False)
        elif where:
            try:
                write_text(Path(where), make(paper))
            except Problems as found:
                raise NotSaved(found.problems) from found
            click.echo(f"Written: {where}", err=True)


@click.command("work-list")
@click.option("--cases", "folder", help="Folder of case files.")
@click.option("--layout", "layouts", multiple=True, help="A layout whose due checks count too; may be given again.")
@click.option("--minutes", type=click.FloatRange(min=0), help="How many minutes there are; the rest waits.")
@on_option
@paper_options
@width_option
def work_list_command(
    folder: str | None,
    layouts: Sequence[str],
    minutes: float | None,
    on: str | None,
    html: str | None,
    markdown: str | None,
    as_json: bool,
    width: int | None,
) -> int:
    """List what to do on an evening: open cases and due checks by place, with minutes and what to bring.

    Checks are due for the layouts of open cases, for those named, and for the bundled ones that have readings.
    """
    from troubleshoot.report.evening import evening
    from troubleshoot.report.jobs import work_list

    gathered = _Gathered(cases_folder(folder), date_of(on))
    gathered.cases()
    gathered.rounds(layouts)
    made = work_list(gathered.jobs, gathered.states, minutes, gathered.unread)
    if as_json:
        click.echo(json.dumps(asdict(made), indent=2, ensure_ascii=False))
    if html or markdown:
        _put(evening(made), html, markdown)
    elif not as_json:
        from troubleshoot.screen.worklist import work_list_screen

        screen.console(width=width).print(work_list_screen(made))
    for problem in dict.fromkeys(str(p) for p in gathered.problems):
        click.echo(problem, err=True)
    return 4 if gathered.problems else 0


@dataclass
class _Gathered:
    """What there is to do in a folder of cases and for its layouts; one bad file never hides the others."""

    folder: Path
    today: date
    jobs: list[Job] = field(default_factory=list)
    states: dict[str, State] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    layouts: dict[str, Session | None] = field(default_factory=dict)
    known: dict[str, Session] = field(default_factory=dict)
    unread: int = 0

    def cases(self) -> None:
        """Every open case as a job."""
        from troubleshoot.report.jobs import job_of
        from troubleshoot.report.story import story_of

        cases, self.problems = casebook.cases_in(self.folder)
        self.unread = len({problem.file for problem in self.problems})
        for case in cases:
            if case.closed or "round" in case.head:
                continue
            try:
                session = _opened(case, self.known)
            except Problems as found:
                self.problems.extend(found.problems)
                self.unread += 1
                continue
            self.layouts.setdefault(_record_of(case.layout, self.folder), session)
            self.jobs.append(job_of(story_of(session.case, session.layout, session.rulebook, session.tally)))
            self.states.update(states_of(session.rulebook))

    def rounds(self, named: Sequence[str]) -> None:
        """Every check that is due on a layout, unless an open case asks for the same."""
        from troubleshoot.report.jobs import due_jobs

        for said in (*named, *BUNDLED):
            self.layouts.setdefault(_record_of(said, Path()), None)
        for said, session in self.layouts.items():
            path = history_path(said, self.folder)
            if not path.exists() and said not in named:
                continue
            try:
                record = session.layout if session else open_layout(said)
                rulebook = session.rulebook if session else open_rules()
                due = due_jobs(read_history(path, record, rulebook), self.today)
            except Problems as found:
                self.problems.extend(found.problems)
                self.unread += 1
                continue
            self.states.update(states_of(rulebook))
            asked = {(j.layout, j.place, j.what) for j in self.jobs}
            self.jobs.extend(j for j in due if (j.layout, j.place, j.what) not in asked)


def _record_of(said: str | None, beside: Path) -> str:
    """A layout as the commands name it: a bundled one by its name, any other by its file."""
    return said or "none" if said in (None, "none", *BUNDLED) else str(layout_path(str(said), beside))


def _opened(case: Case, known: dict[str, Session]) -> Session:
    """A case with its layout and rules, which cases with the same ones share: reading them takes longest."""
    key = json.dumps([case.layout, case.head.get("packs"), case.head.get("pack-folders")], default=str)
    like = known.get(key)
    strange = like is not None and casebook.unknown_names(case, like.rulebook)
    if like is None or strange or not any("symptom" in event for _, event in case.standing()):
        session = resume(case.path)
        known.setdefault(key, session)
        return session
    casebook.inquiry(case, like.rulebook)
    return Session(like.layout, like.rulebook, case, like.tally)

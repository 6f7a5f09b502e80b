"""The work list of an evening on paper: what to bring, then board by board, each job with a box to tick."""

from troubleshoot.report.jobs import Group, Job, WorkList
from troubleshoot.report.paper import Block, Items, Pairs, Paper, Section, Words
from troubleshoot.report.wording import minutes

SMALLEST = 8.5
"""Points of the smallest letters: this paper is read at arm's length, under a layout."""


def evening(made: WorkList) -> Paper:
    """The paper of a work list."""
    sections = [*_unread(made.unread), _overview(made)]
    several = len({g.layout for g in made.groups}) > 1
    sections += [_group(g, several) for g in made.groups]
    if made.later:
        sections.append(Section("For another evening", (Items(tuple(_said(j) for j in made.later)),)))
    return Paper("Work list", length(made), (tuple(sections),), _FOOT, SMALLEST)


_FOOT = (
    "Minutes are estimates. What is still undone is put right before trains run. How a job is done, with its cautions, "
    "stands on its card (troubleshoot card CASE); say what came of it with troubleshoot resume CASE."
)


def length(made: WorkList) -> str:
    """How long it takes, in words."""
    jobs = sum(len(g.jobs) for g in made.groups)
    said = f"{jobs} job{'' if jobs == 1 else 's'}, {minutes(made.minutes) if jobs else 'no time'}"
    return said + (f" of {made.at_hand:g} min" if made.at_hand is not None else "")


def _unread(count: int) -> list[Section]:
    if not count:
        return []
    what = "1 case or history" if count == 1 else f"{count} cases or histories"
    return [Section("Not the whole list", (Words((f"{what} could not be read, and may hold more to do.",)),), "danger")]


def _overview(made: WorkList) -> Section:
    if not made.groups and made.unread:
        return Section("Nothing to do in what could be read", (Words(("No other case is open, no check is due.",)),))
    if not made.groups:
        return Section("Nothing to do", (Words(("No case is open and no check is due.",)),))
    bring = ", ".join(made.bring) or "nothing but eyes and hands"
    return Section("To bring", (Words((bring,)),))


def _group(group: Group, several: bool) -> Section:
    where = f"{group.board} ({group.layout})" if several else group.board
    blocks: list[Block] = []
    if group.states:
        blocks.append(Pairs((("first", "; ".join(group.states)),)))
    blocks.append(Items(tuple(_said(j) for j in group.jobs), ticks=True))
    undone = [text for job in group.jobs for text in job.undone]
    if undone:
        blocks.append(Pairs(tuple(("undo", text) for text in dict.fromkeys(undone))))
    tone = "danger" if any(j.danger for j in group.jobs) else ""
    return Section(f"{where}: {minutes(group.minutes)}", tuple(blocks), tone)


def _said(job: Job) -> str:
    """A job in a line: what, how long, why, and of which case."""
    why = f"case {job.case}: {job.why}" if job.case else f"due: {job.why}"
    what = job.what if job.what.endswith((".", "?", "!")) else f"{job.what}."
    danger = "DANGER. " if job.danger else ""
    return f"{danger}{job.place}: {what} {minutes(job.minutes).capitalize()}; {why}"

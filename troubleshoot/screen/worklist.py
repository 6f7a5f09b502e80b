"""The work list of an evening in the terminal: what to bring, then board by board, each job with a box to tick."""

from rich.console import Group, RenderableType

from troubleshoot.report.evening import evening
from troubleshoot.report.jobs import WorkList
from troubleshoot.report.paper import Items, Pairs, Section
from troubleshoot.screen.drawing import block, heading, line


def work_list_screen(made: WorkList) -> RenderableType:
    """The whole list, in the words of its paper."""
    paper = evening(made)
    parts: list[RenderableType] = [heading(f"{paper.title}: {paper.subtitle}")]
    for side in paper.sides:
        for section in side:
            parts += _section(section)
    return Group(*parts, block(paper.foot, "dim"))


def _section(section: Section) -> list[RenderableType]:
    parts: list[RenderableType] = [heading(section.title, "bold red" if section.tone == "danger" else "bold")]
    for one in section.blocks:
        if isinstance(one, Pairs):
            parts += [line(name, text, "yellow" if name == "undo" else "") for name, text in one.rows]
        elif isinstance(one, Items):
            parts += [line("[ ]" if one.ticks else "-", text) for text in one.lines]
        else:
            parts += [block(text) for text in getattr(one, "lines", ())]
    return parts

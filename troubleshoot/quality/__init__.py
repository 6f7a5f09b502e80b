"""Trying rules out: examples, what is weak, and a simulated trial in a world drawn from the rules and in one not."""

from troubleshoot.quality.examples import Layouts, Tried, layouts_of, records, try_cause, try_deductions, try_examples
from troubleshoot.quality.judging import Judged, Weakness, judge
from troubleshoot.quality.trial import Outcome, Summary, play, summary
from troubleshoot.quality.worlds import World, world

__all__ = [
    "Judged",
    "Layouts",
    "Outcome",
    "Summary",
    "Tried",
    "Weakness",
    "World",
    "judge",
    "layouts_of",
    "play",
    "records",
    "summary",
    "try_cause",
    "try_deductions",
    "try_examples",
    "world",
]

"""Trying rules out: their examples, and a simulated trial in a world drawn from the rules and in one that is not."""

from troubleshoot.quality.examples import Layouts, Tried, layouts_of, records, try_cause, try_deductions, try_examples
from troubleshoot.quality.trial import Outcome, Summary, bound, play, summary
from troubleshoot.quality.worlds import World, world

__all__ = [
    "Layouts",
    "Outcome",
    "Summary",
    "Tried",
    "World",
    "bound",
    "layouts_of",
    "play",
    "records",
    "summary",
    "try_cause",
    "try_deductions",
    "try_examples",
    "world",
]

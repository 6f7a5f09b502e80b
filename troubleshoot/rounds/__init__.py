"""Check rounds: which readings a healthy layout is worth, keeping them, and telling from them what goes wrong slowly.

`worth` and `choosing` say which readings, `planning` in which order, `history` keeps them, `judging` judges one,
`trend` (on `ranks`, `series` and `weather`) says where they go, `due` what to read next and what to look into,
`telling` puts it into words. Plain Python; no files but the history. Screens and pictures are left to others.
"""

from troubleshoot.rounds.ahead import Reach
from troubleshoot.rounds.due import DueCheck, Offer, due_checks
from troubleshoot.rounds.history import History, Taken, of, read
from troubleshoot.rounds.judging import Judged, judge
from troubleshoot.rounds.trend import Trend, trends

__all__ = [
    "DueCheck",
    "History",
    "Judged",
    "Offer",
    "Reach",
    "Taken",
    "Trend",
    "due_checks",
    "judge",
    "of",
    "read",
    "trends",
]

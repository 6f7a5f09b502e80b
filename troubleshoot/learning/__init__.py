"""What closed cases teach: how often a cause is to blame, where, what it shows, which cure lasts; and forgetting it.

How the counts move chances is left to `rulebook.tally` and `belief`; where cases are kept to `casebook`.
"""

from troubleshoot.learning.accounting import Learned, LearnedCause, LearnedRow, LearnedSymptom, account
from troubleshoot.learning.counting import Taught, counted, learn, returns_of, same_layout, tally, taught
from troubleshoot.learning.forgetting import Forgotten, forget, forgotten, remember
from troubleshoot.learning.lessons import CAME_BACK, Lesson, lesson_of
from troubleshoot.learning.recalling import Cure, Recall, recall

__all__ = [
    "CAME_BACK",
    "Cure",
    "Forgotten",
    "Learned",
    "LearnedCause",
    "LearnedRow",
    "LearnedSymptom",
    "Lesson",
    "Recall",
    "Taught",
    "account",
    "counted",
    "forget",
    "forgotten",
    "learn",
    "lesson_of",
    "recall",
    "remember",
    "returns_of",
    "same_layout",
    "tally",
    "taught",
]

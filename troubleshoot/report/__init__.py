"""Papers to give to others: the hand-over of a case, and the work list of an evening.

Rules of the room: a paper is plain data first, every leaf a line of text (`handover`, `jobs`); then a page that opens
without a network and without scripts, or Markdown. Text of people never becomes mark-up. A paper without names is
made from a record in which the names never were (`naming`). Nothing is asked and nothing is saved here.
"""

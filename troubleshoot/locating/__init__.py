"""Locating: what the sick places share and the healthy ones do not, and where to disconnect next in a tree of feeders.

Rules of the room: pure functions over the layout record; chances of parts are estimates and say so; an answer may be
wrong, so nothing is struck out for good; what is assumed because the record is silent is told. Suspects, rules and
cases are left to the rooms after it; drawing is left to `screen`.
"""

from troubleshoot.locating.chances import CLEAN, WRONG, Lift, chances, clean, contradicted, counted, fits, prior, shares
from troubleshoot.locating.growing import scope_of, tree_of
from troubleshoot.locating.hunting import Hunt, Left, NextLift, hunt
from troubleshoot.locating.planning import EXACT, QUICK
from troubleshoot.locating.sharing import Candidate, behind, candidates
from troubleshoot.locating.tree import Limb, Point, Tree

__all__ = [
    "CLEAN",
    "EXACT",
    "QUICK",
    "WRONG",
    "Candidate",
    "Hunt",
    "Left",
    "Lift",
    "Limb",
    "NextLift",
    "Point",
    "Tree",
    "behind",
    "candidates",
    "chances",
    "clean",
    "contradicted",
    "counted",
    "fits",
    "hunt",
    "prior",
    "scope_of",
    "shares",
    "tree_of",
]

"""Practice: a layout with a hidden fault, to learn on, to show, and to test the tool on honestly.

What can be measured is worked out by the circuit of the layout, with the fault in it. What is no physics is answered
from a file that was written without sight of the rules. Modules: `faults` (the file), `world` (one layout with one
fault, and what it answers), `playing` (the tool, a checklist or half-splitting at work on it), `scoring` (a person).
"""

from troubleshoot.practice.faults import HiddenFault, load_faults
from troubleshoot.practice.playing import WAYS, Played, Summary, play, summary
from troubleshoot.practice.scoring import Score, Trainee
from troubleshoot.practice.world import World, draw

__all__ = [
    "WAYS",
    "HiddenFault",
    "Played",
    "Score",
    "Summary",
    "Trainee",
    "World",
    "draw",
    "load_faults",
    "play",
    "summary",
]

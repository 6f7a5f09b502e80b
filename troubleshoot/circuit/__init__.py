"""The layout as an electrical network: what a meter shows at any place, healthy or with a fault in it.

Modules: `parts` (a netlist and its changes), `building` (a layout as a netlist), `solving` (nodal analysis, with
numpy), `eliminating` (conductances taken apart; scipy only for large circuits), `faults`, `probing` (meters), `reading`
(the door for everybody else), `sharpening` (which missing figure matters most).
"""

from troubleshoot.circuit.faults import KINDS
from troubleshoot.circuit.probing import METERS, SPOTS, STATES, Probe
from troubleshoot.circuit.reading import Computed, Fault, Model, available, model_of, warm
from troubleshoot.circuit.sharpening import Missing, missing

__all__ = [
    "KINDS",
    "METERS",
    "SPOTS",
    "STATES",
    "Computed",
    "Fault",
    "Missing",
    "Model",
    "Probe",
    "available",
    "missing",
    "model_of",
    "warm",
]

"""Finds the fault in the electrics of a digitally controlled (DCC) model railway, step by step at the layout."""

__version__ = "0.1.0"

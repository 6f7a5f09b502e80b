"""What is certain, decided by a production system, with a trace that reads as sentences."""

from troubleshoot.deduction.strata import STRATA, Deduced, Fired, Prepared, deduce, prepare

__all__ = ["STRATA", "Deduced", "Fired", "Prepared", "deduce", "prepare"]

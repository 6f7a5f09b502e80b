"""The physics of a layout: plain formulas by theme, named quantities at a place, and one door to both.

Formulas are in `leaks`, `cables`, `waves`, `power`, `meters`, `accessories`, `wheels` and `packets`; `ground`
and `at_place` set the layout's figures into them; `values` names the results; `expected` is the door for
everybody else.
"""

from troubleshoot.electrics.expected import (
    HEALTHY,
    Comparison,
    Expected,
    Limits,
    ReadingSpec,
    compare,
    expected,
    limits,
    meter_error,
)
from troubleshoot.electrics.values import QUANTITIES, Quantity, quantity

__all__ = [
    "HEALTHY",
    "QUANTITIES",
    "Comparison",
    "Expected",
    "Limits",
    "Quantity",
    "ReadingSpec",
    "compare",
    "expected",
    "limits",
    "meter_error",
    "quantity",
]

"""A figure as a person types it, to SI and back.

Modules: `units` (what a question asks for, and the units that may be typed), `numbers` (decimal marks and thousands),
`reading` (a whole entry), `showing` (the way back). What a reading means for a check is left to the rule packs, and
what it should be to `electrics`.
"""

from troubleshoot.quantities.reading import LONGEST, Reading, read_figure, read_reading
from troubleshoot.quantities.showing import show
from troubleshoot.quantities.units import Unreadable

__all__ = ["LONGEST", "Reading", "Unreadable", "read_figure", "read_reading", "show"]

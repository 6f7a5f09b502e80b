"""What checks and causes are in the circuit of a layout: spots of the probes, states, and kinds of fault with sizes.

What does not fit is noted, not raised. What a circuit makes of it is left to `circuit`.
"""

from collections.abc import Mapping
from typing import Any

from troubleshoot.circuit import KINDS as FAULTS
from troubleshoot.circuit import SPOTS, STATES
from troubleshoot.electrics import QUANTITIES
from troubleshoot.quantities import Unreadable, read_reading
from troubleshoot.rulebook.kinds import Size
from troubleshoot.rulebook.resolving import Linker


def measures_of(
    link: Linker, said: Mapping[str, Any] | None, entry: Mapping[str, Any], name: str
) -> tuple[str, str, tuple[str, ...]] | None:
    """What a reading is in the circuit: meter, spot of the probes, states."""
    if not said:
        return None
    if entry.get("unit") is None:
        link.say(entry, f"{name}: only a reading (unit and bands) measures something")
    link.known(str(said["across"]), SPOTS, entry, f"{name}: spot")
    for state in said.get("while", ()):
        link.known(state, STATES, entry, f"{name}: state")
    return str(said["meter"]), str(said["across"]), tuple(said.get("while", ()))


def _size(link: Linker, said: str | None, unit: str, default: float, entry: Mapping[str, Any]) -> Size:
    """A size of a fault: 'NUMBER x QUANTITY', or a plain figure in the unit of its kind."""
    if said is None:
        return default, None
    factor, times, name = said.partition(" x ")
    if times:
        link.known(name, QUANTITIES, entry, "fault: quantity")
        return float(factor), name
    try:
        return (float(said), None) if unit in ("", "share") else (read_reading(said, unit).value, None)
    except (Unreadable, ValueError) as error:
        link.say(entry, f"fault: {error}")
        return default, None


def fault_of(link: Linker, said: Mapping[str, Any] | None, entry: Mapping[str, Any]) -> tuple[str, Size, Size] | None:
    """What a cause is in the circuit: kind of fault, least and greatest size."""
    if not said:
        return None
    link.known(str(said["kind"]), FAULTS, entry, "kind of fault")
    kind = FAULTS.get(str(said["kind"]))
    if kind is None:
        return None
    least = _size(link, said.get("from"), kind.unit, kind.least, entry)
    return str(said["kind"]), least, _size(link, said.get("to"), kind.unit, kind.most, entry)

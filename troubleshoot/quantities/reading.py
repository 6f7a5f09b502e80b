"""A whole entry read: bound, sign, number and unit, to SI.

Rules: bounds (`<`, `>`, `~`) are kept; over range (`OL`) is not a number; what cannot be read is refused in words that
say what to type instead. What a reading means for a check is left to the rule packs.
"""

import math
import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal

from troubleshoot.quantities.numbers import parts
from troubleshoot.quantities.units import SAMPLES, Asked, Unreadable, asked_in, goes_with, sample, unit_of

LONGEST = 60
"""Characters that a person may need for one figure; anything longer is a slip of the clipboard."""

_SIGNED = ("V", "A", "degC", "degF")

_BOUND = re.compile(
    r"(?P<low><=?|≤|less than|under|below|at most)|(?P<high>>=?|≥|more than|over|above|at least)"
    r"|(?P<near>~|≈|≃|about|around|approximately|approx\.?|circa|ca\.?|roughly)",
    re.IGNORECASE,
)

_OVER = re.compile(r"[-+]?(?:[o0]\.?l\.?|overload|over ?load|over(?:[ -]?range)?|open)(?P<unit> ?\D*)", re.IGNORECASE)


@dataclass(frozen=True)
class Reading:
    """One reading: `value` in SI, inf when over range; `bound` is '', '<', '>' or '~'; `said` as typed."""

    value: float
    unit: str
    bound: str = ""
    over_range: bool = False
    said: str = ""


def read_reading(text: str, unit: str) -> Reading:
    """Return what a person typed when asked in `unit`, such as 'ohm', 'mA AC', 'pF/m', 'min', 'C'.

    A figure without a unit takes that of the question: 2.9 asked in mA is 2.9 mA. Raises Unreadable.
    """
    asked = asked_in(unit)
    said = _tidy(text, asked)
    over = _OVER.fullmatch(said)
    if over and goes_with(over["unit"], asked):
        return Reading(
            -math.inf if said[0] == "-" else math.inf, asked.unit, "", over_range=True, said=str(text).strip()
        )
    found = _BOUND.match(said)
    bound = {"low": "<", "high": ">", "near": "~"}[str(found.lastgroup)] if found else ""
    rest = said[found.end() :].strip() if found else said
    return Reading(_figure(rest, asked, said), asked.unit, bound, over_range=False, said=str(text).strip())


def read_figure(text: str | float, dimension: str) -> float:
    """Return a figure of a layout record in SI; `dimension` is an SI unit: 'V', 'm2', 's', 'F/m', 'degC' ...

    The unit must be written, except for counts. Areas may be a wire gauge: '14 AWG'. Raises Unreadable.
    """
    asked = asked_in(dimension)
    said = _tidy(str(text), asked)
    gauge = re.fullmatch(r"(?:awg|#) ?([0-9]{1,2})|([0-9]{1,2}) ?(?:awg|ga(?:uge)?)", said, re.IGNORECASE)
    if gauge and asked.unit == "m2":
        return _gauge_area(int(gauge[1] or gauge[2]), said)
    if asked.unit != "count" and re.fullmatch(r"[-+]?[0-9., ]+", said):
        raise Unreadable(f'"{said}" has no unit; write it as in "{SAMPLES.get(asked.unit, asked.text)}"')
    return _figure(said, asked, said)


def _gauge_area(gauge: int, said: str) -> float:
    """Return the area of a solid wire in m2: pi/4 x (0.127 mm x 92^((36 - n)/39))^2. Source: ASTM B258."""
    if gauge > 40:
        raise Unreadable(f'"{said}" is no wire of a layout; gauges run from 0 (thick) to 40 (thin)')
    return math.pi / 4 * (0.127e-3 * math.pow(92, (36 - gauge) / 39)) ** 2


def _tidy(text: str, asked: Asked) -> str:
    """Return the text with one kind of space, sign and letter for each; refuses the empty and the endless."""
    plain = re.sub(r"(?<=[a-zA-Z])²", "^2", str(text)[: LONGEST * 2])
    odd = next((c for c in plain if unicodedata.category(c) == "No"), "")
    if odd:  # raised, ringed and broken figures would be taken for plain ones: 3² for 32
        raise Unreadable(
            f'"{plain[:LONGEST].strip()}" has the sign {odd}, which is no plain figure; type {sample(asked)}'
        )
    said = unicodedata.normalize("NFKC", plain).replace("\u2126", "Ω").replace("−", "-")
    said = " ".join("".join(c if c.isprintable() else " " for c in said).replace("’", "'").split())
    if len(str(text)) > LONGEST * 2 or len(said) > LONGEST:
        raise Unreadable(
            f"this is too long for a figure ({len(str(text))} characters); type one such as {sample(asked)}"
        )
    if not said:
        raise Unreadable(f"nothing is typed yet; type a figure such as {sample(asked)}")
    return (
        said[:-1].rstrip()
        if said.endswith(".") and said[-2:-1].isalpha() and not said.lower().startswith("o.")
        else said
    )


def _figure(rest: str, asked: Asked, said: str) -> float:
    """Return the SI value of a figure without a bound."""
    sign, number, unit = parts(rest, asked, said)
    base, factor = unit_of(unit, asked, said)
    value = number * factor
    if base == "degF":
        value = ((-value if sign == "-" else value) - 32) * 5 / 9
        sign = ""
    if sign == "-" and value and (base not in _SIGNED or asked.mode == "AC"):
        raise Unreadable(f'"{said}" is below zero, which cannot be here; look for a slip, or swap the probes')
    if abs(value) > Decimal("1e15"):
        raise Unreadable(f'"{said}" is more than any meter shows; check the digits')
    if asked.unit == "count" and value != int(value):
        raise Unreadable(f'"{said}" is not a whole number; count whole things')
    return float(-value if sign == "-" else value)

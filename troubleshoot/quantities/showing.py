"""An SI value for people, in at most three figures; what is shown can be typed again."""

import math
from decimal import Decimal

from troubleshoot.quantities.units import ALLOWED, PREFIXES, asked_in


def show(value: float, unit: str) -> str:
    """Return an SI `value` for people, with at most three figures: '2.9 kohm', '22 mA', '0.4 V', 'OL'.

    `unit` is an SI unit or that of a question. What is shown can be typed again. Raises ValueError for nan.
    """
    if math.isnan(value):
        raise ValueError("nan is not a value to show")
    if math.isinf(value):
        return "OL" if value > 0 else "-OL"
    if abs(value) < 1e-15:  # far below what anybody measures
        value = 0.0
    try:
        asked = asked_in(unit)
    except KeyError:  # a unit that is shown but never typed, such as ohm/m
        return _engineering(value, unit, "pnμmkMG")
    mode = f" {asked.mode}" if asked.mode else ""
    if asked.unit == "count":
        return f"{value:.0f}"
    if asked.unit in ("degC", "%"):
        return f"{_three(value)} {'C' if asked.unit == 'degC' else '%'}"
    if asked.unit == "m2":
        return f"{_three(value * 1e6)} mm2"
    if asked.unit == "kg":
        return f"{_three(value * 1e3)} g"
    size = abs(_rounded(value))
    if asked.unit == "s" and size >= 120:
        return f"{_three(value / 60)} min" if size < 7200 else f"{_three(value / 3600)} h"
    if asked.unit == "m" and (unit == "mm" or size < 1):
        return f"{_three(value * 1e3)} mm" if unit == "mm" or size < 0.1 else f"{_three(value * 100)} cm"
    usable = "pnμ" if asked.unit == "F" else ALLOWED.get(asked.unit, "pnμmkMG")
    return _engineering(value, asked.unit, usable) + mode


def _engineering(value: float, unit: str, prefixes: str) -> str:
    size = abs(_rounded(value))
    # thousandths of an ohm would be read as a slip for millions; a tenth of a volt is easier than 100 mV
    usable = ["", *(p for p in prefixes if unit != "ohm" or p != "m")]
    usable.sort(key=_power, reverse=True)
    if not size or (unit in ("V", "W", "N") and 0.1 <= size < 1):
        best = ""
    else:
        best = next((p for p in usable if size >= 10.0 ** _power(p)), usable[-1])
    return f"{_three(value / 10.0 ** _power(best))} {best.replace('μ', 'u')}{unit}"


def _power(prefix: str) -> int:
    return PREFIXES.get(prefix, 0)


def _rounded(value: float) -> float:
    return float(f"{value:.3g}")


def _three(value: float) -> str:
    shown = f"{Decimal(f'{value:.3g}'):f}"
    shown = shown.rstrip("0").rstrip(".") if "." in shown else shown
    return "0" if shown == "-0" else shown

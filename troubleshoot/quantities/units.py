"""Units and prefixes as a person types them, and what a question asks for.

Rules: the unit comes from the question when none is typed, and a wrong one is refused, never converted by guess. `m`
and `M` differ by a thousand million: where one of them is unlikely, ask, never choose. Numbers are left to `numbers`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

PREFIXES = {"p": -12, "n": -9, "μ": -6, "m": -3, "k": 3, "M": 6, "G": 9}

_WORDS = {
    "pico": "p",
    "nano": "n",
    "micro": "μ",
    "milli": "m",
    "kilo": "k",
    "kil": "k",
    "mega": "M",
    "meg": "M",
}

_LOOSE = {"P": "p", "N": "n", "U": "μ", "u": "μ", "K": "k", "g": "G"}


# Word as typed, in small letters -> SI unit and factor. Source of inch and foot: international yard.
_UNITS: Mapping[str, tuple[str, Decimal]] = {
    word: (unit, Decimal(factor))
    for unit, factor, words in (
        ("ohm", "1", "ohms ohm r ω"),
        ("V", "1", "volts volt v"),
        ("A", "1", "amperes ampere amps amp a"),
        ("F", "1", "farads farad f"),
        ("Hz", "1", "hertz hz"),
        ("W", "1", "watts watt w"),
        ("N", "1", "newtons newton"),
        ("kg", "0.001", "grams gram g"),
        ("s", "1", "seconds second secs sec s"),
        ("s", "60", "minutes minute mins min"),
        ("s", "3600", "hours hour hrs hr h"),
        ("m", "1", "metres metre meters meter m"),
        ("m", "0.01", "cm"),
        ("m", "0.0254", 'inches inch in "'),
        ("m", "0.3048", "feet foot ft"),
        ("m2", "0.000001", "mm2 mm^2 sqmm"),
        ("degC", "1", "degc °c celsius c"),
        ("degF", "1", "degf °f fahrenheit"),
        ("%", "1", "% percent pct"),
        ("count", "1", "times pieces x"),
    )
    for word in words.split()
}

SAMPLES = {
    "ohm": "2.9k",
    "V": "0.4 V",
    "A": "22 mA",
    "F": "10 nF",
    "F/m": "50 pF/m",
    "s": "200 ms",
    "m": "2.5 mm",
    "m2": "2.5 mm2",
    "degC": "25 C",
    "%": "45 %",
    "count": "3",
    "Hz": "8.6 kHz",
    "W": "4 W",
    "N": "0.2 N",
    "kg": "40 g",
}

_WANTED = {
    "ohm": "ohms are",
    "V": "volts are",
    "A": "amperes are",
    "F": "farads are",
    "F/m": "farads a metre are",
    "s": "a time is",
    "m": "a length is",
    "m2": "an area is",
    "degC": "degrees are",
    "degF": "degrees are",
    "%": "per cent are",
    "count": "a count is",
    "Hz": "hertz are",
    "W": "watts are",
    "N": "newtons are",
    "kg": "a mass is",
}

ALLOWED = {  # the prefixes that somebody at a layout can mean
    "ohm": "mkMG", "V": "μmk", "A": "pnμmk", "F": "pnμm", "F/m": "pnμm", "s": "nμm", "m": "μmk", "Hz": "kMG",
    "W": "μmk", "N": "", "kg": "mk",
}  # fmt: skip


_UNIT = re.compile(
    r"(?P<prefix>pico|nano|micro|milli|kilo|kil|mega|meg|[pnuμmkgPNUMKG])??[ -]*"
    r"(?P<unit>" + "|".join(re.escape(word) for word in sorted(_UNITS, key=len, reverse=True)) + r")?"
    r"(?P<per> ?(?:/|per) ?(?:m|metre|meter|ft|foot))?"
    r"(?P<mode>(?: ?(?:true[ -]?rms|rms|ac|dc|~))*)",
    re.IGNORECASE,
)


class Unreadable(ValueError):
    """Says why a figure cannot be read; `ask` is the question to ask back when it has two meanings."""

    def __init__(self, reason: str, ask: str | None = None) -> None:
        super().__init__(reason)
        self.reason = reason
        self.ask = ask


class Asked(NamedTuple):
    """The unit of a question: SI unit, factor to it, AC or DC or neither, and as the question writes it."""

    unit: str
    factor: Decimal
    mode: str
    text: str


@lru_cache(maxsize=64)
def asked_in(unit: str) -> Asked:
    """What a question in such a unit asks for. Raises KeyError for a unit that nobody types."""
    if unit in ("count", "m2", "kg", "N"):  # SI names that are no way to type a reading
        return Asked(unit, Decimal(1), "", unit)
    match = _UNIT.fullmatch(unit)
    if match is None or not match["unit"]:
        raise KeyError(f"no such unit: {unit!r}")
    base, factor = _UNITS[match["unit"].lower()]
    exponent = PREFIXES[_prefix(match["prefix"])] if match["prefix"] else 0
    mode = match["mode"].strip().upper()
    return Asked(base + ("/m" if match["per"] else ""), factor.scaleb(exponent), mode, unit)


def sample(asked: Asked) -> str:
    """A figure as somebody may type it here."""
    return SAMPLES.get(asked.unit, asked.text)


def bare(asked: Asked) -> str:
    """The unit of a question as it is typed behind a prefix."""
    return {"degC": "C", "F/m": "F/m"}.get(asked.unit, asked.unit)


def _prefix(typed: str) -> str:
    return _WORDS.get(typed.lower(), _LOOSE.get(typed, typed)) if len(typed) > 1 or typed in _LOOSE else typed


def goes_with(unit: str, asked: Asked) -> bool:
    """Whether `OL` may be followed by this: nothing, or the unit that the display shows beside it."""
    match = _UNIT.fullmatch(unit.strip())
    fits = match and (not match["unit"] or _UNITS[match["unit"].lower()][0] == asked.unit.removesuffix("/m"))
    return bool(fits) and asked.unit not in ("count", "m", "%")


def unit_of(typed: str, asked: Asked, said: str) -> tuple[str, Decimal]:
    """Return SI unit and factor of a unit as typed; refuses one that the question did not ask for."""
    if not typed:
        return asked.unit, asked.factor
    if re.fullmatch("mfd|mmf", typed, re.IGNORECASE) and asked.unit == "F":
        raise Unreadable(f'"{said}": {typed} is an old way to write it', "Are these microfarads? Then type uF")
    match = _UNIT.fullmatch(typed)
    if not match:
        raise Unreadable(_strange(typed, asked, said))
    prefix, word, per = match["prefix"] or "", (match["unit"] or "").lower(), match["per"]
    if typed in ("m", "M") and asked.unit != "m":  # a prefix alone, not metres
        prefix, word = typed, ""
        if asked.unit == "s":
            raise Unreadable(f'"{said}": m can be minutes or thousandths', "Minutes or milliseconds? Type min or ms")
    if typed in ("g", "G") and asked.unit != "kg":
        prefix, word = typed, ""
    if typed in ("n", "N") and asked.unit == "N":
        prefix, word = "", "newton"
    base, factor = _UNITS[word] if word else (asked.unit, Decimal(1))
    if word == "f" and asked.unit == "degC":
        base = "degF"
    if word and asked.unit == "F/m" and base == "F" and per:
        base, factor = "F/m", factor / (Decimal("0.3048") if per.strip().endswith(("ft", "foot")) else 1)
    if base != asked.unit and (base, asked.unit) != ("degF", "degC"):
        raise Unreadable(_strange(typed, asked, said, base))
    _same_mode(match["mode"], asked, said)
    return base, factor.scaleb(_exponent(prefix, base, asked, said))


def _strange(typed: str, asked: Asked, said: str, base: str = "") -> str:
    what = f"is {_name(base)}" if base else f'has the unit "{typed}", which is not known'
    if re.search(r"p-?p|peak|pk", typed, re.IGNORECASE):
        what = "is a peak figure, which a meter does not show"
    return f'"{said}" {what}; {_WANTED[asked.unit]} wanted here, as in {sample(asked)}'


def _name(base: str) -> str:
    return _WANTED[base].rpartition(" ")[0]


def _same_mode(typed: str, asked: Asked, said: str) -> None:
    mode = "DC" if "dc" in typed.lower() else "AC" if typed.strip() else ""
    if mode and asked.mode in ("AC", "DC") and mode != asked.mode:
        raise Unreadable(f'"{said}" is {mode}, and {asked.mode} is asked for; turn the dial and measure again')


def _exponent(typed: str, base: str, asked: Asked, said: str) -> int:
    if not typed:
        return 0
    prefix = _prefix(typed)
    spelled_out = len(typed) > 1
    if base == "ohm" and prefix == "m" and not spelled_out:
        raise Unreadable(
            f'"{said}": m is thousandths and M is millions of an ohm',
            "Megohms or milliohms? Type M for millions, or the word milliohm for thousandths",
        )
    if prefix not in ALLOWED.get(base, ""):
        if prefix == "M" and "m" in ALLOWED.get(base, ""):
            small = f"m{bare(asked)}"
            raise Unreadable(f'"{said}": M is millions, m is thousandths', f"Do you mean {small}? Then type a small m")
        what = f'"{typed}" does not go with {_name(base)}'
        raise Unreadable(f'"{said}": {what}; type it as in {sample(asked)}')
    return PREFIXES[prefix]

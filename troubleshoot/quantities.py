"""A figure as a person types it, to SI and back.

Rules of this module:

- The unit comes from the question when none is typed; a wrong unit is refused, never converted by guess.
- A comma is the decimal mark, unless exactly three digits follow a whole part that is not zero: then ask.
- `m` and `M` differ by a thousand million: where one of them is unlikely, ask, never choose.
- Bounds (`<`, `>`, `~`) are kept. Over range (`OL`) is not a number.
- What cannot be read is refused in words that say what to type instead.

What a reading means for a check is left to the rule packs, and what it should be to `electrics`.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

LONGEST = 60
"""Characters that a person may need for one figure; anything longer is a slip of the clipboard."""

_PREFIXES = {"p": -12, "n": -9, "μ": -6, "m": -3, "k": 3, "M": 6, "G": 9}
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
_SAMPLES = {
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
_ALLOWED = {  # the prefixes that somebody at a layout can mean
    "ohm": "mkMG", "V": "μmk", "A": "pnμmk", "F": "pnμm", "F/m": "pnμm", "s": "nμm", "m": "μmk", "Hz": "kMG",
    "W": "μmk", "N": "", "kg": "mk",
}  # fmt: skip
_SIGNED = ("V", "A", "degC", "degF")

_UNIT = re.compile(
    r"(?P<prefix>pico|nano|micro|milli|kilo|kil|mega|meg|[pnuμmkgPNUMKG])??[ -]*"
    r"(?P<unit>" + "|".join(re.escape(word) for word in sorted(_UNITS, key=len, reverse=True)) + r")?"
    r"(?P<per> ?(?:/|per) ?(?:m|metre|meter|ft|foot))?"
    r"(?P<mode>(?: ?(?:true[ -]?rms|rms|ac|dc|~))*)",
    re.IGNORECASE,
)
_DIGITS = r"[0-9]+(?:[ '.,][0-9]+)*[.,]?|[.,][0-9]+"
_TEXT = re.compile(
    rf"(?P<sign>[-+]?) ?(?P<number>{_DIGITS})(?P<power>e[-+]?[0-9]{{1,2}}(?![0-9]))? ?(?P<unit>\D.*)?", re.I
)
_CODE = re.compile(r"(?P<sign>[-+]?)(?P<whole>[0-9]*)(?P<mark>[kKMmRrΩωVvAaGuUμnNpP])(?P<part>[0-9]+) ?(?P<unit>\D.*)?")
_BOUND = re.compile(
    r"(?P<low><=?|≤|less than|under|below|at most)|(?P<high>>=?|≥|more than|over|above|at least)"
    r"|(?P<near>~|≈|≃|about|around|approximately|approx\.?|circa|ca\.?|roughly)",
    re.IGNORECASE,
)
_OVER = re.compile(r"[-+]?(?:[o0]\.?l\.?|overload|over ?load|over(?:[ -]?range)?|open)(?P<unit> ?\D*)", re.IGNORECASE)
_RANGE = re.compile(r"[0-9][^0-9]*?(?:-|–|\.\.+|…|/| to | and | or | bis )[^0-9]*?[0-9]|\+/?-|±", re.IGNORECASE)


class Unreadable(ValueError):
    """Says why a figure cannot be read; `ask` is the question to ask back when it has two meanings."""

    def __init__(self, reason: str, ask: str | None = None) -> None:
        super().__init__(reason)
        self.reason = reason
        self.ask = ask


@dataclass(frozen=True)
class Reading:
    """One reading: `value` in SI, inf when over range; `bound` is '', '<', '>' or '~'; `said` as typed."""

    value: float
    unit: str
    bound: str = ""
    over_range: bool = False
    said: str = ""


class _Asked(NamedTuple):
    unit: str
    factor: Decimal
    mode: str
    text: str


def read_reading(text: str, unit: str) -> Reading:
    """Return what a person typed when asked in `unit`, such as 'ohm', 'mA AC', 'pF/m', 'min', 'C'.

    A figure without a unit takes that of the question: 2.9 asked in mA is 2.9 mA. Raises Unreadable.
    """
    asked = _asked(unit)
    said = _tidy(text, asked)
    over = _OVER.fullmatch(said)
    if over and _goes_with(over["unit"], asked):
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
    asked = _asked(dimension)
    said = _tidy(str(text), asked)
    gauge = re.fullmatch(r"(?:awg|#) ?([0-9]{1,2})|([0-9]{1,2}) ?(?:awg|ga(?:uge)?)", said, re.IGNORECASE)
    if gauge and asked.unit == "m2":
        return _gauge_area(int(gauge[1] or gauge[2]), said)
    if asked.unit != "count" and re.fullmatch(r"[-+]?[0-9., ]+", said):
        raise Unreadable(f'"{said}" has no unit; write it as in "{_SAMPLES.get(asked.unit, asked.text)}"')
    return _figure(said, asked, said)


def _gauge_area(gauge: int, said: str) -> float:
    """Return the area of a solid wire in m2: pi/4 x (0.127 mm x 92^((36 - n)/39))^2. Source: ASTM B258."""
    if gauge > 40:
        raise Unreadable(f'"{said}" is no wire of a layout; gauges run from 0 (thick) to 40 (thin)')
    return math.pi / 4 * (0.127e-3 * math.pow(92, (36 - gauge) / 39)) ** 2


@lru_cache(maxsize=64)
def _asked(unit: str) -> _Asked:
    if unit in ("count", "m2", "kg", "N"):  # SI names that are no way to type a reading
        return _Asked(unit, Decimal(1), "", unit)
    match = _UNIT.fullmatch(unit)
    if match is None or not match["unit"]:
        raise KeyError(f"no such unit: {unit!r}")
    base, factor = _UNITS[match["unit"].lower()]
    exponent = _PREFIXES[_prefix(match["prefix"])] if match["prefix"] else 0
    mode = match["mode"].strip().upper()
    return _Asked(base + ("/m" if match["per"] else ""), factor.scaleb(exponent), mode, unit)


def _tidy(text: str, asked: _Asked) -> str:
    """Return the text with one kind of space, sign and letter for each; refuses the empty and the endless."""
    plain = re.sub(r"(?<=[a-zA-Z])²", "^2", str(text)[: LONGEST * 2])
    odd = next((c for c in plain if unicodedata.category(c) == "No"), "")
    if odd:  # raised, ringed and broken figures would be taken for plain ones: 3² for 32
        raise Unreadable(
            f'"{plain[:LONGEST].strip()}" has the sign {odd}, which is no plain figure; type {_sample(asked)}'
        )
    said = unicodedata.normalize("NFKC", plain).replace("\u2126", "Ω").replace("−", "-")
    said = " ".join("".join(c if c.isprintable() else " " for c in said).replace("’", "'").split())
    if len(str(text)) > LONGEST * 2 or len(said) > LONGEST:
        raise Unreadable(
            f"this is too long for a figure ({len(str(text))} characters); type one such as {_sample(asked)}"
        )
    if not said:
        raise Unreadable(f"nothing is typed yet; type a figure such as {_sample(asked)}")
    return (
        said[:-1].rstrip()
        if said.endswith(".") and said[-2:-1].isalpha() and not said.lower().startswith("o.")
        else said
    )


def _sample(asked: _Asked) -> str:
    return _SAMPLES.get(asked.unit, asked.text)


def _figure(rest: str, asked: _Asked, said: str) -> float:
    """Return the SI value of a figure without a bound."""
    sign, number, unit = _parts(rest, asked, said)
    base, factor = _unit(unit, asked, said)
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


def _parts(rest: str, asked: _Asked, said: str) -> tuple[str, Decimal, str]:
    """Return sign, number and unit as typed."""
    code = _CODE.fullmatch(rest)
    if code and (code["whole"] or code["mark"] in "RrΩω"):
        mark = code["mark"]
        unit = code["unit"] or ""
        spoken = mark if mark in "RrΩωVvAa" else mark + (unit or _bare(asked))
        if unit and mark in "RrΩωVvAa" and _unit(unit, asked, said) != _unit(mark, asked, said):
            raise Unreadable(f'"{said}" has two units; type it as in {_sample(asked)}')
        return code["sign"], Decimal(f"{code['whole'] or 0}.{code['part']}"), spoken
    match = _TEXT.fullmatch(rest)
    if not match or _RANGE.search(rest) or re.search("[0-9]", (match["unit"] or "").replace("2", "")):
        raise Unreadable(_why_no_figure(rest, said, asked))
    number = _number(match["number"], said, asked)
    if match["power"]:
        number = number.scaleb(int(match["power"][1:]))
    return match["sign"], number, (match["unit"] or "").strip()


def _bare(asked: _Asked) -> str:
    return {"degC": "C", "F/m": "F/m"}.get(asked.unit, asked.unit)


def _why_no_figure(rest: str, said: str, asked: _Asked) -> str:
    word = rest.lower()
    if re.match("beep|buzz|bleep", word):
        return f"a beep is no figure; take the measuring range and type what it shows, as in {_sample(asked)}"
    if word in ("nan", "inf", "+inf", "-inf", "infinity", "infinite", "∞"):
        return f'"{said}" is no reading; type the figure, or OL when the meter shows over range'
    if re.search("[0-9]:[0-9]", word):
        return f'"{said}" can be read in two ways; type it with one unit, such as 90 s or 1.5 min'
    if _RANGE.search(rest):
        return f'"{said}" is more than one figure; type the one it mostly shows, with ~ in front if it wanders'
    if re.search("[0-9]", word):
        return f'"{said}" is not one figure; type it as in {_sample(asked)}'
    return f'"{said}" holds no figure; type what the meter shows, such as {_sample(asked)}'


def _number(text: str, said: str, asked: _Asked) -> Decimal:
    """Return the number in `text`, whatever marks the decimals and the thousands, or ask."""
    if re.fullmatch(r"1\. ?", text) and asked.unit == "ohm":
        raise Unreadable(
            f'"{said}" can be one ohm, or the lone 1 of a meter that is over range',
            "Is it a lone 1 at the left edge of the display? Then type OL; otherwise type 1",
        )
    if re.fullmatch(r"[0-9]*[.,]?[0-9]*", text):
        whole, _, part = text.partition("," if "," in text else ".")
        if "," in text and len(part) == 3 and int(whole or 0):
            raise Unreadable(
                f'"{said}" can be read as {whole}.{part} or as {whole}{part}',
                f"Is it {whole}.{part} or {whole}{part}? Type it without the comma",
            )
        return Decimal(f"{whole or 0}.{part or 0}")
    for group, mark in ((" ", "[.,]"), ("'", "[.,]"), (",", "[.]"), (".", "[,]")):
        if re.fullmatch(rf"[1-9][0-9]{{0,2}}(?:{re.escape(group)}[0-9]{{3}})+(?:{mark}[0-9]+)?", text):
            whole, _, part = re.sub(mark, "|", text.replace(group, "")).partition("|")
            return Decimal(f"{whole}.{part or 0}")
    raise Unreadable(f'"{said}" is not one figure; type it as in {_sample(asked)}')


def _prefix(typed: str) -> str:
    return _WORDS.get(typed.lower(), _LOOSE.get(typed, typed)) if len(typed) > 1 or typed in _LOOSE else typed


def _goes_with(unit: str, asked: _Asked) -> bool:
    """Whether `OL` may be followed by this: nothing, or the unit that the display shows beside it."""
    match = _UNIT.fullmatch(unit.strip())
    fits = match and (not match["unit"] or _UNITS[match["unit"].lower()][0] == asked.unit.removesuffix("/m"))
    return bool(fits) and asked.unit not in ("count", "m", "%")


def _unit(typed: str, asked: _Asked, said: str) -> tuple[str, Decimal]:
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


def _strange(typed: str, asked: _Asked, said: str, base: str = "") -> str:
    what = f"is {_name(base)}" if base else f'has the unit "{typed}", which is not known'
    if re.search(r"p-?p|peak|pk", typed, re.IGNORECASE):
        what = "is a peak figure, which a meter does not show"
    return f'"{said}" {what}; {_WANTED[asked.unit]} wanted here, as in {_sample(asked)}'


def _name(base: str) -> str:
    return _WANTED[base].rpartition(" ")[0]


def _same_mode(typed: str, asked: _Asked, said: str) -> None:
    mode = "DC" if "dc" in typed.lower() else "AC" if typed.strip() else ""
    if mode and asked.mode in ("AC", "DC") and mode != asked.mode:
        raise Unreadable(f'"{said}" is {mode}, and {asked.mode} is asked for; turn the dial and measure again')


def _exponent(typed: str, base: str, asked: _Asked, said: str) -> int:
    if not typed:
        return 0
    prefix = _prefix(typed)
    spelled_out = len(typed) > 1
    if base == "ohm" and prefix == "m" and not spelled_out:
        raise Unreadable(
            f'"{said}": m is thousandths and M is millions of an ohm',
            "Megohms or milliohms? Type M for millions, or the word milliohm for thousandths",
        )
    if prefix not in _ALLOWED.get(base, ""):
        if prefix == "M" and "m" in _ALLOWED.get(base, ""):
            small = f"m{_bare(asked)}"
            raise Unreadable(f'"{said}": M is millions, m is thousandths', f"Do you mean {small}? Then type a small m")
        what = f'"{typed}" does not go with {_name(base)}'
        raise Unreadable(f'"{said}": {what}; type it as in {_sample(asked)}')
    return _PREFIXES[prefix]


# --- and back -------------------------------------------------------------------------------------


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
        asked = _asked(unit)
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
    usable = "pnμ" if asked.unit == "F" else _ALLOWED.get(asked.unit, "pnμmkMG")
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
    return _PREFIXES.get(prefix, 0)


def _rounded(value: float) -> float:
    return float(f"{value:.3g}")


def _three(value: float) -> str:
    shown = f"{Decimal(f'{value:.3g}'):f}"
    shown = shown.rstrip("0").rstrip(".") if "." in shown else shown
    return "0" if shown == "-0" else shown

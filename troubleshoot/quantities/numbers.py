"""The number in what was typed: decimal marks, thousands, part codes such as 2k9; refused where it could be two.

Rule: a comma is the decimal mark, unless exactly three digits follow a whole part that is not zero: then ask.
"""

import re
from decimal import Decimal

from troubleshoot.quantities.units import Asked, Unreadable, bare, sample, unit_of

_DIGITS = r"[0-9]+(?:[ '.,][0-9]+)*[.,]?|[.,][0-9]+"

_TEXT = re.compile(
    rf"(?P<sign>[-+]?) ?(?P<number>{_DIGITS})(?P<power>e[-+]?[0-9]{{1,2}}(?![0-9]))? ?(?P<unit>\D.*)?", re.I
)

_CODE = re.compile(r"(?P<sign>[-+]?)(?P<whole>[0-9]*)(?P<mark>[kKMmRrΩωVvAaGuUμnNpP])(?P<part>[0-9]+) ?(?P<unit>\D.*)?")

_RANGE = re.compile(r"[0-9][^0-9]*?(?:-|–|\.\.+|…|/| to | and | or | bis )[^0-9]*?[0-9]|\+/?-|±", re.IGNORECASE)


def parts(rest: str, asked: Asked, said: str) -> tuple[str, Decimal, str]:
    """Return sign, number and unit as typed."""
    code = _CODE.fullmatch(rest)
    if code and (code["whole"] or code["mark"] in "RrΩω"):
        mark = code["mark"]
        unit = code["unit"] or ""
        spoken = mark if mark in "RrΩωVvAa" else mark + (unit or bare(asked))
        if unit and mark in "RrΩωVvAa" and unit_of(unit, asked, said) != unit_of(mark, asked, said):
            raise Unreadable(f'"{said}" has two units; type it as in {sample(asked)}')
        return code["sign"], Decimal(f"{code['whole'] or 0}.{code['part']}"), spoken
    match = _TEXT.fullmatch(rest)
    if not match or _RANGE.search(rest) or re.search("[0-9]", (match["unit"] or "").replace("2", "")):
        raise Unreadable(_why_no_figure(rest, said, asked))
    number = _number(match["number"], said, asked)
    if match["power"]:
        number = number.scaleb(int(match["power"][1:]))
    return match["sign"], number, (match["unit"] or "").strip()


def _why_no_figure(rest: str, said: str, asked: Asked) -> str:
    word = rest.lower()
    if re.match("beep|buzz|bleep", word):
        return f"a beep is no figure; take the measuring range and type what it shows, as in {sample(asked)}"
    if word in ("nan", "inf", "+inf", "-inf", "infinity", "infinite", "∞"):
        return f'"{said}" is no reading; type the figure, or OL when the meter shows over range'
    if re.search("[0-9]:[0-9]", word):
        return f'"{said}" can be read in two ways; type it with one unit, such as 90 s or 1.5 min'
    if _RANGE.search(rest):
        return f'"{said}" is more than one figure; type the one it mostly shows, with ~ in front if it wanders'
    if re.search("[0-9]", word):
        return f'"{said}" is not one figure; type it as in {sample(asked)}'
    return f'"{said}" holds no figure; type what the meter shows, such as {sample(asked)}'


def _number(text: str, said: str, asked: Asked) -> Decimal:
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
    raise Unreadable(f'"{said}" is not one figure; type it as in {sample(asked)}')

"""Reading the time of a row: dates, seconds or milliseconds since 1970, or a bare clock that crosses midnight.

Written for a million rows: the part of a date down to the minute is worked out once and kept. Fractions may stand
after a point or a comma. A time without a zone is taken in the zone that was named, else as it stands, which changes
no duration. Day and month separated by slashes can be read two ways, so such a form has to be named.
"""

import re
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta, timezone, tzinfo

Reader = Callable[[str], float]
FORMS = ("date", "seconds", "milliseconds", "clock")
"""Forms of times that need no pattern: 2026-03-01 19:42:05.250, 1772394125.25, 1772394125250, 19:42:05.250."""
_DATE = re.compile(
    r"(?:(?P<y>\d{4})[-/.](?P<m>\d\d?)[-/.](?P<d>\d\d?)|(?P<d2>\d\d?)\.(?P<m2>\d\d?)\.(?P<y2>\d{4}))[T ]+"
    r"(?P<h>\d\d?):(?P<min>\d\d)(?::(?P<s>\d\d)(?:[.,:](?P<f>\d{1,9}))?)?\s*(?P<z>Z|[+-]\d\d:?\d\d)?",
    re.ASCII,
)
_SECONDS = re.compile(r"(\d\d(?:[.,]\d{1,9})?)(Z|[+-]\d\d:?\d\d)?", re.ASCII)
_CLOCK = re.compile(r"(\d\d?):(\d\d)(?::(\d\d)(?:[.,:](\d{1,9}))?)?\s*([AaPp][Mm])?", re.ASCII)
_NUMBER = re.compile(r"\d{1,17}(?:[.,]\d{1,9})?", re.ASCII)
_EARLIEST_MS = 1e11
"""Above this a number counts milliseconds: as seconds it would be the year 5138."""
MOST_KEPT = 100_000
HALF_DAY = 43_200.0
DAY = 86_400.0


def zone_of(said: str) -> tzinfo:
    """A zone from `UTC`, `+01:00` or a name such as `Europe/Paris`. Raises ValueError with what to write."""
    match = re.fullmatch(r"([+-])(\d\d):?(\d\d)", said.strip(), re.ASCII)
    if match and int(match[2]) < 24 and int(match[3]) < 60:
        minutes = int(match[2]) * 60 + int(match[3])
        return timezone(timedelta(minutes=minutes if match[1] == "+" else -minutes))
    if said.strip().upper() in ("UTC", "Z", "GMT"):
        return timezone.utc
    from zoneinfo import ZoneInfo

    try:
        return ZoneInfo(said.strip())
    except (OSError, ValueError, LookupError) as error:
        raise ValueError(f"{said!r} is no time zone known here; write such as +01:00, UTC or Europe/Paris") from error


def guess(samples: Sequence[str]) -> str | None:
    """The form that most samples have, or None."""
    best: tuple[int, str] | None = None
    for form in FORMS:
        fits = sum(_fits(form, s.strip()) for s in samples)
        if fits * 2 > len(samples) and (best is None or fits > best[0]):
            best = (fits, form)
    return best[1] if best else None


def _fits(form: str, text: str) -> bool:
    if form == "date":
        return bool(_DATE.fullmatch(text))
    if form == "clock":
        return bool(_CLOCK.fullmatch(text))
    if not _NUMBER.fullmatch(text):
        return False
    return (float(text.replace(",", ".")) >= _EARLIEST_MS) == (form == "milliseconds")


def reader(form: str, zone: str | None = None) -> Reader:
    """A function from the text of a time to seconds; it raises ValueError. Any other form is a strptime pattern."""
    at = zone_of(zone) if zone else None
    if form == "date":
        return _dates(at)
    if form == "clock":
        return _clocks()
    if form in ("seconds", "milliseconds"):
        return _numbers(1.0 if form == "seconds" else 0.001)
    return _patterns(form, at)


def dated(form: str) -> bool:
    """Whether times of a form belong to a calendar."""
    return form != "clock"


def _numbers(step: float) -> Reader:
    def read(text: str) -> float:
        if not _NUMBER.fullmatch(text):
            raise ValueError("no number")
        return float(text.replace(",", ".")) * step

    return read


def _dates(zone: tzinfo | None) -> Reader:
    minutes: dict[tuple[str, str | None], float] = {}

    def slow(text: str) -> float:
        match = _DATE.fullmatch(text)
        if not match:
            raise ValueError("no date with a time")
        part = match.groupdict()
        year, month, day = (int(part[k] or part[f"{k}2"]) for k in ("y", "m", "d"))
        second = int(part["s"] or 0)
        if second > 60:
            raise ValueError("no such second")
        moment = datetime(year, month, day, int(part["h"]), int(part["min"]))
        own = zone_of(part["z"]) if part["z"] and part["z"] != "Z" else None if not part["z"] else timezone.utc
        base = moment.replace(tzinfo=own or zone or timezone.utc).timestamp()
        return base + second + float(f"0.{part['f'] or 0}")

    def read(text: str) -> float:
        # 2026-03-01T19:42:05.250+01:00: everything but the seconds is the same for many rows
        match = _SECONDS.fullmatch(text, 17) if len(text) > 18 and text[16] == ":" else None
        if not match:
            return slow(text)
        second, own = match.groups()
        base = minutes.get((text[:16], own))
        if base is None:
            base = slow(f"{text[:16]}:00{own or ''}")
            if len(minutes) < MOST_KEPT:
                minutes[text[:16], own] = base
        if second[:2] > "60":
            raise ValueError("no such second")
        return base + float(second.replace(",", "."))

    return read


def _clocks() -> Reader:
    """A bare clock: it goes back by more than half a day when midnight is crossed, and the day is counted on."""
    day, last = 0.0, -1.0

    def read(text: str) -> float:
        nonlocal day, last
        match = _CLOCK.fullmatch(text)
        if not match:
            raise ValueError("no time of day")
        hour, minute, second = int(match[1]), int(match[2]), int(match[3] or 0)
        if match[5]:
            if not 1 <= hour <= 12:
                raise ValueError("no such hour")
            hour = hour % 12 + (12 if match[5].lower() == "pm" else 0)
        if hour > 23 or minute > 59 or second > 60:
            raise ValueError("no time of day")
        value = hour * 3600.0 + minute * 60.0 + second + float(f"0.{match[4] or 0}")
        if last >= 0 and value < last - HALF_DAY:
            day += DAY
        elif last >= 0 and value > last + HALF_DAY and day:
            return value + day - DAY  # a row from before midnight that was written down late
        last = value
        return value + day

    return read


def _patterns(pattern: str, zone: tzinfo | None) -> Reader:
    def read(text: str) -> float:
        try:
            moment = datetime.strptime(text, pattern)
        except (ValueError, re.error) as error:
            raise ValueError(f"it does not follow {pattern!r}") from error
        return (moment if moment.tzinfo else moment.replace(tzinfo=zone or timezone.utc)).timestamp()

    return read


def offset(text: str, form: str, zone: str | None, when: float) -> float:
    """How far the log's own clock is from UTC, in seconds, for showing times as they were written."""
    match = _DATE.fullmatch(text) if form == "date" else None
    said = match["z"] if match and match["z"] else None
    at = zone_of("UTC" if said == "Z" else said) if said else zone_of(zone) if zone else timezone.utc
    try:
        shift = datetime.fromtimestamp(when, at).utcoffset()
    except (OverflowError, OSError, ValueError):
        return 0.0
    return shift.total_seconds() if shift else 0.0

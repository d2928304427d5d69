"""One time stamp by a pattern: any width, month names, half days, and the hour 24 of the day before."""

from __future__ import annotations

import re
from datetime import datetime
from functools import cache

from scheduling.weather.readers.report import ReadRefused

ISO = "iso"
PARTS = {
    "Y": r"(?P<Y>\d{4})",
    "y": r"(?P<y>\d{2})",
    "m": r"(?P<m>\d{1,2})",
    "b": r"(?P<b>[A-Za-z]{3})",
    "d": r"(?P<d>\d{1,2})",
    "H": r"(?P<H>\d{1,2})",
    "I": r"(?P<I>\d{1,2})",
    "p": r"(?P<p>[AaPp][Mm])",
    "M": r"(?P<M>\d{2})",
    "S": r"(?P<S>\d{2})",
    "z": r"(?P<z>Z|[+-]\d{2}:?\d{2})",
}
_ISO = (
    r"(?P<Y>\d{4})-(?P<m>\d{2})-(?P<d>\d{2})[T ](?P<H>\d{2}):(?P<M>\d{2})"
    r"(?::(?P<S>\d{2})(?:\.0+)?)?(?P<z>Z|[+-]\d{2}:?\d{2})?"
)
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_EPOCH = datetime(1970, 1, 1)


def moment_of(text: str, time_format: str) -> tuple[int, int | None]:
    """(seconds since 1970 by the clock as written, offset from UTC in seconds or None). Raises ValueError."""
    found = _pattern(time_format).fullmatch(text.strip())
    if found is None:
        raise ValueError
    return _moment(found.groupdict())


def checked_format(time_format: str) -> None:
    """Raises ReadRefused when a time format cannot make a time."""
    _pattern(time_format)


@cache
def _pattern(time_format: str) -> re.Pattern[str]:
    if time_format == ISO:
        return re.compile(_ISO)
    pieces = re.split(r"%(.)", time_format)
    letters = set(pieces[1::2])
    if not letters <= set(PARTS) or len(letters) < len(pieces[1::2]):
        raise ReadRefused(f"time_format: {time_format!r} may hold each of %{' %'.join(PARTS)} once, or be 'iso'")
    hour = "H" in letters or {"I", "p"} <= letters
    if not ("d" in letters and hour and letters & {"m", "b"} and letters & {"Y", "y"}):
        raise ReadRefused(f"time_format: {time_format!r} lacks a year, month, day or hour")
    pieces[1::2] = [_tight(letter, pieces) for letter in pieces[1::2]]
    pieces[0::2] = [re.escape(piece) for piece in pieces[0::2]]
    return re.compile("".join(pieces))


def _tight(letter: str, pieces: list[str]) -> str:
    """Digits that follow each other without a sign between them must have both places ("2018091500")."""
    crowded = "" in pieces[2:-1:2]
    return PARTS[letter].replace("{1,2}", "{2}") if crowded else PARTS[letter]


def _moment(parts: dict[str, str | None]) -> tuple[int, int | None]:
    year = int(parts.get("Y") or 0) or 2000 + int(parts.get("y") or 0)
    if not 1900 <= year <= 2200:
        raise ValueError
    hour, minute, second = _hour(parts), int(parts.get("M") or 0), int(parts.get("S") or 0)
    midnight = hour == 24
    if midnight and (minute or second):
        raise ValueError
    moment = datetime(year, _month(parts), int(parts["d"] or 0), 0 if midnight else hour, minute, second)
    gone = moment - _EPOCH
    return (gone.days + midnight) * 86400 + gone.seconds, _offset_s(parts.get("z"))


def _month(parts: dict[str, str | None]) -> int:
    name = parts.get("b")
    return _MONTHS.index(name.lower()) + 1 if name else int(parts["m"] or 0)


def _hour(parts: dict[str, str | None]) -> int:
    half = parts.get("p")
    if half is None:
        return int(parts["H"] or 0)
    hour = int(parts["I"] or 0)
    if not 1 <= hour <= 12:
        raise ValueError
    return hour % 12 + (12 if half.lower() == "pm" else 0)


def _offset_s(text: str | None) -> int | None:
    if not text:
        return None
    if text == "Z":
        return 0
    sign = -1 if text[0] == "-" else 1
    hours, minutes = int(text[1:3]), int(text[-2:])
    if hours > 15 or minutes > 59:
        raise ValueError
    return sign * (hours * 3600 + minutes * 60)

"""Times as CF counts them: "hours since 1900-01-01" in a calendar that has every day of ours."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.readers.timed import Seconds

if TYPE_CHECKING:
    import xarray

CALENDARS = ("standard", "gregorian", "proleptic_gregorian")
_UNIT_S = {"s": 1, "sec": 1, "second": 1, "min": 60, "minute": 60, "h": 3600, "hr": 3600, "hour": 3600, "d": 86400, "day": 86400}
_SINCE = re.compile(
    r"(?P<unit>[a-z]+?)s?\s+since\s+(?P<Y>\d{1,4})-(?P<m>\d{1,2})-(?P<d>\d{1,2})"
    r"(?:[T ]\s*(?P<H>\d{1,2}):(?P<M>\d{1,2})(?::(?P<S>\d{1,2})(?:\.\d*)?)?)?\s*(?P<zone>Z|UTC|[+-]\d{1,2}(?::?\d{2})?)?",
    re.IGNORECASE,
)
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def is_time(variable: xarray.DataArray) -> bool:
    """Whether the units say that a variable counts time."""
    return bool(_SINCE.fullmatch(str(variable.attrs.get("units", "")).strip()))


def utc_seconds(values: Any, attrs: dict[str, Any], name: str) -> Seconds:
    """Seconds since 1970 UTC of counted times, rounded to the second; UTC where the units name no zone, as CF has it.

    Raises ReadRefused on other calendars, on units that count no fixed time (months), on a missing time.
    """
    calendar = str(attrs.get("calendar", "standard")).lower()
    if calendar not in CALENDARS:
        raise ReadRefused(f"{name}: its calendar {calendar!r} is not ours; convert the file to the calendar {CALENDARS[0]!r}.")
    unit_s, reference = _counted(str(attrs.get("units", "")).strip(), name)
    if calendar != "proleptic_gregorian" and reference.year < 1583:
        raise ReadRefused(f"{name}: it counts from the year {reference.year}, before our calendar; count from 1900 or later.")
    counts = np.asarray(values, dtype=np.float64)
    if not np.isfinite(counts).all():
        raise ReadRefused(f"{name}: it has {int((~np.isfinite(counts)).sum())} missing times; cut them out of the file.")
    seconds = counts * unit_s + (reference - _EPOCH) // timedelta(seconds=1)
    if len(seconds) and not (seconds.min() > -2.3e9 and seconds.max() < 7.3e9):
        raise ReadRefused(f"{name}: its times lie outside 1900 to 2200; check its units {attrs.get('units')!r}.")
    return np.rint(seconds).astype(np.int64)


def _counted(units: str, name: str) -> tuple[int, datetime]:
    found = _SINCE.fullmatch(units)
    if found is None or found["unit"].lower() not in _UNIT_S:
        raise ReadRefused(f"{name}: its units {units!r} count no time as CF has it, such as 'hours since 1970-01-01'.")
    try:
        year, month, day, hour, minute, second = (int(found[part] or 0) for part in "YmdHMS")
        reference = datetime(year, month, day, hour, minute, second, tzinfo=UTC) - _offset(found["zone"])
    except (ValueError, OverflowError):
        raise ReadRefused(f"{name}: its units {units!r} count from a time that does not exist.") from None
    return _UNIT_S[found["unit"].lower()], reference


def _offset(text: str | None) -> timedelta:
    if not text or text.upper() in ("Z", "UTC"):
        return timedelta()
    digits = re.sub(r"\D", "", text)
    hours, minutes = (int(digits[:-2]), int(digits[-2:])) if len(digits) > 2 else (int(digits), 0)
    return timedelta(hours=hours, minutes=minutes) * (-1 if text[0] == "-" else 1)

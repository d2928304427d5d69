"""The local calendar of a regular UTC grid: days, hours of the day, ISO weeks and months, all as arrays."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from scheduling.weather.series import FloatArray, Series

Ints = NDArray[np.int64]

DAY_S = 86400
#: Clocks change on a quarter of an hour at the finest.
QUARTER_S = 900


def local_clock(series: Series, zone: str) -> tuple[Ints, FloatArray]:
    """(local days since 1970-01-01, hour of the local day) [n] of each step's start.

    On the day the clocks go forward the skipped hour has no step; on the day they go back the repeated hour has its
    steps twice, both on that day. Raises ZoneInfoNotFoundError for a zone that is not known.
    """
    seconds = series.times().astype("datetime64[s]").astype(np.int64)
    local = seconds + offsets_s(seconds, zone)
    return local // DAY_S, (local % DAY_S) / 3600.0


def offsets_s(utc_s: Ints, zone: str) -> Ints:
    """int64 [n]: seconds by which the zone's clock is ahead of UTC at each moment (seconds since 1970, UTC, ascending)."""
    place = ZoneInfo(zone)
    days = np.arange(utc_s[0] // DAY_S, utc_s[-1] // DAY_S + 2)
    at_midnight = np.array([_offset_s(int(day) * DAY_S, place) for day in days], dtype=np.int64)
    day = utc_s // DAY_S - days[0]
    offsets: Ints = at_midnight[day]
    # Only on the few days at whose end the clock differs from their start does the hour matter.
    for changed in np.flatnonzero(np.diff(at_midnight)):
        for index in np.flatnonzero(day == changed):
            offsets[index] = _offset_s(int(utc_s[index]) // QUARTER_S * QUARTER_S, place)
    return offsets


def iso_weeks(days: Ints) -> tuple[Ints, Ints]:
    """(ISO year, ISO week 1..53) [n] of days since 1970-01-01 (ISO 8601: a week belongs to the year of its Thursday)."""
    thursday = days - (days + 3) % 7 + 3
    years = thursday.astype("datetime64[D]").astype("datetime64[Y]")
    first = years.astype("datetime64[D]").astype(np.int64)
    return years.astype(np.int64) + 1970, (thursday - first) // 7 + 1


def months(days: Ints) -> tuple[Ints, Ints]:
    """(year, month 1..12) [n] of days since 1970-01-01."""
    month = days.astype("datetime64[D]").astype("datetime64[M]").astype(np.int64)
    return month // 12 + 1970, month % 12 + 1


def has_week_53(year: int) -> bool:
    """Whether the ISO year is a long one: 2015, 2020, 2026."""
    return datetime(year, 12, 28).isocalendar().week == 53


def _offset_s(utc_s: int, place: ZoneInfo) -> int:
    shift = datetime.fromtimestamp(utc_s, tz=UTC).astimezone(place).utcoffset() or timedelta()
    return int(shift.total_seconds())

"""How pages write times, days and numbers. Times come in UTC and leave in the given zone with its abbreviation."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from math import floor, isfinite
from zoneinfo import ZoneInfo

UNKNOWN = "unknown"


def clock(when: datetime | None, zone: ZoneInfo) -> str:
    """07:30 CET."""
    return f"{when.astimezone(zone):%H:%M %Z}" if when else UNKNOWN


def moment(when: datetime | None, zone: ZoneInfo) -> str:
    """Wed 10 Jun 2026, 08:00 CEST."""
    return f"{weekday(when.astimezone(zone).date())}, {clock(when, zone)}" if when else UNKNOWN


def span(start: datetime, end: datetime, zone: ZoneInfo) -> str:
    """07:30 to 13:00 CET; both abbreviations where the clock changes in between."""
    first, last = start.astimezone(zone), end.astimezone(zone)
    same = first.tzname() == last.tzname()
    return f"{first:%H:%M} to {last:%H:%M %Z}" if same else f"{first:%H:%M %Z} to {last:%H:%M %Z}"


def weekday(day: date | None) -> str:
    """Wed 10 Jun 2026."""
    return f"{day:%a} {day.day} {day:%b %Y}" if day else "no date"


def short_day(day: date) -> str:
    """Wed 10 Jun."""
    return f"{day:%a} {day.day} {day:%b}"


def number(value: float | None, unit: str = "", digits: int = 0) -> str:
    """12,345 MWh. None and not-a-number are unknown, never 0."""
    if value is None or not isfinite(value):
        return UNKNOWN
    return f"{value:,.{digits}f}{' ' if unit else ''}{unit}"


def money(value: float | None, currency: str) -> str:
    """EUR 12,345."""
    written = number(value)
    return written if written == UNKNOWN else f"{currency} {written}"


def share(value: float | None, digits: int = 0) -> str:
    """86 %."""
    return number(None if value is None else 100 * value, "%", digits)


def hours(value: float | None) -> str:
    """3 h 20 min."""
    if value is None or not isfinite(value):
        return UNKNOWN
    minutes = round(60 * value)
    sign, minutes = ("-" if minutes < 0 else ""), abs(minutes)
    return f"{sign}{minutes // 60} h {minutes % 60:02d} min"


def clock_minutes(when: datetime, zone: ZoneInfo) -> int:
    """Minutes of the local clock since 00:00."""
    local = when.astimezone(zone)
    return 60 * local.hour + local.minute


def zone_names(start: datetime, end: datetime, zone: ZoneInfo) -> str:
    """CET, or CET and CEST where the clock changes in between."""
    days = max(1, (end - start) // timedelta(days=1) + 1)
    names = dict.fromkeys((start + n * timedelta(days=1)).astimezone(zone).tzname() or "" for n in range(days))
    names.setdefault(end.astimezone(zone).tzname() or "")
    return " and ".join(names)


def chance(value: float | None) -> str:
    """A chance as whole percent, never rounded up over what it is: 0.799 is 79 %."""
    if value is None or not isfinite(value):
        return UNKNOWN
    return f"{floor(100 * value + 1e-6)} %"

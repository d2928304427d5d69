"""Calendar months: clamped at the month's end, with the wished day of the month kept."""

from __future__ import annotations

import calendar
import math
from collections.abc import Iterable
from datetime import date, datetime

DAYS_PER_YEAR = 365


def check_day(day: date, field: str) -> None:
    """Refuse anything but a plain date: a stamp's day depends on a zone that is not known here."""
    if isinstance(day, datetime) or not isinstance(day, date):
        raise ValueError(f"{field} must be a plain date, not {day!r}: pass the day in the site's own zone.")


def month_length(year: int, month: int) -> int:
    """Days in that month, 28 to 31."""
    return calendar.monthrange(year, month)[1]


def is_month_end(day: date) -> bool:
    """Whether day is the last of its month."""
    return day.day >= 28 and day.day == month_length(day.year, day.month)


def add_months(day: date, months: int, anchor_day: int | None = None) -> date:
    """Return day moved by whole calendar months (may be negative), clamped to the month's last day.

    anchor_day (1..31) is the day of the month to aim for; default day.day. Pass the day a chain began with,
    so that a date clamped to 28 February returns to the 31st. Raises ValueError for a stamp instead of a
    date, an anchor_day outside 1..31 and a result outside the years 1 to 9999.
    """
    check_day(day, "day")
    wish = day.day if anchor_day is None else anchor_day
    if not 1 <= wish <= 31:
        raise ValueError(f"anchor_day {wish} is not a day of a month: use 1 to 31.")
    year, month0 = divmod(day.year * 12 + day.month - 1 + months, 12)
    if not 1 <= year <= 9999:
        raise ValueError(f"months {months} from {day} leaves the calendar: use a smaller number of months.")
    return date(year, month0 + 1, min(wish, month_length(year, month0 + 1)))


def months_apart(start: date, end: date) -> int:
    """Difference of the month numbers of two days, days of the month ignored."""
    return (end.year - start.year) * 12 + end.month - start.month


def kept_day(chain: Iterable[date]) -> int:
    """Return the day of the month that a chain of due dates aims for.

    chain: its dates, newest first, at least one. A month end may be a clamped later day, so older dates are
    asked until one is not a month end or aims lower (then it belongs to another chain).
    """
    wish = 0
    for day in chain:
        if day.day < wish:
            break
        wish = day.day
        if not is_month_end(day):
            break
    return wish


def tolerance_days(every_months: int, share: float = 0.10) -> int:
    """Return a tolerance in whole days as a share of an interval in months, rounded down.

    The "10 % rule" of planners (common practice, no source): 12 months of 365 days give 36, 3 months give 9.
    Never for statutory intervals, whose dates are not stretched. Raises ValueError for months below 1 or a
    share outside 0..1.
    """
    if every_months < 1:
        raise ValueError(f"every_months {every_months} is not an interval: use 1 or more.")
    if not 0.0 <= share <= 1.0:
        raise ValueError(f"share {share} is not a part of the interval: use 0 to 1.")
    return math.floor(share * DAYS_PER_YEAR * every_months / 12 + 1e-9)

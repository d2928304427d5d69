"""The one place that reads the clock. Everything else is told the time, or asks here."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo


def now_utc() -> datetime:
    """This moment, in UTC."""
    return datetime.now(UTC)


def today_at(zone: ZoneInfo, now: datetime | None = None) -> date:
    """The calendar day at a place: the day of `now` (aware; default this moment) in its zone."""
    moment = now_utc() if now is None else now
    if moment.tzinfo is None:
        raise ValueError(f"now {moment} has no time zone: pass an aware time, in UTC.")
    return moment.astimezone(zone).date()

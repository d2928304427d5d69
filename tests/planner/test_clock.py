"""Days belong to places."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest
import time_machine

from planner.clock import now_utc, today_at

LATE = datetime(2026, 6, 10, 16, 30, tzinfo=UTC)


def test_the_day_is_the_places_own() -> None:
    assert today_at(ZoneInfo("Australia/Perth"), LATE) == date(2026, 6, 11)
    assert today_at(ZoneInfo("America/Chicago"), LATE) == date(2026, 6, 10)


@pytest.mark.parametrize(
    ("moment", "day"),
    [
        (datetime(2026, 3, 28, 22, 59, tzinfo=UTC), date(2026, 3, 28)),  # winter time: midnight is 23:00 UTC
        (datetime(2026, 3, 28, 23, 0, tzinfo=UTC), date(2026, 3, 29)),
        (datetime(2026, 3, 29, 21, 59, tzinfo=UTC), date(2026, 3, 29)),  # summer time from that night: 22:00 UTC
        (datetime(2026, 3, 29, 22, 0, tzinfo=UTC), date(2026, 3, 30)),
        (datetime(2026, 10, 25, 22, 59, tzinfo=UTC), date(2026, 10, 25)),  # a day of 25 hours
        (datetime(2026, 10, 25, 23, 0, tzinfo=UTC), date(2026, 10, 26)),
    ],
)
def test_the_day_turns_at_local_midnight_through_clock_changes(moment: datetime, day: date) -> None:
    assert today_at(ZoneInfo("Europe/Berlin"), moment) == day


def test_without_a_moment_it_is_now() -> None:
    with time_machine.travel(LATE, tick=False):
        assert now_utc() == LATE
        assert now_utc().tzinfo is UTC
        assert today_at(ZoneInfo("Australia/Perth")) == date(2026, 6, 11)


def test_a_naive_moment_is_refused() -> None:
    with pytest.raises(ValueError, match="has no time zone"):
        today_at(ZoneInfo("Europe/Berlin"), datetime(2026, 6, 10, 16, 30))

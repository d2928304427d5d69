"""The local calendar of a UTC grid, against the standard library moment by moment."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.weather.climate.clock import has_week_53, iso_weeks, local_clock, months
from tests.scheduling.weather.builders import wind

ZONES = ["Europe/Berlin", "Europe/London", "Australia/Lord_Howe", "Asia/Kolkata", "America/St_Johns", "UTC", "Africa/Casablanca"]


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("step", [10, 30, 60])
def test_every_step_has_the_day_and_hour_of_the_local_clock(zone: str, step: int) -> None:
    """A year with its clock changes; Lord Howe's are half an hour, Casablanca's follow the moon."""
    start = datetime(2024, 1, 1, tzinfo=UTC)
    series = wind(np.zeros(366 * 1440 // step), step_min=step, start=start)
    day, hour = local_clock(series, zone)
    for n in range(0, len(day), 60 // step):
        local = (start + timedelta(minutes=n * step)).astimezone(ZoneInfo(zone))
        assert day[n] == (local.date() - datetime(1970, 1, 1).date()).days
        assert hour[n] == pytest.approx(local.hour + local.minute / 60)


def test_a_day_of_a_clock_change_has_23_or_25_hours() -> None:
    day, hour = local_clock(wind(np.zeros(366 * 24), start=datetime(2016, 1, 1, tzinfo=UTC)), "Europe/Berlin")
    counts = {int(number): int(count) for number, count in zip(*np.unique(day, return_counts=True), strict=True)}
    of = lambda *date: (datetime(*date) - datetime(1970, 1, 1)).days  # noqa: E731
    assert counts[of(2016, 3, 27)] == 23
    assert counts[of(2016, 10, 30)] == 25
    assert 2.0 not in hour[day == of(2016, 3, 27)]
    assert (hour[day == of(2016, 10, 30)] == 2.0).sum() == 2


@given(st.dates())
def test_iso_weeks_are_the_standard_librarys(date: object) -> None:
    days = np.array([(date - datetime(1970, 1, 1).date()).days])  # type: ignore[operator]
    year, week = iso_weeks(days)
    assert (int(year[0]), int(week[0])) == date.isocalendar()[:2]  # type: ignore[attr-defined]
    assert tuple(int(part[0]) for part in months(days)) == (date.year, date.month)  # type: ignore[attr-defined]


def test_long_years() -> None:
    """ISO 8601: a year has 53 weeks when it begins on a Thursday, or on a Wednesday in a leap year."""
    assert [year for year in range(2000, 2030) if has_week_53(year)] == [2004, 2009, 2015, 2020, 2026]

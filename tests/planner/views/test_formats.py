"""How pages write times and numbers."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from planner.views import formats

BERLIN, PERTH = ZoneInfo("Europe/Berlin"), ZoneInfo("Australia/Perth")


def utc(day: int, hour: int, minute: int = 0, month: int = 10) -> datetime:
    return datetime(2026, month, day, hour, minute, tzinfo=UTC)


def test_a_time_leaves_in_the_zone_with_its_abbreviation() -> None:
    assert formats.clock(utc(10, 6, month=6), BERLIN) == "08:00 CEST"
    assert formats.clock(utc(10, 6, month=1), BERLIN) == "07:00 CET"
    assert formats.clock(utc(10, 6), PERTH) == "14:00 AWST"
    assert formats.clock(None, BERLIN) == "unknown"


def test_the_hour_that_comes_twice_is_told_apart() -> None:
    """Clocks go back on Sunday 25 October 2026 at 01:00 UTC (directive 2000/84/EC)."""
    assert formats.clock(utc(25, 0, 30), BERLIN) == "02:30 CEST"
    assert formats.clock(utc(25, 1, 30), BERLIN) == "02:30 CET"
    assert formats.span(utc(25, 0, 30), utc(25, 1, 30), BERLIN) == "02:30 CEST to 02:30 CET"
    assert formats.span(utc(26, 7), utc(26, 9), BERLIN) == "08:00 to 10:00 CET"


def test_a_moment_has_the_local_day() -> None:
    assert formats.moment(utc(9, 22, 30, month=6), BERLIN) == "Wed 10 Jun 2026, 00:30 CEST"


def test_zone_names_on_both_sides_of_a_change() -> None:
    assert formats.zone_names(utc(20, 6), utc(28, 6), BERLIN) == "CEST and CET"
    assert formats.zone_names(utc(20, 6), utc(21, 6), BERLIN) == "CEST"


def test_clock_minutes_go_by_the_local_clock() -> None:
    assert formats.clock_minutes(utc(26, 7, 15), BERLIN) == 8 * 60 + 15


@pytest.mark.parametrize("value", [None, float("nan"), float("inf")])
def test_what_is_no_number_is_unknown_and_never_zero(value: float | None) -> None:
    written = [
        formats.number(value),
        formats.money(value, "EUR"),
        formats.share(value),
        formats.hours(value),
        formats.chance(value),
    ]
    assert written == ["unknown"] * 5


def test_numbers_carry_their_unit() -> None:
    assert formats.number(12345.6, "MWh") == "12,346 MWh"
    assert formats.money(12345.4, "EUR") == "EUR 12,345"
    assert formats.share(0.028, 1) == "2.8 %"
    assert formats.hours(3.34) == "3 h 20 min"
    assert formats.hours(-0.5) == "-0 h 30 min"


@pytest.mark.parametrize(("share", "written"), [(0.799, "79 %"), (0.8, "80 %"), (1.0, "100 %"), (0.0, "0 %"), (0.29, "29 %")])
def test_a_chance_is_never_rounded_up(share: float, written: str) -> None:
    assert formats.chance(share) == written


def test_days() -> None:
    assert formats.weekday(date(2026, 6, 10)) == "Wed 10 Jun 2026"
    assert formats.weekday(None) == "no date"
    assert formats.short_day(date(2026, 6, 1)) == "Mon 1 Jun"

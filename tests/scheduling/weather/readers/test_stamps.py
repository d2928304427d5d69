from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.readers.stamps import to_utc_seconds


def utc(texts: list[str], time_format: str = "iso", zone: str = "UTC") -> list[str]:
    seconds = to_utc_seconds(texts, range(2, 2 + len(texts)), time_format, zone)
    return [f"{datetime.fromtimestamp(int(at), tz=UTC):%m-%d %H:%M}" for at in seconds]


def clock(start: str, count: int, step: int = 10) -> list[str]:
    first = datetime.fromisoformat(start)
    return [f"{first + timedelta(minutes=step * i):%Y-%m-%d %H:%M}" for i in range(count)]


def test_iso_with_and_without_seconds() -> None:
    assert utc(["2025-06-02 01:10", "2025-06-02T01:20:00", "2025-06-02 01:30:00.000"]) == [
        "06-02 01:10",
        "06-02 01:20",
        "06-02 01:30",
    ]


def test_day_first_and_month_first_are_what_the_recipe_says() -> None:
    assert utc(["09/01/2016 15:30"], "%d/%m/%Y %H:%M") == ["01-09 15:30"]
    assert utc(["09/01/2016 15:30"], "%m/%d/%Y %H:%M") == ["09-01 15:30"]


def test_digits_in_a_row_and_one_digit_places() -> None:
    assert utc(["2018091503"], "%Y%m%d%H") == ["09-15 03:00"]
    assert utc(["9/1/2016 5:30"], "%d/%m/%Y %H:%M") == ["01-09 05:30"]
    assert utc(["06.04.20 14:00"], "%d.%m.%y %H:%M") == ["04-06 14:00"]


@pytest.mark.parametrize(
    ("stamp", "time_format"),
    [
        ("31/02/2016 10:00", "%d/%m/%Y %H:%M"),
        ("13/13/2016 10:00", "%d/%m/%Y %H:%M"),
        ("2025-06-02 24:10", "iso"),
        ("2025-06-02 25:00", "iso"),
        ("31-Foo-2025 10:00", "%d-%b-%Y %H:%M"),
        ("01/02/2025 13:00 PM", "%d/%m/%Y %I:%M %p"),
        ("2025-06-02", "iso"),
        ("201809150", "%Y%m%d%H"),
        ("2025-06-02 10:00+99:00", "iso"),
        ("", "iso"),
        ("0001-01-01 00:00", "iso"),
    ],
)
def test_an_impossible_time_is_refused_with_its_line(stamp: str, time_format: str) -> None:
    with pytest.raises(ReadRefused, match=r"line 2: .* is no time of the form"):
        utc([stamp], time_format)


@pytest.mark.parametrize("time_format", ["%d/%m %H:%M", "%Y-%j", "%Y%Y%m%d%H", "%Y-%m-%d", "time"])
def test_a_format_that_does_not_make_a_time_is_refused(time_format: str) -> None:
    with pytest.raises(ReadRefused, match="time_format"):
        utc(["x"], time_format)


def test_hour_24_is_the_end_of_its_day() -> None:
    assert utc(["2025-06-02 24:00", "2025-06-03 01:00"]) == ["06-03 00:00", "06-03 01:00"]
    assert utc(["12/31/1998 24:00"], "%m/%d/%Y %H:%M") == ["01-01 00:00"]
    assert utc(["2018 2 28 24"], "%Y %m %d %H") == ["03-01 00:00"]


def test_month_names_half_days_and_a_colon_between_date_and_time() -> None:
    assert utc(["02-Jun-2025 12:05 AM", "02-jun-2025 12:05 PM"], "%d-%b-%Y %I:%M %p") == ["06-02 00:05", "06-02 12:05"]
    assert utc(["20180101:0730"], "%Y%m%d:%H%M") == ["01-01 07:30"]


def test_a_clock_that_is_never_set() -> None:
    assert utc(["2025-07-01 12:00"], zone="UTC+05:30") == ["07-01 06:30"]
    assert utc(["2025-07-01 12:00"], zone="UTC-09:00") == ["07-01 21:00"]


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    moments=st.lists(st.datetimes(datetime(1900, 1, 1), datetime(2199, 12, 31)), min_size=1, max_size=20),
    time_format=st.sampled_from(["%Y-%m-%d %H:%M:%S", "%d/%m/%Y %H:%M:%S", "%Y%m%d%H%M%S", "%m.%d.%Y %H:%M:%S%z"]),
)
def test_the_fast_reading_agrees_with_the_standard_library(moments: list[datetime], time_format: str) -> None:
    aware = [at.replace(microsecond=0, tzinfo=timezone(timedelta(minutes=-210))) for at in moments]
    texts = [at.strftime(time_format) for at in aware]
    zone = "in text" if "%z" in time_format else "UTC"
    expected = [int((at if zone == "in text" else at.replace(tzinfo=UTC)).timestamp()) for at in aware]
    assert to_utc_seconds(texts, range(len(texts)), time_format, zone).tolist() == expected


def test_what_the_fast_reading_leaves_over_is_read_on_its_own() -> None:
    assert utc(["01/02/2025 10:00", "1/2/2025 9:50"], "%d/%m/%Y %H:%M") == ["02-01 10:00", "02-01 09:50"]


def test_offsets_in_the_text() -> None:
    stamps = ["2010-10-31 02:00:00+02:00", "2010-10-31 02:00:00+01:00", "2010-10-31T02:00Z", "2010-10-31T02:00-0330"]
    assert utc(stamps, zone="in text") == ["10-31 00:00", "10-31 01:00", "10-31 02:00", "10-31 05:30"]


def test_offsets_must_be_where_they_were_stated_and_nowhere_else() -> None:
    with pytest.raises(ReadRefused, match=r"line 3: .* carries no offset"):
        utc(["2025-06-02T01:00Z", "2025-06-02T02:00"], zone="in text")
    with pytest.raises(ReadRefused, match=r"line 2: .* carries an offset; state the zone as 'in text'"):
        utc(["2025-06-02T01:00Z"], zone="Europe/Berlin")


def test_summer_and_winter_in_a_zone() -> None:
    assert utc(["2025-01-15 12:00", "2025-07-15 12:00"], zone="Europe/Berlin") == ["01-15 11:00", "07-15 10:00"]


AUTUMN = [*clock("2025-10-26 01:50", 1), *clock("2025-10-26 02:00", 6), *clock("2025-10-26 02:00", 6), "2025-10-26 03:00"]


def test_the_doubled_hour_is_told_apart_by_the_order_of_the_file() -> None:
    expected = [f"{at[5:]}" for at in clock("2025-10-25 23:50", 14)]
    assert utc(AUTUMN, zone="Europe/Berlin") == expected
    assert utc(AUTUMN[::-1], zone="Europe/Berlin") == expected[::-1]


def test_an_hourly_file_has_the_doubled_hour_twice_in_a_row() -> None:
    stamps = ["2025-10-26 01:00", "2025-10-26 02:00", "2025-10-26 02:00", "2025-10-26 03:00"]
    assert utc(stamps, zone="Europe/Berlin") == ["10-25 23:00", "10-26 00:00", "10-26 01:00", "10-26 02:00"]


@pytest.mark.parametrize(
    "stamps",
    [
        sorted(AUTUMN),
        AUTUMN[:7] + AUTUMN[13:],
        [AUTUMN[1], AUTUMN[0], *AUTUMN[2:]],
    ],
    ids=["sorted", "only one pass", "shuffled"],
)
def test_a_doubled_hour_whose_order_is_lost_is_refused_with_the_lines(stamps: list[str]) -> None:
    with pytest.raises(ReadRefused, match=r"lines \d+, \d+.* has twice, and the order of the rows does not tell"):
        utc(stamps, zone="Europe/Berlin")


def test_a_time_the_clock_jumps_over_is_refused() -> None:
    stamps = ["2026-03-29 01:30", "2026-03-29 02:30", "2026-03-29 03:30"]
    with pytest.raises(ReadRefused, match="line 3: 2026-03-29 02:30 does not exist in Europe/Berlin"):
        utc(stamps, zone="Europe/Berlin")


def test_two_autumns_in_one_file() -> None:
    stamps = [
        "2024-10-27 02:00",
        "2024-10-27 02:00",
        "2025-03-01 00:00",
        "2025-10-26 02:00",
        "2025-10-26 02:00",
        "2025-10-26 03:00",
    ]
    seconds = to_utc_seconds(stamps, range(6), "iso", "Europe/Berlin")
    assert np.diff(seconds)[[0, 3, 4]].tolist() == [3600, 3600, 3600]

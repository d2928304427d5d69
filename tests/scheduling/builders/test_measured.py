"""Stays held against measurements: against a reading minute by minute, and against a direct count on a real series."""

from __future__ import annotations

import gzip
import json
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from django.conf import settings
from hypothesis import given
from hypothesis import strategies as st

from scheduling.access import Limit, LimitSet
from scheduling.builders.measured import Source, Stay, outcome_of
from scheduling.weather.archive import pack_series
from scheduling.weather.readers import read
from scheduling.weather.recipe import recipe_from_json
from scheduling.weather.series import Series, series_of

START = datetime(2026, 6, 10, tzinfo=UTC)
CALM = LimitSet("calm", (Limit("wind", "<=", 12.0),))


def source(series: tuple[Series, ...], feed_id: int | None = None, hub_first: datetime = START) -> Source:
    """A stored set, without a database."""
    data, about = pack_series(series)
    row: Any = SimpleNamespace(
        feed_id=feed_id, step_min=series[0].step_min, data=data, about={"series": about}, starts_at=series[0].start
    )
    return Source(row, 0.2, hub_first, series[0].end)


def wind(values: list[float], start: datetime = START, step_min: int = 10, height_m: float = 100) -> Series:
    """Ten-minute means."""
    return series_of("wind", np.array(values, float), start=start, step_min=step_min, height_m=height_m, averaging_min=10)


def stay(first_min: int, minutes: int) -> Stay:
    """From so many minutes after START, at a hub of 100 m."""
    begin = START + timedelta(minutes=first_min)
    return Stay(begin, begin + timedelta(minutes=minutes), 100.0, CALM)


@given(
    values=st.lists(st.sampled_from([5.0, 12.0, 12.5, float("nan")]), min_size=1, max_size=20),
    step_min=st.sampled_from([5, 10, 15, 30, 60]),
    first_min=st.integers(0, 120),
    minutes=st.integers(1, 120),
)
def test_it_is_what_a_reading_minute_by_minute_says(values: list[float], step_min: int, first_min: int, minutes: int) -> None:
    found = outcome_of(stay(first_min, minutes), [source((wind(values, step_min=step_min),))])
    seen = [values[n // step_min] if n // step_min < len(values) else float("nan") for n in range(first_min, first_min + minutes)]
    expected = None if np.isnan(seen).any() else max(seen) <= 12.0
    assert found.fitted is expected
    assert bool(found.why) is (expected is None)


@given(older=st.lists(st.sampled_from([5.0, 13.0, float("nan")]), min_size=6, max_size=6), same=st.booleans())
def test_the_newest_file_of_a_feed_speaks_for_it(older: list[float], same: bool) -> None:
    """The newer file tells 30 of 60 minutes, one of them flagged; only another feed may fill that one."""
    newer = wind([6.0, float("nan"), 6.0])
    found = outcome_of(stay(0, 60), [source((newer,), 1), source((wind(older),), 1 if same else 2)])
    merged = [6.0, float("nan") if same else older[1], 6.0, *older[3:]]
    assert found.fitted is (None if np.isnan(merged).any() else max(merged) <= 12.0)


def test_wind_below_the_hub_is_carried_up() -> None:
    """10.6 m/s at 50 m is 12.18 m/s at 100 m with an exponent of 0.2 (IEC 61400-1 normal profile), and 10.4 is 11.95."""
    for mps, fitted in ((10.4, True), (10.6, False)):
        assert outcome_of(stay(0, 60), [source((wind([mps] * 6, height_m=50),))]).fitted is fitted


def test_a_limit_below_the_hub_is_held_at_its_own_height() -> None:
    low = LimitSet("low", (Limit("wind", "<=", 10.0, height=10.0),))
    one = stay(0, 60)
    found = outcome_of(Stay(one.starts_at, one.ends_at, 100.0, low), [source((wind([12.0] * 6),))])
    assert found.fitted is True
    assert "10 min wind at 10 m at most 7.6 m/s" in found.judged[0]


def test_a_time_to_stay_clear_looks_back_before_the_stay() -> None:
    """A gust 40 minutes before the start: 30 minutes to stay clear let the stay be, 60 do not."""
    values = [5.0] * 3 + [15.0] + [5.0] * 9
    for clear, fitted in ((30.0, True), (60.0, False)):
        core = LimitSet("held", (Limit("wind", "<=", 12.0, clear_after_min=clear),))
        begin = START + timedelta(minutes=70)
        found = outcome_of(Stay(begin, begin + timedelta(hours=1), 100.0, core), [source((wind(values),))])
        assert found.fitted is fitted


def test_nothing_measured_is_not_known() -> None:
    assert outcome_of(stay(0, 60), []).why == "no wind measured over the stay has come yet"
    sight = LimitSet("sight", (Limit("visibility", ">=", 500.0),))
    one = stay(0, 60)
    found = outcome_of(Stay(one.starts_at, one.ends_at, 100.0, sight), [source((wind([5.0] * 6),))])
    assert (found.fitted, found.left_out) == (None, ("visibility",))


@pytest.mark.parametrize("hour", [7, 13])
def test_a_year_of_a_real_series_against_a_direct_count(hour: int) -> None:
    """Open hourly reanalysis at 50 m (fixtures/weather/ORIGIN.txt): a stay of 5 h every day of 2015 at a hub of 100 m.

    By hand: the hourly mean times 2^0.2 for the height and 1 + 0.42 x 0.12 x ln 6 for its ten-minute peaks is at most 12 m/s in
    each of the five hours.
    """
    root = settings.BASE_DIR / "fixtures"
    content = gzip.decompress((root / "weather/hourly_50m_2015_2016.csv.gz").read_bytes())
    series = read(content, recipe_from_json(json.loads((root / "recipes/brightwind_merra2.json").read_text("utf-8")))).series
    first = series[0].start
    hourly = [float(row.split(",")[1]) for row in content.decode().splitlines()[1:]]
    peaks = np.array(hourly) * 2**0.2 * (1 + 0.42 * 0.12 * np.log(6))
    stored = source(tuple(series), hub_first=first)
    counted = 0
    for day in range(365):
        begin = first + timedelta(days=day, hours=hour)
        found = outcome_of(Stay(begin, begin + timedelta(hours=5), 100.0, CALM), [stored])
        expected = bool((peaks[24 * day + hour : 24 * day + hour + 5] <= 12.0).all())
        assert found.fitted is expected, begin
        counted += expected
    assert 100 < counted < 365

"""A real series as the demo's forecast, and years made of its blocks."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from planner.errors import PlannerError
from scheduling.demo.weather import forecast_stretch, resampled_year, weather_load, yesterdays
from scheduling.models import WeatherSet
from scheduling.weather.series import Series, series_of
from tests import farm as rows
from tests.shared import shared_path

START = datetime(2015, 1, 1, tzinfo=UTC)
RECIPES = Path(__file__).parents[3] / "fixtures" / "recipes"


def two_years() -> tuple[Series, ...]:
    """Each hour's value is its number."""
    values = np.arange(731 * 24, dtype=float)
    return (series_of("wind", values, start=START, step_min=60, height_m=50, averaging_min=60),)


def test_the_stretch_is_of_the_same_season_and_begins_now() -> None:
    now = datetime(2026, 11, 25, 4, 20, tzinfo=UTC)
    (one,) = forecast_stretch(two_years(), now, None)
    assert one.start == datetime(2026, 11, 25, 4, tzinfo=UTC)
    assert one.values[0] == (datetime(2016, 11, 25, 4, tzinfo=UTC) - START) / timedelta(hours=1)
    assert one.end - one.start == timedelta(days=16)


def test_a_stretch_may_be_chosen_and_must_be_covered() -> None:
    now = datetime(2026, 11, 25, 4, tzinfo=UTC)
    (one,) = forecast_stretch(two_years(), now, datetime(2015, 2, 1, tzinfo=UTC))
    assert one.values[0] == 31 * 24
    with pytest.raises(PlannerError, match="covers 2015-01-01 to 2017-01-01, not 2020-01-01"):
        forecast_stretch(two_years(), now, datetime(2020, 1, 1, tzinfo=UTC))


@pytest.mark.parametrize("today", ["2028-02-29", "2026-12-31", "2026-01-01"])
def test_any_day_of_the_year_has_a_stretch(today: str) -> None:
    now = datetime.fromisoformat(f"{today}T04:00:00+00:00")
    (one,) = forecast_stretch(two_years(), now, None)
    assert one.start == now
    assert len(one.values) >= 14 * 24


def test_a_made_year_takes_its_blocks_from_the_same_time_of_the_year() -> None:
    (one,) = resampled_year(two_years(), 2000, seed=3)
    assert np.array_equal(one.values, resampled_year(two_years(), 2000, seed=3)[0].values)
    assert len(one.values) == 366 * 24
    day = np.arange(366 * 24) / 24.0
    taken = (one.values / 24.0) % 365.5
    apart = np.abs((taken - day + 182.75) % 365.5 - 182.75)
    assert apart.max() < 27  # fifteen days and the block's own ten, and the leap day


def test_a_file_needs_its_recipe(farm: rows.Farm, tmp_path: Path) -> None:
    with pytest.raises(PlannerError, match="give --recipe"):
        weather_load(sites=[farm.hill], now=rows.NOW, seed=1, file=tmp_path / "x.csv")
    with pytest.raises(PlannerError, match="there is no such file"):
        weather_load(sites=[farm.hill], now=rows.NOW, seed=1, file=tmp_path / "x.csv", recipe=tmp_path / "r.json")
    assert not WeatherSet.objects.exists()


@pytest.mark.parametrize(
    ("file", "recipe", "years"),
    [
        ("data/brightwind_merra2/merra2_hourly_2015_2016.csv", "brightwind_merra2.json", 1),
        ("data/brightwind_mast/mast_10min_2016-11_2017-10.csv", "brightwind_mast.json", 1),
    ],
)
def test_files_of_ones_own_are_past_years_and_forecast(farm: rows.Farm, file: str, recipe: str, years: int) -> None:
    report = weather_load(sites=[farm.hill], now=rows.NOW, seed=1, file=shared_path(file), recipe=RECIPES / recipe)
    assert report["rows_read"] > 17_000
    assert WeatherSet.objects.filter(kind="past years").count() == years
    issued = WeatherSet.objects.filter(kind="forecast", feed__name="open series").order_by("issued_at")
    assert [row.issued_at for row in issued] == [rows.NOW - timedelta(days=1), rows.NOW]


def test_yesterdays_forecast_is_off_like_a_forecast_of_a_day_before() -> None:
    calm = (series_of("wind", np.full(200, 9.0), start=START, step_min=60, height_m=50, averaging_min=60),)
    (told,) = yesterdays(calm, seed=3)
    off = told.values - 9.0
    assert 0.5 < off.std() < 4.0
    assert np.corrcoef(off[:-1], off[1:])[0, 1] > 0.7, "its errors hang together from hour to hour"
    assert np.array_equal(told.values, yesterdays(calm, seed=3)[0].values)

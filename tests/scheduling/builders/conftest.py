"""A forecast for the tiny farm: calm by night, windy at noon, and a calm Friday."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from scheduling.choices import SeriesKind
from scheduling.models import WeatherSet
from scheduling.services.weather import weather_store
from scheduling.weather.series import Series, series_of
from tests import farm as rows


def steady(mps: float, days: int = 12, kind: str = "wind") -> Series:
    """A wind of one speed at 100 m, hourly, from the midnight before NOW on."""
    start = rows.NOW.replace(hour=0)
    values = np.full(days * 24, float(mps))
    return series_of(kind, values, start=start, step_min=60, height_m=100, averaging_min=10)


@pytest.fixture
def calm(farm: rows.Farm) -> WeatherSet:
    """4 m/s for twelve days, issued two hours ago."""
    return store(farm, steady(4.0))


def store(farm: rows.Farm, *series: Series, age_h: float = 2.0) -> WeatherSet:
    """The series as HILL's forecast, issued `age_h` before NOW."""
    issued = rows.NOW - timedelta(hours=age_h)
    return weather_store(site=farm.hill, kind=SeriesKind.FORECAST, series=series, issued_at=issued)[0]

"""Past weather stored for tests: open records, and made ones a reader can count in the head."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np

from planner.models import Site
from scheduling.choices import SeriesKind
from scheduling.models import WeatherSet
from scheduling.services.weather import weather_store
from scheduling.weather.series import Series, series_of


def stored(site: Site, *series: Series, **more: object) -> WeatherSet:
    """The series as past years of a site."""
    return weather_store(site=site, kind=SeriesKind.PAST, series=series, **more)[0]  # type: ignore[arg-type]


def steady(mps: float, year: int, years: int = 1, *, name: str = "w", height_m: float = 100.0, **more: object) -> Series:
    """Ten-minute means once an hour, one speed from 1 January of `year` on."""
    start = datetime(year, 1, 1, tzinfo=UTC)
    hours = int((datetime(year + years, 1, 1, tzinfo=UTC) - start).total_seconds() // 3600)
    settings: dict[str, object] = {"start": start, "step_min": 60, "height_m": height_m, "averaging_min": 10, "name": name} | more
    return series_of("wind", np.full(hours, mps), **settings)  # type: ignore[arg-type]

"""Past forecasts and measurements of HILL, stored: forecasts 1.5 m/s too low, whose error grows with the lead."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np

from planner.models import Site
from scheduling.services.weather import weather_store
from scheduling.weather.series import Flag, Series, series_of
from tests.farm import NOW

HOURS = 48
BIAS_MPS = 1.5
FIRST = NOW.replace(hour=0) - timedelta(days=60)


def truth(days: int = 62) -> np.ndarray:
    """Hourly wind at 100 m from FIRST on."""
    rng = np.random.default_rng(1)
    wind = np.zeros(days * 24)
    for hour in range(1, len(wind)):
        wind[hour] = 0.95 * wind[hour - 1] + rng.normal(0, 0.8)
    return np.maximum(0.5, 10.0 + wind)


def measured(site: Site, days: int = 62, step_min: int = 10, flagged: slice | None = None) -> None:
    """The truth, in steps of ten minutes; `flagged` values are wild, and flagged."""
    values = np.repeat(truth(days), 60 // step_min)
    one = series_of("wind", values, start=FIRST, step_min=step_min, height_m=100, averaging_min=step_min)
    if flagged is not None:
        wild, flags = values.copy(), one.flags.copy()
        wild[flagged], flags[flagged] = 0.0, int(Flag.DEAD)
        one = replace(one, values=wild, flags=flags)
    weather_store(site=site, kind="observed", series=(one,))


def _forecast(day: int, seed: int, member: int = 0, narrow: float = 1.0) -> Series:
    rng = np.random.default_rng(seed)
    error = narrow * np.cumsum(rng.normal(0, 0.25, HOURS))
    values = np.maximum(0.0, truth()[day * 24 : day * 24 + HOURS] - BIAS_MPS + error)
    one = series_of("wind", values, start=FIRST + timedelta(days=day), step_min=60, height_m=100, averaging_min=60)
    return replace(one, member=member)


def forecasts(site: Site, days: int, members: int = 0) -> None:
    """One a day, issued at midnight."""
    for day in range(days):
        series = tuple(_forecast(day, 1000 * day + n, n, 0.5) for n in range(1, members + 1)) or (_forecast(day, day),)
        weather_store(site=site, kind="forecast", series=series, issued_at=FIRST + timedelta(days=day))

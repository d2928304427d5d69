"""Access windows from the tiny farm's forecast."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from planner.cautions import STALE
from planner.errors import PlannerError
from planner.models import LimitSet
from scheduling.selectors.windows import access_windows, window_starts
from scheduling.services.weather import weather_store
from scheduling.weather.series import series_of
from tests import farm as rows


def forecast(farm: rows.Farm, mps: list[float], age_h: float = 1.0) -> None:
    """Hourly wind at 100 m from NOW on."""
    one = series_of("wind", np.array(mps), start=rows.NOW, step_min=60, height_m=100, averaging_min=10)
    issued = rows.NOW - timedelta(hours=age_h)
    weather_store(site=farm.hill, kind="forecast", series=(one,), issued_at=issued)


def ask(farm: rows.Farm, stay_min: float = 180, code: str = "tower"):  # type: ignore[no-untyped-def]
    limit_set = LimitSet.objects.get(code=code)
    return access_windows(turbine=farm.h1, limit_set=limit_set, stay_min=stay_min, now=rows.NOW, days=1)


def test_a_calm_morning_before_a_storm(farm: rows.Farm) -> None:
    forecast(farm, [3.0] * 6 + [20.0] * 18)
    found = ask(farm)
    assert found.chances[0] == 1.0
    assert found.chances[6] == 1.0  # 09:00 to 12:00 just fits
    assert found.chances[7] == 0.0  # half an hour later it does not
    assert found.limits[0] == ""
    assert found.limits[7].startswith("wind 2")
    assert found.limits[-1] == "beyond the forecast"
    assert found.longest_h == 6.0
    assert found.shear == "same height"


def test_a_missing_hour_opens_no_window(farm: rows.Farm) -> None:
    forecast(farm, [3.0, 3.0, float("nan"), 3.0, 3.0, 3.0] + [3.0] * 18)
    found = ask(farm)
    assert found.chances[0] == 0.0
    assert found.limits[0].endswith("unknown")
    assert found.chances[6] == 1.0


def test_blade_work_waits_for_daylight(farm: rows.Farm) -> None:
    forecast(farm, [3.0] * 24)
    starts = window_starts(ask(farm, code="blade"))
    dark = [moment for moment, value, limit in starts if limit == "dark"]
    assert dark
    # Sunset in Schleswig on 10 June is about 21:50 local, 19:50 UTC (astral); a stay of 3 h cannot start at 17:00 UTC.
    assert min(dark) == rows.NOW.replace(hour=17, minute=0)


def test_an_old_forecast_gives_no_window(farm: rows.Farm) -> None:
    forecast(farm, [3.0] * 24, age_h=12.5)
    found = ask(farm)
    assert found.chances == ()
    assert found.note == STALE


@pytest.mark.parametrize("stay_min", [0, -5, 1441, float("nan")])
def test_a_stay_that_cannot_be_is_refused(farm: rows.Farm, stay_min: float) -> None:
    with pytest.raises(PlannerError, match="Give a stay of 1 to 1440"):
        ask(farm, stay_min)

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from scheduling.access import Limit, LimitSet, chance, workable
from scheduling.energy import dry_density
from scheduling.weather.forecast import Horizon, hub_forecast
from scheduling.weather.readers import Reading, read
from scheduling.weather.recipe import recipe_from_json
from tests.scheduling.weather.builders import START

HORIZON = Horizon(START, slot_min=30, slots=8, issued=START - timedelta(hours=6))


def reading(rows: list[str], **changes: object) -> Reading:
    columns = [
        {"column": "ws", "variable": "wind", "unit": "m/s", "height_m": 50, "averaging_min": 10},
        {"column": "gust", "variable": "gust", "unit": "m/s", "height_m": 50, "averaging_min": 0.05},
        {"column": "t", "variable": "temperature", "unit": "degC", "height_m": 2, "averaging_min": 10},
        {"column": "p", "variable": "pressure", "unit": "hPa", "height_m": 0, "averaging_min": 10},
    ]
    recipe = recipe_from_json(
        {
            "name": "x",
            "columns": columns,
            "time_columns": ["time"],
            "time_format": "iso",
            "stamp": "start",
            "zone": "UTC",
            "step_min": 60,
        }
    )
    return read("\n".join(["time,ws,gust,t,p", *rows]).encode(), recipe)


ROWS = [f"2025-06-02 0{hour}:00,{6 + hour},{9 + hour},10,1000" for hour in range(4)]


def test_one_member_is_the_wind_carried_to_the_hub() -> None:
    forecast = hub_forecast(reading(ROWS), 100.0, HORIZON, count=1, seed=1)
    wind = forecast.fields["wind"]
    assert wind.height == "hub"
    assert wind.values[0, :4] == pytest.approx(np.array([6, 6, 7, 7]) * 2**0.2, rel=1e-6)
    assert forecast.fields["gust"].values[0, 0] == pytest.approx(9 * 2**0.2, rel=1e-6)
    assert forecast.fields["temperature"].values.shape == (1, 8)
    assert forecast.density_kg_m3 == pytest.approx(dry_density(100000.0, 10.0))
    assert forecast.hub.source == "default"


def test_members_keep_gust_above_wind_and_share_the_errors_with_energy() -> None:
    forecast = hub_forecast(reading(ROWS), 100.0, HORIZON, count=20, seed=1)
    wind, gust = forecast.fields["wind"].values, forecast.fields["gust"].values
    assert wind.shape == gust.shape == (20, 8)
    assert (gust >= wind).all()
    np.testing.assert_allclose(forecast.energy_mps, wind)  # hourly steps: mean and largest are the same


def test_the_end_of_the_file_is_never_workable() -> None:
    forecast = hub_forecast(reading(ROWS[:2]), 100.0, HORIZON, count=5, seed=1)
    calm = LimitSet("any", (Limit("wind", "<=", 60.0),))
    good = workable(forecast.fields, calm)
    assert good[:, :4].all()
    assert not good[:, 4:].any()
    assert (chance(good, 2) == [1, 1, 1, 0, 0, 0, 0, 0]).all()


def test_lead_times_count_from_the_issue() -> None:
    assert HORIZON.lead_h()[[0, 1]].tolist() == [6.0, 6.5]


def test_air_density_falls_back_to_standard_air() -> None:
    rows = [row.replace(",10,1000", ",,") for row in ROWS]
    assert (hub_forecast(reading(rows), 100.0, HORIZON, count=1, seed=1).density_kg_m3 == 1.225).all()

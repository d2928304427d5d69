"""Corrections learnt for turbines. The factor is put in, so what comes out is known."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from planner.errors import PlannerError
from scheduling.models import TurbineWind, WeatherSet
from scheduling.selectors.turbine_wind import turbine_fit, turbine_fits
from scheduling.services.turbine_wind import turbine_wind_fit, turbine_wind_fit_sets
from scheduling.services.weather import weather_store
from scheduling.weather.series import FloatArray, Series, series_of
from scheduling.weather.turbine_wind import NO_CORRECTION
from tests.farm import NOW, Farm

DAYS = 120


def site_wind(days: int = DAYS) -> FloatArray:
    """Hours of Rayleigh wind that remember one another."""
    rng = np.random.default_rng(7)
    smooth = np.array([np.convolve(rng.normal(0, 1, days * 24 + 11), np.ones(12) / 12**0.5, "valid") for _ in range(2)])
    wind: FloatArray = 5.5 * np.hypot(*smooth)
    return wind


def series(values: FloatArray, height_m: float = 100.0, name: str = "H1", **more: object) -> Series:
    at = {"start": NOW, "step_min": 60, "averaging_min": 60.0} | more
    return series_of("wind", values, height_m=height_m, name=name, **at)  # type: ignore[arg-type]


def stored(farm: Farm, *own: Series, kind: str = "past years") -> WeatherSet:
    return weather_store(site=farm.hill, kind=kind, series=own, issued_at=own[0].start if kind == "forecast" else None)[0]


def test_a_fit_is_kept_once_per_turbine_and_read_back(farm: Farm) -> None:
    wind = site_wind()
    row = turbine_wind_fit(turbine=farm.h1, own=series(1.15 * wind), site_series=[series(wind, name="site")], at=NOW)
    weight = DAYS * 24 / (DAYS * 24 + 1440)
    assert (row.factor, row.offset_mps) == (pytest.approx(1 + 0.15 * weight, abs=0.005), pytest.approx(0.0, abs=0.05))
    assert (row.pairs, row.fitted_at) == (DAYS * 24, NOW)
    TurbineWind.objects.update(in_use=False)
    again = turbine_wind_fit(turbine=farm.h1, own=series(1.2 * wind), site_series=[series(wind)], at=NOW + timedelta(days=1))
    assert (again.pk, again.in_use) == (row.pk, False)
    assert turbine_fit(turbine=farm.h1) == NO_CORRECTION
    TurbineWind.objects.update(in_use=True)
    assert turbine_fit(turbine=farm.h1).factor == again.factor > row.factor
    assert set(turbine_fits(site=farm.hill)) == {farm.h1.pk}
    assert turbine_fits(site=farm.plain) == {}


def test_site_wind_of_another_height_is_carried_to_the_hub_first(farm: Farm) -> None:
    low = site_wind()
    row = turbine_wind_fit(turbine=farm.h1, own=series(low * 10**0.2), site_series=[series(low, 10.0)])
    assert (row.factor, row.offset_mps) == (pytest.approx(1.0, abs=1e-3), pytest.approx(0.0, abs=1e-3))


def test_columns_of_stored_weather(farm: Farm) -> None:
    wind = site_wind()
    both = stored(farm, series(1.1 * wind), series(wind, name="mast"))
    row = turbine_wind_fit_sets(turbine=farm.h1, own_set=both, column="H1", site_set=both)
    assert row.factor > 1.05
    with pytest.raises(PlannerError, match="choose one of H1, mast") as refused:
        turbine_wind_fit_sets(turbine=farm.h1, own_set=both, column="nacelle", site_set=both)
    assert refused.value.field == "column"
    with pytest.raises(PlannerError, match="another site"):
        turbine_wind_fit_sets(turbine=farm.p1, own_set=both, column="H1", site_set=both)


def test_archived_forecasts_as_they_were_issued(farm: Farm) -> None:
    wind = site_wind()
    own = stored(farm, series(1.1 * wind), kind="observed")
    with pytest.raises(PlannerError, match="no archived forecast"):
        turbine_wind_fit_sets(turbine=farm.h1, own_set=own, column="H1")
    for day in range(0, DAYS, 2):
        here = slice(day * 24, day * 24 + 96)
        wrong_later = wind[here] * np.where(np.arange(len(wind[here])) < 48, 1.0, 3.0)
        stored(farm, series(wrong_later, name="said", start=NOW + timedelta(days=day)), kind="forecast")
    row = turbine_wind_fit_sets(turbine=farm.h1, own_set=own, column="H1")
    assert row.pairs == DAYS * 24
    assert row.factor == pytest.approx(1 + 0.1 * DAYS * 24 / (DAYS * 24 + 1440), abs=0.005)


@pytest.mark.parametrize(
    ("own", "sentence"),
    [
        (series(site_wind(6)), "at least 168"),
        (series(site_wind(), 10.0), "its hub is at 100 m, the wind at 10 m"),
        (series(site_wind(), start=NOW + timedelta(days=400)), "no time in common"),
        (series(site_wind(), start=NOW + timedelta(hours=2)), "fits the site's best 2 h earlier"),
        (series(site_wind(), start=NOW - timedelta(hours=1)), "fits the site's best 1 h later"),
        (series(np.full(400, np.nan)), "0 hours in which both"),
    ],
    ids=["too short", "not at the hub", "another year", "clock ahead", "clock behind", "nothing"],
)
def test_what_does_not_belong_together_is_refused(own: Series, sentence: str, farm: Farm) -> None:
    with pytest.raises(PlannerError, match=sentence):
        turbine_wind_fit(turbine=farm.h1, own=own, site_series=[series(site_wind())])
    assert not TurbineWind.objects.exists()


def test_a_gust_is_no_mean_wind(farm: Farm) -> None:
    gust = series_of("gust", site_wind(), start=NOW, step_min=60, height_m=100.0, averaging_min=0.05)
    with pytest.raises(PlannerError, match="is no wind"):
        turbine_wind_fit(turbine=farm.h1, own=gust, site_series=[series(site_wind())])

"""A site's wind profile from stored weather. The exponents are put in, so what comes out is known."""

from __future__ import annotations

import numpy as np
import pytest

from planner.errors import PlannerError
from planner.models import Site
from scheduling.models import WeatherSet
from scheduling.services.shear import shear_fit
from scheduling.services.weather import weather_store
from scheduling.weather.height import DEFAULT_EXPONENT
from scheduling.weather.series import series_of
from tests import farm as rows
from tests.farm import Farm

HOURS = 40 * 24


def weather(farm: Farm, *heights: float, exponent: float = 0.3, kind: str = "past years") -> WeatherSet:
    """Forty days of hours with one exponent between all heights."""
    base = 7.0 + 2.0 * np.sin(np.arange(HOURS) / 9.0)
    series = tuple(
        series_of("wind", base * (height / 10.0) ** exponent, start=rows.NOW, step_min=60, height_m=height, averaging_min=60)
        for height in heights
    )
    return weather_store(site=farm.hill, kind=kind, series=series, issued_at=rows.NOW if kind == "forecast" else None)[0]


def test_looking_writes_nothing(farm: Farm) -> None:
    done = shear_fit(site=farm.hill, weather_set=weather(farm, 40, 80))
    weight = HOURS / (HOURS + 240)
    assert (done.before, done.written) == (0.2, False)
    assert done.after == pytest.approx(weight * 0.3 + (1 - weight) * DEFAULT_EXPONENT, abs=6e-4)
    assert Site.objects.get(pk=farm.hill.pk).shear_exponent == 0.2
    assert done.told.startswith("Wind profile exponent 0.200 before, 0.280 by this weather, not written: ")
    assert done.told.endswith("from 960 hours at 40 and 80 m, 20% of it the default.")


def test_writing_keeps_history_and_touches_nothing_else(farm: Farm) -> None:
    stored = weather(farm, 40, 80)
    stale = Site.objects.get(pk=farm.hill.pk)
    Site.objects.filter(pk=farm.hill.pk).update(confidence=0.9)
    done = shear_fit(site=stale, weather_set=stored, write=True)
    site = Site.objects.get(pk=farm.hill.pk)
    assert (done.written, site.shear_exponent, site.confidence) == (True, 0.28, 0.9)
    assert site.history.first().shear_exponent == 0.28
    again = shear_fit(site=site, weather_set=stored, write=True)
    assert again.before == again.after == 0.28


def test_weather_that_tells_no_profile_is_refused(farm: Farm) -> None:
    with pytest.raises(PlannerError, match="wind at two heights") as refused:
        shear_fit(site=farm.hill, weather_set=weather(farm, 80))
    assert refused.value.field == "weather"
    with pytest.raises(PlannerError, match="another site"):
        shear_fit(site=farm.plain, weather_set=weather(farm, 40, 80))
    with pytest.raises(PlannerError, match="choose observed or past"):
        shear_fit(site=farm.hill, weather_set=weather(farm, 40, 80, kind="forecast"))

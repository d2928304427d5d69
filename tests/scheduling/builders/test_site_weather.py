"""A site's forecast as members: single or ensemble, own wind of a turbine, the worst of each slot for upper and lower limits."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from planner.errors import PlannerError
from scheduling.access import Limit, LimitSet, workable
from scheduling.access.judge import judged_values
from scheduling.builders.horizon import Span
from scheduling.builders.site_weather import SiteWeather, hub_key, site_weather
from scheduling.models import TurbineWind
from scheduling.services.weather import weather_store
from scheduling.weather.series import Series, series_of
from tests.farm import Farm

ISSUED = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)
SPAN = Span(ISSUED, 8)

pytestmark = pytest.mark.django_db


def hourly(variable: str, values: list[float], *, height_m: float = 100.0, member: int = 0, step_min: int = 60) -> Series:
    made = series_of(
        variable, np.array(values), start=ISSUED, step_min=step_min, height_m=height_m, averaging_min=10, name=variable
    )
    return Series(**{**vars(made), "member": member})


def weather(site, *series: Series) -> SiteWeather:
    stored, _ = weather_store(site=site, kind="forecast", series=series, issued_at=ISSUED)
    return site_weather(site, stored, now=ISSUED)


def test_a_single_forecast_becomes_members_about_it(farm: Farm):
    cell = weather(farm.hill, hourly("wind", [8.0] * 4)).cell_at(100.0, SPAN)
    values = cell.fields["wind"].values
    assert values.shape == (20, 8)
    assert abs(float(values.mean()) - 8.0) < 0.3
    assert float(values.std()) > 0.5


def test_members_of_an_ensemble_keep_their_own_course(farm: Farm):
    early, late = [6.0, 14.0, 14.0, 14.0], [6.0, 6.0, 6.0, 14.0]
    found = weather(farm.hill, hourly("wind", early, member=1), hourly("wind", late, member=2))
    values = found.cell_at(100.0, SPAN).fields["wind"].values
    assert values.shape == (20, 8)
    in_second_hour = values[:, 2]
    assert in_second_hour[0::2].mean() > in_second_hour[1::2].mean() + 5.0


def test_a_turbine_that_has_learnt_its_own_wind_has_weather_of_its_own(farm: Farm):
    turbine, other = farm.h1, farm.h2
    now = ISSUED - timedelta(days=1)
    TurbineWind.objects.create(turbine=turbine, factor=1.2, offset_mps=0.0, pairs=5000, rest_mps=1.0, fitted_at=now)
    found = weather(farm.hill, hourly("wind", [10.0] * 4))
    own, plain = (found.cell(one, SPAN) for one in (turbine, other))
    assert found.key(turbine) == f"{hub_key(turbine)} {turbine.code}"
    assert found.key(other) == hub_key(other)
    assert own.fields["wind"].values.mean() == pytest.approx(1.2 * plain.fields["wind"].values.mean(), rel=0.05)


def test_a_correction_taken_out_of_use_changes_nothing(farm: Farm):
    turbine = farm.h1
    TurbineWind.objects.create(
        turbine=turbine, factor=1.2, offset_mps=0.0, pairs=5000, rest_mps=1.0, fitted_at=ISSUED, in_use=False
    )
    assert weather(farm.hill, hourly("wind", [10.0] * 4)).key(turbine) == hub_key(turbine)


def test_lower_limits_see_the_lowest_value_of_a_slot(farm: Farm):
    """Sight of 300 m for ten minutes of a half hour is 300 m, not the best the half hour had."""
    sight = hourly("visibility", [5000.0, 300.0, 5000.0] * 8, step_min=10)
    field = weather(farm.hill, hourly("wind", [8.0] * 24, step_min=10), sight).cell_at(100.0, SPAN).fields["visibility"]
    assert field.lowest[0].tolist() == [300.0] * 8
    assert field.values[0].tolist() == [5000.0] * 8


def test_what_lies_beyond_the_forecast_is_unknown(farm: Farm):
    cell = weather(farm.hill, hourly("wind", [8.0, 8.0])).cell_at(100.0, SPAN)
    assert np.isfinite(cell.fields["wind"].values[:, :4]).all()
    assert np.isnan(cell.fields["wind"].values[:, 4:]).all()


def test_damp_air_is_lighter(farm: Farm):
    dry = [hourly("wind", [8.0] * 4), hourly("temperature", [25.0] * 4), hourly("pressure", [101_325.0] * 4)]
    found = [weather(farm.hill, *dry, *more).cell_at(100.0, SPAN) for more in ((), (hourly("humidity", [90.0] * 4),))]
    assert (found[1].density < found[0].density).all()


def test_a_stay_has_one_chance_whoever_asks(farm: Farm) -> None:
    """The plan's horizon, the morning's day and a page of some hours cut the same members."""
    found = weather(farm.hill, hourly("wind", [8.0, 9.0, 10.0, 11.0] * 12))
    whole = found.cell(farm.h1, Span(ISSUED - timedelta(hours=6), 96)).fields["wind"].values
    day = found.cell(farm.h1, Span(ISSUED + timedelta(hours=3), 10)).fields["wind"].values
    again = site_weather(farm.hill, found.forecast, now=ISSUED).cell(farm.h1, Span(ISSUED + timedelta(hours=3), 10))
    assert np.isnan(whole[:, :12]).all(), "before the forecast nothing is known"
    assert (whole[:, 18:28] == day).all()
    assert (again.fields["wind"].values == day).all()


def test_slots_of_a_quarter_past_are_cut_at_a_quarter_past(farm: Farm) -> None:
    """Zones with an offset of 45 minutes put a day's slots beside the half hours of UTC."""
    found = weather(farm.hill, hourly("wind", [8.0] * 4)).cell(farm.h1, Span(ISSUED + timedelta(minutes=15), 8))
    known = np.isfinite(found.fields["wind"].values[0])
    assert known.tolist() == [True] * 7 + [False]


def test_a_forecast_without_wind_is_refused(farm: Farm):
    stored, _ = weather_store(site=farm.hill, kind="forecast", series=(hourly("wind", [8.0] * 4),), issued_at=ISSUED)
    blind = SiteWeather(farm.hill, stored, (), site_weather(farm.hill, stored).error, {})
    with pytest.raises(PlannerError, match="has no wind in it"):
        blind.cell_at(100.0, SPAN)


def test_a_limit_at_another_height_is_held_against_the_wind_there(farm: Farm) -> None:
    """12 m/s at 100 m are 12 x 0.1^0.2 = 7.57 m/s at 10 m by the site's exponent of 0.2 (worked value of the power law)."""
    found = weather(farm.hill, hourly("wind", [12.0] * 4), hourly("gust", [15.0] * 4))
    fields = found.cell(farm.h1, Span(ISSUED + timedelta(hours=1), 4)).fields
    for variable, mps in (("wind", 12.0), ("gust", 15.0)):
        at_10_m = LimitSet("low", (Limit(variable, "<=", 10.0, height=10.0),))
        judged = judged_values(fields, at_10_m.limits[0], at_10_m)
        assert judged is not None
        assert np.median(judged) == pytest.approx(mps * 0.1**0.2, rel=0.1)
        assert workable(fields, at_10_m).any()

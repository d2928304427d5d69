"""Limits from rows to what is judged: in windows, and in the morning's problem."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from planner.models import Limit, LimitSet
from scheduling.access import Limit as CoreLimit
from scheduling.builders.day import day_problem
from scheduling.builders.limits import limit_set_of
from scheduling.models import Visit
from scheduling.services.weather import weather_store
from scheduling.weather.series import series_of
from scheduling.weather.units import VARIABLES
from tests import farm as rows
from tests.scheduling.api import scenes


def weather(farm: rows.Farm, **hourly: float) -> None:
    """A day of hourly weather from the midnight before NOW, the same in every hour."""
    grid = {"start": rows.NOW.replace(hour=0) - timedelta(hours=3), "step_min": 60, "averaging_min": 10}
    given = [
        series_of(name, np.full(30, value), height_m=100 if name == "wind" else 2, **grid)  # type: ignore[arg-type]
        for name, value in hourly.items()
    ]
    issued = rows.NOW - timedelta(hours=1)
    weather_store(site=farm.hill, kind="forecast", series=tuple(given), issued_at=issued)


@pytest.mark.django_db
def test_every_quantity_of_the_register_is_one_of_the_core() -> None:
    known = {name for name, _ in Limit._meta.get_field("quantity").choices}  # type: ignore[union-attr]
    assert known <= set(VARIABLES)


def test_a_row_says_all_that_the_core_asks(farm: rows.Farm) -> None:
    made = LimitSet.objects.create(code="hot", name="Hot", gust_factor=1.3)
    Limit.objects.create(limit_set=made, quantity="wind", value=12, clear_after_min=20)
    Limit.objects.create(limit_set=made, quantity="wind_chill", comparison=">=", value=-20, at_hub=False, height_m=10)
    heat = {"metabolic_class": 2, "acclimatised": True, "offset_c": 8}
    Limit.objects.create(limit_set=made, quantity="work_share", comparison=">=", value=50, **heat)
    found = limit_set_of(LimitSet.objects.prefetch_related("limits").get(code="hot"))
    assert set(found.limits) == {
        CoreLimit("wind", "<=", 12, clear_after_min=20),
        CoreLimit("wind_chill", ">=", -20, height=10.0),
        CoreLimit("work_share", ">=", 50, metabolic_class=2, acclimatised=True, offset_c=8),
    }


def problem_of(farm: rows.Farm, visit: Visit):  # type: ignore[no-untyped-def]
    """The morning's problem of the visit's day."""
    visits = Visit.objects.filter(pk=visit.pk)
    return day_problem(site=farm.hill, day=visit.day, now=rows.NOW, visits=list(visits))


def test_the_morning_knows_felt_cold_and_the_time_to_stay_clear(farm: rows.Farm) -> None:
    visit = scenes.visit(farm)
    limits = visit.jobs.get().order.procedure.limit_set
    Limit.objects.create(limit_set=limits, quantity="wind_chill", comparison=">=", value=-20)
    limits.limits.filter(quantity="wind").update(clear_after_min=45)
    weather(farm, wind=8.0, temperature=-12.0)
    problem = problem_of(farm, visit)
    (found,) = problem.limit_sets.values()
    by_name = {limit.name: limit for limit in found}
    cold = by_name["felt cold at hub"]
    assert (cold.op, cold.value, cold.unit) == (">=", -20.0, "degC")
    # -12 degC and 8 m/s feel like -22 degC (the formula of 2001).
    assert np.nanmedian(np.array(problem.series[cold.series], dtype=float)) == pytest.approx(-22.0, abs=0.5)
    assert "10 min wind at hub over the last 45 min" in by_name
    assert problem.reentry_min == 45


def test_two_limits_of_one_quantity_keep_their_own_values(farm: rows.Farm) -> None:
    visit = scenes.visit(farm)
    limits = visit.jobs.get().order.procedure.limit_set
    Limit.objects.create(limit_set=limits, quantity="wind", value=14, averaging_min=1)
    weather(farm, wind=8.0)
    problem = problem_of(farm, visit)
    (found,) = problem.limit_sets.values()
    ten, one = (next(limit for limit in found if limit.name == f"{n} min wind at hub") for n in (10, 1))
    assert problem.series[ten.series] != problem.series[one.series]
    assert {limit.unit for limit in (ten, one)} == {"m/s"}

"""Stored past weather as stretches on one grid."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from planner.models import Limit, LimitSet, ShiftPattern
from scheduling.builders.climate import Climate
from scheduling.builders.past import stretches_of, working_hours
from scheduling.models import WeatherSet
from scheduling.weather.series import Flag, series_of
from tests.farm import Farm
from tests.scheduling.past_rows import steady, stored


def rows() -> list[WeatherSet]:
    return list(WeatherSet.objects.order_by("starts_at", "pk"))


def test_years_of_one_source_are_one_stretch_with_the_time_between_unknown(farm: Farm) -> None:
    stored(farm.hill, steady(5.0, 2017))
    stored(farm.hill, steady(7.0, 2019))
    (stretch,) = stretches_of(farm.hill, rows())
    (wind,) = stretch.series
    assert wind.start == datetime(2016, 12, 24, tzinfo=UTC)
    assert wind.end == datetime(2020, 1, 9, tzinfo=UTC)
    at = [wind.usable()[wind.index(datetime(year, 6, 1, tzinfo=UTC))] for year in (2017, 2018, 2019)]
    np.testing.assert_equal(at, [5.0, np.nan, 7.0])
    assert wind.flags[0] == int(Flag.GAP)


def test_where_two_sets_overlap_the_older_ones_good_value_stands(farm: Farm) -> None:
    old = steady(5.0, 2018)
    flags = np.zeros(len(old.values), dtype=np.uint16)
    flags[10] = int(Flag.SPIKE)
    stored(farm.hill, old.with_values(old.values.copy(), flags=flags))
    stored(farm.hill, steady(7.0, 2018, 2))
    (stretch,) = stretches_of(farm.hill, rows())
    wind = stretch.series[0]
    at = wind.index(datetime(2018, 1, 1, tzinfo=UTC))
    assert wind.usable()[at + 9 : at + 12].tolist() == [5.0, 7.0, 5.0]
    assert wind.usable()[wind.index(datetime(2019, 6, 1, tzinfo=UTC))] == 7.0


def test_other_heights_steps_and_phases_are_other_stretches(farm: Farm) -> None:
    """Reanalysis is often stamped on the half hour: hours of two phases never share a grid."""
    stored(farm.hill, steady(5.0, 2017))
    stored(farm.hill, steady(5.0, 2018, height_m=50))
    stored(farm.hill, steady(5.0, 2019, start=datetime(2019, 1, 1, 0, 30, tzinfo=UTC)))
    stored(farm.hill, steady(5.0, 2020, step_min=30))
    stored(farm.hill, steady(5.0, 2021, step_min=180))  # too coarse: left out
    assert len(stretches_of(farm.hill, rows())) == 4


def test_daylight_of_ten_minutes_and_of_hours_agree(farm: Farm) -> None:
    """An hour is light when all of it is, so it never is where one of its ten minutes is not."""
    start = datetime(2025, 3, 18, tzinfo=UTC)
    for step, height in ((10, 90.0), (60, 100.0)):
        values = np.full(4 * 1440 // step, 5.0)
        stored(farm.hill, series_of("wind", values, start=start, step_min=step, height_m=height, averaging_min=10))
    fine, coarse = sorted(stretches_of(farm.hill, rows()), key=lambda one: one.series[0].step_min)
    by_hour = fine.daylight.reshape(-1, 6).all(axis=1)
    assert (by_hour == coarse.daylight).all()
    day = coarse.daylight[coarse.series[0].index(start) :][:24]
    # Sun over 54.62 N, 9.02 E on 18 March: about 05:30 to 17:36 UTC (astral).
    assert np.flatnonzero(day).tolist() == list(range(6, 17))


def test_working_hours_are_those_of_the_shifts(farm: Farm) -> None:
    assert str(working_hours(farm.north)) == "07:00 to 18:00"
    ShiftPattern.objects.update(overtime_h=0, start="06:30")
    assert str(working_hours(farm.north)) == "06:30 to 16:00"
    assert str(working_hours(farm.plain.base)) == "07:00 to 17:00"  # nobody there yet


def test_a_limit_that_asks_to_stay_clear_is_held_in_past_years_too(farm: Farm) -> None:
    limits = LimitSet.objects.create(code="clear", name="clear")
    Limit.objects.create(limit_set=limits, quantity="wind", value=12, clear_after_min=120)
    one = steady(5.0, 2018)
    values = one.values.copy()
    values[24 * 14 + 8 :: 24] = 15.0  # one bad hour a day from 15 January on, 09:00 in Berlin: closed until 12:00
    stored(farm.hill, one.with_values(values))
    found = Climate(farm.hill).years(farm.h1, limits)
    assert found.workable_share[0, 10] == pytest.approx(5 / 10)

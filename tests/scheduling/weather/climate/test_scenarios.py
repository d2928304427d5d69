from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from scheduling.weather.climate import scenarios_of, year_scenarios
from scheduling.weather.series import Series
from tests.scheduling.weather.builders import wind

MONDAY = datetime(2025, 6, 2, tzinfo=UTC)  # ISO week 23
WEEK = 22


def weeks(count: int, value: float = 5.0, **changes: object) -> np.ndarray:
    return np.full(count * 168, value)


def test_a_calm_week_is_workable_in_every_hour_of_the_day_window() -> None:
    year = year_scenarios(wind(weeks(2)), 12.0, 6.0, day_window=(7, 17))
    assert year.years == (2025,)
    assert year.workable_h.shape == (1, 53)
    assert year.workable_h[0, WEEK] == 70.0
    assert year.workable_days[0, WEEK] == 1.0
    assert np.isnan(year.workable_h[0, WEEK - 1])
    assert np.isnan(year.workable_h[0, WEEK + 2])


def test_a_window_shorter_than_the_stay_counts_for_nothing() -> None:
    values = weeks(1, 15.0)
    values[8:13] = 5.0  # Monday 08-13: five hours
    values[24 + 8 : 24 + 14] = 5.0  # Tuesday 08-14: six
    year = year_scenarios(wind(values), 12.0, 6.0)
    assert year.workable_h[0, WEEK] == 6.0
    assert year.workable_days[0, WEEK] == pytest.approx(1 / 7)


def test_a_calm_night_helps_nobody() -> None:
    values = weeks(1, 15.0).reshape(7, 24)
    values[:, 17:] = 5.0
    values[:, :7] = 5.0
    assert year_scenarios(wind(values.ravel()), 12.0, 6.0).workable_h[0, WEEK] == 0.0


def test_the_day_window_is_on_the_local_clock() -> None:
    values = weeks(1, 15.0).reshape(7, 24)
    values[:, 5:15] = 5.0  # 07-17 in Berlin's summer
    berlin = year_scenarios(wind(values.ravel()), 12.0, 10.0, zone="Europe/Berlin")
    assert berlin.workable_days[0, WEEK] == 1.0
    assert year_scenarios(wind(values.ravel()), 12.0, 10.0).workable_days[0, WEEK] == 0.0


def test_the_limit_itself_is_good_unless_strict() -> None:
    series = wind(weeks(1, 12.0))
    assert year_scenarios(series, 12.0, 6.0).workable_days[0, WEEK] == 1.0
    assert year_scenarios(series, 12.0, 6.0, strict=True).workable_days[0, WEEK] == 0.0


def test_missing_hours_are_not_calm_and_a_week_of_them_is_unknown() -> None:
    values = weeks(2)
    values[10] = np.nan
    values[168 : 168 + 30] = np.nan
    year = year_scenarios(wind(values), 12.0, 10.0)
    assert year.workable_days[0, WEEK] == pytest.approx(6 / 7)
    assert np.isnan(year.workable_days[0, WEEK + 1])


def test_every_past_year_is_a_scenario_and_week_53_is_never_a_hole() -> None:
    hours = int((datetime(2022, 1, 3) - datetime(2019, 12, 30)).total_seconds() // 3600)
    year = year_scenarios(wind(np.full(hours, 5.0), start=datetime(2019, 12, 30, tzinfo=UTC)), 12.0, 6.0)
    assert year.years == (2020, 2021)  # 2020 has a week 53 of its own, 2021 has not
    assert (year.workable_days == 1.0).all()
    assert (year.week_days() == 1.0).all()


def test_weeks_average_over_the_years_that_know() -> None:
    values = np.concatenate([weeks(1, 5.0), np.full(51 * 168, np.nan), weeks(1, 15.0)])
    year = year_scenarios(wind(values), 12.0, 6.0)
    assert year.years == (2025, 2026)
    assert year.week_days()[WEEK] == pytest.approx(0.5)


def test_lost_energy_is_averaged_over_the_workable_hours() -> None:
    values = weeks(1, 15.0)
    values[8:14] = 5.0
    lost = np.where(values == 5.0, 0.4, 2.0)
    year = year_scenarios(wind(values), 12.0, 6.0, lost_mwh_h=lost)
    assert year.lost_mwh_h[0, WEEK] == pytest.approx(0.4)
    stormy = year_scenarios(wind(weeks(1, 15.0)), 12.0, 6.0, lost_mwh_h=np.full(168, 2.0))
    assert stormy.lost_mwh_h[0, WEEK] == pytest.approx(2.0)


def test_any_truth_table_will_do() -> None:
    series: Series = wind(weeks(1), start=MONDAY)
    table = np.zeros(168, dtype=bool)
    table[7:17] = True
    assert scenarios_of(series, table, 10.0).workable_h[0, WEEK] == 10.0


def test_agrees_with_a_plain_count_day_by_day() -> None:
    rng = np.random.default_rng(4)
    series = wind(np.convolve(rng.weibull(2.0, 8 * 168 + 5), np.ones(6) * 8 / 6, "valid"))
    year = year_scenarios(series, 8.0, 4.0, day_window=(8, 18))
    for week in range(8):
        good = 0
        for day in range(7):
            at = MONDAY + timedelta(days=7 * week + day)
            hours = [series.values[series.index(at + timedelta(hours=hour))] <= 8.0 for hour in range(8, 18)]
            good += any(all(hours[first : first + 4]) for first in range(7))
        assert year.workable_days[0, WEEK + week] == pytest.approx(good / 7)


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="does not fit a day window"):
        year_scenarios(wind(weeks(1)), 12.0, 11.0)
    with pytest.raises(ValueError, match="does not fit a day window"):
        year_scenarios(wind(weeks(1)), 12.0, 6.0, day_window=(17, 7))
    with pytest.raises(ValueError, match="no whole week"):
        year_scenarios(wind([5.0] * 24), 12.0, 6.0)

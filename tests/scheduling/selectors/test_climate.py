"""A site's climate from stored past years."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from planner.errors import PlannerError
from planner.models import Limit, LimitSet
from scheduling.selectors.climate import SiteClimate, site_climate
from scheduling.weather.series import Flag
from tests.farm import Farm
from tests.scheduling.past_rows import steady, stored
from tests.scheduling.weather.records import merra2


def climate(farm: Farm, stay_min: float = 240, code: str = "tower", **more: bool) -> SiteClimate:
    limit_set = LimitSet.objects.prefetch_related("limits").get(code=code)
    return site_climate(site=farm.hill, limit_set=limit_set, stay_min=stay_min, **more)


def week(found: SiteClimate, number: int, name: str = "workable_h"):  # type: ignore[no-untyped-def]
    return found.weeks[number - 1].over_years[name]


def test_without_history_it_says_so_and_invents_nothing(farm: Farm) -> None:
    found = climate(farm)
    assert (found.years, found.weeks, found.months, found.estimate) == ((), (), (), None)
    assert "No past weather of this site is stored" in found.notes[0]


def test_the_demos_made_up_years_are_not_history(farm: Farm) -> None:
    stored(farm.hill, steady(5.0, 2001), report={"resampled": True})
    found = climate(farm)
    assert found.years == ()
    assert "1 made-up years of the demo are left out" in found.notes[1]


def test_a_calm_year_is_workable_in_every_hour_of_the_working_day(farm: Farm) -> None:
    """The farm's shifts run from 07:00 to 16:00 with 2 h overtime: 11 h on seven days."""
    stored(farm.hill, steady(5.0, 2019))
    found = climate(farm)
    assert found.years == (2019,)
    assert str(found.hours) == "07:00 to 18:00"
    assert week(found, 10).mean == week(found, 10, "counted_h").mean == 77.0
    assert week(found, 10).years == 1
    assert week(found, 10).p50 is None
    assert found.notes[0] == (
        "From past weather of 2019; a week is known in 1 year at most: fewer than 3, so means and ranges only and no quantiles."
    )
    assert "The past weather holds no gusts: they count as 1.3 times the mean." in found.notes
    assert found.shear == "wind measured at the hub height of 100 m"
    # 5 m/s on the straight line from 3 m/s, 0 kW to 6 m/s, 600 kW at H1 and H2; H3's hub of 60 m has 4.51 m/s. Standard air is
    # thinner at the hub (ISA, from memory), which counts as a wind lower by the cube root (IEC 61400-12-1, from memory).
    thin = {hub: ((1 - 2.25577e-5 * hub) ** 5.25588 / (1 - 0.0065 * hub / 288.15)) ** (1 / 3) for hub in (60, 100)}
    lost = week(found, 10, "lost_mwh_h").mean
    assert lost == pytest.approx((2 * 0.2 * (5 * thin[100] - 3) + 0.2 * (5 * 0.6**0.2 * thin[60] - 3)) / 3, rel=1e-3)


def test_all_hours_count_when_asked(farm: Farm) -> None:
    stored(farm.hill, steady(5.0, 2019))
    found = climate(farm, 1440, all_hours=True)
    assert week(found, 10).mean == 168.0
    assert found.months[0].over_years["wait_h"].mean == 0.0
    assert "Counted are all hours." in found.notes


def test_three_years_give_quantiles(farm: Farm) -> None:
    for year, mps in ((2017, 5.0), (2018, 20.0), (2019, 5.0)):
        stored(farm.hill, steady(mps, year))
    found = climate(farm)
    assert found.years == (2017, 2018, 2019)
    assert week(found, 30).years == 3
    assert (week(found, 30).p10, week(found, 30).p50, week(found, 30).p90) == pytest.approx((15.4, 77.0, 77.0))
    assert found.notes[0].startswith("From past weather of 2017 to 2019; a week is known in 3 years at most, and quantiles")
    assert week(found, 1).years == 3  # the weeks across New Year are whole, because the years are laid on one grid


def test_a_leap_year_and_a_long_year(farm: Farm) -> None:
    """2020 has 29 February in week 9 and 53 weeks (ISO 8601); 2019 and 2021 have 52."""
    stored(farm.hill, steady(5.0, 2019, 3))
    found = climate(farm)
    assert week(found, 53).years == 1
    assert found.workable_h[2020][52] == 77.0
    assert found.workable_h[2021][52] is None
    assert found.workable_h[2020][8] == 77.0
    assert all(row[:52].count(None) <= 2 for row in found.workable_h.values())


def test_a_gap_leaves_out_its_weeks_and_says_so(farm: Farm) -> None:
    one = steady(5.0, 2019)
    values = one.values.copy()
    monday = 24 * (datetime(2019, 6, 3) - datetime(2019, 1, 1)).days
    values[monday : monday + 40] = np.nan  # 22 of the week's 77 working hours and more
    stored(farm.hill, one.with_values(values, flags=np.where(np.isnan(values), int(Flag.MISSING), 0).astype(np.uint16)))
    found = climate(farm)
    assert found.workable_h[2019][22] is None
    assert found.workable_h[2019][23] == 77.0
    assert any("2019: weeks 1 and 23" in note for note in found.notes), found.notes


def test_flagged_values_are_unknown(farm: Farm) -> None:
    one = steady(0.0, 2019)
    stored(farm.hill, one.with_values(one.values.copy(), flags=np.full(len(one.values), int(Flag.DEAD), dtype=np.uint16)))
    found = climate(farm)
    assert found.years == ()
    assert "No whole week of the past weather is known" in found.notes[0]


def test_a_variable_the_record_does_not_hold_gives_no_figure(farm: Farm) -> None:
    stored(farm.hill, steady(5.0, 2019))
    Limit.objects.create(limit_set=LimitSet.objects.get(code="tower"), quantity="visibility", comparison=">=", value=500)
    found = climate(farm)
    assert found.years == ()
    assert "visibility: the past weather holds none" in found.notes[0]


def test_daylight_bounds_the_hours_that_count(farm: Farm) -> None:
    """54.62 N: about 7.5 h of light in week 51 and 17 h in week 25 (any almanac); the working day is 11 h."""
    stored(farm.hill, steady(5.0, 2019, 2))
    found = climate(farm, code="blade")
    assert week(found, 25, "counted_h").mean == 77.0
    assert 7 * 6 <= week(found, 51, "counted_h").mean <= 7 * 8
    assert "Counted are the hours in daylight from 07:00 to 18:00 of the local clock." in found.notes


def test_a_second_record_fills_only_what_the_first_does_not_know(farm: Farm) -> None:
    stored(farm.hill, steady(5.0, 2018, name="mast"))
    stored(farm.hill, steady(20.0, 2018, 2, name="model"))
    found = climate(farm)
    assert found.years == (2018, 2019)
    assert (found.workable_h[2018][20], found.workable_h[2019][20]) == (77.0, 0.0)
    assert any("2 records of different kind" in note for note in found.notes)


def test_a_stay_that_cannot_be_is_one_sentence(farm: Farm) -> None:
    for stay in (0.0, -5.0, 1441.0, float("nan")):
        with pytest.raises(PlannerError, match="give 1 to 1440 minutes"):
            climate(farm, stay)
    with pytest.raises(PlannerError, match="does not fit the working day of 07:00 to 18:00"):
        climate(farm, 661)
    with pytest.raises(PlannerError, match="names no limit"):
        site_climate(site=farm.hill, limit_set=LimitSet.objects.create(code="none", name="none"), stay_min=60)


def test_a_change_of_what_it_hangs_on_is_seen_at_once(farm: Farm) -> None:
    stored(farm.hill, steady(11.0, 2019))
    Limit.objects.filter(quantity="gust").delete()
    assert week(climate(farm), 10).mean == 77.0
    Limit.objects.filter(quantity="wind", value=12).update(value=10)
    assert week(climate(farm), 10).mean == 0.0
    stored(farm.hill, steady(9.0, 2017))
    assert climate(farm).years == (2017, 2019)


def test_the_open_reanalysis_against_a_plain_count(farm: Farm) -> None:
    """MERRA-2, two years of hours at 50 m (see its LICENCE.txt), at a hub of 50 m with an hourly limit: each week counted
    in a plain loop over local hours."""
    farm.hill.turbines.update(hub_height_m=50)
    limits = LimitSet.objects.create(code="hourly", name="Hourly mean")
    Limit.objects.create(limit_set=limits, quantity="wind", value=12, averaging_min=60)
    series = merra2()
    stored(farm.hill, *series)
    found = climate(farm, 240, "hourly")
    assert found.years == (2015, 2016)
    wind, zone = series[0].values, farm.hill.zone
    for number in (13, 23, 43):  # with both clock changes
        monday = datetime.fromisocalendar(2016, number, 1)
        good = []
        for day in range(7):
            local = monday + timedelta(days=day)
            at = [(local + timedelta(hours=hour)).replace(tzinfo=zone).astimezone(UTC) for hour in range(7, 18)]
            calm = "".join("1" if wind[series[0].index(when)] <= 12 else "0" for when in at)
            good.append(sum(len(run) for run in calm.split("0") if len(run) >= 4))
        assert found.workable_h[2016][number - 1] == sum(good), number


def test_two_years_of_hours_are_counted_fast(farm: Farm) -> None:
    """Well under 0.5 s is wanted of a page; the second asking comes from the cache."""
    stored(farm.hill, *merra2())
    climate(farm, code="blade")
    begun = time.perf_counter()
    climate(farm, 180)
    first = time.perf_counter() - begun
    begun = time.perf_counter()
    climate(farm, 180)
    again = time.perf_counter() - begun
    assert first < 1.0
    assert again < first

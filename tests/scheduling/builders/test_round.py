"""The year's problem from the rows of the tiny farm."""

from __future__ import annotations

from datetime import UTC, date, datetime

import numpy as np
import pytest

from planner.errors import PlannerError
from planner.models import Base, Closure
from scheduling.builders.climate import Climate
from scheduling.builders.round import place_key, round_problem
from scheduling.services.weather import weather_store
from scheduling.weather.series import series_of
from scheduling.year.problem import EVERYBODY, Item, Problem, problem_from_json, problem_to_json
from scheduling.year.solve import Params, solve
from tests import farm as rows


def build(farm: rows.Farm, weeks: int = 52) -> Problem:
    """The round from the week of TODAY (Monday 8 June 2026) on."""
    return round_problem(base=farm.north, first_day=rows.TODAY, weeks=weeks)


def items_of(problem: Problem, turbine: str, interval: str) -> list[Item]:
    """The items of an interval on a turbine, in order of their due weeks."""
    return [item for item in problem.items if item.turbine == f"HILL {turbine}" and f" {interval} " in item.id]


def past(farm: rows.Farm, mps: float, year: int) -> None:
    """A whole year of one wind at 100 m."""
    start = datetime(year, 1, 1, tzinfo=UTC)
    values = np.full(366 * 24, mps)
    one = series_of("wind", values, start=start, step_min=60, height_m=100, averaging_min=10)
    weather_store(site=farm.hill, kind="past years", series=(one,))


def test_it_survives_being_stored_and_solves(farm: rows.Farm) -> None:
    problem = build(farm)
    assert problem_from_json(problem_to_json(problem)) == problem
    result = solve(problem, Params(time_limit_s=5))
    assert result.status in ("optimal", "gap reached")
    assert not problem.scenarios


def test_what_falls_due_twice_stands_twice(farm: rows.Farm) -> None:
    problem = build(farm)
    half = items_of(problem, "H1", "svc-6")
    assert [item.id[-10:] for item in half] == ["2026-06-25", "2026-12-25"]
    assert (half[0].opens, half[0].due, half[0].closes) == (-1, 2, 5)  # 7 June, 25 June, 13 July
    (year,) = items_of(problem, "H1", "svc-12")
    assert half[0].id in year.absorbs
    assert half[1].id not in year.absorbs


def test_a_statutory_item_that_has_passed_is_there_with_its_past_week(farm: rows.Farm) -> None:
    (lift,) = [item for item in items_of(build(farm), "H1", "lift-12") if item.due < 0]
    assert lift.statutory
    assert (lift.due, lift.closes) == (-3, -3)  # 20 May lies three weeks before the week of 8 June


def test_alike_components_are_told_apart(farm: rows.Farm) -> None:
    blades = items_of(build(farm), "H1", "blade-24")
    assert len({item.id for item in blades}) == 3
    assert all(place_key(farm.h1, blade) in {item.id.rsplit(" ", 2)[0] for item in blades} for blade in farm.blades)


def test_a_closure_takes_the_weeks_it_covers_whole(farm: rows.Farm) -> None:
    problem = build(farm)
    (low,) = items_of(problem, "H3", "low-12")
    assert 0 not in low.weeks  # birds until 30 June, a Tuesday: the week of 29 June has open days
    assert 3 in low.weeks
    Closure.objects.update(kind="grid outage")
    assert 0 in items_of(build(farm), "H3", "low-12")[0].weeks


def test_capacity_counts_who_is_there(farm: rows.Farm) -> None:
    weeks = build(farm).weeks
    full = 4 * 5 * 9 * 0.7  # four people, five days of nine hours, the share of it spent at the turbine
    assert weeks[0].capacity_h[EVERYBODY] == pytest.approx(full)
    assert weeks[1].capacity_h[EVERYBODY] == pytest.approx(full * 3 / 4)  # Cleo is on leave


def test_past_years_are_scenarios_by_name(farm: rows.Farm) -> None:
    past(farm, 4.0, 2020)
    past(farm, 20.0, 2024)
    problem = build(farm)
    assert problem.scenarios == ("2020", "2024")
    (tower,) = [key for key in problem.workable_share if key.endswith("100 m/tower")]
    calm, stormy = problem.workable_share[tower]
    # The series begins inside week 1 of 2020 and ends inside its week 53: those take what the other year knows.
    known = [at for at, week in enumerate(problem.weeks) if week.label[-3:] not in ("W01", "W53")]
    assert {calm[at] for at in known} == {1.0}
    assert {stormy[at] for at in known} == {0.0}
    lost = next(iter(problem.lost_mwh_per_stop_h.values()))
    assert max(lost[0][at] for at in known) == pytest.approx(0.2, rel=0.05)  # 200 kW at 4 m/s, in air a little thinner or thicker
    assert min(lost[1][at] for at in known) == pytest.approx(3.0, rel=0.01)


def test_less_than_a_year_is_one_composite_year(farm: rows.Farm) -> None:
    start = datetime(2024, 10, 1, tzinfo=UTC)
    one = series_of("wind", np.full(200 * 24, 4.0), start=start, step_min=60, height_m=100, averaging_min=10)
    weather_store(site=farm.hill, kind="past years", series=(one,))
    years = Climate(farm.hill).years(farm.h1, farm.procedures["service"].limit_set)
    assert years.names == ("2024+2025",)
    assert np.isfinite(years.workable_share).all()


def test_a_base_without_a_site_is_refused(farm: rows.Farm) -> None:
    empty = Base.objects.create(name="Empty", latitude=1, longitude=1, time_zone="UTC")
    with pytest.raises(PlannerError, match="has no site"):
        round_problem(base=empty, first_day=date(2026, 6, 10), weeks=10)

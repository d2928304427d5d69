from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings

from scheduling.year.outlook import outlook
from scheduling.year.problem import EVERYBODY, Problem
from scheduling.year.replay import replay
from scheduling.year.solve import Params, solve
from tests.scheduling.year.farm import TINY, laid, rounds, service, with_items

HALF = {"climb": ((1.0,) * 6, (0.5,) * 6)}
"""A calm year and one in which half of the time is good."""


def test_load_fill_and_fit_of_a_week() -> None:
    problem = replace(TINY, workable_share=HALF)
    week = outlook(problem, laid(problem, {"T1 service": 3, "T2 service": 3})).weeks[3]
    assert week.label == "2026-W05"
    assert (week.load_h[EVERYBODY], week.capacity_h[EVERYBODY]) == (80.0, 100.0)
    assert week.fill == pytest.approx((0.8, 1.6))
    assert (week.fits_share, week.undone_mean_h) == (0.5, 15.0)


def test_a_week_in_which_no_hour_is_good_has_no_fill() -> None:
    problem = replace(TINY, workable_share={"climb": ((0.0,) * 6, (1.0,) * 6)})
    weeks = outlook(problem, laid(problem, {"T1 service": 3})).weeks
    assert weeks[3].fill == (None, 0.4)
    assert weeks[2].fill == (0.0, 0.0)


def test_lost_energy_mean_and_p90() -> None:
    """Ten years that lose 1, 2, ... 10 MWh: P90 is the ninth."""
    lost = tuple((0.1 * year,) * 6 for year in range(1, 11))
    problem = replace(
        with_items(service("T1")),
        scenarios=tuple(str(2000 + year) for year in range(10)),
        workable_share={"climb": ((1.0,) * 6,) * 10},
        lost_mwh_per_stop_h={"type A": lost},
    )
    seen = outlook(problem, laid(problem, {"T1 service": 3}))
    assert seen.lost_mwh_mean == pytest.approx(5.5)
    assert seen.lost_mwh_p90 == pytest.approx(9.0)
    assert seen.history == 10


def test_what_does_not_fit_is_carried_into_the_next_week() -> None:
    """80 person-hours in week 3: done at once in the calm year; in the other 50 in week 3 and 30 in week 4."""
    problem = replace(TINY, workable_share=HALF)
    plan = laid(problem, {"T1 service": 3, "T2 service": 3})
    again = replay(problem, plan)
    assert again.finish["T1 service"].tolist() == [3, 3]
    assert again.finish["T2 service"].tolist() == [3, 4]
    seen = outlook(problem, plan)
    assert (seen.finish_p50, seen.finish_p90) == ("2026-02-01", "2026-02-08")
    assert seen.done_mean == (0.0, 0.0, 0.0, 0.75, 1.0, 1.0)
    assert seen.done_p10 == (0.0, 0.0, 0.0, 0.5, 1.0, 1.0)


def test_carried_work_comes_first_and_the_close_is_met_or_not() -> None:
    items = (service("T1", effort_person_h=100.0, closes=3), service("T2", closes=4))
    problem = with_items(*items, workable_share=HALF)
    seen = outlook(problem, laid(problem, {"T1 service": 3, "T2 service": 4}))
    assert seen.met_share == {"T1 service": 0.5, "T2 service": 0.5}
    assert seen.finish_weeks == (4, 5)


def test_carried_work_waits_while_its_turbine_is_closed() -> None:
    problem = with_items(service("T1", effort_person_h=100.0, weeks=(0, 3, 5)), workable_share=HALF)
    assert replay(problem, laid(problem, {"T1 service": 3})).finish["T1 service"].tolist() == [3, 5]


def test_what_is_never_finished_has_no_date() -> None:
    problem = with_items(service("T1", effort_person_h=100.0), workable_share=HALF)
    seen = outlook(problem, laid(problem, {"T1 service": 5}))
    assert (seen.finish_p50, seen.finish_p90) == ("2026-02-15", "")
    assert seen.met_share == {"T1 service": 0.0}  # its close is week 4
    beyond = with_items(service("T1", effort_person_h=100.0, closes=9), workable_share=HALF)
    assert outlook(beyond, laid(beyond, {"T1 service": 5})).met_share == {"T1 service": 0.5}


def test_rope_work_uses_up_hours_of_the_others_too() -> None:
    shares = {"climb": ((1.0,) * 6,) * 2, "rope": ((0.4,) * 6,) * 2}
    items = (service("T1", limit="rope"), service("T2", effort_person_h=61.0))
    problem = with_items(*items, workable_share=shares)
    finish = replay(problem, laid(problem, {"T1 service": 3, "T2 service": 3})).finish
    assert [weeks.tolist() for weeks in finish.values()] == [[3, 3], [4, 4]]


def test_an_absorbed_item_is_finished_with_the_other() -> None:
    problem = with_items(service("T1", absorbs=("T1 small",)), service("T1", id="T1 small"), workable_share=HALF)
    plan = laid(problem, {"T1 service": 3, "T1 small": 3}, {"T1 small": "T1 service"})
    assert outlook(problem, plan).met_share == {"T1 service": 1.0, "T1 small": 1.0}


def test_an_empty_round_has_no_dates() -> None:
    seen = outlook(TINY, laid(TINY, {}))
    assert (seen.finish_p50, seen.finish_p90, seen.lost_mwh_mean, seen.met_share) == ("", "", 0.0, {})


@settings(max_examples=60, deadline=None)
@given(rounds(most_items=5, weeks=4))
def test_what_fits_in_a_year_is_finished_in_its_week(problem: Problem) -> None:
    plan = solve(problem, Params(time_limit_s=5.0)).plan
    seen, again = outlook(problem, plan), replay(problem, plan)
    years = len(seen.weeks[0].fill)
    fits = np.array([[fill is not None and fill <= 1 + 1e-9 for fill in week.fill] for week in seen.weeks])
    for placed in plan.placements:
        for year in range(years):
            if fits[: placed.week + 1, year].all():
                assert again.finish[placed.item][year] == placed.week
            assert again.finish[placed.item][year] >= placed.week


@settings(max_examples=40, deadline=None)
@given(rounds(most_items=4, weeks=4))
def test_shares_are_shares(problem: Problem) -> None:
    seen = outlook(problem, solve(problem, Params(time_limit_s=5.0)).plan)
    shares = [*seen.met_share.values(), *seen.done_mean, *seen.done_p10, *(week.fits_share for week in seen.weeks)]
    assert all(-1e-9 <= share <= 1 + 1e-9 for share in shares)
    assert list(seen.done_mean) == sorted(seen.done_mean)

"""Locks as the fortnight's problem sees them."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta

import pytest

from planner.errors import PlannerError
from scheduling.builders.fortnight import fortnight_as_it_is, fortnight_problem
from scheduling.fortnight.problem import Order, Problem
from scheduling.models import WeatherSet
from scheduling.services import locks
from tests import farm as rows
from tests.farm import NOW, TODAY
from tests.page_rows import build_order, build_plan, build_visit

NINE = datetime(2026, 6, 11, 7, 0, tzinfo=UTC)
THURSDAY = TODAY + timedelta(days=1)


def build(farm: rows.Farm) -> Problem:
    return fortnight_problem(base=farm.north, first_day=TODAY, days=10, now=NOW, seed=1)


def of(problem: Problem, number: str) -> Order:
    return next(order for order in problem.orders if order.id == number)


def at(problem: Problem, day: int, slot: int) -> str:
    minutes = problem.days[day].start_min + slot * problem.slot_min
    return f"{datetime.fromisoformat(problem.origin) + timedelta(minutes=minutes):%m-%d %H:%M}"


def test_a_pinned_visit_has_its_day_and_slot_until_released(farm: rows.Farm, calm: WeatherSet) -> None:
    order = build_order(farm.h2, farm)
    lock = locks.visit_pin(order=order, starts_at=NINE, by=None, now=NOW)
    problem = build(farm)
    ((visit, day, slot),) = of(problem, "HILL-1").pins
    assert (visit, day, at(problem, day, slot)) == (0, 1, "06-11 07:00")
    locks.lock_release(lock=lock, by=None, now=NOW)
    assert of(build(farm), "HILL-1").pins == ()


def test_named_people_are_the_crew(farm: rows.Farm, calm: WeatherSet) -> None:
    order = build_order(farm.h2, farm)
    locks.team_pin(order=order, people=[farm.people["Ada"], farm.people["Ben"]], by=None, now=NOW)
    assert of(build(farm), "HILL-1").crew == ((0, ("Ada", "Ben")),)
    farm.people["Ada"].active = False
    farm.people["Ada"].save()
    with pytest.raises(PlannerError, match=r"Ada: no active technician any more, but HILL-1 .* Release that lock"):
        build(farm)


def test_forbidden_days_are_gone_with_their_reason(farm: rows.Farm, calm: WeatherSet) -> None:
    order = build_order(farm.h2, farm)
    before = of(build(farm), "HILL-1").days
    locks.day_forbid(order=order, first_day=THURSDAY, last_day=THURSDAY + timedelta(days=1), reason="fair", by=None, now=NOW)
    assert of(build(farm), "HILL-1").days == tuple(day for day in before if day not in (1, 2))
    told = fortnight_as_it_is(base=farm.north, first_day=TODAY, days=10, now=NOW, seed=1)
    assert told.why_not("HILL-1", 1) == "not on this day (fair)"


def test_a_frozen_day_stands_with_its_people_and_nothing_is_added(farm: rows.Farm, calm: WeatherSet) -> None:
    order, other = build_order(farm.h2, farm), build_order(farm.h1, farm, "HILL-2")
    build_visit(build_plan(farm), farm, order, day=THURSDAY, start=time(9))
    locks.day_freeze(base=farm.north, day=THURSDAY, by=None, reason="visitors", now=NOW)
    problem = build(farm)
    held = of(problem, order.number)
    ((visit, day, slot),) = held.pins
    assert (visit, day, at(problem, day, slot)) == (0, 1, "06-11 07:00")
    assert held.crew == ((0, ("Ada", "Ben")),)
    assert 1 in held.days
    assert 1 not in of(problem, other.number).days
    told = fortnight_as_it_is(base=farm.north, first_day=TODAY, days=10, now=NOW, seed=1)
    assert told.why_not("HILL-2", 1) == "the day is frozen (visitors): nothing is added to it"


def test_what_has_begun_on_a_frozen_day_may_stand(farm: rows.Farm, calm: WeatherSet) -> None:
    build_visit(build_plan(farm), farm, build_order(farm.h2, farm), day=TODAY, start=time(7))
    assert all(one.shifts[0].start > 0 for one in build(farm).people if one.id in ("Ada", "Ben"))
    locks.day_freeze(base=farm.north, day=TODAY, by=None, now=NOW)
    assert all(one.shifts[0].start == 0 for one in build(farm).people if one.id in ("Ada", "Ben"))


def test_an_orders_visits_count_from_the_first_that_is_left(farm: rows.Farm, calm: WeatherSet) -> None:
    order, plan = build_order(farm.h2, farm), build_plan(farm, first_day=TODAY - timedelta(days=2))
    build_visit(plan, farm, order, day=TODAY - timedelta(days=1))
    later = build_visit(plan, farm, order, day=THURSDAY)
    later.jobs.update(number=1)
    locks.visit_hold_as_planned(visit=later, kind="visit", by=None, now=NOW)
    problem = build(farm)
    assert [(told.visit, told.day, told.people) for told in problem.published] == [(0, 1, ("Ada", "Ben"))]
    assert [pin[:2] for pin in of(problem, "HILL-1").pins] == [(0, 1)]
    assert problem.published[0].crew_cost > 0

"""Which orders of a fortnight wait behind an inspection that opens their way, from the rows."""

from __future__ import annotations

from datetime import date

import pytest

from planner.models import Procedure, WorkDone
from scheduling.fortnight.check import check
from scheduling.fortnight.problem import Order, Problem
from scheduling.fortnight.solve import Params, solve
from scheduling.models import WeatherSet
from tests import farm as rows
from tests.scheduling.builders.test_fortnight import build, find, raise_one
from workorders.services.raising import orders_raise_from_due


@pytest.fixture
def lapsed(farm: rows.Farm, calm: WeatherSet) -> rows.Farm:
    """H3's ladder inspection lapsed on 1 June; nothing else keeps people off."""
    farm.intervals["ladder-12"].done.update(done_on=date(2025, 6, 1))
    farm.hill.closures.all().delete()
    return farm


def inspection(problem: Problem, label: str = "Ladder inspection") -> Order:
    """The order of that name."""
    return next(order for order in problem.orders if label in order.label)


def test_work_at_a_shut_turbine_waits_behind_what_opens_it(lapsed: rows.Farm) -> None:
    lamp = raise_one(lapsed, "lamp", "h3")
    orders_raise_from_due(site=lapsed.hill)
    problem = build(lapsed)
    order, look = find(problem, lamp), inspection(problem)
    assert (order.after, order.behind, order.opens_climbing) == ((look.id,), (look.id,), False)
    assert (order.days, look.after, look.behind) == (tuple(range(10)), (), ())
    assert order.access == look.access  # Low turbines have no lift
    assert order.ride_along


def test_both_stand_in_one_plan(lapsed: rows.Farm) -> None:
    lamp = raise_one(lapsed, "lamp", "h3")
    orders_raise_from_due(site=lapsed.hill)
    problem = build(lapsed)
    plan = solve(problem, Params(time_limit_s=5.0, seed=1)).plan
    days = {job.order: visit.day for visit in plan.visits for job in visit.jobs}
    assert days[inspection(problem).id] < days[lamp]
    assert check(problem, plan) == ()


def test_without_an_order_that_opens_it_the_work_stays_shut_out(lapsed: rows.Farm) -> None:
    lamp = raise_one(lapsed, "lamp", "h3")
    order = find(build(lapsed), lamp)
    assert (order.days, order.behind, order.access) == ((), (), None)


def test_before_a_gate_shuts_work_goes_on_as_ever(lapsed: rows.Farm) -> None:
    lapsed.intervals["ladder-12"].done.update(done_on=date(2025, 6, 15))  # due on Monday 15 June, shut from the 16th
    lamp = raise_one(lapsed, "lamp", "h3")
    orders_raise_from_due(site=lapsed.hill)
    order = find(build(lapsed), lamp)
    assert (order.days, order.behind) == (tuple(range(6)), ())


def test_an_isolation_is_opened_the_same_way_and_the_turbine_keeps_its_way_up(farm: rows.Farm, calm: WeatherSet) -> None:
    farm.intervals["lift-12"].stops = ["isolation"]
    farm.intervals["lift-12"].save()
    Procedure.objects.filter(code="lamp").update(isolations="main switch open and locked")
    lamp = raise_one(farm, "lamp", "h1")
    orders_raise_from_due(site=farm.hill)
    problem = build(farm)
    order = find(problem, lamp)
    assert order.behind == (inspection(problem, "Lift inspection, H1").id,)
    assert (order.access, order.days) == (None, tuple(range(10)))


def test_two_gates_are_opened_one_after_the_other(lapsed: rows.Farm) -> None:
    """Entry is met first: the ladder inspection waits behind what opens it, and the work behind both."""
    low = lapsed.intervals["low-12"]
    low.stops, low.late_days = ["entry"], 0
    low.save()
    WorkDone.objects.filter(interval=low).update(done_on=date(2025, 6, 1), due_on=None)
    lamp = raise_one(lapsed, "lamp", "h3")
    orders_raise_from_due(site=lapsed.hill)
    problem = build(lapsed)
    look, door = inspection(problem), next(o for o in problem.orders if o.opens_climbing)
    assert door.id != look.id
    assert look.behind == (door.id,)
    assert find(problem, lamp).behind == tuple(sorted((door.id, look.id)))


def test_a_lapsed_lift_is_a_full_climb_on_every_day(farm: rows.Farm, calm: WeatherSet) -> None:
    lamp = raise_one(farm, "lamp", "h1")
    orders_raise_from_due(site=farm.hill)
    problem = build(farm)
    assert {access.by for t in problem.turbines if t.id == "HILL H1" for access in t.access} == {"ladder"}
    assert find(problem, lamp).behind == ()

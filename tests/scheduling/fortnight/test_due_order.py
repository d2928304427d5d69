"""The fortnight in due-date order: what comes first, and that its plans keep every rule."""

from __future__ import annotations

import pytest

from scheduling.fortnight.check import check
from scheduling.fortnight.due_order import due_order_plan
from tests.bench.cases import fortnight_case
from tests.scheduling.fortnight.farms import tiny, with_orders


def test_the_tiny_farm_in_due_date_order() -> None:
    plan = due_order_plan(tiny())
    stands = {(job.order, job.visit): (visit.day, visit.start) for visit in plan.visits for job in visit.jobs}
    assert stands == {
        ("repair", 0): (0, 1),  # due -1: first, as early as the road from base lets
        ("service", 0): (0, 1),  # due 1: beside it, by the other two
        ("service", 1): (1, 1),
        ("feeder", 0): (1, 7),  # isolates T1, so it waits for the service there
        ("inspection", 0): (1, 10),
    }
    assert plan.left_out == ("crane work",)  # three people for the only day of the crane: too late by then
    assert check(tiny(), plan) == ()


def test_pins_come_before_due_dates() -> None:
    problem = with_orders(tiny(), crane_work={"pins": ((0, 1, 5),)})
    plan = due_order_plan(problem)
    assert check(problem, plan) == ()
    assert [(v.day, v.start) for v in plan.visits for job in v.jobs if job.order == "crane work"] == [(1, 5)]


def test_what_comes_after_is_tried_after() -> None:
    problem = with_orders(tiny(), repair={"after": ("inspection",)})
    plan = due_order_plan(problem)
    assert check(problem, plan) == ()
    ends = {job.order: (v.day, v.start + v.slots) for v in plan.visits for job in v.jobs}
    starts = {job.order: (v.day, v.start) for v in plan.visits for job in v.jobs}
    assert starts["repair"] >= ends["inspection"]


@pytest.mark.parametrize(("size", "seed"), [("small", 1), ("small", 2), ("medium", 1)])
def test_cases_are_overloaded_and_their_plans_keep_every_rule(size: str, seed: int) -> None:
    problem = fortnight_case(size, seed)
    plan = due_order_plan(problem)
    assert check(problem, plan) == ()
    assert 0.1 <= len(plan.left_out) / len(problem.orders) <= 0.8
    assert fortnight_case(size, seed) == problem  # same size and seed: the same problem

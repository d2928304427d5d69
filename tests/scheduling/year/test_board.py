from __future__ import annotations

from hypothesis import given, settings

from scheduling.year.board import due_date_order, first_plans, turbine_order
from scheduling.year.check import check
from scheduling.year.problem import Equipment, Problem
from scheduling.year.tables import tables
from tests.scheduling.year.farm import rounds, service, with_items


def test_due_date_order_takes_the_most_urgent_first_and_the_first_week_with_room() -> None:
    problem = with_items(service("T1", due=3), service("T2", due=0))
    plan = due_date_order(problem)
    assert plan is not None
    assert plan.week_of == {"T1 service": 1, "T2 service": 0}


def test_turbine_order_takes_them_as_listed() -> None:
    problem = with_items(service("T1", due=3), service("T2", due=0))
    plan = turbine_order(problem)
    assert plan is not None
    assert plan.week_of == {"T1 service": 0, "T2 service": 1}


def test_a_smaller_service_rides_along() -> None:
    problem = with_items(service("T1", absorbs=("small",)), service("T1", id="small", due=1))
    plan = due_date_order(problem)
    assert plan is not None
    assert [placed.with_item for placed in plan.placements] == ["", "T1 service"]


def test_clashing_pins_give_no_plan() -> None:
    items = (service("T1", pinned=3, equipment=("crane",)), service("T2", pinned=3, equipment=("crane",)))
    problem = with_items(*items, equipment=(Equipment("crane", (3,)),))
    assert due_date_order(problem) is None
    assert first_plans(tables(problem)) == []


@settings(max_examples=80, deadline=None)
@given(rounds(most_items=6, weeks=4))
def test_rules_of_thumb_keep_every_rule(problem: Problem) -> None:
    for plan in (due_date_order(problem), turbine_order(problem), *first_plans(tables(problem))):
        assert plan is not None
        assert check(problem, plan) == ()

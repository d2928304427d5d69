"""Lists of orders: what is on them, and at how many queries."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planner.models import Site
from tests.farm import TODAY, Farm
from workorders.models import Hold, Order
from workorders.selectors.orders import order_list_for, order_list_to_plan
from workorders.services.orders import order_raise_by_hand, orders_raise_from_due

FIRST, LAST = date(2026, 6, 15), date(2026, 6, 28)


@pytest.fixture
def order(farm: Farm, planner_user: User) -> Order:
    return order_raise_by_hand(turbine=farm.h1, procedure=farm.procedures["oil"], due_on=TODAY, by=planner_user)


def to_plan(farm: Farm) -> list[Order]:
    return list(order_list_to_plan(base=farm.north, first_day=FIRST, last_day=LAST))


def look_at(orders: list[Order]) -> None:
    """Everything a row of a page shows."""
    for order in orders:
        _ = (str(order.turbine.site), str(order.turbine.type), str(order.component), order.procedure.name, order.interval)
        _ = (str(order.finished_by), [str(hold) for hold in order.open_holds])


def test_only_the_sites_asked_for_by_due_date_then_number(farm: Farm, order: Order) -> None:
    orders_raise_from_due(site=farm.hill)
    orders_raise_from_due(site=farm.plain)
    orders = list(order_list_for(sites=[farm.hill]))
    assert {one.turbine.site for one in orders} == {farm.hill}
    assert [(one.due_on, one.number) for one in orders] == sorted((one.due_on, one.number) for one in orders)
    assert len(orders) == 10


def test_open_holds_are_on_each(farm: Farm, order: Order) -> None:
    Hold.objects.create(order=order, kind="parts", reason="motor", since=TODAY)
    Hold.objects.create(order=order, kind="permit", reason="over", since=TODAY, cleared_on=TODAY)
    assert [str(hold) for hold in order_list_for(sites=Site.objects.all()).get().open_holds] == ["parts: motor"]


def test_the_number_of_queries_does_not_grow(farm: Farm, order: Order) -> None:
    def counts() -> tuple[int, int, int]:
        with CaptureQueriesContext(connection) as listed:
            look_at(list(order_list_for(sites=[farm.hill])))
        with CaptureQueriesContext(connection) as planned:
            orders = to_plan(farm)
            look_at(orders)
            for one in orders:
                needs = one.procedure
                _ = [str(x) for x in (*needs.skill_needs.all(), *needs.part_needs.all(), *needs.equipment_needs.all())]
        return len(listed), len(planned), len(orders)

    few = counts()
    for number in range(100):
        copy = order_copy(order, number)
        Hold.objects.create(order=copy, kind="parts", reason="motor", since=TODAY, expected_until=FIRST)
    many = counts()
    assert few[:2] == many[:2]
    assert (few[2], many[2]) == (1, 101)
    assert many[0] == 2


def order_copy(order: Order, number: int) -> Order:
    return Order.objects.create(
        number=f"X-{number}", turbine=order.turbine, procedure=order.procedure, origin="hand", klass="minor",
        due_on=TODAY, effort_left_h=1, finished_by=None,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("change", "listed"),
    [
        ({}, True),
        ({"state": "prepared"}, True),
        ({"state": "slotted"}, True),
        ({"state": "under way"}, True),
        ({"state": "finished"}, False),
        ({"state": "accepted"}, False),
        ({"state": "withdrawn"}, False),
        ({"effort_left_h": 0}, False),
        ({"opens_on": LAST, "due_on": LAST}, True),
        ({"opens_on": LAST + timedelta(days=1), "due_on": date(2026, 8, 1)}, False),
    ],
)
def test_what_may_be_planned(farm: Farm, order: Order, change: dict[str, Any], listed: bool) -> None:
    Order.objects.update(**change)
    assert bool(to_plan(farm)) is listed


@pytest.mark.parametrize(
    ("hold", "listed"),
    [
        ({}, False),
        ({"expected_until": LAST}, True),
        ({"expected_until": LAST + timedelta(days=1)}, False),
        ({"expected_until": FIRST - timedelta(days=1)}, True),  # over by then, if it keeps its word
        ({"expected_until": TODAY}, True),
        ({"expected_until": TODAY - timedelta(days=1)}, False),  # it has not kept its word
        ({"cleared_on": TODAY}, True),
    ],
)
def test_holds(farm: Farm, order: Order, hold: dict[str, Any], listed: bool) -> None:
    Hold.objects.create(order=order, kind="parts", reason="motor", **{"since": date(2026, 6, 1)} | hold)
    assert bool(to_plan(farm)) is listed


def test_one_hold_that_lasts_is_enough(farm: Farm, order: Order) -> None:
    for until in (FIRST, None):
        Hold.objects.create(order=order, kind="parts", reason="motor", since=TODAY, expected_until=until)
    assert to_plan(farm) == []


def test_other_bases_are_planned_apart(farm: Farm, order: Order) -> None:
    assert list(order_list_to_plan(base=farm.plain.base, first_day=FIRST, last_day=LAST)) == []

"""Accepting an order writes the history that moves due dates on."""

from __future__ import annotations

from datetime import date

import pytest
from django.contrib.auth.models import User

from planner.models import Interval, WorkDone
from planner.selectors.due import due_list
from tests.farm import TODAY, Farm
from workorders.models import Order
from workorders.services.moves import order_move
from workorders.services.orders import order_raise_by_hand, orders_raise_from_due


@pytest.fixture
def due_orders(farm: Farm) -> dict[tuple[str, str], Order]:
    """(turbine, interval) -> order, for what a sweep raises at HILL; of the blades the second."""
    orders = orders_raise_from_due(site=farm.hill).raised
    return {
        (order.turbine.code, order.interval.code): order
        for order in orders
        if order.interval and (order.component is None or order.component.position == 2)
    }


def accept(order: Order, crew: User, lead: User, done_on: date = TODAY) -> Order:
    """From wherever it waits to accepted."""
    order_move(order=order, name="prepare", by=crew)
    order_move(order=order, name="start", by=crew)
    order_move(order=order, name="finish", by=crew, done_on=done_on)
    return order_move(order=order, name="accept", by=lead)


def written(order: Order) -> list[tuple[str, str, str]]:
    rows = WorkDone.objects.filter(note=f"order {order.number}").order_by("interval__code")
    return [(row.interval.code, str(row.done_on), str(row.due_on)) for row in rows]


def due_on(farm: Farm, turbine: str, code: str, today: date = TODAY) -> str:
    items = due_list(sites=[farm.hill], today=today)
    return next(str(item.due.due) for item in items if (item.turbine.code, item.interval.code) == (turbine, code))


def test_the_due_date_moves_on(farm: Farm, due_orders: dict[tuple[str, str], Order], planner_user: User, lead_user: User) -> None:
    order = accept(due_orders["H1", "lift-12"], planner_user, lead_user, date(2026, 6, 9))
    assert written(order) == [("lift-12", "2026-06-09", "2026-05-20")]
    assert due_on(farm, "H1", "lift-12") == "2027-06-09"


def test_a_fixed_interval_counts_from_its_due_date(
    farm: Farm, due_orders: dict[tuple[str, str], Order], planner_user: User, lead_user: User
) -> None:
    # Common practice, no source: fixed is due + interval, floating is done + interval.
    accept(due_orders["H2", "svc-12"], planner_user, lead_user)
    assert due_on(farm, "H2", "svc-12") == "2027-05-25"


def test_the_smaller_service_inside_is_done_too(
    farm: Farm, due_orders: dict[tuple[str, str], Order], planner_user: User, lead_user: User
) -> None:
    order = accept(due_orders["H1", "svc-12"], planner_user, lead_user)
    assert written(order) == [("svc-12", "2026-06-10", "2026-06-20"), ("svc-6", "2026-06-10", "2026-06-25")]
    assert due_on(farm, "H1", "svc-6") == "2026-12-10"


def test_before_its_tolerance_begins_it_stays_due(
    farm: Farm, due_orders: dict[tuple[str, str], Order], planner_user: User, lead_user: User
) -> None:
    order = accept(due_orders["H1", "svc-12"], planner_user, lead_user, date(2026, 6, 6))  # svc-6 opens on the 7th
    assert written(order) == [("svc-12", "2026-06-06", "2026-06-20")]
    assert due_on(farm, "H1", "svc-6") == "2026-06-25"
    assert accept_first_open_day(farm) == "2026-06-07"


def accept_first_open_day(farm: Farm) -> str:
    items = due_list(sites=[farm.hill], turbine=farm.h1)
    return next(str(item.due.opens) for item in items if item.interval.code == "svc-6")


def test_past_its_tolerance_it_was_done_all_the_same(
    farm: Farm, due_orders: dict[tuple[str, str], Order], planner_user: User, lead_user: User
) -> None:
    WorkDone.objects.filter(turbine=farm.h1, interval__code="svc-6").update(done_on=date(2025, 11, 1))  # closed on 19 May
    order = accept(due_orders["H1", "svc-12"], planner_user, lead_user)
    assert ("svc-6", "2026-06-10", "2026-05-01") in written(order)


def test_an_order_raised_for_the_smaller_one_is_withdrawn(farm: Farm, planner_user: User, lead_user: User) -> None:
    farm.intervals["svc-12"].absorbs.clear()
    apart = {o.interval.code: o for o in orders_raise_from_due(site=farm.hill).raised if o.interval and o.turbine == farm.h1}
    farm.intervals["svc-12"].absorbs.add(farm.intervals["svc-6"])
    accept(apart["svc-12"], planner_user, lead_user)
    small = Order.objects.get(pk=apart["svc-6"].pk)
    assert small.state == "withdrawn"
    assert small.moves.get().note == f"Done with order {apart['svc-12'].number}."
    assert small.history.first().state == "withdrawn"
    assert orders_raise_from_due(site=farm.hill).raised == []


def test_one_that_is_under_way_is_left_to_its_crew(farm: Farm, planner_user: User, lead_user: User) -> None:
    farm.intervals["svc-12"].absorbs.clear()
    apart = {o.interval.code: o for o in orders_raise_from_due(site=farm.hill).raised if o.interval and o.turbine == farm.h1}
    farm.intervals["svc-12"].absorbs.add(farm.intervals["svc-6"])
    Order.objects.filter(pk=apart["svc-6"].pk).update(state="under way")
    accept(apart["svc-12"], planner_user, lead_user)
    assert Order.objects.get(pk=apart["svc-6"].pk).state == "under way"


def test_one_blade_is_one_blade(
    farm: Farm, due_orders: dict[tuple[str, str], Order], planner_user: User, lead_user: User
) -> None:
    order = accept(due_orders["H1", "blade-24"], planner_user, lead_user)
    assert WorkDone.objects.get(note=f"order {order.number}").component == farm.blades[1]
    items = [item for item in due_list(sites=[farm.hill]) if item.component]
    assert {item.component.position: str(item.due.due) for item in items if item.component} == {
        1: "2026-07-01",
        2: "2028-06-10",
        3: "2026-07-01",
    }


def test_an_order_no_interval_asked_for_writes_nothing(farm: Farm, planner_user: User, lead_user: User) -> None:
    before = WorkDone.objects.count()
    order = order_raise_by_hand(turbine=farm.h1, procedure=farm.procedures["lift-check"], due_on=TODAY, by=planner_user)
    assert accept(order, planner_user, lead_user).state == "accepted"
    assert WorkDone.objects.count() == before


def test_an_interval_that_applies_no_more_stops_nobody(
    farm: Farm, due_orders: dict[tuple[str, str], Order], planner_user: User, lead_user: User
) -> None:
    Interval.objects.filter(code="lift-12").update(turbine_type=farm.h3.type)
    order = Order.objects.get(pk=due_orders["H1", "lift-12"].pk)
    assert accept(order, planner_user, lead_user).state == "accepted"
    assert written(order) == []


def test_refused_half_way_nothing_is_done(
    farm: Farm, due_orders: dict[tuple[str, str], Order], planner_user: User, lead_user: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    order, before = due_orders["H1", "svc-12"], WorkDone.objects.count()
    for name in ("prepare", "start", "finish"):
        order_move(order=order, name=name, by=planner_user)

    def fail(order: Order) -> list[Order]:
        raise RuntimeError("disk full")

    monkeypatch.setattr("workorders.services.moves.work_accept", fail)
    with pytest.raises(RuntimeError, match="disk full"):
        order_move(order=order, name="accept", by=lead_user)
    assert (order.state, Order.objects.get(pk=order.pk).state) == ("finished", "finished")
    assert order.moves.count() == 3
    assert WorkDone.objects.count() == before

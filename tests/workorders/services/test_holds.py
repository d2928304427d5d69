"""Holds are set by those who see what is missing, cleared by those who plan."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import date, datetime
from threading import Barrier

import pytest
from django.contrib.auth.models import User
from django.db import connection

from planner.errors import ConflictError, NotAllowedError, PlannerError
from tests.farm import TODAY, Farm, build_farm, build_user
from workorders.models import Hold, Order
from workorders.services.holds import hold_clear, hold_set
from workorders.services.moves import order_move
from workorders.services.orders import order_raise_by_hand


@pytest.fixture
def order(farm: Farm, planner_user: User) -> Order:
    return order_raise_by_hand(turbine=farm.h1, procedure=farm.procedures["pitch-repair"], due_on=TODAY, by=planner_user)


def test_set_and_cleared(order: Order, technician_user: User, lead_user: User) -> None:
    hold = hold_set(order=order, kind="parts", reason="motor", by=technician_user, expected_until=date(2026, 6, 18))
    assert (hold.since, hold.cleared_on, hold.history.get().history_user) == (TODAY, None, technician_user)
    assert hold_clear(hold=hold, by=lead_user).cleared_on == TODAY
    assert hold.history.first().history_user == lead_user
    with pytest.raises(ConflictError, match="cleared already"):
        hold_clear(hold=hold, by=lead_user)


def test_bad_input_names_its_field(order: Order, planner_user: User) -> None:
    for given, field in (
        ({"kind": "luck", "reason": "x"}, "kind"),
        ({"kind": "parts", "reason": ""}, "reason"),
        ({"kind": "parts", "reason": "x", "expected_until": date(2026, 6, 9)}, ""),
    ):
        with pytest.raises(PlannerError) as refusal:
            hold_set(order=order, by=planner_user, **given)
        assert refusal.value.field == field
    assert not Hold.objects.exists()


def test_it_ends_between_its_beginning_and_today(order: Order, planner_user: User) -> None:
    hold = hold_set(order=order, kind="permit", reason="x", by=planner_user, since=date(2026, 6, 8))
    for day in (date(2026, 6, 7), date(2026, 6, 11)):
        with pytest.raises(PlannerError, match="on must lie between 2026-06-08") as refusal:
            hold_clear(hold=hold, by=planner_user, on=day)
        assert refusal.value.field == "on"
    assert hold_clear(hold=hold, by=planner_user, on=date(2026, 6, 8)).cleared_on == date(2026, 6, 8)


def test_roles(order: Order, technician_user: User, viewer_user: User, stranger: User) -> None:
    for user in (viewer_user, stranger):
        with pytest.raises(NotAllowedError):
            hold_set(order=order, kind="parts", reason="x", by=user)
    hold = hold_set(order=order, kind="parts", reason="x", by=technician_user)
    for user in (technician_user, viewer_user, stranger):
        with pytest.raises(NotAllowedError):
            hold_clear(hold=hold, by=user)


@pytest.mark.parametrize("state", ["finished", "accepted", "withdrawn"])
def test_nothing_left_to_hold(order: Order, planner_user: User, state: str) -> None:
    Order.objects.update(state=state)
    with pytest.raises(ConflictError, match=f"is {state}: there is nothing left to hold"):
        hold_set(order=order, kind="parts", reason="x", by=planner_user)


@pytest.mark.django_db(transaction=True)
def test_a_hold_and_a_start_at_once_never_both_pass_unseen(now: datetime) -> None:
    """Either the hold came first and the order does not start, or the order had started when the hold was set."""
    farm = build_farm()
    planner = build_user("planner", "planner", farm.hill)
    for _ in range(5):
        order = order_raise_by_hand(turbine=farm.h1, procedure=farm.procedures["lamp"], due_on=TODAY, by=planner)
        order_move(order=order, name="prepare", by=planner)
        ready = Barrier(2, timeout=20)

        def start(order: Order = order, ready: Barrier = ready) -> bool:
            try:
                mine = Order.objects.get(pk=order.pk)
                ready.wait()
                order_move(order=mine, name="start", by=planner)
                return True
            except ConflictError:
                return False
            finally:
                connection.close()

        def hold(order: Order = order, ready: Barrier = ready) -> str:
            """The state the order had when the hold was written, by the hold's own lock."""
            try:
                mine = Order.objects.get(pk=order.pk)
                ready.wait()
                hold_set(order=mine, kind="access", reason="x", by=planner)
                return Order.objects.get(pk=order.pk).state
            finally:
                connection.close()

        with ThreadPoolExecutor(2) as pool:
            started, seen = pool.submit(start), pool.submit(hold)
            assert seen.result() == ("under way" if started.result() else "prepared")

"""Orders by hand, and effort that goes up and down."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import date, datetime
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection

from planner.errors import ConflictError, NotAllowedError, PlannerError
from tests.farm import Farm, build_farm, build_user
from workorders.models import Order
from workorders.services.orders import order_effort_change, order_raise_by_hand


def by_hand(farm: Farm, by: User, **change: Any) -> Order:
    given = {"turbine": farm.h1, "procedure": farm.procedures["pitch-repair"], "due_on": date(2026, 6, 17), "by": by}
    return order_raise_by_hand(**(given | change))


class TestByHand:
    def test_what_it_becomes(self, farm: Farm, lead_user: User) -> None:
        order = by_hand(farm, lead_user, component=farm.blades[1], note="grinding noise")
        assert (order.number, order.state, order.origin, order.klass) == ("HILL-26-0001", "raised", "hand", "service")
        assert (order.effort_left_h, order.component, order.note) == (10, farm.blades[1], "grinding noise")
        assert order.interval is None
        assert order.history.get().history_user == lead_user

    def test_a_failure_only_when_told(self, farm: Farm, planner_user: User) -> None:
        assert by_hand(farm, planner_user, klass="failure").klass == "failure"
        assert by_hand(farm, planner_user, procedure=farm.procedures["lamp"]).klass == "minor"

    def test_two_for_the_same_turbine_are_two(self, farm: Farm, planner_user: User) -> None:
        assert by_hand(farm, planner_user).number != by_hand(farm, planner_user).number

    @pytest.mark.parametrize(
        ("change", "field", "words"),
        [
            ({"klass": "urgent"}, "klass", "'urgent' is not a valid choice"),
            ({"closes_on": date(2026, 6, 16)}, "", "closes_on lies before due_on"),
            ({"opens_on": date(2026, 6, 18)}, "opens_on", "opens_on lies after due_on 2026-06-17: give that day or before"),
            ({"due_on": None}, "due_on", "due_on: "),
        ],
    )
    def test_what_cannot_be_names_its_field(
        self, farm: Farm, planner_user: User, change: dict[str, Any], field: str, words: str
    ) -> None:
        with pytest.raises(PlannerError) as refusal:
            by_hand(farm, planner_user, **change)
        assert refusal.value.field == field
        assert words in refusal.value.message
        assert not Order.objects.exists()

    def test_a_component_of_another_turbine(self, farm: Farm, planner_user: User) -> None:
        with pytest.raises(PlannerError, match="belongs to another turbine than H2: choose one of it") as refusal:
            by_hand(farm, planner_user, turbine=farm.h2, component=farm.blades[0])
        assert refusal.value.field == "component"

    def test_a_turbine_of_another_site(self, farm: Farm, planner_user: User) -> None:
        with pytest.raises(PlannerError, match="H1 is no turbine of Plainfield: choose one of its own") as refusal:
            by_hand(farm, planner_user, site=farm.plain)
        assert refusal.value.field == "turbine"
        with pytest.raises(NotAllowedError):
            by_hand(farm, planner_user, turbine=farm.p1)

    def test_roles(self, farm: Farm, technician_user: User, viewer_user: User, stranger: User) -> None:
        for user in (technician_user, viewer_user, stranger):
            with pytest.raises(NotAllowedError):
                by_hand(farm, user)
        assert not Order.objects.exists()


class TestEffort:
    def test_up_and_down_to_nothing(self, farm: Farm, planner_user: User, technician_user: User) -> None:
        order = by_hand(farm, planner_user)
        assert order_effort_change(order=order, change_h=2.5, by=technician_user).effort_left_h == 12.5
        assert order_effort_change(order=order, change_h=-12.5, by=technician_user).effort_left_h == 0
        assert [row.effort_left_h for row in order.history.all()] == [0, 12.5, 10]
        assert order.history.first().history_user == technician_user

    @pytest.mark.parametrize("change_h", [-10.5, float("nan"), float("inf"), 10_000])
    def test_never_below_nothing_and_only_numbers(self, farm: Farm, planner_user: User, change_h: float) -> None:
        order = by_hand(farm, planner_user)
        with pytest.raises(PlannerError) as refusal:
            order_effort_change(order=order, change_h=change_h, by=planner_user)
        assert refusal.value.field == "change_h"
        assert Order.objects.get().effort_left_h == 10

    def test_not_once_it_is_finished(self, farm: Farm, planner_user: User) -> None:
        order = by_hand(farm, planner_user)
        Order.objects.update(state="finished")
        with pytest.raises(ConflictError, match="is finished"):
            order_effort_change(order=order, change_h=1, by=planner_user)

    def test_viewers_and_strangers_may_not(self, farm: Farm, planner_user: User, viewer_user: User, stranger: User) -> None:
        order = by_hand(farm, planner_user)
        for user in (viewer_user, stranger):
            with pytest.raises(NotAllowedError):
                order_effort_change(order=order, change_h=1, by=user)


@pytest.mark.django_db(transaction=True)
def test_two_supervisors_at_once_both_count(now: datetime) -> None:
    farm = build_farm()
    planner = build_user("planner", "planner", farm.hill)
    order = by_hand(farm, planner)

    def add(change_h: float) -> None:
        try:
            order_effort_change(order=Order.objects.get(pk=order.pk), change_h=change_h, by=planner)
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(add, [2, 3, -1, 4, 0.5, 0.5, -2, 1]))
    assert Order.objects.get().effort_left_h == 10 + 8

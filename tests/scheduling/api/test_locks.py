"""Locks, frozen days and repairs over the API."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User

from planner.models import Absence
from scheduling.models import Run
from tests.api_helpers import API, assert_error, assert_recorded, client_of, queries_of, rows_of
from tests.farm import TODAY, Farm
from tests.page_rows import build_order, build_plan, build_visit
from tests.scheduling.api.scenes import forecast
from workorders.models import Order

LOCKS, FROZEN, REPAIRS = f"{API}locks/", f"{API}frozen-days/", f"{API}repairs/"


@pytest.fixture
def order(farm: Farm) -> Order:
    """An order at H2 that is published for Thursday."""
    order = build_order(farm.h2, farm)
    build_visit(build_plan(farm), farm, order, day=TODAY + timedelta(days=1))
    return order


def test_each_kind_is_made_seen_and_released(order: Order, farm: Farm, planner_user: User, stranger: User) -> None:
    client = client_of(planner_user)
    bodies: list[dict[str, Any]] = [
        {"kind": "visit", "order": order.pk, "starts_at": "2026-06-11T07:00:00Z", "reason": "crane"},
        {"kind": "team", "order": order.pk, "people": [farm.people["Ada"].pk]},
        {"kind": "day", "order": order.pk, "first_day": "2026-06-15", "last_day": "2026-06-16"},
    ]
    for body in bodies:
        made = client.post(LOCKS, body)
        assert made.status_code == 201, made.content
        assert (made.json()["by"], made.json()["order_number"]) == ("planner", "HILL-1")
        released = client.post(f"{made['Location']}release/")
        assert released.json()["released_by"] == "planner"
        assert_error(client.post(f"{made['Location']}release/"), 409)
    assert len(rows_of(client.get(LOCKS))) == 3
    assert rows_of(client.get(f"{LOCKS}?released_at__isnull=true")) == []
    assert rows_of(client_of(stranger).get(LOCKS)) == []


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"kind": "visit"}, "starts_at"),
        ({"kind": "team"}, "people"),
        ({"kind": "day"}, "first_day"),
        ({"kind": "day", "first_day": "2026-06-15", "people": []}, "people"),
        ({"kind": "week"}, "kind"),
        ({"kind": "visit", "starts_at": "2026-06-11T07:00:00"}, "starts_at"),
        ({"kind": "visit", "starts_at": "2026-06-11T07:10:00Z"}, "starts_at"),
    ],
)
def test_bad_input_names_the_field(more: dict[str, Any], field: str, order: Order, planner_user: User) -> None:
    assert_error(client_of(planner_user).post(LOCKS, {"order": order.pk, **more}), 400, field)


def test_a_contradiction_is_a_conflict(order: Order, planner_user: User, lead_user: User) -> None:
    body = {"kind": "day", "order": order.pk, "first_day": "2026-06-11"}
    assert_error(client_of(lead_user).post(LOCKS, body), 403)
    assert client_of(planner_user).post(LOCKS, body).status_code == 201
    pin = {"kind": "visit", "order": order.pk, "starts_at": "2026-06-11T07:00:00Z"}
    assert "is forbidden on" in assert_error(client_of(planner_user).post(LOCKS, pin), 409)["message"]


def test_a_day_is_frozen_and_released(order: Order, farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    made = client.post(FROZEN, {"base": farm.north.pk, "day": "2026-06-11"})
    assert made.status_code == 201, made.content
    assert_error(client.post(FROZEN, {"base": farm.north.pk, "day": "2026-06-11"}), 409)
    assert client.post(f"{made['Location']}release/").json()["released_by"] == "planner"
    assert len(rows_of(client.get(FROZEN))) == 1


def test_many_locks_cost_as_many_queries_as_few(order: Order, farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    client.post(LOCKS, {"kind": "team", "order": order.pk, "people": [farm.people["Ada"].pk]})
    before = queries_of(lambda: client.get(LOCKS))
    for day in range(15, 25):
        client.post(LOCKS, {"kind": "day", "order": order.pk, "first_day": f"2026-06-{day}"})
    assert queries_of(lambda: client.get(LOCKS)) == before
    assert_recorded("api locks", before)


class TestRepairs:
    def body(self, farm: Farm, **more: Any) -> dict[str, Any]:
        return {"base": farm.north.pk, "technician": farm.people["Ada"].pk, "first_day": "2026-06-11", **more}

    def test_a_sick_call_gives_a_run_to_watch(self, order: Order, farm: Farm, planner_user: User) -> None:
        forecast(farm)
        made = client_of(planner_user).post(REPAIRS, self.body(farm, reason="flu", params={"time_limit_s": 5}))
        assert made.status_code == 202, made.content
        assert made.json()["params"] == {"time_limit_s": 5.0, "gap": 0.01, "start": "published"}
        assert made.json()["changes"] == []
        assert client_of(planner_user).get(made["Location"]).json() == made.json()
        assert Absence.objects.filter(reason="flu").count() == 1

    @pytest.mark.parametrize(
        ("more", "field"),
        [({"last_day": "2026-06-10"}, "last_day"), ({"technician": 9999}, "technician"), ({"params": 3}, "params")],
    )
    def test_bad_input(self, more: dict[str, Any], field: str, order: Order, farm: Farm, planner_user: User) -> None:
        forecast(farm)
        assert_error(client_of(planner_user).post(REPAIRS, self.body(farm, **more)), 400, field)
        assert not Run.objects.filter(state="queued").exists()

    def test_others_may_not_and_without_a_plan_there_is_nothing(self, farm: Farm, lead_user: User, planner_user: User) -> None:
        assert_error(client_of(lead_user).post(REPAIRS, self.body(farm)), 403)
        assert_error(client_of(planner_user).post(REPAIRS, self.body(farm)), 409)
        missing = {"base": farm.north.pk, "technician": farm.people["Ada"].pk}
        assert_error(client_of(planner_user).post(REPAIRS, missing), 400, "first_day")

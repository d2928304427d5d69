"""Due work, gates and certificates over the API; the values are those of the tiny farm's table."""

from __future__ import annotations

import pytest
import time_machine
from django.contrib.auth.models import User

from planner.models import WorkDone
from tests.api_helpers import API, assert_error, assert_recorded, client_of, queries_of, rows_of
from tests.farm import Farm, build_turbine


def test_due_shows_the_callers_sites_soonest_first(farm: Farm, viewer_user: User, stranger: User) -> None:
    rows = rows_of(client_of(viewer_user).get(f"{API}due/"))
    assert len(rows) == 13
    first = rows[0]
    assert (first["turbine_code"], first["interval_code"], first["due"], first["state"]) == (
        "H1",
        "lift-12",
        "2026-05-20",
        "overdue",
    )
    assert first["stops"] == ["lift"]
    assert first["days_over"] == 21
    absorbed = next(row for row in rows if (row["turbine_code"], row["interval_code"]) == ("H1", "svc-6"))
    assert absorbed["absorbed_by"] == farm.intervals["svc-12"].pk
    assert {row["component_name"] for row in rows if row["interval_code"] == "blade-24"} == {
        "blade 1/3", "blade 2/3", "blade 3/3",
    }  # fmt: skip
    assert {row["turbine_code"] for row in rows_of(client_of(stranger).get(f"{API}due/"))} == {"P1"}


def test_due_filters(farm: Farm, viewer_user: User) -> None:
    client = client_of(viewer_user)
    assert len(rows_of(client.get(f"{API}due/", {"state": "overdue"}))) == 1
    assert {row["turbine"] for row in rows_of(client.get(f"{API}due/", {"turbine": farm.h2.pk}))} == {farm.h2.pk}
    assert len(rows_of(client.get(f"{API}due/", {"site": farm.hill.pk, "page_size": 5}))) == 5
    early = rows_of(client.get(f"{API}due/", {"today": "2026-05-20", "state": "due"}))
    assert [row["interval_code"] for row in early] == ["lift-12"]
    before = rows_of(client.get(f"{API}due/", {"today": "2026-05-19", "turbine": farm.h1.pk}))
    assert next(row["state"] for row in before if row["interval_code"] == "lift-12") == "open"


@pytest.mark.parametrize(
    "query",
    ["state=maybe", "today=2026-02-31", "today=9999-12-31", "today=x", "turbine=0", "site=abc", "colour=red", "page_size="],
)
def test_due_refuses_what_it_does_not_know(query: str, farm: Farm, viewer_user: User) -> None:
    assert_error(client_of(viewer_user).get(f"{API}due/?{query}"), 400, query.split("=")[0])


def test_gates_say_what_is_shut_and_why(farm: Farm, viewer_user: User) -> None:
    client = client_of(viewer_user)
    rows = rows_of(client.get(f"{API}gates/"))
    assert [(row["turbine_code"], row["gate"], row["on"]) for row in rows] == [("H1", "lift", "2026-06-10")]
    assert "20" in rows[0]["sentence"]
    assert rows_of(client.get(f"{API}gates/", {"on": "2026-05-20"})) == []
    assert rows_of(client.get(f"{API}gates/", {"turbine": farm.h2.pk})) == []


def test_each_site_counts_by_its_own_day(farm: Farm) -> None:
    """P1's lift is due on 10 June: at 2026-06-10 16:30 UTC it is the 11th in Perth, and overdue there."""
    client = client_of(User.objects.create_superuser("root"))
    with time_machine.travel("2026-06-10T16:30:00+00:00", tick=False):
        rows = rows_of(client.get(f"{API}due/", {"turbine": farm.p1.pk}))
        assert next(row["state"] for row in rows if row["interval_code"] == "lift-12") == "overdue"
        assert [row["on"] for row in rows_of(client.get(f"{API}gates/", {"site": farm.plain.pk}))] == ["2026-06-11"]


def test_certificates_that_run_out(farm: Farm, viewer_user: User, stranger: User) -> None:
    rows = rows_of(client_of(viewer_user).get(f"{API}certificates-due/"))
    dov = next(row for row in rows if row["technician_name"] == "Dov")
    assert (dov["kind_name"], dov["valid_until"], dov["state"]) == ("Work at height", "2026-05-31", "overdue")
    assert rows_of(client_of(stranger).get(f"{API}certificates-due/")) == []
    assert_error(client_of(stranger).get(f"{API}certificates-due/", {"base": farm.north.pk}), 400, "base")
    assert_error(client_of(viewer_user).get(f"{API}certificates-due/", {"base": 0}), 400, "base")


def test_nobody_asks_and_nothing_is_written(farm: Farm, planner_user: User) -> None:
    for route in ("due", "gates", "certificates-due", "me"):
        assert_error(client_of(None).get(f"{API}{route}/"), 401)
        assert_error(client_of(planner_user).post(f"{API}{route}/", {}), 405)
        assert_error(client_of(planner_user).delete(f"{API}{route}/"), 405)


def test_history_is_read_only(farm: Farm, planner_user: User, stranger: User) -> None:
    client = client_of(planner_user)
    rows = rows_of(client.get(f"{API}work-done/", {"interval": farm.intervals["lift-12"].pk}))
    assert {row["turbine"] for row in rows} == {farm.h1.pk, farm.h2.pk}
    assert_error(client.post(f"{API}work-done/", {}), 405)
    assert_error(client.delete(f"{API}work-done/{rows[0]['id']}/"), 405)
    assert_error(client_of(stranger).get(f"{API}work-done/{rows[0]['id']}/"), 404)


@pytest.mark.parametrize("route", ["due", "gates", "certificates-due", "work-done"])
def test_lists_cost_the_same_with_more_turbines(route: str, farm: Farm, viewer_user: User) -> None:
    client = client_of(viewer_user)
    before = queries_of(lambda: client.get(f"{API}{route}/"))
    for n in range(30):
        turbine = build_turbine(farm.hill, f"X{n}", farm.h1.type, n, 100)
        WorkDone.objects.create(interval=farm.intervals["lift-12"], turbine=turbine, done_on="2024-01-01")
    after = queries_of(lambda: client.get(f"{API}{route}/"))
    assert after == before
    assert_recorded(f"GET {route}", after)

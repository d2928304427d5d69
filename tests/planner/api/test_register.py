"""Every register table: works, wrong method, nobody, viewer, stranger, bad input; each refusal in the one shape."""

from __future__ import annotations

from datetime import date

import pytest
from django.contrib.auth.models import User

from planner.models import CallOut, HirePeriod, Lodging, OnCall, Pair
from tests.api_helpers import API, assert_error, assert_same_cost, client_of, ids_of, rows_of
from tests.farm import NOW, Farm
from tests.planner.api.cases import CASES, Case


@pytest.fixture
def farm(farm: Farm) -> Farm:
    """With a row in the tables that the tiny farm leaves empty."""
    ada, ben = farm.people["Ada"], farm.people["Ben"]
    days = {"first_day": date(2026, 1, 5), "last_day": date(2026, 1, 6)}
    Lodging.objects.create(name="inn", base=farm.north, latitude=54, longitude=9)
    Pair.objects.create(first=ada, second=ben, kind="together")
    HirePeriod.objects.create(technician=ada, **days)
    OnCall.objects.create(technician=ada, **days)
    CallOut.objects.create(technician=ada, ended_at=NOW)
    return farm


every_table = pytest.mark.parametrize("case", CASES, ids=str)


def address(case: Case, row: int | None = None) -> str:
    return f"{API}{case.route}/" if row is None else f"{API}{case.route}/{row}/"


@every_table
def test_planner_makes_reads_changes_and_removes_a_row(case: Case, farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    body = case.body(farm, 1)
    made = client.post(address(case), body)
    assert made.status_code == 201, made.content
    row = made.json()
    assert made["Location"] == address(case, row["id"])
    assert {name: row[name] for name in body if not isinstance(body[name], list | float) and name not in ("start", "end")} == {
        name: value for name, value in body.items() if not isinstance(value, list | float) and name not in ("start", "end")
    }
    read = client.get(made["Location"])
    assert read.json() == row
    assert read["ETag"] == made["ETag"]
    changed = client.patch(made["Location"], case.change)
    assert changed.status_code == 200, changed.content
    assert changed.json() == {**row, **case.change}
    assert client.put(made["Location"], changed.json()).json() == changed.json()
    assert client.delete(made["Location"]).status_code == 204
    assert_error(client.get(made["Location"]), 404)


@every_table
def test_wrong_method_nobody_and_viewer_are_refused(case: Case, farm: Farm, viewer_user: User, technician_user: User) -> None:
    assert_error(client_of(None).get(address(case)), 401)
    assert_error(client_of(None).post(address(case), {}), 401)
    viewer, technician = client_of(viewer_user), client_of(technician_user)
    assert rows_of(viewer.get(address(case))) or case.route == "memberships"
    assert_error(viewer.post(address(case), case.body(farm, 1)), 403)
    assert technician.post(address(case), case.body(farm, 1)).status_code == (201 if case.crew else 403)
    row = rows_of(viewer.get(address(case)))[0]["id"]
    assert_error(viewer.patch(address(case, row), case.change), 403)
    assert_error(viewer.put(address(case, row), case.change), 403)
    assert_error(viewer.delete(address(case, row)), 403)


@every_table
def test_wrong_method_of_a_planner_answers_405(case: Case, farm: Farm, planner_user: User) -> None:
    assert_error(client_of(planner_user).put(address(case), {}), 405)
    assert_error(client_of(planner_user).post(address(case, 1), {}), 405)


@every_table
def test_bad_input_names_its_field_and_changes_nothing(case: Case, farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    before = rows_of(client.get(address(case)))
    good = case.body(farm, 1)
    assert_error(client.post(address(case), {**good, **case.bad}), 400, case.bad_field)
    assert_error(client.post(address(case), {**good, "colour": "red"}), 400, "colour")
    assert_error(client.post(address(case), {**good, "id": 5}), 400, "id")
    assert_error(client.post(address(case), [good]), 400)
    assert_error(client.post(address(case), "{not json", content_type="application/json"), 400)
    assert_error(client.post(address(case), {}), 400) if case.route != "nothing" else None
    assert_error(client.patch(address(case, before[0]["id"]), {"colour": "red"}), 400, "colour")
    assert_error(client.get(address(case), {"colour": "red"}), 400, "colour")
    assert_error(client.get(address(case), {"ordering": "id__x"}), 400, "ordering")
    assert_error(client.get(address(case, 10**30)), 404)
    assert_error(client.get(f"{API}{case.route}/abc/"), 404)
    assert rows_of(client.get(address(case))) == before


@every_table
def test_stranger_sees_only_shared_rows_and_writes_none_of_another_site(
    case: Case, farm: Farm, planner_user: User, stranger: User
) -> None:
    made = client_of(planner_user).post(address(case), case.body(farm, 1))
    client = client_of(stranger)
    here = address(case, made.json()["id"])
    if case.private:
        assert made.json()["id"] not in ids_of(client.get(address(case)))
        gone = address(case, 999_999)
        for ask in (client.get, client.delete, lambda url: client.patch(url, case.change), lambda url: client.put(url, {})):
            assert_error(ask(here), 404)
            assert ask(here).content == ask(gone).content
    else:
        assert client.get(here).status_code == 200
    answer = client.post(address(case), case.body(farm, 2))
    assert answer.status_code == case.stranger_status, answer.content
    if case.stranger_status >= 400:
        assert_error(answer, case.stranger_status)


@every_table
def test_a_person_without_any_site_sees_nothing(case: Case, farm: Farm) -> None:
    client = client_of(User.objects.create_user("nobody"))
    assert rows_of(client.get(address(case))) == []
    assert_error(client.post(address(case), case.body(farm, 1)), 403)


@every_table
def test_list_costs_the_same_with_more_rows(case: Case, farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)

    def grow() -> None:
        for n in range(30):
            assert client.post(address(case), case.body(farm, n)).status_code == 201

    assert_same_cost(client, address(case) + "?page_size=100", f"GET {case.route}", grow)

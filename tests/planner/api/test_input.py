"""What comes in is what it says, and the model judges the row."""

from __future__ import annotations

import json

import pytest
from django.contrib.auth.models import User
from rest_framework.test import APIClient

from planner.models import Limit, LimitSet, Membership, Turbine, TurbineType
from tests.api_helpers import API, assert_error, client_of
from tests.farm import Farm


@pytest.mark.parametrize("text", ["true", "NaN", "Infinity", "1e999", '"12,5"', '"nan"', "null", "[1]", '""'])
def test_what_is_no_finite_number_is_refused(text: str, farm: Farm, planner_user: User) -> None:
    here = f"{API}turbines/{farm.h1.pk}/"
    body = f'{{"hub_height_m": {text}}}'
    assert_error(client_of(planner_user).patch(here, body, content_type="application/json"), 400)
    farm.h1.refresh_from_db()
    assert farm.h1.hub_height_m == 100


@pytest.mark.parametrize("value", [True, 1.5, "1.5", "abc", None, [1], {"id": 1}, -1, 10**30, "١"])
def test_what_is_no_id_is_refused(value: object, farm: Farm, planner_user: User) -> None:
    assert_error(client_of(planner_user).patch(f"{API}turbines/{farm.h1.pk}/", {"type": value}), 400, "type")


def test_a_number_that_is_none_leaves_as_null(farm: Farm, planner_user: User) -> None:
    Turbine.objects.filter(pk=farm.h1.pk).update(hub_height_m=float("inf"))
    client = client_of(planner_user)
    for answer in (client.get(f"{API}turbines/"), client.get(f"{API}turbines/{farm.h1.pk}/")):
        body = json.loads(answer.content, parse_constant=pytest.fail)
        assert {row["code"]: row["hub_height_m"] for row in body.get("results", [body])}["H1"] is None


def test_lists_inside_a_row_replace_what_was_there(farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    service = farm.procedures["service"]
    here = f"{API}procedures/{service.pk}/"
    steps = client.get(here).json()["steps"]
    first = steps[0]["id"]
    answer = client.patch(here, {"steps": [{**steps[0], "text": "Locked"}, {"number": 9, "kind": "text", "text": "New"}]})
    assert [(step["number"], step["text"]) for step in answer.json()["steps"]] == [(1, "Locked"), (9, "New")]
    assert answer.json()["steps"][0]["id"] == first
    assert service.steps.get(pk=first).history.count() == 2
    twice = [{"number": 1, "kind": "text", "text": "a"}, {"number": 1, "kind": "text", "text": "b"}]
    assert_error(client.patch(here, {"steps": twice}), 400, "steps")
    assert_error(client.patch(here, {"steps": [{"number": 2, "kind": "reading", "text": "no unit"}]}), 400, "steps")
    assert_error(client.patch(here, {"steps": [{"number": 2, "kind": "text", "text": "x", "colour": 1}]}), 400, "steps")
    assert client.patch(here, {"pack_min": 10}).json()["steps"] == answer.json()["steps"]
    assert service.steps.count() == 2


def test_who_changed_a_row_is_kept(farm: Farm, planner_user: User) -> None:
    client = APIClient()
    client.force_login(planner_user)
    assert client.patch(f"{API}turbines/{farm.h1.pk}/", {"feeder": "F2"}, format="json").status_code == 200
    assert farm.h1.history.first().history_user == planner_user


def test_a_row_in_use_stays(farm: Farm, planner_user: User) -> None:
    answer = client_of(planner_user).delete(f"{API}turbine-types/{farm.h1.type_id}/")
    assert "turbines" in assert_error(answer, 409)["message"]
    assert TurbineType.objects.count() == 2


def test_a_row_moves_only_between_sites_that_are_the_callers(farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    here = f"{API}turbines/{farm.h1.pk}/"
    assert_error(client.patch(here, {"site": farm.plain.pk}), 400, "site")
    Membership.objects.create(user=planner_user, site=farm.plain, role="viewer")
    assert_error(client.patch(here, {"site": farm.plain.pk}), 403)
    assert_error(client.post(f"{API}technicians/", {**technician(farm), "base": farm.plain.base_id}), 403)
    Membership.objects.filter(user=planner_user, site=farm.plain).update(role="planner")
    assert client.patch(here, {"site": farm.plain.pk}).status_code == 200


def technician(farm: Farm) -> dict[str, object]:
    return {"name": "Eve", "base": farm.north.pk, "shift_pattern": farm.people["Ada"].shift_pattern_id}


def test_rules_over_several_rows(farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    large, small = farm.intervals["svc-12"], farm.intervals["svc-6"]
    for ring in (small.pk, large.pk):
        assert_error(client.patch(f"{API}intervals/{small.pk}/", {"absorbs": [ring, large.pk]}), 400, "absorbs")
    assert_error(client.patch(f"{API}intervals/{small.pk}/", {"late_days": 200}), 400, "late_days")
    assert_error(client.patch(f"{API}intervals/{small.pk}/", {"every": 6.5}), 400, "every")
    assert_error(client.patch(f"{API}intervals/{small.pk}/", {"stops": ["roof"]}), 400, "stops")
    assert_error(client.patch(f"{API}intervals/{small.pk}/", {"stops": [["lift"]]}), 400, "stops")
    statutory = farm.intervals["lift-12"].pk
    assert_error(client.patch(f"{API}intervals/{statutory}/", {"late_days": 1}), 400)
    assert_error(client.patch(f"{API}turbine-types/{farm.h1.type_id}/", {"lift_to_m": 101}), 400, "lift_to_m")
    rotor = farm.blades[0].parent
    assert_error(client.patch(f"{API}components/{rotor.pk}/", {"parent": farm.blades[0].pk}), 400, "parent")
    closure = {"site": farm.hill.pk, "turbine": farm.h1.pk, "road": "x", "kind": "road", "reason": "x", "first_day": "2026-07-01"}
    assert_error(client.post(f"{API}closures/", {**closure, "last_day": "2026-07-02"}), 400)
    assert_error(client.post(f"{API}closures/", {**closure, "road": "", "last_day": "2026-06-02"}), 400)
    assert Limit.objects.count() == 3


def test_a_procedure_takes_no_limit_set_below_cut_in(farm: Farm, planner_user: User) -> None:
    client, lamp = client_of(planner_user), farm.procedures["lamp"]
    blade = LimitSet.objects.get(code="blade")
    TurbineType.objects.update(cut_in_mps=8.5)
    assert_error(client.patch(f"{API}procedures/{lamp.pk}/", {"limit_set": blade.pk}), 400, "limit_set")
    assert client.patch(f"{API}procedures/{lamp.pk}/", {"limit_set": lamp.limit_set_id, "name": "Lamp"}).status_code == 200
    lamp.refresh_from_db()
    assert (lamp.name, lamp.limit_set.code) == ("Lamp", "tower")

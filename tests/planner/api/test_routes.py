"""Every table is reachable, every creating call can be repeated, the schema is whole."""

from __future__ import annotations

import json
from pathlib import Path

from django.apps import apps
from django.contrib.auth.models import User
from django.core.management import call_command
from rest_framework.test import APIClient

from planner.project.api_urls import router
from scheduling.api.morning import MorningView
from tests.api_helpers import API, assert_error, client_of
from tests.farm import Farm

NESTED = {
    "HeldSkill": "in technicians",
    "Limit": "in limit sets",
    "ProcedureEquipment": "in procedures",
    "ProcedurePart": "in procedures",
    "ProcedureSkill": "in procedures",
    "Step": "in procedures",
    "OrderMove": "under orders/{id}/moves/",
    "RoundItem": "under rounds/{id}/items/",
    "VisitJob": "in visits",
}
"""Models without a route of their own, and where they are found."""


def test_every_model_has_a_route_or_a_stated_place() -> None:
    models = {
        model.__name__
        for app in ("planner", "workorders", "scheduling")
        for model in apps.get_app_config(app).get_models()
        if not model.__name__.startswith("Historical") and not model._meta.auto_created
    }
    routed = {viewset.queryset.model.__name__ for _, viewset, _ in router.registry}
    assert models == routed | set(NESTED)
    assert not routed & set(NESTED)


def test_every_creating_call_takes_an_idempotency_key() -> None:
    without = []
    for pattern in router.urls:
        action = pattern.callback.actions.get("post")
        if action and not getattr(getattr(pattern.callback.cls, action), "idempotent", False):
            without.append(str(pattern.pattern))
    assert without == []
    assert MorningView.post.idempotent


def test_a_body_that_is_too_large_is_refused_unread(farm: Farm, planner_user: User) -> None:
    answer = client_of(planner_user).post(f"{API}skills/", {}, CONTENT_LENGTH=str(50 * 2**20))
    assert_error(answer, 413)


def test_a_wrong_content_type_and_a_wrong_address_answer_in_the_one_shape(farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    assert_error(client.post(f"{API}skills/", "code=a", content_type="application/x-www-form-urlencoded"), 415)
    for address in ("nowhere/", "turbines", "turbines/1/nowhere/", ""):
        assert_error(client.get(API + address), 404)


def test_schema_is_whole_and_its_page_needs_no_other_server(client: APIClient, tmp_path: Path, capsys: object) -> None:
    call_command("spectacular", "--fail-on-warn", "--validate", "--file", str(tmp_path / "schema.yml"))
    page = client.get(f"{API}docs/")
    assert page.status_code == 200
    assert b"//cdn" not in page.content
    assert b'src="http' not in page.content
    assert b'href="http' not in page.content


def test_schema_needs_no_login(client: APIClient) -> None:
    assert client.get(f"{API}schema/").status_code == 200


def test_schema_states_the_headers(tmp_path: Path) -> None:
    call_command("spectacular", "--format", "openapi-json", "--file", str(tmp_path / "schema.json"))
    paths = json.loads((tmp_path / "schema.json").read_text())["paths"]

    def headers(path: str, method: str) -> set[str]:
        return {one["name"] for one in paths[f"{API}{path}"][method]["parameters"] if one["in"] == "header"}

    assert headers("turbines/", "post") == {"Idempotency-Key"}
    assert headers("turbines/{id}/", "patch") == {"If-Match"}
    assert headers("orders/{id}/moves/", "post") == {"Idempotency-Key", "If-Match"}
    assert {"4XX"} <= set(paths[f"{API}runs/"]["post"]["responses"])

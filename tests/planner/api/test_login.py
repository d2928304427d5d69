"""Tokens, sessions, roles at sites."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.core.cache import cache
from rest_framework.authtoken.models import Token
from rest_framework.test import APIClient

from planner.models import Membership, Technician
from tests.api_helpers import API, assert_error, client_of, rows_of
from tests.farm import Farm


@pytest.fixture(autouse=True)
def _fresh_cache() -> None:
    cache.clear()


def test_token_logs_in_and_out(farm: Farm, planner_user: User) -> None:
    client = APIClient()
    assert_error(client.post(f"{API}token/", {"username": "planner", "password": "no"}, format="json"), 400)
    assert_error(client.post(f"{API}token/", {"username": "planner"}, format="json"), 400, "password")
    token = client.post(f"{API}token/", {"username": "planner", "password": "lull"}, format="json").json()["token"]
    client.credentials(HTTP_AUTHORIZATION=f"Token {token}")
    me = client.get(f"{API}me/").json()
    assert me == {
        "username": "planner", "superuser": False, "technician": None,
        "sites": [{"id": farm.hill.pk, "code": "HILL", "name": "Hillside", "base": farm.north.pk, "role": "planner"}],
    }  # fmt: skip
    assert client.delete(f"{API}token/").status_code == 204
    assert not Token.objects.exists()
    assert_error(client.get(f"{API}me/"), 401)
    assert_error(client.get(f"{API}token/"), 401)


def test_guessing_passwords_is_slowed(farm: Farm) -> None:
    client = APIClient()
    answers = [client.post(f"{API}token/", {"username": "x", "password": "y"}, format="json") for _ in range(21)]
    assert_error(answers[19], 400)
    assert_error(answers[20], 429)


def test_a_session_needs_its_csrf_token_to_write(farm: Farm, planner_user: User) -> None:
    client = APIClient(enforce_csrf_checks=True)
    client.force_login(planner_user)
    assert client.get(f"{API}me/").status_code == 200
    assert_error(client.post(f"{API}skills/", {"code": "a", "name": "a"}, format="json"), 403)


def test_superuser_plans_everywhere(farm: Farm) -> None:
    client = client_of(User.objects.create_superuser("root"))
    assert len(rows_of(client.get(f"{API}turbines/"))) == 4
    assert client.patch(f"{API}turbines/{farm.p1.pk}/", {"feeder": "F3"}).status_code == 200
    eve = {"name": "Eve", "base": farm.north.pk, "shift_pattern": farm.people["Ada"].shift_pattern_id}
    assert client.post(f"{API}technicians/", eve).status_code == 201


def test_memberships_are_the_planners(farm: Farm, planner_user: User, viewer_user: User, stranger: User) -> None:
    here = f"{API}memberships/"
    assert {row["user"] for row in rows_of(client_of(planner_user).get(here))} == {"planner", "viewer"}
    assert {row["user"] for row in rows_of(client_of(viewer_user).get(here))} == {"viewer"}
    assert {row["user"] for row in rows_of(client_of(stranger).get(here))} == {"stranger"}
    client = client_of(planner_user)
    new = {"user": "stranger", "site": farm.hill.pk, "role": "lead"}
    made = client.post(here, new)
    assert made.status_code == 201, made.content
    assert_error(client.post(here, new), 400)
    assert_error(client.post(here, {**new, "user": "nobody-here"}), 400, "user")
    assert_error(client.post(here, {**new, "role": "king"}), 400, "role")
    assert_error(client_of(viewer_user).post(here, new), 403)
    assert client.delete(made["Location"]).status_code == 204


def test_who_opens_a_site_becomes_its_planner(farm: Farm, planner_user: User) -> None:
    base = client_of(planner_user).post(
        f"{API}bases/", {"name": "West", "latitude": 1, "longitude": 1, "time_zone": "Europe/Paris"}
    )
    body = {
        "code": "NEW", "name": "New", "base": base.json()["id"], "rule_set": farm.hill.rule_set_id, "time_zone": "Europe/Paris",
        "country": "FR", "currency": "EUR", "price_per_mwh": 50, "latitude": 1, "longitude": 1,
    }  # fmt: skip
    made = client_of(planner_user).post(f"{API}sites/", body)
    assert made.status_code == 201, made.content
    assert Membership.objects.get(user=planner_user, site=made.json()["id"]).role == "planner"


def test_a_technicians_login_is_a_member_of_the_site(farm: Farm, planner_user: User, viewer_user: User, stranger: User) -> None:
    client = client_of(planner_user)
    ben = f"{API}technicians/{farm.people['Ben'].pk}/"
    assert client.patch(ben, {"user": "viewer"}).json()["user"] == "viewer"
    theirs, missing = client.patch(ben, {"user": "stranger"}), client.patch(ben, {"user": "no-such"})
    assert_error(theirs, 400, "user")
    assert theirs.content == missing.content
    assert Technician.objects.get(name="Ben").user == viewer_user

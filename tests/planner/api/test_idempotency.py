"""The same Idempotency-Key gives the first answer and does nothing twice."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.core.cache import cache

from planner.models import Skill
from planner.rest import views
from tests.api_helpers import API, assert_error, client_of
from tests.farm import Farm, build_user


@pytest.fixture(autouse=True)
def _fresh_cache() -> None:
    cache.clear()


def test_the_same_key_gives_the_first_answer_and_does_nothing_twice(farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    key = {"HTTP_IDEMPOTENCY_KEY": "k1"}
    body = {"code": "welding", "name": "Welding"}
    first = client.post(f"{API}skills/", body, **key)
    again = client.post(f"{API}skills/", dict(reversed(body.items())), **key)
    assert (first.status_code, again.status_code) == (201, 201)
    assert again.json() == first.json()
    assert again["Location"] == first["Location"]
    assert again["Idempotency-Replayed"] == "true"
    assert Skill.objects.filter(code="welding").count() == 1
    assert_error(client.post(f"{API}skills/", {**body, "name": "Other"}, **key), 409, "Idempotency-Key")
    assert client.post(f"{API}component-kinds/", body, **key).status_code == 201
    other = client_of(build_user("second", "planner", farm.hill))
    assert_error(other.post(f"{API}skills/", body, **key), 400, "code")


def test_a_refused_call_gives_its_key_back(farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    assert_error(client.post(f"{API}skills/", {"code": ""}, HTTP_IDEMPOTENCY_KEY="k"), 400)
    assert client.post(f"{API}skills/", {"code": "a", "name": "a"}, HTTP_IDEMPOTENCY_KEY="k").status_code == 201
    assert_error(client.post(f"{API}skills/", {"code": "b", "name": "b"}, HTTP_IDEMPOTENCY_KEY="x" * 201), 400, "Idempotency-Key")


def test_a_key_still_being_worked_on_is_told_so(farm: Farm, planner_user: User, monkeypatch: pytest.MonkeyPatch) -> None:
    client = client_of(planner_user)
    answers = []

    def nested(view: views.RegisterViewSet, serializer: object) -> Skill:
        answers.append(client.post(f"{API}skills/", {"code": "a", "name": "a"}, HTTP_IDEMPOTENCY_KEY="k"))
        return serializer.save()

    monkeypatch.setattr(views.RegisterViewSet, "added", nested)
    assert client.post(f"{API}skills/", {"code": "a", "name": "a"}, HTTP_IDEMPOTENCY_KEY="k").status_code == 201
    assert_error(answers[0], 409, "Idempotency-Key")
    assert Skill.objects.filter(code="a").count() == 1

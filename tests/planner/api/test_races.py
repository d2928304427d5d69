"""Two at once: with the same tag one change goes through; with the same key one row is made."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.cache import cache
from django.db import connection

from planner.models import Skill
from tests.api_helpers import API, assert_error, client_of
from tests.farm import Farm

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(*asks: Callable[[], Any]) -> list[Any]:
    """The answers of calls made by a thread each, begun together."""
    start, answers = threading.Barrier(len(asks)), []

    def work(ask: Callable[[], Any]) -> None:
        start.wait()
        answers.append(ask())
        connection.close()

    threads = [threading.Thread(target=work, args=(ask,)) for ask in asks]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sorted(answers, key=lambda answer: answer.status_code)


def test_of_two_changes_on_one_reading_one_goes_through(farm: Farm, planner_user: User) -> None:
    here = f"{API}turbines/{farm.h1.pk}/"
    tag = client_of(planner_user).get(here)["ETag"]

    def change(feeder: str) -> Callable[[], Any]:
        return lambda: client_of(planner_user).patch(here, {"feeder": feeder}, HTTP_IF_MATCH=tag)

    done, late = at_once(change("F7"), change("F8"))
    assert done.status_code == 200, done.content
    assert_error(late, 412, "If-Match")
    farm.h1.refresh_from_db()
    assert farm.h1.feeder == done.json()["feeder"]


def test_of_two_calls_with_one_key_one_makes_the_row(farm: Farm, planner_user: User) -> None:
    cache.clear()

    def make() -> Any:
        body = {"code": "welding", "name": "Welding"}
        return client_of(planner_user).post(f"{API}skills/", body, HTTP_IDEMPOTENCY_KEY="same")

    first, second = at_once(make, make)
    assert first.status_code == 201, first.content
    if second.status_code != 201:
        assert_error(second, 409, "Idempotency-Key")
    assert Skill.objects.filter(code="welding").count() == 1


def test_of_two_new_rows_alike_one_is_made(farm: Farm, planner_user: User) -> None:
    def make() -> Any:
        return client_of(planner_user).post(f"{API}skills/", {"code": "welding", "name": "Welding"})

    first, second = at_once(make, make)
    assert first.status_code == 201, first.content
    assert second.status_code in (400, 409)
    assert_error(second, second.status_code)
    assert Skill.objects.filter(code="welding").count() == 1

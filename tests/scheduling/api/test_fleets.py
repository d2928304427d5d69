"""Fleets over the API: begun with 202 and an address to watch, shown part by part, stopped, kept from others."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User

from planner.models import Membership
from scheduling.models import Fleet, Run
from tests.api_helpers import API, assert_error, assert_recorded, client_of, ids_of, queries_of, rows_of
from tests.farm import Farm, build_user
from tests.scheduling.services import scenes

FLEETS = f"{API}fleets/"


def ask(user: User | None, **more: Any) -> Any:
    return client_of(user).post(FLEETS, {"first_day": "2026-06-10", **more})


@pytest.fixture
def both(farm: Farm) -> User:
    """Planner at HILL and PLAIN."""
    user = build_user("chief", "planner", farm.hill)
    Membership.objects.create(user=user, site=farm.plain, role="planner")
    return user


def test_a_fleet_is_begun_and_watched_part_by_part(farm: Farm, both: User) -> None:
    made = ask(both, seed=3, params={"time_limit_s": 20})
    assert made.status_code == 202, made.content
    row = made.json()
    assert (row["state"], row["is_open"], row["seed"], row["days"], row["asked_by"]) == ("open", True, 3, 14, "chief")
    assert [(part["base_name"], part["state"], part["plan"]) for part in row["parts"]] == [
        ("North", "queued", None),
        ("South", "queued", None),
    ]
    Run.objects.filter(pk=row["parts"][0]["run"]).update(state="solving", value=10.0, bound=8.0, gap=0.2)
    Run.objects.filter(pk=row["parts"][1]["run"]).update(state="failed", text="Plainfield has no forecast.")
    later = client_of(both).get(made["Location"]).json()
    assert (later["sums"]["parts"], later["sums"]["ended"], later["sums"]["failed"]) == (2, 1, 1)
    assert later["sums"]["money"] == [{"currency": "EUR", "parts": 1, "value": 10.0, "bound": 8.0, "gap": 0.2}]
    assert (later["parts"][0]["gap"], later["parts"][1]["text"]) == (0.2, "Plainfield has no forecast.")
    assert client_of(both).get(f"{API}runs/", {"fleet": row["id"]}).json()["count"] == 2


def test_parts_are_queued_when_the_request_is_committed(
    farm: Farm, both: User, django_capture_on_commit_callbacks: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    queued: list[int] = []
    monkeypatch.setattr("celery.group.delay", lambda self: queued.extend(one.args[0] for one in self.tasks))
    with django_capture_on_commit_callbacks(execute=True):
        made = ask(both)
        assert queued == []
    assert queued == [part["run"] for part in made.json()["parts"]]


def test_chosen_bases_only(farm: Farm, both: User) -> None:
    assert [part["base"] for part in ask(both, bases=[farm.plain.base_id]).json()["parts"]] == [farm.plain.base_id]


def test_the_same_key_begins_once(farm: Farm, both: User) -> None:
    answers = [client_of(both).post(FLEETS, {"first_day": "2026-06-10"}, HTTP_IDEMPOTENCY_KEY="monday") for _ in range(2)]
    assert [answer.status_code for answer in answers] == [202, 202]
    assert answers[0]["Location"] == answers[1]["Location"]
    assert Fleet.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"bases": []}, "bases"),
        ({"bases": [0]}, "bases"),
        ({"bases": "North"}, "bases"),
        ({"days": 0}, "days"),
        ({"days": 29}, "days"),
        ({"first_day": "2026-02-31"}, "first_day"),
        ({"params": []}, "params"),
        ({"params": {"gap": True}}, "params"),
        ({"seed": -1}, "seed"),
        ({"kind": "year"}, "kind"),
    ],
)
def test_what_cannot_be_begun_is_refused(change: dict[str, Any], field: str, farm: Farm, both: User) -> None:
    assert_error(ask(both, **change), 400, field)
    assert not Fleet.objects.exists()


def test_a_base_that_is_being_solved_is_named(farm: Farm, both: User) -> None:
    run = scenes.run(farm)
    error = assert_error(ask(both), 409)
    assert "North" in error["message"]
    assert error["extra"] == {"runs": [run.pk]}


def test_who_may_begin_see_and_stop(
    farm: Farm, both: User, planner_user: User, lead_user: User, viewer_user: User, stranger: User
) -> None:
    for user in (lead_user, viewer_user):
        assert_error(ask(user), 403)
    assert_error(ask(None), 401)
    assert_error(ask(planner_user, bases=[farm.plain.base_id]), 400, "bases")
    whole = ask(both).json()["id"]
    for user in (planner_user, stranger):
        assert_error(client_of(user).get(f"{FLEETS}{whole}/"), 404)
        assert_error(client_of(user).post(f"{FLEETS}{whole}/stop/", {}), 404)
        assert rows_of(client_of(user).get(FLEETS)) == []
    client_of(both).post(f"{FLEETS}{whole}/stop/", {})
    own = ask(planner_user).json()["id"]
    assert ids_of(client_of(viewer_user).get(FLEETS)) == {own}
    assert_error(client_of(viewer_user).post(f"{FLEETS}{own}/stop/", {}), 403)
    assert_error(client_of(stranger).get(f"{FLEETS}{own}/"), 404)


def test_stopped_once(farm: Farm, both: User) -> None:
    row = ask(both).json()
    stopped = client_of(both).post(f"{FLEETS}{row['id']}/stop/", {})
    assert stopped.status_code == 202, stopped.content
    assert (stopped.json()["state"], {part["state"] for part in stopped.json()["parts"]}) == ("stopped", {"stopped"})
    assert_error(client_of(both).post(f"{FLEETS}{row['id']}/stop/", {}), 409)


def test_a_problem_not_built_yet_is_said(farm: Farm, both: User) -> None:
    run = ask(both).json()["parts"][0]["run"]
    assert "when a worker begins it" in assert_error(client_of(both).get(f"{API}runs/{run}/problem/"), 409)["message"]


def test_queries_do_not_grow_with_fleets_or_parts(farm: Farm, both: User) -> None:
    client = client_of(both)
    one = ask(both).json()["id"]
    listed, detail = queries_of(lambda: client.get(FLEETS)), queries_of(lambda: client.get(f"{FLEETS}{one}/"))
    for n in range(12):
        scenes.run(farm, state="failed", fleet_id=one, seed=n)
        scenes.run(farm, state="done", fleet=Fleet.objects.create(first_day=scenes.FIRST, days=2))
    assert queries_of(lambda: client.get(FLEETS)) == listed
    assert queries_of(lambda: client.get(f"{FLEETS}{one}/")) == detail
    assert_recorded("GET fleets", listed)
    assert_recorded("GET fleets/{id}", detail)

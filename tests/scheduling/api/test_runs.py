"""Runs over the API: asked for with 202 and an address to watch, stopped, kept from others."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User

from scheduling.models import Run
from tests.api_helpers import API, assert_error, assert_recorded, client_of, ids_of, queries_of, rows_of
from tests.farm import Farm
from tests.scheduling.api.scenes import forecast, run
from workorders.services.raising import orders_raise_from_due

RUNS = f"{API}runs/"


def ask(user: User | None, farm: Farm, **more: Any) -> Any:
    body = {"base": farm.north.pk, "kind": "fortnight", "first_day": "2026-06-10", "days": 10, **more}
    return client_of(user).post(RUNS, body)


@pytest.fixture
def ready(farm: Farm) -> Farm:
    """A farm with a forecast and orders to plan."""
    forecast(farm)
    orders_raise_from_due(site=farm.hill)
    return farm


def test_a_run_is_asked_for_and_watched(ready: Farm, planner_user: User, viewer_user: User) -> None:
    made = ask(planner_user, ready, seed=3, params={"time_limit_s": 20})
    assert made.status_code == 202, made.content
    row = made.json()
    assert (row["state"], row["is_open"], row["seed"], row["asked_by"]) == ("queued", True, 3, "planner")
    assert row["params"]["time_limit_s"] == 20
    watched = client_of(viewer_user).get(made["Location"])
    assert watched.json() == row
    Run.objects.filter(pk=row["id"]).update(state="solving", value=10.0, bound=8.0, gap=0.2, trace=[[1.0, 10.0, 8.0]])
    later = client_of(viewer_user).get(made["Location"])
    assert (later.json()["gap"], later.json()["trace"]) == (0.2, [[1.0, 10.0, 8.0]])
    assert later["ETag"] != watched["ETag"]
    assert "problem" not in later.json()


def test_the_run_is_queued_when_the_request_is_committed(
    ready: Farm, planner_user: User, django_capture_on_commit_callbacks: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    queued: list[int] = []
    monkeypatch.setattr("scheduling.tasks.run_solve.delay", queued.append)
    with django_capture_on_commit_callbacks(execute=True):
        made = ask(planner_user, ready)
        assert queued == []
    assert queued == [made.json()["id"]]


def test_a_second_open_run_is_refused_and_named(ready: Farm, planner_user: User) -> None:
    first = ask(planner_user, ready).json()["id"]
    error = assert_error(ask(planner_user, ready), 409)
    assert error["extra"] == {"run": first}
    assert Run.objects.count() == 1


def test_the_same_key_asks_once(ready: Farm, planner_user: User) -> None:
    body = {"base": ready.north.pk, "kind": "fortnight", "first_day": "2026-06-10", "days": 10}
    answers = [client_of(planner_user).post(RUNS, body, HTTP_IDEMPOTENCY_KEY="tuesday") for _ in range(2)]
    assert [answer.status_code for answer in answers] == [202, 202]
    assert answers[0]["Location"] == answers[1]["Location"]


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"base": 0}, "base"),
        ({"kind": "week"}, "kind"),
        ({"days": 0}, "days"),
        ({"days": 29}, "days"),
        ({"days": True}, "days"),
        ({"days": 1.5}, "days"),
        ({"first_day": "2026-02-31"}, "first_day"),
        ({"first_day": "9999-12-31"}, "first_day"),
        ({"seed": -1}, "seed"),
        ({"seed": 2**40}, "seed"),
        ({"params": []}, "params"),
        ({"params": {"colour": 1}}, "params"),
        ({"params": {"gap": True}}, "params"),
        ({"params": {"time_limit_s": -1}}, "params"),
        ({"state": "done"}, "state"),
    ],
)
def test_what_cannot_be_solved_is_refused(change: dict[str, Any], field: str, ready: Farm, planner_user: User) -> None:
    assert_error(ask(planner_user, ready, **change), 400, field)
    assert not Run.objects.exists()


def test_without_a_forecast_nothing_is_solved(farm: Farm, planner_user: User) -> None:
    assert "forecast" in assert_error(ask(planner_user, farm), 400)["message"]


def test_who_may_ask_and_stop(ready: Farm, lead_user: User, technician_user: User, viewer_user: User, stranger: User) -> None:
    for user in (lead_user, technician_user, viewer_user):
        assert_error(ask(user, ready), 403)
    assert_error(ask(None, ready), 401)
    assert_error(ask(stranger, ready), 400, "base")
    one = run(ready)
    assert_error(client_of(lead_user).post(f"{RUNS}{one.pk}/stop/", {}), 403)
    for address in (f"{RUNS}{one.pk}/", f"{RUNS}{one.pk}/problem/"):
        assert_error(client_of(stranger).get(address), 404)
    assert_error(client_of(stranger).post(f"{RUNS}{one.pk}/stop/", {}), 404)
    assert rows_of(client_of(stranger).get(RUNS)) == []
    assert_error(client_of(viewer_user).get(f"{RUNS}{one.pk}/problem/"), 403)


def test_a_queued_run_stops_at_once_and_only_once(farm: Farm, planner_user: User) -> None:
    client, one = client_of(planner_user), run(farm)
    stopped = client.post(f"{RUNS}{one.pk}/stop/", {})
    assert stopped.status_code == 202, stopped.content
    assert (stopped.json()["state"], stopped.json()["is_open"]) == ("stopped", False)
    assert_error(client.post(f"{RUNS}{one.pk}/stop/", {}), 409)
    assert_error(client.post(f"{RUNS}987654/stop/", {}), 404)


def test_the_problem_can_be_taken_away_and_replayed(farm: Farm, planner_user: User) -> None:
    one = run(farm)
    assert client_of(planner_user).get(f"{RUNS}{one.pk}/problem/").json() == one.problem


def test_runs_filter_and_cost_the_same_with_more_rows(farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    open_run = run(farm)
    before = queries_of(lambda: client.get(RUNS))
    for _ in range(30):
        run(farm, state="failed", asked_by=planner_user)
    assert len(ids_of(client.get(RUNS))) == 31
    assert queries_of(lambda: client.get(RUNS)) == before
    assert_recorded("GET runs", before)
    assert ids_of(client.get(RUNS, {"state": "queued"})) == {open_run.pk}
    assert ids_of(client.get(RUNS, {"base": farm.north.pk, "kind": "year"})) == set()
    assert_error(client.get(RUNS, {"state": "flying"}), 400, "state")
    for call in (client.put, client.patch, client.delete):
        assert_error(call(f"{RUNS}{open_run.pk}/"), 405)

"""Calls, scores and the state of feeds over the API."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import User

from planner.cautions import CAUTION
from scheduling.models import StayCall, WeatherFeed
from scheduling.services.stay_calls import calls_record
from tests.api_helpers import API, assert_error, assert_recorded, assert_same_cost, client_of, ids_of, queries_of, rows_of
from tests.farm import NOW, Farm
from tests.scheduling.api.test_weather import RECIPE
from tests.scheduling.stay_scenes import called, forecast, past_visits, told

CALLS, SCORES, STATES = f"{API}stay-calls/", f"{API}stay-scores/", f"{API}feed-states/"


def test_a_call_is_told_whole(farm: Farm, viewer_user: User) -> None:
    visit = told(farm)
    calls_record(forecast=forecast(farm, mps=4), now=NOW)
    (row,) = rows_of(client_of(viewer_user).get(CALLS))
    wanted = {
        "visit": visit.pk, "site": farm.hill.pk, "turbine_code": "H2", "lead_h": 29.0, "lead_day": 2, "chance": 1.0, "go": True,
        "limits": ["tower"], "fitted": None,
    }  # fmt: skip
    assert {name: row[name] for name in wanted} == wanted
    assert row["caution"] == CAUTION
    assert row["issued_at"] == "2026-06-10T03:00:00Z"


def test_filters(farm: Farm, viewer_user: User) -> None:
    first, second = past_visits(farm, 2)
    near, far, open_ = (
        called(first, 0.9, lead_h=23.9, fitted=True),
        called(first, 0.4, lead_h=24, fitted=True),
        called(second, 0.5),
    )
    client = client_of(viewer_user)
    for query, wanted in (
        ({"lead_day": 1}, {near.pk}),
        ({"lead_day": 2}, {far.pk, open_.pk}),
        ({"scored": "true"}, {near.pk, far.pk}),
        ({"scored": "false"}, {open_.pk}),
        ({"go": "true"}, {near.pk}),
        ({"visit": second.pk}, {open_.pk}),
        ({"site": farm.hill.pk, "starts_at__gte": first.starts_at.isoformat()}, {near.pk, far.pk}),
    ):
        assert ids_of(client.get(CALLS, query)) == wanted, query
    for query, field in (({"lead_day": "0"}, "lead_day"), ({"scored": "maybe"}, "scored"), ({"limits": "x"}, "limits")):
        assert_error(client.get(CALLS, query), 400, field)
    assert [row["chance"] for row in rows_of(client.get(CALLS, {"ordering": "chance"}))] == [0.4, 0.5, 0.9]


def test_scores_with_their_sentences(farm: Farm, viewer_user: User) -> None:
    for n, visit in enumerate(past_visits(farm, 40)):
        called(visit, 0.8, fitted=n < 30)
    body = client_of(viewer_user).get(SCORES, {"site": farm.hill.pk, "lead_day": 2}).json()
    assert body["sentences"][1] == "Of 40 stays called 70-90 %, 30 (75 %) could be done; the mean call was 80 %."
    score = body["score"]
    assert (score["calls"], score["stays"], score["enough"], score["hits"], score["false_go"]) == (40, 40, True, 30, 10)
    assert (score["climate"], score["brier"], score["skill"]) == (0.75, 0.19, round(1 - 0.19 / 0.1875, 4))
    assert [one["calls"] for one in body["bins"] if one["calls"]] == [40]
    assert body["bins"][0]["share_fitted"] is None
    assert [one["lead_day"] for one in body["by_lead"]] == [2]


def test_too_few_calls_have_no_scores(farm: Farm, viewer_user: User) -> None:
    called(past_visits(farm, 1)[0], 0.8, fitted=True)
    score = client_of(viewer_user).get(SCORES, {"site": farm.hill.pk}).json()["score"]
    assert (score["enough"], score["brier"], score["skill"], score["hits"]) == (False, None, None, 1)


def test_feed_states(farm: Farm, viewer_user: User) -> None:
    WeatherFeed.objects.create(site=farm.hill, name="model", kind="forecast", recipe={}, every_h=6)
    WeatherFeed.objects.create(site=farm.hill, name="by hand", kind="past years", recipe={})
    client = client_of(viewer_user)
    assert [(row["name"], row["state"], row["alarm"]) for row in rows_of(client.get(STATES))] == [
        ("by hand", "nothing yet", False),
        ("model", "nothing yet", True),
    ]
    assert [row["name"] for row in rows_of(client.get(STATES, {"alarm": "true", "site": farm.hill.pk}))] == ["model"]
    assert_error(client.get(STATES, {"alarm": "perhaps"}), 400, "alarm")


def test_a_feed_is_given_its_rhythm(farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    feed = WeatherFeed.objects.create(site=farm.hill, name="model", recipe=RECIPE)
    address = f"{API}feeds/{feed.pk}/"
    assert client.patch(address, {"every_h": 6}).json()["every_h"] == 6.0
    assert rows_of(client.get(STATES))[0]["alarm"] is True
    for bad in (0, -1, "often"):
        assert_error(client.patch(address, {"every_h": bad}), 400, "every_h")
    assert client.patch(address, {"every_h": None, "kind": "observed"}).json()["kind"] == "observed"
    assert rows_of(client.get(STATES))[0]["alarm"] is False


def test_a_stranger_sees_nothing_and_nobody_writes(farm: Farm, planner_user: User, stranger: User) -> None:
    call = called(past_visits(farm, 1)[0], 0.9, fitted=True)
    WeatherFeed.objects.create(site=farm.hill, name="model", kind="forecast", recipe={}, every_h=6)
    theirs = client_of(stranger)
    assert rows_of(theirs.get(CALLS)) == []
    assert rows_of(theirs.get(STATES)) == []
    assert_error(theirs.get(f"{CALLS}{call.pk}/"), 404)
    for address in (CALLS, SCORES, STATES):
        assert_error(theirs.get(address, {"site": farm.hill.pk}), 400, "site")
        assert_error(client_of(None).get(address), 401)
        assert_error(client_of(planner_user).post(address, {}), 405)
    assert client_of(planner_user).get(f"{CALLS}{call.pk}/").status_code == 200
    assert_error(client_of(planner_user).delete(f"{CALLS}{call.pk}/"), 405)


def test_the_list_costs_the_same_with_more_rows(farm: Farm, viewer_user: User) -> None:
    visits = past_visits(farm, 20)
    called(visits[0], 0.9)
    assert_same_cost(client_of(viewer_user), CALLS, "GET stay-calls", lambda: [called(visit, 0.9) for visit in visits[1:]])
    assert StayCall.objects.count() == 20


@pytest.mark.parametrize(("address", "name"), [(STATES, "GET feed-states"), (SCORES, "GET stay-scores")])
def test_states_and_scores_cost_the_same_with_more(address: str, name: str, farm: Farm, viewer_user: User) -> None:
    client, query = client_of(viewer_user), {"site": farm.hill.pk}
    visits = past_visits(farm, 20)

    def more(n: int) -> None:
        WeatherFeed.objects.create(site=farm.hill, name=f"feed {n}", kind="forecast", recipe={}, every_h=6)
        forecast(farm, mps=5 + n / 10, issued_at=NOW - timedelta(hours=n))
        called(visits[n], 0.9, fitted=True)

    more(0)
    before = queries_of(lambda: client.get(address, query))
    for n in range(1, 20):
        more(n)
    assert queries_of(lambda: client.get(address, query)) == before
    assert_recorded(name, before)

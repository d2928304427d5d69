from __future__ import annotations

from typing import Any

from django.contrib.auth.models import User

from planner.models import Site
from scheduling.models import ErrorFit
from tests.api_helpers import API, assert_error, assert_same_cost, client_of, ids_of
from tests.farm import NOW, Farm
from tests.scheduling.services.past_scenes import forecasts, measured

FITS = f"{API}error-fits/"


def stored(site: Site, **more: Any) -> ErrorFit:
    return ErrorFit.objects.create(
        site=site, fitted_at=NOW, first_issue=NOW, last_issue=NOW, forecasts=30, pairs=900, model={}, **more
    )


def test_a_fit_is_made_and_told(farm: Farm, planner_user: User) -> None:
    measured(farm.hill)
    forecasts(farm.hill, 25)
    client = client_of(planner_user)
    made = client.post(FITS, {"site": farm.hill.pk})
    assert made.status_code == 201, made.content
    body = made.json()
    assert (body["forecasts"], body["in_use"]) == (25, True)
    assert "25 forecasts" in body["text"]
    assert body["model"]["single_by_lead"][0]["days"] == 25
    assert client.get(made["Location"]).json() == body


def test_with_a_key_it_is_made_once(farm: Farm, planner_user: User) -> None:
    measured(farm.hill)
    forecasts(farm.hill, 25)
    client = client_of(planner_user)
    for _ in range(2):
        assert client.post(FITS, {"site": farm.hill.pk}, headers={"Idempotency-Key": "fit-1"}).status_code == 201
    assert ErrorFit.objects.count() == 1


def test_too_few_and_bad_input_are_refused(farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    assert "20 are needed" in assert_error(client.post(FITS, {"site": farm.hill.pk}), 400, "site")["message"]
    assert_error(client.post(FITS, {}), 400, "site")
    assert_error(client.post(FITS, {"site": farm.hill.pk, "until": "2026-05-01T00:00"}), 400, "until")
    assert_error(client.post(FITS, {"site": farm.hill.pk, "colour": "red"}), 400, "colour")
    assert not ErrorFit.objects.exists()


def test_a_fit_is_taken_out_of_use(farm: Farm, planner_user: User) -> None:
    fit, client = stored(farm.hill), client_of(planner_user)
    where = f"{FITS}{fit.pk}/"
    tag = client.get(where)["ETag"]
    answer = client.patch(where, {"in_use": False}, headers={"If-Match": tag})
    assert answer.status_code == 200, answer.content
    assert answer.json()["in_use"] is False
    assert_error(client.patch(where, {"in_use": True}, headers={"If-Match": tag}), 412)
    assert_error(client.patch(where, {"in_use": "perhaps"}), 400, "in_use")
    assert_error(client.patch(where, {"pairs": 5}), 400, "pairs")
    fit.refresh_from_db()
    assert (fit.in_use, fit.pairs) == (False, 900)


def test_who_sees_and_who_decides(farm: Farm, planner_user: User, viewer_user: User, stranger: User) -> None:
    fit = stored(farm.hill)
    where = f"{FITS}{fit.pk}/"
    assert ids_of(client_of(viewer_user).get(FITS)) == {fit.pk}
    assert_error(client_of(viewer_user).patch(where, {"in_use": False}), 403)
    assert_error(client_of(viewer_user).post(FITS, {"site": farm.hill.pk}), 403)
    assert ids_of(client_of(stranger).get(FITS)) == set()
    assert_error(client_of(stranger).patch(where, {"in_use": False}), 404)
    assert_error(client_of(stranger).post(FITS, {"site": farm.hill.pk}), 400, "site")
    assert_error(client_of(None).get(FITS), 401)
    assert ids_of(client_of(planner_user).get(FITS, {"in_use": "false"})) == set()


def test_a_list_costs_the_same_however_long(farm: Farm, planner_user: User) -> None:
    stored(farm.hill)
    assert_same_cost(client_of(planner_user), FITS, "GET error-fits", lambda: [stored(farm.hill) for _ in range(9)])

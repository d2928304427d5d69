"""The wind climate over the API."""

from __future__ import annotations

import json
from typing import Any

from django.contrib.auth.models import User
from django.core.cache import cache

from planner.models import LimitSet
from tests.api_helpers import API, assert_error, assert_recorded, client_of, queries_of
from tests.farm import Farm
from tests.scheduling.past_rows import steady, stored


def climate(user: User | None, farm: Farm, **more: Any) -> Any:
    tower = LimitSet.objects.get(code="tower")
    return client_of(user).get(f"{API}climate/", {"site": farm.hill.pk, "limit_set": tower.pk, "stay_min": 240, **more})


def test_weeks_months_and_what_they_rest_on(farm: Farm, viewer_user: User) -> None:
    for year, mps in ((2017, 5.0), (2018, 20.0), (2019, 5.0)):
        stored(farm.hill, steady(mps, year))
    response = climate(viewer_user, farm)
    assert response.status_code == 200, response.content[:300]
    body = response.json()
    assert (body["years"], body["hub_m"], body["opens_h"], body["closes_h"]) == ([2017, 2018, 2019], 100.0, 7.0, 18.0)
    assert (len(body["weeks"]), len(body["months"])) == (53, 12)
    tenth = body["weeks"][9]
    assert tenth["week"] == 10
    assert tenth["workable_h"]["years"] == 3
    assert tenth["workable_h"]["p50"] == 77.0
    assert set(tenth) == {"week", "workable_h", "counted_h", "workable_days", "wait_h", "lost_mwh_h", "lost_any_mwh_h"}
    assert body["months"][5]["fits"]["mean"] == 2 / 3
    assert body["workable_h"]["2018"][9] == 0.0
    assert body["estimate"]["share"] == 2 / 3
    assert body["shear"] == "wind measured at the hub height of 100 m"


def test_two_years_give_no_quantiles_and_none_gives_nothing(farm: Farm, viewer_user: User) -> None:
    empty = climate(viewer_user, farm).json()
    assert (empty["years"], empty["weeks"], empty["months"], empty["estimate"]) == ([], [], [], None)
    assert "import past years" in empty["notes"][0]
    stored(farm.hill, steady(5.0, 2018, 2))
    body = climate(viewer_user, farm).json()
    assert body["weeks"][9]["workable_h"] == {
        "years": 2, "mean": 77.0, "least": 77.0, "most": 77.0, "p10": None, "p50": None, "p90": None,
    }  # fmt: skip
    assert "no quantiles" in body["notes"][0]


def test_a_storm_all_year_is_still_json(farm: Farm, viewer_user: User) -> None:
    stored(farm.hill, steady(20.0, 2018))
    response = climate(viewer_user, farm, hours="all")
    body = json.loads(response.content, parse_constant=lambda name: 1 / 0)
    assert body["weeks"][9]["workable_h"]["mean"] == 0.0
    assert body["months"][3]["wait_h"]["mean"] is None
    assert body["weeks"][9]["lost_mwh_h"]["mean"] is None
    assert body["weeks"][9]["lost_any_mwh_h"]["mean"] > 0


def test_what_does_not_fit_is_refused(farm: Farm, viewer_user: User, stranger: User) -> None:
    for more, field in (
        ({"stay_min": 0}, "stay_min"), ({"stay_min": "nan"}, "stay_min"), ({"stay_min": 700}, "stay_min"),
        ({"hours": "night"}, "hours"), ({"site": 0}, "site"), ({"limit_set": "x"}, "limit_set"), ({"colour": 1}, "colour"),
    ):  # fmt: skip
        assert_error(climate(viewer_user, farm, **more), 400, field)
    assert_error(climate(None, farm), 401)
    theirs, missing = climate(stranger, farm), climate(stranger, farm, site=987_654)
    assert_error(theirs, 400, "site")
    assert theirs.content == missing.content
    assert_error(client_of(viewer_user).post(f"{API}climate/", {}), 403)


def test_more_records_cost_no_more_queries(farm: Farm, viewer_user: User) -> None:
    cache.clear()
    stored(farm.hill, steady(5.0, 2018))
    before = queries_of(lambda: climate(viewer_user, farm))
    for year in range(2008, 2018):
        stored(farm.hill, steady(5.0, year))
    assert queries_of(lambda: climate(viewer_user, farm)) == before
    assert_recorded("GET climate", before)
    assert queries_of(lambda: climate(viewer_user, farm)) == before - 1  # from the cache: the records are not read again

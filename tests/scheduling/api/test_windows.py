"""Windows over the API, from forecasts made here."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import User

from planner.models import Limit, LimitSet
from tests.api_helpers import API, assert_error, client_of
from tests.farm import Farm
from tests.scheduling.api.scenes import forecast


def windows(user: User | None, farm: Farm, **more: Any) -> Any:
    tower = LimitSet.objects.get(code="tower")
    return client_of(user).get(f"{API}windows/", {"turbine": farm.h1.pk, "limit_set": tower.pk, "stay_min": 120, **more})


def test_windows_show_every_start_with_its_chance(farm: Farm, viewer_user: User) -> None:
    forecast(farm)
    body = windows(viewer_user, farm, days=2).json()
    assert (len(body["starts"]), body["age_h"], body["confidence"]) == (96, 1.0, 0.8)
    assert body["starts"][0]["start"] == "2026-06-10T06:00:00Z"
    assert body["starts"][0]["chance"] == 1.0
    assert "competent person" in body["caution"]


def test_windows_tell_the_last_safe_start_and_what_closes_the_rest(farm: Farm, viewer_user: User) -> None:
    forecast(farm)
    body = windows(viewer_user, farm, days=1).json()
    # Twelve days of calm from midnight on: every stay of the day that ends within the day fits.
    assert body["openings"] == [
        {"first_start": "2026-06-10T06:00:00Z", "last_start": "2026-06-11T04:00:00Z", "down_by": "2026-06-11T06:00:00Z"}
    ]
    assert (body["longest_start"], body["longest_end"]) == ("2026-06-10T06:00:00Z", "2026-06-11T06:00:00Z")
    assert (body["longest_h"], body["starts"][0]["down_by"]) == (24.0, "2026-06-11T06:00:00Z")
    assert body["starts"][0]["binding"] is None
    Limit.objects.create(limit_set=LimitSet.objects.get(code="tower"), quantity="visibility", comparison=">=", value=1000)
    body = windows(viewer_user, farm, days=1).json()
    blocked = body["starts"][0]
    assert body["blocked"] == [{"start": "2026-06-10T06:00:00Z", "end": "2026-06-11T06:00:00Z", "binding": blocked["binding"]}]
    assert (blocked["chance"], blocked["down_by"], blocked["limit"]) == (0.0, None, "visibility unknown")
    assert blocked["binding"] == {
        "at": "2026-06-10T06:00:00Z", "variable": "visibility", "name": "visibility", "value": None, "comparison": ">=",
        "limit": 1000.0, "unit": "m", "blocked_share": 1.0,
    }  # fmt: skip


def test_a_gale_and_a_stale_forecast_open_nothing(farm: Farm, viewer_user: User) -> None:
    assert windows(viewer_user, farm).json()["starts"] == []
    old = forecast(farm, age_h=13)
    stale = windows(viewer_user, farm).json()
    assert (stale["starts"], stale["age_h"]) == ([], 13.0)
    assert "too old" in stale["note"]
    old.delete()
    forecast(farm, mps=25.0)
    gale = windows(viewer_user, farm, days=1).json()
    assert {start["chance"] for start in gale["starts"]} == {0.0}
    assert "wind" in gale["starts"][0]["limit"]


def test_windows_refuse_what_cannot_be(farm: Farm, viewer_user: User, stranger: User) -> None:
    forecast(farm)
    for more, field in (
        ({"stay_min": 0}, "stay_min"), ({"stay_min": "nan"}, "stay_min"), ({"stay_min": 1441}, "stay_min"),
        ({"days": 99}, "days"), ({"turbine": 0}, "turbine"), ({"limit_set": "x"}, "limit_set"), ({"colour": 1}, "colour"),
    ):  # fmt: skip
        assert_error(windows(viewer_user, farm, **more), 400, field)
    assert_error(client_of(viewer_user).get(f"{API}windows/"), 400, "turbine")
    assert_error(windows(None, farm), 401)
    theirs, missing = windows(stranger, farm), windows(stranger, farm, turbine=987_654)
    assert_error(theirs, 400, "turbine")
    assert theirs.content == missing.content
    assert_error(client_of(viewer_user).post(f"{API}windows/", {}), 403)

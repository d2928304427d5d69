"""Limits of a limit set over the API."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User

from planner.models import Limit, LimitSet
from tests.api_helpers import API, assert_error, client_of
from tests.farm import Farm

SETS = f"{API}limit-sets/"
WIND = {"quantity": "wind", "value": 11}
FULL = {
    "quantity": "work_share", "comparison": ">=", "value": 50.0, "at_hub": True, "height_m": None, "averaging_min": 10.0,
    "clear_after_min": 30.0, "offset_c": 8.0, "metabolic_class": 2, "acclimatised": True,
}  # fmt: skip


def send(user: User, *limits: dict[str, Any], **more: Any) -> Any:
    return client_of(user).post(SETS, {"code": "new", "name": "New", "limits": limits, **more})


def test_a_limit_comes_back_as_it_was_given(farm: Farm, planner_user: User) -> None:
    made = send(planner_user, FULL)
    assert made.status_code == 201, made.content
    assert made.json()["limits"] == [FULL]


def test_one_quantity_may_have_limits_at_several_heights_and_averagings(farm: Farm, planner_user: User) -> None:
    low = {**WIND, "at_hub": False, "height_m": 10, "value": 8}
    gust = {"quantity": "gust", "averaging_min": 0.05, "value": 15}
    squall = {"quantity": "gust", "averaging_min": 1, "value": 13}
    made = send(planner_user, WIND, low, gust, squall)
    assert made.status_code == 201, made.content
    before = {row.pk for row in Limit.objects.filter(limit_set__code="new")}
    changed = client_of(planner_user).patch(made["Location"], {"limits": [WIND, {**low, "value": 7}, gust, squall]})
    assert changed.status_code == 200, changed.content
    assert {row.pk for row in Limit.objects.filter(limit_set__code="new")} == before
    assert_error(send(planner_user, WIND, {**WIND, "value": 9}, code="other"), 400, "limits")
    assert not LimitSet.objects.filter(code="other").exists()


@pytest.mark.parametrize(
    ("limit", "sentence"),
    [
        ({**WIND, "value": 2.5}, "below cut-in (3 m/s): check the unit"),
        ({"quantity": "gust", "value": 2.5, "averaging_min": 0.05}, "below cut-in (3 m/s): check the unit"),
        ({**WIND, "comparison": ">="}, "comparison points the wrong way"),
        ({"quantity": "visibility", "value": 1000}, "comparison points the wrong way"),
        ({**WIND, "height_m": 10}, "untick at_hub or leave it empty"),
        ({**WIND, "clear_after_min": -5}, "give 0 to 1440 minutes"),
        ({**WIND, "offset_c": 5}, "for temperature, WBGT and work share only"),
        ({"quantity": "temperature", "value": 35, "offset_c": -5}, "0 to 40 degC"),
        ({"quantity": "wind_chill", "comparison": ">=", "value": 12}, "nobody feels wind chill: give 10 or less"),
        ({"quantity": "humidity", "value": 120}, "a percentage here: give 0 to 100"),
        ({"quantity": "rain", "value": -1}, "cannot lie below 0"),
        ({"quantity": "work_share", "comparison": ">=", "value": 50}, "metabolic_class goes with a work share"),
        ({**WIND, "metabolic_class": 2}, "metabolic_class goes with a work share, and only there"),
        ({"quantity": "pollen", "value": 1}, "not a valid choice"),
        ({**WIND, "unit": "kn"}, "unit"),
    ],
)
def test_a_limit_that_cannot_be_is_refused_whole(farm: Farm, planner_user: User, limit: dict[str, Any], sentence: str) -> None:
    answer = send(planner_user, limit)
    assert_error(answer, 400, "limits")
    assert sentence in answer.content.decode()
    assert not LimitSet.objects.filter(code="new").exists()


def test_a_gust_below_the_mean_is_refused(farm: Farm, planner_user: User) -> None:
    assert_error(send(planner_user, WIND, gust_factor=0.8), 400, "gust_factor")


def test_a_limit_in_words() -> None:
    assert str(Limit(quantity="wind", value=12)) == "wind, mean <= 12 m/s"
    assert str(Limit(quantity="dew_point_spread", comparison=">=", value=3.5)) == "distance to the dew point >= 3.5 degC"

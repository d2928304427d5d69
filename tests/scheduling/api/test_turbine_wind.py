"""Corrections of turbines and the wind profile of a site over the API and in the admin site."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User
from django.contrib.messages import get_messages

from planner.models import Site
from scheduling.models import TurbineWind, WeatherSet
from tests.admin_forms import address
from tests.admin_rows import grow, staff
from tests.api_helpers import API, assert_error, assert_recorded, client_of, ids_of, queries_of
from tests.farm import Farm
from tests.scheduling.services import test_shear as profiles
from tests.scheduling.services import test_turbine_wind as winds

WINDS, SHEAR = f"{API}turbine-winds/", f"{API}shear/"


def asked(farm: Farm, **more: Any) -> dict[str, Any]:
    wind = winds.site_wind()
    both = winds.stored(farm, winds.series(1.1 * wind), winds.series(wind, name="mast"))
    return {"turbine": farm.h1.pk, "own": both.pk, "column": "H1", "against": both.pk} | more


def test_a_correction_is_learnt_and_read(farm: Farm, planner_user: User, technician_user: User) -> None:
    made = client_of(planner_user).post(WINDS, asked(farm))
    assert made.status_code == 201, made.content
    body = made.json()
    assert body["factor"] > 1.05
    assert client_of(technician_user).get(made["Location"]).json() == body
    assert ids_of(client_of(planner_user).get(f"{WINDS}?site={farm.hill.pk}&in_use=true")) == {body["id"]}


def test_who_may_not_and_what_is_refused(farm: Farm, planner_user: User, technician_user: User, stranger: User) -> None:
    given = asked(farm)
    assert_error(client_of(technician_user).post(WINDS, given), 403)
    assert_error(client_of(stranger).post(WINDS, given), 400, "turbine")
    assert_error(client_of(planner_user).post(WINDS, {**given, "column": "nacelle"}), 400, "column")
    assert_error(client_of(planner_user).post(WINDS, {**given, "factor": 2}), 400, "factor")
    assert not TurbineWind.objects.exists()


def test_the_list_is_the_callers_and_costs_the_same_for_many(farm: Farm, planner_user: User, stranger: User) -> None:
    grow(farm, TurbineWind, 1, 1)
    one = queries_of(lambda: client_of(planner_user).get(WINDS))
    grow(farm, TurbineWind, 2, 20)
    assert queries_of(lambda: client_of(planner_user).get(WINDS)) == one
    assert_recorded("turbine-winds", one)
    assert ids_of(client_of(stranger).get(WINDS)) == set()


def test_a_profile_is_looked_at_and_written(farm: Farm, planner_user: User) -> None:
    stored = profiles.weather(farm, 40, 80)
    client = client_of(planner_user)
    looked = client.get(f"{SHEAR}?weather={stored.pk}").json()
    assert (looked["before"], looked["after"], looked["written"]) == (0.2, 0.28, False)
    assert (looked["low_m"], looked["high_m"], looked["hours"], len(looked["by_hour"])) == (40.0, 80.0, 960.0, 24)
    assert Site.objects.get(pk=farm.hill.pk).shear_exponent == 0.2
    wrote = client.post(SHEAR, {"weather": stored.pk})
    assert wrote.status_code == 200, wrote.content
    assert wrote.json()["written"] is True
    assert Site.objects.get(pk=farm.hill.pk).shear_exponent == 0.28


def test_only_a_planner_writes_a_profile(farm: Farm, technician_user: User, stranger: User, planner_user: User) -> None:
    stored = profiles.weather(farm, 40, 80)
    assert client_of(technician_user).get(f"{SHEAR}?weather={stored.pk}").status_code == 200
    assert_error(client_of(technician_user).post(SHEAR, {"weather": stored.pk}), 403)
    assert_error(client_of(stranger).get(f"{SHEAR}?weather={stored.pk}"), 400, "weather")
    assert_error(client_of(planner_user).post(SHEAR, {"weather": profiles.weather(farm, 80).pk}), 400, "weather")
    assert Site.objects.get(pk=farm.hill.pk).shear_exponent == 0.2


@pytest.mark.parametrize(("action", "after"), [("look_at_profile", 0.2), ("fit_profile", 0.28)])
def test_the_list_of_weather_offers_the_profile(action: str, after: float, farm: Farm, planner_user: User) -> None:
    chosen = [profiles.weather(farm, 40, 80).pk, profiles.weather(farm, 80).pk]
    given = {"action": action, "_selected_action": chosen}
    answer = staff(planner_user).post(address(WeatherSet, "changelist"), given)
    words = " ".join(str(message) for message in get_messages(answer.wsgi_request))
    assert "exponent 0.200 before, 0.280" in words
    assert "a wind profile needs wind at two heights" in words
    assert Site.objects.get(pk=farm.hill.pk).shear_exponent == after


def test_the_admin_site_puts_a_correction_out_of_use_and_nothing_else(farm: Farm, planner_user: User) -> None:
    row = grow(farm, TurbineWind, 1, 1)[0]
    client = staff(planner_user)
    assert client.get(address(TurbineWind, "add")).status_code == 403
    client.post(address(TurbineWind, "change", row.pk), {"factor": 3})
    row.refresh_from_db()
    assert (row.in_use, row.factor) == (False, 1.1)  # type: ignore[attr-defined]

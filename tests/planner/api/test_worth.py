"""What orders are worth at a site, and what the plan weighs at a base: shown whole, changed within bounds."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.urls import reverse

from tests.admin_rows import staff
from tests.api_helpers import API, assert_error, client_of
from tests.farm import Farm


def test_a_site_shows_the_value_of_every_class(farm: Farm, planner_user: User) -> None:
    client, here = client_of(planner_user), f"{API}sites/{farm.hill.pk}/"
    costs = client.patch(here, {"left_out_costs": {"minor": 1_000}}).json()["effective_costs"]
    assert costs["left_out"] == {"statutory": 9_000, "gate": 6_000, "failure": 8_000, "service": 2_500, "minor": 1_000}
    assert set(costs["late_a_day"]) == set(costs["left_out"])
    assert_error(client.patch(here, {"left_out_costs": {"small": 1}}), 400, "left_out_costs")
    assert_error(client.patch(here, {"late_costs": {"minor": -1}}), 400, "late_costs")
    page = staff(planner_user).get(reverse("admin:planner_site_change", args=[farm.hill.pk])).content.decode()
    assert "minor 1000 EUR (own)" in page
    assert "statutory 9000 EUR;" in page


def test_a_base_shows_and_takes_the_plans_money(farm: Farm, planner_user: User) -> None:
    client, here = client_of(planner_user), f"{API}bases/{farm.north.pk}/"
    row = client.get(here).json()
    assert (row["travel_per_person_h"], row["change_by_day"], row["told_factor"]) == (36, [400, 300, 150, 100], 2)
    assert client.patch(here, {"change_by_day": [500, 50], "team_day": 55.5}).json()["change_by_day"] == [500, 50]
    for field, bad in (("team_day", -1), ("told_factor", 0.5), ("fade_least_share", 1.2), ("change_by_day", {"0": 4})):
        assert_error(client.patch(here, {field: bad}), 400, field)

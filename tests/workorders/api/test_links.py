"""Orders that come after others, over the API."""

from __future__ import annotations

from datetime import date

from django.contrib.auth.models import User

from tests.api_helpers import API, assert_error, assert_same_cost, client_of, rows_of
from tests.farm import Farm
from workorders.models import Order, OrderLink
from workorders.services.orders import order_raise_by_hand

LINKS = f"{API}order-links/"


def lamp(farm: Farm, by: User) -> Order:
    """One more lamp to change at H1."""
    return order_raise_by_hand(turbine=farm.h1, procedure=farm.procedures["lamp"], due_on=date(2026, 6, 20), by=by)


def test_a_link_is_made_changed_and_removed(farm: Farm, planner_user: User, lead_user: User, viewer_user: User) -> None:
    first, second = lamp(farm, planner_user), lamp(farm, planner_user)
    body = {"earlier": first.pk, "later": second.pk, "least_gap_h": 24}
    made = client_of(lead_user).post(LINKS, body)
    assert made.status_code == 201, made.content
    here = made["Location"]
    assert client_of(planner_user).patch(here, {"least_gap_h": 12}).json()["least_gap_h"] == 12
    assert_error(client_of(planner_user).patch(here, {"least_gap_h": -1}), 400, "least_gap_h")
    assert_error(client_of(viewer_user).patch(here, {"least_gap_h": 1}), 403)
    assert [row["id"] for row in rows_of(client_of(viewer_user).get(LINKS, {"later": second.pk}))] == [made.json()["id"]]
    assert client_of(planner_user).delete(here).status_code == 204


def test_rings_twins_and_strangers_are_refused(farm: Farm, planner_user: User, stranger: User) -> None:
    first, second = lamp(farm, planner_user), lamp(farm, planner_user)
    client = client_of(planner_user)
    assert_error(client.post(LINKS, {"earlier": first.pk, "later": first.pk}), 400)
    assert client.post(LINKS, {"earlier": first.pk, "later": second.pk}).status_code == 201
    assert_error(client.post(LINKS, {"earlier": first.pk, "later": second.pk}), 400)
    answer = client.post(LINKS, {"earlier": second.pk, "later": first.pk})
    assert_error(answer, 400, "earlier")
    assert "remove the other link first" in answer.content.decode()
    assert rows_of(client_of(stranger).get(LINKS)) == []
    assert_error(client_of(stranger).post(LINKS, {"earlier": first.pk, "later": second.pk}), 400)


def test_the_list_costs_the_same_with_more_rows(farm: Farm, planner_user: User) -> None:
    first = lamp(farm, planner_user)

    def grow() -> None:
        for _ in range(10):
            OrderLink.objects.create(earlier=first, later=lamp(farm, planner_user))

    grow()
    assert_same_cost(client_of(planner_user), f"{LINKS}?page_size=100", "GET order-links", grow)

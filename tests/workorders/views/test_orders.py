"""The list of orders, and raising one by hand."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import User

from tests import farm as rows
from tests.api_helpers import assert_recorded, queries_of
from tests.farm import TODAY, Farm
from tests.page_rows import build_order, client_of, words_of
from workorders.models import Hold, Order


def test_no_orders_says_where_they_come_from(viewer_user: User) -> None:
    words = words_of(client_of(viewer_user).get("/orders/"))
    assert "No orders yet: raise them from due work ." in words
    assert "by hand" not in words


def test_closed_orders_are_shown_on_request(farm: Farm, viewer_user: User) -> None:
    build_order(farm.h1, farm, "HILL-1")
    build_order(farm.h2, farm, "HILL-2", state="accepted")
    client = client_of(viewer_user)
    assert "HILL-2" not in words_of(client.get("/orders/"))
    assert "HILL-2" in words_of(client.get("/orders/?state=all"))
    assert "HILL-1" not in words_of(client.get("/orders/?state=accepted"))
    assert "No order fits these filters." in words_of(client.get("/orders/?state=slotted"))


def test_words_find_number_turbine_and_work(farm: Farm, viewer_user: User) -> None:
    build_order(farm.h1, farm, "HILL-1", work="lamp")
    build_order(farm.h2, farm, "HILL-2")
    client = client_of(viewer_user)
    for words, found in (("hill-1", "HILL-1"), ("h2", "HILL-2"), ("lamp", "HILL-1")):
        shown = words_of(client.get(f"/orders/?q={words}"))
        assert [number for number in ("HILL-1", "HILL-2") if number in shown] == [found]


def test_a_hold_is_told(farm: Farm, viewer_user: User) -> None:
    order = build_order(farm.h1, farm)
    Hold.objects.create(order=order, kind="parts", reason="motor", since=TODAY)
    assert "on hold" in words_of(client_of(viewer_user).get("/orders/"))


def test_odd_words_find_nothing_and_break_nothing(farm: Farm, viewer_user: User) -> None:
    build_order(farm.h1, farm)
    client = client_of(viewer_user)
    assert "HILL-1" in words_of(client.get("/orders/?q=%00"))
    for words in ("%27%20OR%201=1", "%25", "x" * 5000):
        assert "No order fits these filters." in words_of(client.get(f"/orders/?q={words}"))


@pytest.mark.parametrize("query", ["state=sleepy", "site=999999", "page=0", "page=9" + "9" * 30])
def test_a_bad_filter_is_a_sentence_and_a_400(query: str, farm: Farm, viewer_user: User) -> None:
    build_order(farm.h1, farm)
    response = client_of(viewer_user).get(f"/orders/?{query}")
    assert response.status_code == 400
    assert "HILL-1" in words_of(response)


def test_a_stranger_sees_none(farm: Farm, stranger: User) -> None:
    build_order(farm.h1, farm)
    assert "HILL-1" not in words_of(client_of(stranger).get("/orders/?state=all"))


def test_every_order_stands_on_one_page_only(farm: Farm, viewer_user: User) -> None:
    numbers = {f"HILL-{n:03d}" for n in range(120)}
    for number in numbers:
        build_order(farm.h1, farm, number)  # all due on the same day
    client, seen = client_of(viewer_user), []
    for page in (1, 2, 3):
        shown = words_of(client.get(f"/orders/?page={page}"))
        seen += [number for number in numbers if number in shown]
    assert sorted(seen) == sorted(numbers)


def test_many_orders_cost_as_many_queries_as_few(farm: Farm, viewer_user: User) -> None:
    client = client_of(viewer_user)
    build_order(farm.h1, farm, "HILL-0")
    before = queries_of(lambda: client.get("/orders/"))
    for n in range(1, 30):
        build_order(farm.h1, farm, f"HILL-{n}", due_on=TODAY + timedelta(days=n))
    assert queries_of(lambda: client.get("/orders/")) == before
    assert_recorded("page orders", before)


def form(farm: Farm, **more: object) -> dict[str, object]:
    procedure = farm.procedures["lamp"].pk
    return {"do": "raise", "turbine": farm.h1.pk, "procedure": procedure, "due_on": "2026-06-20", "note": "dark", **more}


def test_a_planner_raises_one_by_hand(farm: Farm, planner_user: User) -> None:
    response = client_of(planner_user).post("/orders/", form(farm), follow=True)
    order = Order.objects.get()
    assert response.redirect_chain == [(f"/orders/{order.pk}/", 302)]
    assert f"Order {order.number} is raised." in words_of(response)
    assert (order.turbine, order.origin, order.note) == (farm.h1, "hand", "dark")


def test_a_bad_form_is_said_and_keeps_what_was_typed(farm: Farm, planner_user: User) -> None:
    response = client_of(planner_user).post("/orders/", form(farm, due_on="2026-02-31"))
    assert response.status_code == 400
    assert "'2026-02-31' is no day" in words_of(response)
    assert ">dark</textarea>" in response.content.decode()
    assert not Order.objects.exists()


@pytest.mark.parametrize("role", ["technician", "viewer"])
def test_others_may_not_raise(role: str, farm: Farm) -> None:
    client = client_of(rows.build_user(role, role, farm.hill))
    response = client.post("/orders/", form(farm))
    assert response.status_code == 403
    assert not Order.objects.exists()
    assert "Raise an order by hand" not in words_of(client.get("/orders/"))


def test_a_turbine_of_another_site_is_none_of_the_list(farm: Farm, planner_user: User) -> None:
    response = client_of(planner_user).post("/orders/", form(farm, turbine=farm.p1.pk))
    assert response.status_code == 400
    assert "Turbine: choose one of the list." in words_of(response)
    assert not Order.objects.exists()

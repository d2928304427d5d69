"""Raising orders from due work, by the button of the Due page."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User

from tests import farm as rows
from tests.farm import Farm
from tests.page_rows import client_of, words_of
from workorders.models import Order


def test_asked_twice_it_raises_nothing_new(farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    first = client.post("/orders/raise/", {"site": farm.hill.pk}, follow=True)
    raised = Order.objects.count()
    assert raised > 0
    assert f"Hillside: {raised} orders raised." in words_of(first)
    again = client.post("/orders/raise/", {"site": farm.hill.pk}, follow=True)
    assert Order.objects.count() == raised
    assert "Hillside: nothing new to raise." in words_of(again)


@pytest.mark.parametrize("role", ["technician", "viewer"])
def test_who_may_not_is_told_whom_to_ask(role: str, farm: Farm) -> None:
    client = client_of(rows.build_user(role, role, farm.hill))
    response = client.post("/orders/raise/", {"site": farm.hill.pk}, follow=True)
    assert "ask a planner or lead" in words_of(response)
    assert not Order.objects.exists()


@pytest.mark.parametrize("site", ["", "x", "999999"])
def test_no_such_site_is_a_404(site: str, planner_user: User) -> None:
    assert client_of(planner_user).post("/orders/raise/", {"site": site}).status_code == 404


def test_somebody_elses_site_is_a_404(farm: Farm, stranger: User) -> None:
    assert client_of(stranger).post("/orders/raise/", {"site": farm.hill.pk}).status_code == 404
    assert not Order.objects.exists()


def test_looking_raises_nothing(planner_user: User) -> None:
    assert client_of(planner_user).get("/orders/raise/").status_code == 405

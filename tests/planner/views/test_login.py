"""Logging in and out, by any member, staff or not."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client

from tests.farm import Farm
from tests.page_rows import client_of, words_of

PAGES = ("/today/", "/due/", "/year/", "/fortnight/", "/orders/")


def test_a_member_logs_in_and_lands_on_today(viewer_user: User) -> None:
    client = client_of(None)
    response = client.post("/login/", {"username": "viewer", "password": "lull"}, follow=True)
    assert response.redirect_chain[-1][0] == "/today/"
    assert "viewer" in words_of(response)


def test_a_wrong_password_is_said(viewer_user: User) -> None:
    response = client_of(None).post("/login/", {"username": "viewer", "password": "no"})
    assert "correct username and password" in words_of(response)


@pytest.mark.parametrize("page", [*PAGES, "/orders/1/", "/runs/1/progress/"])
def test_nobody_sees_a_page_without_logging_in(page: str, db: None) -> None:
    response = client_of(None).get(page)
    assert (response.status_code, response["Location"]) == (302, f"/login/?next={page}")


def test_login_leads_to_no_foreign_address(viewer_user: User) -> None:
    form = {"username": "viewer", "password": "lull", "next": "https://elsewhere.example/"}
    assert client_of(None).post("/login/", form)["Location"] == "/"


def test_logging_out_is_by_post_only(viewer_user: User) -> None:
    client = client_of(viewer_user)
    assert client.get("/logout/").status_code == 405
    assert client.post("/logout/")["Location"] == "/login/"
    assert client.get("/due/").status_code == 302


@pytest.mark.parametrize("page", PAGES)
def test_a_form_without_its_token_is_refused(page: str, planner_user: User) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(planner_user)
    assert client.post(page, {"do": "anything"}).status_code == 403


@pytest.mark.parametrize("page", PAGES)
def test_every_page_carries_the_cautions(page: str, viewer_user: User) -> None:
    words = words_of(client_of(viewer_user).get(page))
    assert "Lull plans; it never authorises." in words
    assert "When a limit is passed: stop" in words


@pytest.mark.parametrize("page", PAGES)
def test_somebody_without_a_site_is_told_whom_to_ask(page: str, farm: Farm) -> None:
    lost = User.objects.create_user("lost", password="lull")
    response = client_of(lost).get(page)
    assert response.status_code == 200
    assert "You are not a member of any site yet." in words_of(response)
    assert "H1" not in words_of(response)

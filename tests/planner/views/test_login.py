"""Logging in and out and changing the own password, by any member, staff or not."""

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


@pytest.mark.parametrize("page", [*PAGES, "/orders/1/", "/runs/1/progress/", "/password/"])
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


NEW = "calm-sea-at-dawn-7"


def typed(old: str = "lull", new: str = NEW, again: str = NEW) -> dict[str, str]:
    """The form of a new password."""
    return {"old_password": old, "new_password1": new, "new_password2": again}


def test_a_member_who_is_not_staff_changes_their_password(viewer_user: User) -> None:
    client, elsewhere = client_of(viewer_user), client_of(viewer_user)
    assert not viewer_user.is_staff
    assert 'href="/password/"' in client.get("/due/").content.decode()
    assert "Old password" in words_of(client.get("/password/"))
    response = client.post("/password/", typed(), follow=True)
    assert response.redirect_chain[-1][0] == "/today/"
    assert "Your password is changed." in words_of(response)
    viewer_user.refresh_from_db()
    assert viewer_user.check_password(NEW)
    assert elsewhere.get("/due/").status_code == 302, "other sessions end"


@pytest.mark.parametrize(
    ("form", "sentence"),
    [
        (typed(old="no"), "Your old password was entered incorrectly"),
        (typed(again="calm-sea-at-dusk-7"), "didn’t match"),
        (typed(new="12345", again="12345"), "too short"),
        (typed(new="viewer12", again="viewer12"), "too similar to the username"),
        (typed(old=""), "This field is required"),
    ],
)
def test_a_password_that_does_not_fit_is_said_and_nothing_changes(form: dict[str, str], sentence: str, viewer_user: User) -> None:
    response = client_of(viewer_user).post("/password/", form)
    assert response.status_code == 200
    assert sentence in words_of(response)
    viewer_user.refresh_from_db()
    assert viewer_user.check_password("lull")


def test_an_account_without_a_password_is_not_asked_for_one(viewer_user: User) -> None:
    viewer_user.set_unusable_password()
    viewer_user.save()
    assert "/password/" not in client_of(viewer_user).get("/due/").content.decode()

"""The frame and the readers of filters."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User

from planner.errors import PlannerError
from planner.views.base import choice_reader, whole_reader
from tests.page_rows import client_of, words_of


def test_a_choice_is_one_of_the_known() -> None:
    assert choice_reader("state", ["open", "late"])("late") == "late"
    with pytest.raises(PlannerError, match="choose one of open, late"):
        choice_reader("state", ["open", "late"])("sleepy")


@pytest.mark.parametrize("raw", ["0", "-1", "1.5", "x", "²", "9" * 40, ""])
def test_a_whole_number_is_whole_and_inside(raw: str) -> None:
    with pytest.raises(PlannerError, match="whole number from 1"):
        whole_reader("page")(raw)


def test_the_pages_are_linked_and_the_open_one_is_marked(viewer_user: User) -> None:
    page = client_of(viewer_user).get("/due/").content.decode()
    for name in ("today", "due", "year", "fortnight", "orders"):
        assert f'href="/{name}/"' in page
    assert page.count('aria-current="page"') == 1
    assert 'class="skip-to-content-link"' in page


def test_the_register_is_linked_for_staff_only(viewer_user: User) -> None:
    client = client_of(viewer_user)
    assert "Register" not in words_of(client.get("/due/")).split("Due work")[0]
    User.objects.filter(pk=viewer_user.pk).update(is_staff=True)
    assert 'href="/admin/"' in client.get("/due/").content.decode()


def test_scripts_and_styles_come_from_here(viewer_user: User) -> None:
    page = client_of(viewer_user).get("/fortnight/").content.decode()
    assert "//" not in page.replace("http://www.w3.org/2000/svg", "").replace("<!-- //", "").split("<body")[0]


def test_an_unknown_action_is_said_not_a_fault(planner_user: User) -> None:
    response = client_of(planner_user).post("/fortnight/", {"do": "dance"})
    assert response.status_code == 400
    said = words_of(response)
    assert "'dance' is nothing this page can do; it can: solve, stop, " in said
    assert ", publish" in said


@pytest.mark.parametrize("page", ["/today/", "/year/", "/fortnight/"])
def test_somebody_elses_base_and_none_such_answer_alike(page: str, stranger: User, farm: object) -> None:
    north = farm.north.pk  # type: ignore[attr-defined]
    client = client_of(stranger)
    assert [client.get(f"{page}?base={pk}").status_code for pk in (north, 999_999, "x")] == [404, 404, 404]

"""The Due page."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User

from planner.models import Interval, WorkDone
from tests import farm as rows
from tests.api_helpers import assert_recorded, queries_of
from tests.farm import Farm
from tests.page_rows import client_of, words_of


def test_what_is_overdue_stands_first_with_what_it_stops(viewer_user: User) -> None:
    words = words_of(client_of(viewer_user).get("/due/"))
    assert "13 all" in words
    assert "H1: lift shut." in words
    assert words.index("● overdue 21 d over") < words.index("◕ late 16 d over") < words.index("○ not open H3")


def test_days_are_those_of_the_site(viewer_user: User) -> None:
    assert "Seen on HILL Wed 10 Jun 2026" in words_of(client_of(viewer_user).get("/due/"))


def test_state_and_site_filter(farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    words = words_of(client.get(f"/due/?state=overdue&site={farm.hill.pk}"))
    assert "Lift inspection" in words
    assert "Blade inspection" not in words
    assert words_of(client.get("/due/?state=due")).count("Nothing here is due.") == 1


@pytest.mark.parametrize("query", ["state=sleepy", "site=999999", "site=x", "page=-1", "page=x", "site=%00"])
def test_a_bad_filter_is_a_sentence_and_a_400(query: str, viewer_user: User) -> None:
    response = client_of(viewer_user).get(f"/due/?{query}")
    assert response.status_code == 400
    assert 'role="alert"' in response.content.decode()
    assert "13 all" in words_of(response)


def test_a_foreign_site_and_none_such_answer_alike(farm: Farm, stranger: User) -> None:
    client = client_of(stranger)
    answers = [words_of(client.get(f"/due/?site={pk}")) for pk in (farm.hill.pk, 999_999)]
    assert answers[0] == answers[1]
    assert "H1" not in answers[0]


@pytest.mark.parametrize(("role", "sees"), [("planner", True), ("lead", True), ("technician", False), ("viewer", False)])
def test_raising_orders_is_offered_to_those_who_may(role: str, sees: bool, farm: Farm) -> None:
    user = rows.build_user(role, role, farm.hill)
    assert ("Raise orders for Hillside" in words_of(client_of(user).get("/due/"))) is sees


def test_absorbed_work_names_what_it_is_done_with(viewer_user: User) -> None:
    assert "Done with svc-12." in words_of(client_of(viewer_user).get("/due/"))


def test_nothing_due_says_what_to_do(farm: Farm, viewer_user: User) -> None:
    WorkDone.objects.all().delete()
    Interval.objects.update(active=False)
    assert "give the turbines intervals in the register" in words_of(client_of(viewer_user).get("/due/"))


def test_many_turbines_cost_as_many_queries_as_few(farm: Farm, viewer_user: User) -> None:
    client = client_of(viewer_user)
    before = queries_of(lambda: client.get("/due/"))
    for step in range(4, 30):
        rows.build_turbine(farm.hill, f"H{step}", farm.h1.type, step, 100)
    assert queries_of(lambda: client.get("/due/")) == before
    assert "Page 1 of 2" in words_of(client.get("/due/"))
    assert_recorded("page due", before)

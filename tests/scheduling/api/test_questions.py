"""Questions about plans over the API: asked with 202, watched, read once answered; and two plans compared."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User

from planner.models import Site
from scheduling.models import Plan, PlanQuestion
from scheduling.services.questions import question_execute
from tests.api_helpers import API, assert_error, assert_same_cost, client_of, rows_of
from tests.farm import NOW, Farm
from tests.scheduling.api.scenes import drafted


@pytest.fixture
def plan(farm: Farm) -> Plan:
    """A draft that holds W-1 and leaves W-2 out."""
    return drafted(farm)


def ways(plan: Plan, order: str = "W-2") -> str:
    return f"{API}plans/{plan.pk}/left-out/{order}/ways-in/"


def test_asked_watched_and_answered(plan: Plan, planner_user: User) -> None:
    client = client_of(planner_user)
    assert assert_error(client.get(ways(plan)), 404)["code"] == "not asked"
    asked = client.post(ways(plan), {})
    assert asked.status_code == 202, asked.content
    watch = asked["Location"]
    assert (client.get(watch).json()["state"], client.get(ways(plan)).status_code) == ("queued", 202)
    question_execute(question_id=asked.json()["id"])
    told = client.get(watch).json()
    assert (told["state"], told["is_open"], told["order_number"]) == ("answered", False, "W-2")
    assert told["answer"]["ways"][0]["cost"] < 0
    assert client.get(ways(plan)).json() == told
    again = client.post(ways(plan), {})
    assert (again.status_code, again.json()["id"]) == (200, told["id"])


def test_where_else_a_visit_could_stand(plan: Plan, planner_user: User) -> None:
    client, visit = client_of(planner_user), plan.visits.get()
    address = f"{API}visits/{visit.pk}/moves/"
    asked = client.post(address, {})
    assert asked.status_code == 202
    question_execute(question_id=asked.json()["id"])
    told = client.get(address).json()["answer"]
    assert [move["date"] for move in told["moves"]] == ["2026-06-11"]
    assert told["parts"]["teams"] == 40.0


def test_two_plans_compared(plan: Plan, planner_user: User, viewer_user: User) -> None:
    client = client_of(planner_user)
    told = client.get(f"{API}plans/{plan.pk}/compare/{plan.pk}/").json()
    assert (told["text"], told["orders_won"]) == ("nothing changed; 0 EUR less than before.", [])
    assert_error(client.get(f"{API}plans/{plan.pk}/compare/987654/"), 404)
    assert_error(client_of(viewer_user).get(f"{API}plans/{plan.pk}/compare/{plan.pk}/"), 403)


def test_who_may_ask_and_look(farm: Farm, plan: Plan, viewer_user: User, stranger: User, planner_user: User) -> None:
    assert_error(client_of(viewer_user).post(ways(plan), {}), 403)
    assert_error(client_of(stranger).post(ways(plan), {}), 404)
    assert_error(client_of(None).post(ways(plan), {}), 401)
    assert_error(client_of(planner_user).post(ways(plan, "W-1"), {}), 400, "order")
    client_of(planner_user).post(ways(plan), {})
    assert len(rows_of(client_of(viewer_user).get(f"{API}plan-questions/"))) == 1
    assert rows_of(client_of(stranger).get(f"{API}plan-questions/")) == []
    Site.objects.filter(pk=farm.plain.pk).update(base=farm.north)  # now the base has a site that is not the viewer's
    assert rows_of(client_of(viewer_user).get(f"{API}plan-questions/")) == []
    assert_error(client_of(viewer_user).get(ways(plan)), 403)


def test_the_list_costs_the_same_however_long(plan: Plan, planner_user: User) -> None:
    def ask(first: int, count: int) -> None:
        PlanQuestion.objects.bulk_create(
            PlanQuestion(plan=plan, kind="ways in", order_number=f"X-{n}", beat_at=NOW) for n in range(first, first + count)
        )

    ask(0, 1)
    assert_same_cost(client_of(planner_user), f"{API}plan-questions/", "api plan-questions", lambda: ask(1, 5))

"""Asking on the Fortnight page: what would let an order in, where else a visit could stand, two plans side by side."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User

from scheduling.models import Plan, PlanQuestion
from scheduling.services.questions import question_execute
from tests.farm import NOW, Farm
from tests.page_rows import client_of, words_of
from tests.scheduling.api.scenes import drafted

HTMX = {"headers": {"HX-Request": "true"}}


@pytest.fixture
def plan(farm: Farm) -> Plan:
    """A draft that holds W-1 and leaves W-2 out."""
    return drafted(farm)


def ways(plan: Plan, order: str = "W-2") -> str:
    return f"/plans/{plan.pk}/left-out/{order}/ways-in/"


def test_the_page_offers_the_questions_to_planners_only(plan: Plan, planner_user: User, viewer_user: User) -> None:
    words = words_of(client_of(planner_user).get("/fortnight/"))
    assert "What would let it in?" in words
    assert "What does it cost, where else?" in words
    assert "What would let it in?" not in words_of(client_of(viewer_user).get("/fortnight/"))


def test_a_part_that_is_asked_waits_and_tells(plan: Plan, planner_user: User) -> None:
    client = client_of(planner_user)
    assert "What would let it in?" in words_of(client.get(ways(plan), **HTMX))
    waiting = client.post(ways(plan), **HTMX)
    assert "waiting for a worker" in words_of(waiting)
    assert 'hx-trigger="every 2s"' in waiting.content.decode()
    question_execute(question_id=PlanQuestion.objects.get().pk)
    told = client.get(ways(plan), **HTMX)
    assert "Other orders are moved or left out for it" in words_of(told)
    assert "are never lifted" in words_of(told)
    assert "hx-trigger" not in told.content.decode()
    assert b"<html" not in told.content


def test_without_htmx_it_is_a_page(plan: Plan, planner_user: User) -> None:
    client = client_of(planner_user)
    assert client.post(ways(plan)).status_code == 302
    assert b"<html" in client.get(ways(plan)).content
    question_execute(question_id=PlanQuestion.objects.get().pk)
    assert "A better plan was found with it." in words_of(client.get(ways(plan)))


def test_a_visit_and_its_other_days(plan: Plan, planner_user: User) -> None:
    client, address = client_of(planner_user), f"/plans/{plan.pk}/visits/{plan.visits.get().pk}/moves/"
    client.post(address, **HTMX)
    question_execute(question_id=PlanQuestion.objects.get().pk)
    words = words_of(client.get(address, **HTMX))
    assert "Wed 10 Jun, 08:30: 100 % chance" in words
    assert "Thu 11 Jun, " in words


def test_a_failed_one_can_be_asked_again(plan: Plan, planner_user: User) -> None:
    client = client_of(planner_user)
    client.post(ways(plan), **HTMX)
    PlanQuestion.objects.update(state="failed", text="The worker was lost.")
    assert "The worker was lost. Ask again" in words_of(client.get(ways(plan), **HTMX))
    assert "waiting for a worker" in words_of(client.post(ways(plan), **HTMX))


def test_what_is_not_there_or_not_theirs(plan: Plan, planner_user: User, viewer_user: User, stranger: User) -> None:
    client = client_of(planner_user)
    assert client.get(ways(plan, "W-1")).status_code == 404
    for key in ("0", "x", "99999"):
        assert client.get(f"/plans/{plan.pk}/visits/{key}/moves/").status_code == 404
    for user in (viewer_user, stranger):
        assert client_of(user).get(ways(plan)).status_code == 404
        assert client_of(user).post(ways(plan)).status_code == 404
    assert client_of(None).get(ways(plan)).status_code == 302


def test_a_draft_against_the_plan_people_go_by(plan: Plan, planner_user: User) -> None:
    client = client_of(planner_user)
    assert "Against the plan people go by" not in words_of(client.get("/fortnight/"))
    told = client.get(f"/plans/{plan.pk}/compare/{plan.pk}/", **HTMX)
    assert "nothing changed" in words_of(told)
    assert "Both plans answer the same problem" in words_of(told)
    Plan.objects.filter(pk=plan.pk).update(state="published", published_at=NOW)
    run = plan.run
    run.pk = None
    run.save()
    Plan.objects.create(
        base=plan.base, run=run, first_day=plan.first_day, last_day=plan.last_day, value=1, bound=1, created_at=NOW, state="draft"
    )
    assert "Against the plan people go by" in words_of(client.get("/fortnight/"))
    run.best = None
    run.save()
    newest = Plan.objects.get(state="draft")
    assert client.get(f"/plans/{plan.pk}/compare/{newest.pk}/").status_code == 400

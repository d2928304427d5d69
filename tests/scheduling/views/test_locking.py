"""Holding and mending on the pages."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User

from planner.models import Absence
from scheduling.models import FrozenDay, Lock, Plan, Run, Visit
from tests.farm import TODAY, Farm
from tests.page_rows import build_order, build_plan, build_visit, client_of, words_of
from tests.scheduling.api.scenes import forecast

THURSDAY = TODAY + timedelta(days=1)


@pytest.fixture
def visit(farm: Farm) -> Visit:
    """H2 on Thursday at nine, published."""
    return build_visit(build_plan(farm), farm, build_order(farm.h2, farm), day=THURSDAY)


def post(user: User, **form: Any) -> Any:
    return client_of(user).post("/fortnight/", form, follow=True)


def test_a_pinned_visit_is_marked_in_words_and_in_the_drawing(visit: Visit, planner_user: User) -> None:
    assert 'class="held"' not in client_of(planner_user).get("/fortnight/").content.decode()
    response = post(planner_user, do="pin", visit=visit.pk, reason="crane")
    words = words_of(response)
    assert "H2 on Thu 11 Jun 2026 is pinned to its start." in words
    assert "▣ visit stays at Thu 11 Jun 2026, 09:00 CEST" in words
    assert "▣ start" in words
    assert 'class="held"' in response.content.decode()
    assert "held: start" in response.content.decode()


def test_teams_days_and_release(visit: Visit, planner_user: User) -> None:
    assert "▣ visit with Ada, Ben" in words_of(post(planner_user, do="pin team", visit=visit.pk))
    words = words_of(post(planner_user, do="not this day", visit=visit.pk))
    assert "▣ not on Thu 11 Jun 2026" in words
    assert "is forbidden there" in words_of(post(planner_user, do="freeze", day="2026-06-11"))
    for lock in Lock.objects.all():
        assert "is released." in words_of(post(planner_user, do="release", lock=lock.pk))
    assert "▣ Thu 11 Jun 2026 is frozen" in words_of(post(planner_user, do="freeze", day="2026-06-11", reason="visitors"))
    assert "▣ day frozen" in words_of(client_of(planner_user).get("/fortnight/"))
    words = words_of(post(planner_user, do="release day", frozen=FrozenDay.objects.get().pk))
    assert "Thu 11 Jun 2026 may change again." in words


@pytest.mark.parametrize("form", [{"do": "pin"}, {"do": "pin team"}, {"do": "not this day"}])
def test_others_hold_nothing(form: dict[str, str], visit: Visit, lead_user: User, stranger: User) -> None:
    assert client_of(lead_user).post("/fortnight/", {**form, "visit": visit.pk}).status_code == 403
    assert client_of(stranger).post("/fortnight/", {**form, "visit": visit.pk}).status_code == 400
    assert not Lock.objects.exists()
    assert "Pin start" not in words_of(client_of(lead_user).get("/fortnight/"))


@pytest.mark.parametrize(
    "form", [{"do": "release", "lock": "99"}, {"do": "release day", "frozen": "99"}, {"do": "freeze", "day": "x"}]
)
def test_nonsense_is_a_sentence(form: dict[str, str], visit: Visit, planner_user: User) -> None:
    assert client_of(planner_user).post("/fortnight/", form).status_code == 400


class TestMend:
    def form(self, farm: Farm, **more: Any) -> dict[str, Any]:
        ada = farm.people["Ada"].pk
        return {"do": "mend", "technician": ada, "first_day": "2026-06-11", "last_day": "2026-06-12", "reason": "flu", **more}

    @pytest.mark.parametrize("page", ["/", "/fortnight/"])
    def test_somebody_is_ill(self, page: str, farm: Farm, visit: Visit, planner_user: User) -> None:
        forecast(farm)
        page = "/today/" if page == "/" else page
        assert "Somebody is ill" in words_of(client_of(planner_user).get(page))
        response = client_of(planner_user).post(page, self.form(farm), follow=True)
        assert "Ada is away from Thu 11 Jun 2026 to Fri 12 Jun 2026. Run" in words_of(response)
        assert Absence.objects.filter(technician=farm.people["Ada"], reason="flu").exists()
        assert Run.objects.get(state="queued").params["start"] == "published"

    def test_nobody_is_ill_but_something_changed(self, farm: Farm, visit: Visit, planner_user: User) -> None:
        forecast(farm)
        response = client_of(planner_user).post("/fortnight/", {"do": "mend", "technician": ""}, follow=True)
        assert "mends the plan from" in words_of(response)

    def test_others_may_not(self, farm: Farm, visit: Visit, lead_user: User) -> None:
        forecast(farm)
        assert "Somebody is ill" not in words_of(client_of(lead_user).get("/fortnight/"))
        assert client_of(lead_user).post("/fortnight/", self.form(farm)).status_code == 403
        assert not Absence.objects.filter(reason="flu").exists()

    def test_nobody_of_that_number(self, farm: Farm, visit: Visit, planner_user: User) -> None:
        assert client_of(planner_user).post("/fortnight/", self.form(farm, technician="9999")).status_code == 400

    def test_what_changed_stands_with_the_draft(self, farm: Farm, planner_user: User) -> None:
        build_order(farm.h2, farm)
        plan = build_plan(farm, state="draft")
        told = [{"order": "HILL-1", "text": "HILL-1, Thu: is left out (Ada is away)"}, {"order": "X", "text": "secret"}]
        Run.objects.filter(pk=plan.run_id).update(changes=told)
        words = words_of(client_of(planner_user).get(f"/fortnight/?plan={Plan.objects.get().pk}"))
        assert "What the repair changed HILL-1, Thu: is left out (Ada is away)" in words
        assert "secret" not in words

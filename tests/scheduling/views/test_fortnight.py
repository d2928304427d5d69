"""The fortnight's page: plans, solving, stopping, publishing."""

from __future__ import annotations

from datetime import time, timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User

from scheduling.fortnight.plan import plan_to_json
from scheduling.models import Plan, Run, Visit
from scheduling.services.publish import plan_draft
from tests import farm as rows
from tests.api_helpers import assert_recorded, queries_of
from tests.farm import NOW, TODAY, Farm
from tests.page_rows import build_order, build_plan, build_run, build_visit, client_of, words_of
from tests.scheduling.services import scenes


def draft(farm: Farm) -> Plan:
    """A draft that the checker finds nothing in."""
    list(scenes.orders(farm))
    scenes.ready(farm)
    made = scenes.good_plan()
    return plan_draft(run=scenes.run(farm, state="done", best=plan_to_json(made), value=made.value / 100, bound=100.0))


def test_a_plan_is_told_by_day_and_team_with_start_down_by_and_chance(farm: Farm, viewer_user: User) -> None:
    plan = build_plan(farm)
    build_visit(plan, farm, build_order(farm.h2, farm))
    response = client_of(viewer_user).get("/fortnight/")
    words = words_of(response)
    assert "✓ published" in words
    assert "Wed 10 Jun 2026 09:00 CEST 13:00 CEST H2 HILL HILL-1 Yearly service Ada, Ben van 1 lift 85 %" in words
    assert 'class="drawing"' in response.content.decode()


def test_what_must_be_accepted_first_stands_beside_the_work(farm: Farm, viewer_user: User) -> None:
    visit = build_visit(build_plan(farm), farm, build_order(farm.h2, farm))
    Visit.objects.filter(pk=visit.pk).update(only_if="only if Ladder inspection, H2 (HILL-7) of Mon 8 Jun is accepted")
    words = words_of(client_of(viewer_user).get("/fortnight/"))
    assert "Yearly service only if Ladder inspection, H2 (HILL-7) of Mon 8 Jun is accepted Ada, Ben" in words
    told = client_of(viewer_user).get("/api/v1/visits/").json()["results"]
    assert [one["only_if"] for one in told] == ["only if Ladder inspection, H2 (HILL-7) of Mon 8 Jun is accepted"]


def test_cost_parts_value_bound_and_gap(farm: Farm, viewer_user: User) -> None:
    build_plan(farm)
    words = words_of(client_of(viewer_user).get("/fortnight/"))
    assert "Cost EUR 12,345 Proven least EUR 12,000 Gap 2.8 %" in words
    assert words.index("left out EUR 11,424") < words.index("lost energy EUR 800") < words.index("lateness EUR 120")


def test_left_out_and_why(farm: Farm, viewer_user: User) -> None:
    build_order(farm.h1, farm, "HILL-9")
    build_plan(farm, left_out=[{"order": "HILL-9", "label": "", "reason": "The parts come too late."}])
    assert "HILL-9 H1 Yearly service Sat 20 Jun 2026 The parts come too late." in words_of(
        client_of(viewer_user).get("/fortnight/")
    )


def test_nothing_planned_says_what_to_do(farm: Farm, viewer_user: User, planner_user: User) -> None:
    assert "No plan yet. A planner of this base solves" in words_of(client_of(viewer_user).get("/fortnight/"))
    words = words_of(client_of(planner_user).get("/fortnight/"))
    assert "No plan yet. Raise orders from due work" in words
    assert "Solve a new plan" in words


def test_the_newest_draft_is_shown_beside_the_plan_people_go_by(farm: Farm, planner_user: User) -> None:
    told, made = build_plan(farm, published_at=NOW - timedelta(days=1)), build_plan(farm, state="draft")
    client = client_of(planner_user)
    words = words_of(client.get("/fortnight/"))
    assert f"Plan {made.pk}, " in words
    assert f"✓ published plan {told.pk}," in words
    assert "Publish this plan" in words
    shown = words_of(client.get(f"/fortnight/?plan={told.pk}"))
    assert f"Plan {told.pk}, " in shown
    assert "Publish this plan" not in shown


def test_a_draft_older_than_what_was_published_is_passed_over(farm: Farm, viewer_user: User) -> None:
    old = build_plan(farm, state="draft")
    told = build_plan(farm, published_at=NOW + timedelta(minutes=1))
    words = words_of(client_of(viewer_user).get("/fortnight/"))
    assert f"Plan {told.pk}, " in words
    assert f"plan {old.pk}," not in words


@pytest.mark.parametrize(("plan", "status"), [("999999", 404), ("x", 400), ("0", 400)])
def test_no_such_plan(plan: str, status: int, viewer_user: User, farm: Farm) -> None:
    assert client_of(viewer_user).get(f"/fortnight/?plan={plan}").status_code == status


def test_somebody_elses_plan_is_a_404(farm: Farm, stranger: User) -> None:
    plan = build_plan(farm)
    assert client_of(stranger).get(f"/fortnight/?plan={plan.pk}").status_code == 404


def test_visits_and_orders_of_a_site_that_is_not_yours_are_only_counted(farm: Farm, viewer_user: User) -> None:
    farm.plain.base = farm.north
    farm.plain.save()
    secret = build_order(farm.p1, farm, "PLAIN-1")
    plan = build_plan(farm, left_out=[{"order": "PLAIN-1", "reason": "no room"}])
    build_visit(plan, farm, build_order(farm.h2, farm))
    build_visit(plan, farm, secret, start=time(14))
    words = words_of(client_of(viewer_user).get("/fortnight/"))
    assert "PLAIN-1" not in words
    assert "1 visits at sites that are not yours are not shown." in words
    assert "Nothing is left out." in words


class TestPublish:
    def test_a_planner_publishes_a_draft(self, farm: Farm, planner_user: User) -> None:
        plan = draft(farm)
        response = client_of(planner_user).post("/fortnight/", {"do": "publish", "plan": plan.pk}, follow=True)
        assert f"Plan {plan.pk} is published; its orders are slotted." in words_of(response)
        plan.refresh_from_db()
        assert (plan.state, plan.published_by) == ("published", planner_user)

    def test_twice_is_a_sentence(self, farm: Farm, planner_user: User) -> None:
        plan, client = draft(farm), client_of(planner_user)
        client.post("/fortnight/", {"do": "publish", "plan": plan.pk})
        response = client.post("/fortnight/", {"do": "publish", "plan": plan.pk})
        assert response.status_code == 409
        assert "only a draft can be published" in words_of(response)

    @pytest.mark.parametrize("role", ["lead", "technician", "viewer"])
    def test_others_may_not(self, role: str, farm: Farm) -> None:
        plan = draft(farm)
        client = client_of(rows.build_user(role, role, farm.hill))
        assert "Publish this plan" not in words_of(client.get("/fortnight/"))
        assert client.post("/fortnight/", {"do": "publish", "plan": plan.pk}).status_code == 403
        plan.refresh_from_db()
        assert plan.state == "draft"

    @pytest.mark.parametrize("plan", ["", "x", "999999"])
    def test_no_such_plan_is_a_sentence(self, plan: str, planner_user: User) -> None:
        assert client_of(planner_user).post("/fortnight/", {"do": "publish", "plan": plan}).status_code == 400


class TestSolve:
    def form(self, **more: Any) -> dict[str, Any]:
        return {"do": "solve", "first_day": "2026-06-10", "days": 14, "seconds": 20, **more}

    @pytest.mark.parametrize(
        ("field", "value", "said"),
        [
            ("first_day", "2026-02-31", "is no day"),
            ("days", "0", "days is 0"),
            ("days", "400", "days is 400"),
            ("days", "many", "no whole number"),
            ("seconds", "0", "time"),
        ],
    )
    def test_bad_input_is_a_sentence(self, field: str, value: str, said: str, planner_user: User) -> None:
        response = client_of(planner_user).post("/fortnight/", self.form(**{field: value}))
        assert response.status_code == 400
        assert said in words_of(response)
        assert not Run.objects.exists()

    @pytest.mark.parametrize("role", ["lead", "technician", "viewer"])
    def test_others_may_not(self, role: str, farm: Farm) -> None:
        client = client_of(rows.build_user(role, role, farm.hill))
        assert "Solve a new plan" not in words_of(client.get("/fortnight/"))
        assert client.post("/fortnight/", self.form()).status_code == 403
        assert not Run.objects.exists()

    def test_a_second_run_is_refused_naming_the_first(self, farm: Farm, planner_user: User) -> None:
        run = build_run(farm, state="solving")
        response = client_of(planner_user).post("/fortnight/", self.form())
        assert response.status_code == 409
        assert f"Run {run.pk}" in words_of(response)

    def test_somebody_elses_base_is_a_404(self, farm: Farm, stranger: User) -> None:
        assert client_of(stranger).post("/fortnight/", self.form(base=farm.north.pk)).status_code == 404


class TestStop:
    def test_an_open_run_is_asked_to_stop(self, farm: Farm, planner_user: User) -> None:
        run = build_run(farm, state="solving")
        response = client_of(planner_user).post("/fortnight/", {"do": "stop", "run": run.pk}, follow=True)
        assert "it keeps the best it has" in words_of(response)
        assert "asked to stop" in words_of(response)
        run.refresh_from_db()
        assert run.stop_asked

    def test_an_ended_one_is_a_sentence(self, farm: Farm, planner_user: User) -> None:
        response = client_of(planner_user).post("/fortnight/", {"do": "stop", "run": build_run(farm).pk})
        assert response.status_code == 409
        assert "there is nothing to stop" in words_of(response)

    def test_others_may_not(self, farm: Farm, lead_user: User) -> None:
        run = build_run(farm, state="solving")
        assert client_of(lead_user).post("/fortnight/", {"do": "stop", "run": run.pk}).status_code == 403
        run.refresh_from_db()
        assert not run.stop_asked

    def test_somebody_elses_run_is_none(self, farm: Farm, stranger: User) -> None:
        run = build_run(farm, state="solving")
        assert client_of(stranger).post("/fortnight/", {"do": "stop", "run": run.pk}).status_code == 400


def test_many_visits_cost_as_many_queries_as_few(farm: Farm, viewer_user: User) -> None:
    plan, order = build_plan(farm), build_order(farm.h2, farm)
    build_visit(plan, farm, order)
    client = client_of(viewer_user)
    before = queries_of(lambda: client.get("/fortnight/"))
    for n in range(1, 12):
        build_visit(plan, farm, build_order(farm.h1, farm, f"HILL-1{n}"), day=TODAY + timedelta(days=n))
    assert queries_of(lambda: client.get("/fortnight/")) == before
    assert_recorded("page fortnight", before)

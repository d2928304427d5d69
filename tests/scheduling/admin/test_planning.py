"""Weather, runs, plans and calls in the admin site: read within one's sites, never typed, the bulk of them left where it is."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db.models import Model

from planner.cautions import CAUTION
from scheduling.models import Call, Plan, PlanQuestion, Round, RoundItem, Run, Visit, VisitJob, WeatherFeed, WeatherSet
from tests import page_rows
from tests.admin_forms import address, complaints, send
from tests.admin_rows import grow, staff
from tests.farm import NOW, Farm

WRITTEN_BY_SERVICES = (Run, Plan, PlanQuestion, Visit, VisitJob, Round, RoundItem, Call, WeatherSet)


@pytest.mark.parametrize("model", WRITTEN_BY_SERVICES, ids=lambda one: one.__name__)
def test_only_services_write_it(model: type[Model], farm: Farm, planner_user: User) -> None:
    row: Any = grow(farm, model, 1, 1)[0]
    client = staff(planner_user)
    assert client.get(address(model, "add")).status_code == 403
    assert client.post(address(model, "change", row.pk), {"state": "published"}).status_code == 403
    assert client.post(address(model, "delete", row.pk), {"post": "yes"}).status_code == 403
    client.post(address(model, "changelist"), {"action": "delete_selected", "_selected_action": [row.pk], "post": "yes"})
    assert model._default_manager.filter(pk=row.pk).exists()


@pytest.mark.parametrize("model", WRITTEN_BY_SERVICES, ids=lambda one: one.__name__)
def test_a_stranger_finds_nothing_of_hill(model: type[Model], farm: Farm, stranger: User) -> None:
    row = grow(farm, model, 1, 1)[0]
    client = staff(stranger)
    assert client.get(address(model, "changelist")).context["cl"].result_count == 0
    assert client.get(address(model, "change", row.pk)).status_code == 302


@pytest.mark.parametrize("model", [Plan, Visit, VisitJob, Call], ids=lambda one: one.__name__)
def test_what_names_a_climb_carries_the_caution(model: type[Model], farm: Farm, planner_user: User) -> None:
    row = grow(farm, model, 1, 1)[0]
    client = staff(planner_user)
    for where in (address(model, "changelist"), address(model, "change", row.pk)):
        assert CAUTION in page_rows.words_of(client.get(where))


@pytest.mark.parametrize(
    ("model", "page"),
    [
        (Run, "/fortnight/?base={base}"), (Plan, "/fortnight/?base={base}&amp;plan={row}"), (Round, "/year/?base={base}"),
        (RoundItem, "/year/?base={base}"), (Visit, "/fortnight/?base={base}&amp;plan={plan}"),
        (Call, "/fortnight/?base={base}&amp;plan={plan}"),
    ],
    ids=lambda one: getattr(one, "__name__", ""),
)  # fmt: skip
def test_it_leads_to_the_work_page(model: type[Model], page: str, farm: Farm, planner_user: User) -> None:
    row = grow(farm, model, 1, 1)[0]
    plan = Plan.objects.order_by("pk").first()
    there = page.format(base=farm.north.pk, row=row.pk, plan=plan.pk if plan else 0)
    client = staff(planner_user)
    assert there in client.get(address(model, "changelist")).content.decode()
    assert client.get(there.replace("&amp;", "&")).status_code == 200


def test_times_stand_in_the_zone_of_the_site(farm: Farm, planner_user: User) -> None:
    plan = page_rows.build_plan(farm)
    visit = page_rows.build_visit(plan, farm, page_rows.build_order(farm.h1, farm))
    Call.objects.create(visit=visit, verdict="go", said_at=NOW, chance=0.799)
    client = staff(planner_user)
    for model in (Visit, VisitJob, Call):
        words = page_rows.words_of(client.get(address(model, "changelist")))
        assert "Wed 10 Jun 2026, 09:00 CEST" in words
        assert "07:00" not in words
        assert "UTC" not in words
    assert "Ada, Ben" in page_rows.words_of(client.get(address(Visit, "changelist")))
    assert "79 %" in page_rows.words_of(client.get(address(Call, "changelist"))), "never rounded up"


def test_the_bulk_of_a_run_is_not_poured_into_its_page(farm: Farm, planner_user: User) -> None:
    run = page_rows.build_run(farm, problem={"marker": "poured"}, best={"marker": "poured"}, trace=[[1, 2, 3]])
    page = staff(planner_user).get(address(Run, "change", run.pk)).content.decode()
    assert "poured" not in page
    assert "Solved to the gap." in page


def test_a_forecast_says_what_its_series_are(farm: Farm, planner_user: User) -> None:
    stored = page_rows.build_forecast(farm.hill)
    words = page_rows.words_of(staff(planner_user).get(address(WeatherSet, "change", stored.pk)))
    assert "wind in m/s at 100 m, mean of 10 min" in words


def test_a_recipe_that_leaves_something_open_is_refused(farm: Farm, planner_user: User) -> None:
    found = complaints(send(staff(planner_user), address(WeatherFeed, "add"), site=farm.hill.pk, name="mast", recipe="{}"))
    assert list(found) == ["recipe"]
    assert not WeatherFeed.objects.exists()

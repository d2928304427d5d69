"""A sick call: the absence and the run that mends the plan, both or neither."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest
from django.contrib.auth.models import User

from planner.errors import ConflictError, NotAllowedError, PlannerError
from planner.models import Absence
from scheduling.models import Plan, Run
from scheduling.selectors.plans import plan_current
from scheduling.services import runs
from scheduling.services.publish import plan_publish
from scheduling.services.repairs import Ill, repair_create
from tests.farm import NOW, TODAY, Farm
from tests.page_rows import build_order, build_plan, build_run, build_visit
from tests.scheduling.api.scenes import forecast

THURSDAY = TODAY + timedelta(days=1)


@pytest.fixture
def told(farm: Farm) -> Plan:
    """A published fortnight with Ada and Ben at H2 on Thursday, and a calm forecast."""
    forecast(farm)
    plan = build_plan(farm)
    build_visit(plan, farm, build_order(farm.h2, farm), day=THURSDAY)
    return plan


def ill(farm: Farm, who: str = "Ada") -> Ill:
    return Ill(farm.people[who], THURSDAY, THURSDAY + timedelta(days=1), "flu")


def test_the_absence_is_recorded_and_the_run_frozen_with_it(farm: Farm, told: Plan, planner_user: User) -> None:
    run = repair_create(base=farm.north, by=planner_user, ill=ill(farm), now=NOW)
    absence = Absence.objects.get(technician=farm.people["Ada"], first_day=THURSDAY)
    assert (absence.last_day, absence.reason) == (date(2026, 6, 12), "flu")
    assert run.params == {"time_limit_s": 12.0, "gap": 0.01, "start": "published"}
    assert (run.first_day, run.days) == (TODAY, 14)
    ada = next(one for one in run.problem["people"] if one["id"] == "Ada")
    assert not {1, 2} & {shift["day"] for shift in ada["shifts"]}


def test_a_day_that_has_begun_is_left_to_the_morning(farm: Farm, told: Plan) -> None:
    build_visit(told, farm, build_order(farm.h1, farm, "HILL-2"), start=time(7))
    run = repair_create(base=farm.north, by=None, now=NOW)
    assert (run.first_day, run.days) == (THURSDAY, 13)


def test_without_a_published_plan_nothing_is_kept(farm: Farm, planner_user: User) -> None:
    forecast(farm)
    before = Absence.objects.count()
    with pytest.raises(ConflictError, match="nothing to mend"):
        repair_create(base=farm.north, by=planner_user, ill=ill(farm), now=NOW)
    assert (Absence.objects.count(), Run.objects.count()) == (before, 0)


def test_with_a_run_open_nothing_is_kept(farm: Farm, told: Plan) -> None:
    build_run(farm, state="solving")
    before = Absence.objects.count()
    with pytest.raises(ConflictError, match="wait for it or stop it"):
        repair_create(base=farm.north, by=None, ill=ill(farm), now=NOW)
    assert Absence.objects.count() == before


def test_others_may_not_and_nobody_of_elsewhere(farm: Farm, told: Plan, lead_user: User) -> None:
    with pytest.raises(NotAllowedError):
        repair_create(base=farm.north, by=lead_user, ill=ill(farm), now=NOW)
    stranger = farm.people["Ada"]
    stranger.base = farm.plain.base
    with pytest.raises(PlannerError, match="of another base"):
        repair_create(base=farm.north, by=None, ill=Ill(stranger, THURSDAY, THURSDAY), now=NOW)
    upside_down = Ill(farm.people["Ben"], THURSDAY, TODAY)
    with pytest.raises(PlannerError, match="lies before"):
        repair_create(base=farm.north, by=None, ill=upside_down, now=NOW)


@pytest.mark.django_db(transaction=True)
def test_the_run_mends_tells_and_is_published_like_any_other(farm: Farm, told: Plan) -> None:
    run = repair_create(base=farm.north, by=None, ill=ill(farm), params={"time_limit_s": 2}, now=NOW)
    runs.run_execute(run_id=run.pk, worker="here")
    run.refresh_from_db()
    assert run.state == "done", run.text
    assert "1 published visit is hit (Ada is not there on Thu 11 Jun)" in run.text
    assert [row["order"] for row in run.changes] == ["HILL-1"]
    assert "Thu 11 Jun, 09:00" in run.changes[0]["text"]
    assert "Ada is not there" in run.changes[0]["text"]
    Run.objects.filter(pk=run.pk).update(asked_at=NOW)
    run.refresh_from_db()
    plan_publish(plan=run.plan, by=None, now=NOW + timedelta(minutes=1))
    current = plan_current(base=farm.north, day=THURSDAY)
    assert current is not None
    assert current.pk == run.plan.pk

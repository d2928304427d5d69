"""A year's result as rows: every item in its week or left out, with its reason; from the register to the round and back."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from planner.errors import ConflictError
from planner.models import Interval
from scheduling.builders.round import round_problem
from scheduling.models import Round, Run
from scheduling.selectors.plans import round_current, round_items
from scheduling.services import runs
from scheduling.services.rounds import round_draft
from scheduling.year import plan as plans
from scheduling.year import problem as problems
from scheduling.year.check import recomputed_parts
from tests.farm import NOW, Farm

MONDAY = date(2026, 6, 8)


def made(farm: Farm, weeks: int = 13) -> tuple[problems.Problem, plans.Plan]:
    """The due work of 13 weeks: each item by itself in its first open week, the last item left out."""
    problem = round_problem(base=farm.north, first_day=MONDAY, weeks=weeks)
    placed = [plans.Placement(item.id, max(item.opens, item.weeks[0])) for item in problem.items[:-1]]
    bare = plans.Plan(tuple(placed), (problem.items[-1].id,))
    return problem, replace(bare, parts=recomputed_parts(problem, bare))


def run_of(farm: Farm) -> Run:
    problem, plan = made(farm)
    fields: dict[str, Any] = {"problem": problems.problem_to_json(problem), "best": plans.plan_to_json(plan)}
    return Run.objects.create(base=farm.north, kind="year", first_day=MONDAY, days=91, state="done", **fields)


def test_every_item_has_its_row(farm: Farm) -> None:
    problem, plan = made(farm)
    drafted = round_draft(run=run_of(farm))
    items = list(round_items(drafted))
    assert (drafted.first_day, drafted.last_day, drafted.state) == (MONDAY, date(2026, 9, 6), "draft")
    assert len(items) == len(problem.items)
    assert [item.week for item in items].count(None) == 1
    assert items[-1].week is None
    assert all(item.reason for item in items)
    assert all(item.week.weekday() == 0 for item in items if item.week)
    placed = {item.id: item for item in problem.items}
    assert {plan.week_of[name] for name in placed if name in plan.week_of} == {
        (item.week - MONDAY).days // 7 for item in items if item.week
    }


def test_items_know_their_turbine_component_and_dates(farm: Farm) -> None:
    drafted = round_draft(run=run_of(farm))
    items = {(i.turbine.code, str(i.component or ""), i.interval.code, i.due_on): i for i in round_items(drafted)}
    blade = items["H1", "blade 2/3", "blade-24", date(2026, 7, 1)]
    assert (blade.component, blade.closes_on) == (farm.blades[1], date(2026, 8, 30))
    lift = items["H1", "", "lift-12", date(2026, 5, 20)]
    assert lift.closes_on == lift.due_on


def test_about_says_load_energy_money_and_warnings(farm: Farm) -> None:
    about = round_draft(run=run_of(farm)).about
    assert len(about["weeks"]) == 13
    assert {"load_h", "capacity_h", "fits_share"} <= set(about["weeks"][0])
    assert about["currency"] == "EUR"
    assert about["parts"]["left out"] > 0
    assert any("No weather history" in text for text in about["warnings"])


def test_a_second_call_gives_the_same_round(farm: Farm) -> None:
    run = run_of(farm)
    assert round_draft(run=run) == round_draft(run=run)
    assert Round.objects.count() == 1
    assert round_current(farm.north) == Round.objects.get()


def test_an_interval_that_went_is_named(farm: Farm) -> None:
    run = run_of(farm)
    Interval.objects.filter(code="oil").update(code="grease")
    with pytest.raises(ConflictError, match="gone is HILL H1 oil"):
        round_draft(run=run)


@pytest.mark.django_db(transaction=True)
def test_from_asking_to_the_round(farm: Farm) -> None:
    """The real builder and the real solver, on the tiny farm."""
    run = runs.run_create(
        base=farm.north, kind="year", first_day=date(2026, 6, 10), days=91, by=None, params={"time_limit_s": 10}, now=NOW
    )
    runs.run_execute(run_id=run.pk, worker="w1")
    run.refresh_from_db()
    assert run.state == "done", run.error or run.text
    assert run.round.items.count() == len(run.problem["items"])

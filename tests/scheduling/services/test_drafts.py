"""A run's best plan as rows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import pytest

from planner.errors import ConflictError
from planner.models import Lodging
from scheduling.builders.horizon import horizon_of
from scheduling.builders.published import published_of
from scheduling.fortnight.plan import plan_to_json
from scheduling.fortnight.problem import problem_to_json
from scheduling.models import Plan
from scheduling.selectors.plans import plan_visits
from scheduling.services.publish import plan_draft
from scheduling.telling import plan_json
from scheduling.views.plan_lines import night_of
from tests.farm import Farm
from tests.scheduling.services import scenes
from workorders.models import Order


def draft(farm: Farm, made: Any = None, **more: Any) -> Plan:
    """A draft of a run that is done."""
    made = made or scenes.good_plan()
    run = scenes.run(farm, state="done", best=plan_to_json(made), value=made.value / 100, bound=100.0, **more)
    return plan_draft(run=run)


class TestDraft:
    def test_visits_have_their_times_people_and_jobs(self, rows: Farm) -> None:
        plan = draft(rows)
        first, second = plan_visits(plan)
        assert (plan.state, plan.first_day, plan.last_day) == ("draft", date(2026, 6, 10), date(2026, 6, 11))
        # Slot 1 of a grid that begins at 06:00 UTC (08:00 at HILL); five slots.
        assert (first.starts_at, first.ends_at) == (
            datetime(2026, 6, 10, 6, 30, tzinfo=UTC),
            datetime(2026, 6, 10, 9, 0, tzinfo=UTC),
        )
        assert (first.turbine, first.day, first.vehicle.name) == (rows.h1, date(2026, 6, 10), "van 1")
        assert (second.turbine, second.day) == (rows.h2, date(2026, 6, 11))
        assert {person.name for person in first.people.all()} == {"Ada", "Ben"}
        assert [(job.order.number, job.number, job.work_min) for job in first.jobs.all()] == [("W-1", 0, 120)]

    def test_a_visit_behind_an_inspection_says_what_must_be_accepted(self, rows: Farm) -> None:
        problem = scenes.problem()
        orders = (problem.orders[0], replace(problem.orders[1], after=("W-1",), behind=("W-1",)))
        first, second = plan_visits(draft(rows, problem=problem_to_json(replace(problem, orders=orders))))
        assert (first.only_if, second.only_if) == ("", "only if W-1 (W-1) of Wed 10 Jun is accepted")

    def test_money_is_in_the_currency(self, rows: Farm) -> None:
        plan, made = draft(rows), scenes.good_plan()
        assert plan.value == pytest.approx(made.value / 100)
        assert sum(plan.parts.values()) == pytest.approx(plan.value)

    def test_a_clock_change_between_two_days_is_in_the_grid(self, rows: Farm) -> None:
        """Clocks go back in the night to 25 October 2026: 08:00 local is 06:00 UTC on the 24th and 07:00 UTC on the 25th."""
        problem = scenes.problem()
        days = (replace(problem.days[0], date="2026-10-24"), replace(problem.days[1], date="2026-10-25", start_min=1980))
        moved = replace(problem, origin="2026-10-23T22:00:00+00:00", days=days)
        run = scenes.run(rows, problem=problem_to_json(moved), best=plan_to_json(scenes.good_plan()), state="done", bound=0.0)
        first, second = plan_visits(plan_draft(run=run))
        local = [visit.starts_at.astimezone(rows.hill.zone).strftime("%d %H:%M") for visit in (first, second)]
        assert local == ["24 08:30", "25 08:30"]

    def test_nights_away_are_rows_told_and_counted_again(self, rows: Farm) -> None:
        """The same people on both days, who sleep at the inn in between."""
        inn = Lodging.objects.create(name="inn", base=rows.north, latitude=54.6, longitude=9.0)
        first, second = scenes.good_plan().visits
        slept = (replace(first, ends_at="inn"), replace(second, people=first.people, starts_from="inn"))
        plan = draft(rows, replace(scenes.good_plan(), visits=slept))
        evening, morning = plan_visits(plan)
        assert (evening.sets_out_from, evening.sleeps_at) == (None, inn)
        assert (morning.sets_out_from, morning.sleeps_at) == (inn, None)
        assert [night_of(visit) for visit in (evening, morning)] == ["sleeps at inn", "sets out from inn"]
        assert [visit["sleeps_at"] for visit in plan_json(plan)["visits"]] == ["inn", None]
        Plan.objects.update(state="published")
        told = published_of(rows.north, horizon_of(rows.north, plan.first_day, 2), {"W-1", "W-2"}).visits
        assert [(one.starts_from, one.ends_at) for one in told] == [("", "inn"), ("inn", "")]

    def test_a_lodging_that_is_gone_is_named(self, rows: Farm) -> None:
        first, second = scenes.good_plan().visits
        with pytest.raises(ConflictError, match="gone are inn: solve again"):
            draft(rows, replace(scenes.good_plan(), visits=(replace(first, ends_at="inn"), second)))

    def test_what_is_left_out_says_why(self, rows: Farm) -> None:
        (left,) = draft(rows, scenes.half_plan()).left_out
        assert (left["order"], left["label"]) == ("W-2", "W-2")
        assert left["code"]
        assert left["reason"].endswith(".")

    def test_a_second_call_gives_the_same_draft(self, rows: Farm) -> None:
        plan = draft(rows)
        assert plan_draft(run=plan.run) == plan
        assert Plan.objects.count() == 1

    @pytest.mark.parametrize("gone", ["person", "vehicle", "order"])
    def test_what_went_from_the_register_is_named(self, rows: Farm, gone: str) -> None:
        rename: dict[str, Callable[[], Any]] = {
            "person": lambda: type(rows.people["Ben"]).objects.filter(name="Ben").update(name="Benno"),
            "vehicle": lambda: rows.north.vehicles.filter(name="van 1").update(name="bus"),
            "order": lambda: Order.objects.filter(number="W-2").update(number="W-9"),
        }
        rename[gone]()
        with pytest.raises(ConflictError, match={"person": "Ben", "vehicle": "van 1", "order": "W-2"}[gone]):
            draft(rows)
        assert not Plan.objects.exists()

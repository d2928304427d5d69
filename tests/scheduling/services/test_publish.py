"""A draft becomes the plan people go by: checked again, orders still as they were, once."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection

from planner.errors import ConflictError, NotAllowedError
from scheduling.fortnight.plan import plan_to_json
from scheduling.models import Plan, Run
from scheduling.selectors.plans import plan_current
from scheduling.services import publish
from scheduling.services.publish import plan_draft, plan_publish
from tests.farm import NOW, Farm
from tests.scheduling.services import scenes
from workorders.models import Hold, Order, OrderMove


def draft(farm: Farm, made: Any = None, **more: Any) -> Plan:
    """A draft of a run that is done."""
    made = made or scenes.good_plan()
    run = scenes.run(farm, state="done", best=plan_to_json(made), value=made.value / 100, bound=100.0, **more)
    return plan_draft(run=run)


def states() -> dict[str, str]:
    return dict(Order.objects.values_list("number", "state"))


class TestPublish:
    def test_slots_the_orders_and_says_who_and_when(self, rows: Farm, planner_user: User) -> None:
        plan = plan_publish(plan=draft(rows), by=planner_user, now=NOW)
        assert (plan.state, plan.published_at, plan.published_by) == ("published", NOW, planner_user)
        assert states() == {"W-1": "slotted", "W-2": "slotted"}
        assert set(OrderMove.objects.values_list("name", "by")) == {("slot", planner_user.pk)}

    def test_only_a_planner_of_every_site(self, rows: Farm, planner_user: User, lead_user: User, stranger: User) -> None:
        plan = draft(rows)
        for user in (lead_user, stranger):
            with pytest.raises(NotAllowedError):
                plan_publish(plan=plan, by=user, now=NOW)
        rows.plain.base = rows.north
        rows.plain.save()
        with pytest.raises(NotAllowedError):
            plan_publish(plan=plan, by=planner_user, now=NOW)
        assert Plan.objects.get().state == "draft"

    def test_twice_is_refused_and_moves_nothing_twice(self, rows: Farm) -> None:
        plan = draft(rows)
        plan_publish(plan=plan, by=None, now=NOW)
        with pytest.raises(ConflictError, match="only a draft"):
            plan_publish(plan=plan, by=None, now=NOW)
        assert OrderMove.objects.count() == 2

    def test_a_plan_that_breaks_a_rule_is_refused_with_the_rule(self, rows: Farm) -> None:
        alone = replace(scenes.visit("W-1", "HILL H1", 0), people=("Ada",))
        broken = scenes.plan(alone, scenes.visit("W-2", "HILL H2", 1))
        plan = draft(rows, broken)
        with pytest.raises(ConflictError, match="hard rules") as refused:
            plan_publish(plan=plan, by=None, now=NOW)
        assert any(text.startswith("team size") for text in refused.value.extra["violations"])
        assert states() == {"W-1": "prepared", "W-2": "prepared"}

    def test_money_that_does_not_add_up_is_refused(self, rows: Farm) -> None:
        made = scenes.good_plan()
        plan = draft(rows, replace(made, parts={**made.parts, "travel": 1}))
        with pytest.raises(ConflictError, match="value"):
            plan_publish(plan=plan, by=None, now=NOW)

    @pytest.mark.parametrize("state", ["withdrawn", "finished", "accepted"])
    def test_orders_closed_since_are_named(self, rows: Farm, state: str) -> None:
        plan = draft(rows)
        Order.objects.filter(number="W-2").update(state=state)
        with pytest.raises(ConflictError, match=f"W-2 is {state}"):
            plan_publish(plan=plan, by=None, now=NOW)
        assert states() == {"W-1": "prepared", "W-2": state}
        assert Plan.objects.get().state == "draft"

    def test_an_order_that_went_to_another_turbine_is_named(self, rows: Farm) -> None:
        plan = draft(rows)
        Order.objects.filter(number="W-2").update(turbine=rows.h3)
        with pytest.raises(ConflictError, match="W-2 is at another turbine"):
            plan_publish(plan=plan, by=None, now=NOW)

    def test_a_hold_set_since_stops_all_of_it(self, rows: Farm) -> None:
        """W-1 is slotted first; the refusal of W-2 takes that back too."""
        plan = draft(rows)
        Hold.objects.create(order=Order.objects.get(number="W-2"), kind="parts", reason="motor", since=date(2026, 6, 10))
        with pytest.raises(ConflictError, match="hold"):
            plan_publish(plan=plan, by=None, now=NOW)
        assert states() == {"W-1": "prepared", "W-2": "prepared"}
        assert (Plan.objects.get().state, OrderMove.objects.count()) == ("draft", 0)

    def test_work_under_way_stays_under_way(self, rows: Farm) -> None:
        Order.objects.filter(number="W-1").update(state="under way")
        plan_publish(plan=draft(rows), by=None, now=NOW)
        assert states() == {"W-1": "under way", "W-2": "slotted"}

    @pytest.mark.parametrize("state", ["queued", "failed", "lost", "infeasible"])
    def test_only_a_run_that_ended_with_a_plan_counts(self, rows: Farm, state: str) -> None:
        plan = draft(rows)
        Run.objects.update(state=state)
        with pytest.raises(ConflictError, match="only a run that ended with a plan"):
            plan_publish(plan=Plan.objects.get(pk=plan.pk), by=None, now=NOW)

    def test_days_that_are_over_are_not_published(self, rows: Farm) -> None:
        """11 June ends at HILL at 22:00 UTC."""
        plan, midnight = draft(rows), datetime(2026, 6, 11, 22, tzinfo=UTC)
        with pytest.raises(ConflictError, match="ended on 2026-06-11"):
            plan_publish(plan=plan, by=None, now=midnight)
        plan_publish(plan=plan, by=None, now=midnight - timedelta(seconds=1))


class TestSuperseding:
    def second(self, farm: Farm, made: Any = None, **more: Any) -> Plan:
        plan = draft(farm, made, **more)
        Run.objects.filter(pk=plan.run_id).update(asked_at=NOW + timedelta(hours=1))
        return Plan.objects.get(pk=plan.pk)

    def test_replaces_what_it_overlaps_and_sends_back_what_it_leaves_out(self, rows: Farm) -> None:
        first = plan_publish(plan=draft(rows), by=None, now=NOW)
        plan_publish(plan=self.second(rows, scenes.half_plan()), by=None, now=NOW + timedelta(hours=2))
        first.refresh_from_db()
        assert first.state == "superseded"
        assert states() == {"W-1": "slotted", "W-2": "prepared"}

    def test_the_same_orders_stay_slotted(self, rows: Farm) -> None:
        plan_publish(plan=draft(rows), by=None, now=NOW)
        plan_publish(plan=self.second(rows), by=None, now=NOW + timedelta(hours=2))
        assert states() == {"W-1": "slotted", "W-2": "slotted"}
        assert OrderMove.objects.count() == 2

    def test_a_plan_asked_for_before_the_published_one_is_stale(self, rows: Farm) -> None:
        stale, newer = draft(rows), draft(rows)
        plan_publish(plan=newer, by=None, now=NOW + timedelta(hours=1))
        with pytest.raises(ConflictError, match=f"Plan {newer.pk} was published"):
            plan_publish(plan=stale, by=None, now=NOW + timedelta(hours=1))

    def test_a_plan_of_other_days_stays(self, rows: Farm) -> None:
        first = plan_publish(plan=draft(rows), by=None, now=NOW)
        later = self.second(rows, scenes.half_plan())
        Plan.objects.filter(pk=later.pk).update(first_day=date(2026, 6, 12), last_day=date(2026, 6, 13))
        plan_publish(plan=Plan.objects.get(pk=later.pk), by=None, now=NOW + timedelta(hours=2))
        first.refresh_from_db()
        assert first.state == "published"
        assert states()["W-2"] == "slotted"

    def test_before_the_newer_plan_begins_the_older_one_still_holds(self, rows: Farm) -> None:
        """The newer plan holds from the 11th; W-1 is on the 10th in the older one and stays slotted."""
        first = plan_publish(plan=draft(rows), by=None, now=NOW)
        later = self.second(rows, scenes.plan(scenes.visit("W-2", "HILL H2", 1), left_out=("W-1",)))
        Plan.objects.filter(pk=later.pk).update(first_day=date(2026, 6, 11), last_day=date(2026, 6, 12))
        later = plan_publish(plan=Plan.objects.get(pk=later.pk), by=None, now=NOW + timedelta(hours=2))
        assert states() == {"W-1": "slotted", "W-2": "slotted"}
        assert plan_current(base=rows.north, day=date(2026, 6, 10)) == first
        assert plan_current(base=rows.north, day=date(2026, 6, 11)) == later
        assert plan_current(base=rows.north) == later
        assert plan_current(base=rows.north, day=date(2026, 6, 13)) is None

    def test_the_tail_of_a_replaced_plan_does_not_hold(self, rows: Farm) -> None:
        plan_publish(plan=draft(rows), by=None, now=NOW)
        later = self.second(rows, scenes.half_plan())
        Plan.objects.filter(pk=later.pk).update(last_day=date(2026, 6, 10))
        plan_publish(plan=Plan.objects.get(pk=later.pk), by=None, now=NOW + timedelta(hours=2))
        assert plan_current(base=rows.north, day=date(2026, 6, 11)) is None

    def test_a_draft_is_nobodys_plan(self, rows: Farm) -> None:
        draft(rows)
        assert plan_current(base=rows.north) is None
        assert plan_current(base=rows.north, day=scenes.FIRST) is None


@pytest.mark.django_db(transaction=True)
class TestAtTheSameMoment:
    def publish_all(self, plans: list[Plan], monkeypatch: pytest.MonkeyPatch) -> list[str]:
        """Publish each in a thread; all have passed the checks before any of them writes."""
        gate, said = threading.Barrier(len(plans), timeout=10), list[str]()
        real = publish.refuse_what_changed

        def wait(*what: Any) -> None:
            real(*what)
            gate.wait()

        monkeypatch.setattr(publish, "refuse_what_changed", wait)

        def work(plan: Plan) -> None:
            try:
                plan_publish(plan=plan, by=None, now=NOW + timedelta(minutes=1))
                said.append("published")
            except ConflictError as error:
                said.append(error.message)
            finally:
                connection.close()

        threads = [threading.Thread(target=work, args=(plan,)) for plan in plans]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join(30)
        return sorted(said)

    def test_of_one_draft_published_twice_one_is(self, rows: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
        plan = draft(rows)
        said = self.publish_all([plan, Plan.objects.get(pk=plan.pk)], monkeypatch)
        assert said[1] == "published"
        assert "somebody was faster" in said[0]
        assert OrderMove.objects.count() == 2

    def test_of_two_drafts_one_is(self, rows: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
        said = self.publish_all([draft(rows), draft(rows)], monkeypatch)
        assert said[1] == "published"
        assert "solve again" in said[0]
        assert Plan.objects.filter(state="published").count() == 1

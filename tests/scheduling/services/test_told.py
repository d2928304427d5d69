"""Telling a day's teams, and what stays told when a newer plan takes over."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.contrib.auth.models import User

from planner.errors import ConflictError, NotAllowedError, PlannerError
from scheduling.models import Plan, Visit
from scheduling.services.publish import plan_publish
from scheduling.services.told import visits_keep_told, visits_tell
from tests.farm import NOW, TODAY, Farm
from tests.scheduling.services.test_publish import draft


def published(rows: Farm, planner_user: User) -> Plan:
    return plan_publish(plan=draft(rows), by=planner_user, now=NOW)


def test_the_days_teams_are_told_once(rows: Farm, planner_user: User, lead_user: User) -> None:
    plan = published(rows, planner_user)
    day = plan.visits.order_by("day")[0].day
    there = plan.visits.filter(day=day).count()
    assert visits_tell(plan=plan, day=day, by=lead_user, now=NOW) == there
    assert visits_tell(plan=plan, day=day, by=lead_user, now=NOW + timedelta(hours=1)) == 0
    assert set(plan.visits.filter(day=day).values_list("told_at", flat=True)) == {NOW}
    assert set(plan.visits.exclude(day=day).values_list("told_at", flat=True)) <= {None}


def test_who_may_tell_and_what(rows: Farm, planner_user: User, viewer_user: User) -> None:
    plan = draft(rows)
    with pytest.raises(ConflictError, match="only teams of a published plan"):
        visits_tell(plan=plan, day=TODAY, by=planner_user)
    plan = plan_publish(plan=plan, by=planner_user, now=NOW)
    with pytest.raises(PlannerError, match="has no visit on 2026-12-24"):
        visits_tell(plan=plan, day=date(2026, 12, 24), by=planner_user)
    with pytest.raises(NotAllowedError):
        visits_tell(plan=plan, day=plan.visits.all()[0].day, by=viewer_user)


def test_a_visit_taken_over_unchanged_stays_told(rows: Farm, planner_user: User) -> None:
    before = published(rows, planner_user)
    Visit.objects.filter(plan=before).update(told_at=NOW)
    after = draft(rows)
    same, moved = after.visits.order_by("pk")
    moved.people.remove(moved.people.all()[0])
    visits_keep_told(plan=after, others=[before])
    assert set(after.visits.values_list("pk", "told_at")) == {(same.pk, NOW), (moved.pk, None)}

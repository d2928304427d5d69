"""Telling a day's teams: from then on a change of their visits costs more. The only writer of Visit.told_at."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from django.db import transaction

from planner.clock import now_utc
from planner.errors import ConflictError, PlannerError
from planner.models import Site
from planner.services.access import require_role
from scheduling.choices import PlanState
from scheduling.models import Plan, Visit


@transaction.atomic
def visits_tell(*, plan: Plan, day: date, by: Any, now: datetime | None = None) -> int:
    """The teams of a day were told; how many visits that concerns which were not told yet. `by` None: from a command.

    Raises ConflictError for a plan that people do not go by, PlannerError for a day without visits, NotAllowedError.
    """
    if not Plan.objects.select_for_update().filter(pk=plan.pk, state=PlanState.PUBLISHED).exists():
        raise ConflictError(f"Plan {plan.pk} is {plan.get_state_display()}: only teams of a published plan are told.")
    visits = Visit.objects.filter(plan=plan, day=day)
    sites = list(Site.objects.filter(turbines__visits__in=visits).distinct())
    if not sites:
        raise PlannerError(f"Plan {plan.pk} has no visit on {day}: give a day on which somebody goes.", field="day")
    if by is not None:
        for site in sites:
            require_role(user=by, site=site, roles=("planner", "lead"))
    return visits.filter(told_at__isnull=True).update(told_at=now or now_utc())


def visits_keep_told(*, plan: Plan, others: Iterable[Plan]) -> None:
    """Visits that a new plan takes over unchanged (turbine, start, people) stay told. Call inside a transaction."""
    before = Visit.objects.filter(plan__in=list(others), told_at__isnull=False).prefetch_related("people")
    told = {_as_told(visit): visit.told_at for visit in before}
    if not told:
        return
    kept = [visit for visit in plan.visits.prefetch_related("people") if _as_told(visit) in told]
    for visit in kept:
        visit.told_at = told[_as_told(visit)]
    Visit.objects.bulk_update(kept, ["told_at"])


def _as_told(visit: Visit) -> tuple[object, ...]:
    return visit.turbine_id, visit.starts_at, frozenset(person.pk for person in visit.people.all())

"""Asking for a repair: the published plan of a base mended from now on, through the ordinary runs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from planner.clock import now_utc, today_at
from planner.errors import ConflictError, PlannerError
from planner.models import Base, Technician
from planner.services.absences import absence_record
from scheduling.choices import PlanState, RunKind
from scheduling.models import Plan, Run
from scheduling.services.runs import run_create
from scheduling.services.runs.create import planner_required

REPAIR_S = 12.0
"""Time limit of a repair: with the check a planner has an answer within 15 s."""


@dataclass(frozen=True)
class Ill:
    """Somebody who is away from first_day through last_day."""

    technician: Technician
    first_day: date
    last_day: date
    reason: str = ""


def repair_create(
    *,
    base: Base,
    by: User | None,
    ill: Ill | None = None,
    seed: int = 1,
    params: dict[str, Any] | None = None,
    now: datetime | None = None,
) -> Run:
    """A queued run that mends the published plan from its next day that has not begun; `ill` is recorded as an absence first.

    Both or neither. `params` as for any run. Raises ConflictError without a published plan, and while another run is open.
    Queuing it is the business of scheduling.tasks.repair_ask.
    """
    moment = now or now_utc()
    planner_required(user=by, base=base)
    first, last = _days_left(base, moment)
    limits = {"time_limit_s": REPAIR_S, **(params or {}), "start": "published"}
    with transaction.atomic():
        if ill is not None:
            _record(base, ill, by)
        days = (last - first).days + 1
        return run_create(
            base=base, kind=RunKind.FORTNIGHT, first_day=first, days=days, by=by, seed=seed, params=limits, now=moment
        )


def _record(base: Base, ill: Ill, by: User | None) -> None:
    if ill.technician.base_id != base.pk:
        raise PlannerError(f"{ill.technician.name} is of another base: mend the plan of that one.", field="technician")
    absence_record(technician=ill.technician, first_day=ill.first_day, last_day=ill.last_day, by=by, reason=ill.reason)


def _days_left(base: Base, moment: datetime) -> tuple[date, date]:
    """From today, or tomorrow once a visit of today has begun (the rest is the morning's business), to the plan's end."""
    today = today_at(base.zone, moment)
    plans = Plan.objects.filter(base=base, state=PlanState.PUBLISHED, last_day__gte=today)
    plan = plans.order_by("first_day").first()
    if plan is None:
        raise ConflictError(f"No plan of {base} is published for today or later: there is nothing to mend, solve a fortnight.")
    begun = plan.visits.filter(day=today, starts_at__lte=moment).exists()
    first = max(plan.first_day, today + timedelta(days=1) if begun else today)
    if first > plan.last_day:
        raise ConflictError(f"The last day of plan {plan.pk} has begun: there is nothing left to mend, solve the coming days.")
    return first, plan.last_day

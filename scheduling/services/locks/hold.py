"""Holding a visit, its people, or days an order is not on."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from planner.clock import now_utc
from planner.errors import PlannerError
from planner.models import Base, Technician
from planner.services.rows import checked
from scheduling.choices import LockKind, PlanState
from scheduling.models import Lock, Visit
from scheduling.services.locks import refuse
from scheduling.services.runs.create import planner_required
from workorders.models import Order

MOST_DAYS = 366


def visit_pin(
    *, order: Order, starts_at: datetime, by: User | None, number: int = 0, reason: str = "", now: datetime | None = None
) -> Lock:
    """The order's visit (counted from 0) stays at this start (an instant, on a full or half hour).

    `by` is a planner of every site of the base. Raises PlannerError, or ConflictError naming the lock or fact in the way.
    """
    base, moment = _begin(order, by, reason, now)
    day = starts_at.astimezone(base.zone).date()
    refuse.refuse_off_grid(starts_at)
    refuse.refuse_past(day, base, moment, "starts_at")
    with transaction.atomic():
        locks = _locked(order, base)
        refuse.refuse_pin(order, number, day, starts_at, locks)
        refuse.refuse_shut(order, day)
        named = [person for lock in locks if (lock.kind, lock.number) == (LockKind.TEAM, number) for person in lock.people.all()]
        refuse.refuse_absent(named, day, f"visit {number + 1} of {order.number}")
        return _kept(
            Lock(
                base=base, order=order, kind=LockKind.VISIT, number=number, first_day=day, last_day=day, starts_at=starts_at,
                reason=reason, by=by, made_at=moment,
            )
        )  # fmt: skip


def team_pin(
    *,
    order: Order,
    people: Sequence[Technician],
    by: User | None,
    number: int = 0,
    reason: str = "",
    now: datetime | None = None,
) -> Lock:
    """These people are on the order's visit (counted from 0), wherever it stands; others may come too."""
    base, moment = _begin(order, by, reason, now)
    if not people:
        raise PlannerError("Nobody is named: give at least one person.", field="people")
    strangers = [one.name for one in people if one.base_id != base.pk or not one.active]
    if strangers:
        raise PlannerError(f"{', '.join(strangers)}: no active technician of {base}; give others.", field="people")
    with transaction.atomic():
        for lock in _locked(order, base):
            if (lock.kind, lock.number) == (LockKind.VISIT, number) and lock.first_day:
                refuse.refuse_absent(people, lock.first_day, f"visit {number + 1} of {order.number}")
        _refuse_other_crew(order, base, number, people)
        lock = _kept(Lock(base=base, order=order, kind=LockKind.TEAM, number=number, reason=reason, by=by, made_at=moment))
        lock.people.set(people)
        return lock


def day_forbid(
    *,
    order: Order,
    first_day: date,
    by: User | None,
    last_day: date | None = None,
    reason: str = "",
    now: datetime | None = None,
) -> Lock:
    """The order is not on these days (first through last; one day without `last_day`)."""
    base, moment = _begin(order, by, reason, now)
    last = last_day or first_day
    refuse.refuse_past(last, base, moment, "last_day")
    if last < first_day:
        raise PlannerError(f"{last} lies before {first_day}: give an end on or after the start.", field="last_day")
    if refuse.days_between(first_day, last) > MOST_DAYS:
        raise PlannerError(f"From {first_day} to {last} is more than {MOST_DAYS} days: give fewer.", field="last_day")
    with transaction.atomic():
        refuse.refuse_forbidden(order, first_day, last, _locked(order, base))
        return _kept(
            Lock(
                base=base,
                order=order,
                kind=LockKind.DAY,
                first_day=first_day,
                last_day=last,
                reason=reason,
                by=by,
                made_at=moment,
            )
        )


def visit_hold_as_planned(
    *, visit: Visit, kind: str, by: User | None, reason: str = "", now: datetime | None = None
) -> list[Lock]:
    """Pin every order of a plan's visit as the plan has it: its start (kind "visit") or its people (kind "team"). All or none."""
    if kind not in (LockKind.VISIT, LockKind.TEAM):
        raise PlannerError(f"{kind!r} cannot be held of a visit: give visit or team.", field="kind")
    if visit.plan.state == PlanState.SUPERSEDED:
        raise PlannerError(f"Plan {visit.plan_id} is superseded: hold visits of the plan that counts.", field="visit")
    jobs = list(visit.jobs.select_related("order__turbine__site__base").order_by("pk"))
    people = list(visit.people.all())
    with transaction.atomic():
        return [
            visit_pin(order=job.order, number=job.number, starts_at=visit.starts_at, by=by, reason=reason, now=now)
            if kind == LockKind.VISIT
            else team_pin(order=job.order, number=job.number, people=people, by=by, reason=reason, now=now)
            for job in jobs
        ]


def visit_forbid_day(*, visit: Visit, by: User | None, reason: str = "", now: datetime | None = None) -> list[Lock]:
    """The orders of a plan's visit are not on its day. All or none."""
    jobs = list(visit.jobs.select_related("order__turbine__site__base").order_by("pk"))
    with transaction.atomic():
        return [day_forbid(order=job.order, first_day=visit.day, by=by, reason=reason, now=now) for job in jobs]


def _begin(order: Order, by: User | None, reason: str, now: datetime | None) -> tuple[Base, datetime]:
    base = order.turbine.site.base
    planner_required(user=by, base=base)
    refuse.refuse_long(reason)
    refuse.refuse_closed(order)
    return base, now or now_utc()


def _locked(order: Order, base: Base) -> list[Lock]:
    """The order's locks, read while nobody else of the base can set one."""
    Base.objects.select_for_update().get(pk=base.pk)
    return refuse.held(order)


def _refuse_other_crew(order: Order, base: Base, number: int, people: Sequence[Technician]) -> None:
    """A frozen day holds its people already."""
    named = {one.pk for one in people}
    for job in refuse.told_jobs(base, order=order, number=number):
        if refuse.frozen_on(base, job.visit.day, job.visit.day) and not named <= {one.pk for one in job.visit.people.all()}:
            raise PlannerError(
                f"Visit {number + 1} of {order.number} stands on {job.visit.day}, which is frozen: release the day first.",
                field="people",
            )


def _kept(lock: Lock) -> Any:
    checked(lock)
    lock.save()
    return lock

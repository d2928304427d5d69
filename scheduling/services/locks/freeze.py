"""Freezing a day of a base."""

from __future__ import annotations

from datetime import date, datetime

from django.contrib.auth.models import User
from django.db import transaction

from planner.clock import now_utc
from planner.errors import ConflictError
from planner.models import Base
from planner.services.rows import checked
from scheduling.models import FrozenDay
from scheduling.selectors.plans import plan_current
from scheduling.services.locks import refuse
from scheduling.services.runs.create import planner_required


def day_freeze(*, base: Base, day: date, by: User | None, reason: str = "", now: datetime | None = None) -> FrozenDay:
    """What the published plan holds that day stays, people included, and nothing is added, until the day is released.

    `by` is a planner of every site of the base. Raises ConflictError when no plan is published for the day, when it is frozen
    already, and when a lock asks for something else there.
    """
    moment = now or now_utc()
    planner_required(user=by, base=base)
    refuse.refuse_long(reason)
    refuse.refuse_past(day, base, moment, "day")
    with transaction.atomic():
        Base.objects.select_for_update().get(pk=base.pk)
        if refuse.frozen_on(base, day, day):
            raise ConflictError(f"{day} is frozen already.")
        if plan_current(base=base, day=day) is None:
            raise ConflictError(f"No plan is published for {day}: there is nothing to freeze, publish one first.")
        refuse.refuse_freeze(base, day)
        frozen = checked(FrozenDay(base=base, day=day, reason=reason, by=by, made_at=moment))
        frozen.save()
        return frozen

"""Somebody is away: the absence as a row of the register."""

from __future__ import annotations

from datetime import date

from django.contrib.auth.models import User
from django.db import transaction

from planner.choices import Role
from planner.errors import PlannerError
from planner.models import Absence, Technician
from planner.services.access import require_role
from planner.services.rows import checked


def absence_record(*, technician: Technician, first_day: date, last_day: date, by: User | None, reason: str = "") -> Absence:
    """The technician is away from first_day through last_day; the absence that says so already, where there is one.

    `by` is a planner of every site of the technician's base, or None from a command.
    """
    for site in technician.base.sites.all() if by is not None else ():
        require_role(user=by, site=site, roles=(Role.PLANNER,))
    if last_day < first_day:
        raise PlannerError(f"{last_day} lies before {first_day}: give an end on or after the start.", field="last_day")
    with transaction.atomic():
        Technician.objects.select_for_update().get(pk=technician.pk)
        known = technician.absences.filter(first_day__lte=first_day, last_day__gte=last_day).first()
        if known is not None:
            return known
        absence = checked(Absence(technician=technician, first_day=first_day, last_day=last_day, reason=reason))
        absence.save()
        return absence

"""What a planner holds fast for the plans to come. The only writer is services/locks."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from planner.models.base import Record, in_order
from planner.models.people import Technician
from planner.models.sites import Base
from scheduling.choices import LockKind
from workorders.models import Order


class Held(Record):
    """Something that is held until it is released: why, by whom, from when to when."""

    reason = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    made_at = models.DateTimeField()
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        abstract = True


class Lock(Held):
    """One thing held about one order, until it is released: a visit's day and start, a visit's people, or days it is not on.

    `number` counts the order's visits from 0, as VisitJob does; it means nothing for days. A pinned visit has its day in
    first_day and last_day and its start in `starts_at`. People are chosen once: to change them, release the lock and set another.
    """

    base = models.ForeignKey(Base, on_delete=models.PROTECT, related_name="locks")
    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="locks")
    kind = models.CharField(max_length=8, choices=LockKind.choices)
    number = models.PositiveSmallIntegerField(default=0, help_text="Which visit of the order, from 0.")
    first_day = models.DateField(null=True, blank=True)
    last_day = models.DateField(null=True, blank=True)
    starts_at = models.DateTimeField(null=True, blank=True, help_text="Start of a pinned visit (UTC).")
    people = models.ManyToManyField(Technician, blank=True, related_name="locks")

    class Meta:
        ordering = ["-made_at", "-id"]
        constraints = [
            in_order("first_day", "last_day", "lock_days_in_order"),
            models.UniqueConstraint(
                fields=["order", "kind", "number"],
                condition=Q(released_at__isnull=True, kind__in=["visit", "team"]),
                name="lock_once_held",
                violation_error_message="This visit is held already: release that lock first.",
            ),
            models.CheckConstraint(
                condition=Q(kind="team") | Q(first_day__isnull=False, last_day__isnull=False),
                name="lock_has_its_days",
                violation_error_message="first_day and last_day are needed for a pinned visit and for forbidden days.",
            ),
            models.CheckConstraint(
                condition=~Q(kind="visit") | Q(starts_at__isnull=False),
                name="lock_has_its_start",
                violation_error_message="starts_at is needed for a pinned visit.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.order}"


class FrozenDay(Held):
    """A day of a base that stays as the published plan has it, people included, until it is released; nothing is added."""

    base = models.ForeignKey(Base, on_delete=models.PROTECT, related_name="frozen_days")
    day = models.DateField(help_text="Local day of the base.")

    class Meta:
        ordering = ["-day", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["base", "day"],
                condition=Q(released_at__isnull=True),
                name="frozen_day_once",
                violation_error_message="This day is frozen already.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.base} frozen on {self.day}"

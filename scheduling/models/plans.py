"""A fortnight's plan and its visits. The only writers are services/publish.py and, of told_at, services/told.py."""

from __future__ import annotations

from datetime import UTC

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from planner.models.calendars import Lodging, Vehicle
from planner.models.people import Technician
from planner.models.sites import Base
from planner.models.turbines import Turbine
from scheduling.choices import PlanState
from scheduling.models.runs import Run
from workorders.models import Order


class Plan(models.Model):
    """One fortnight of one base. At most one is published for a base and first day; a newer one supersedes those it overlaps."""

    base = models.ForeignKey(Base, on_delete=models.PROTECT, related_name="plans")
    run = models.OneToOneField(Run, on_delete=models.PROTECT, related_name="plan")
    state = models.CharField(max_length=12, choices=PlanState.choices, default=PlanState.DRAFT)
    first_day = models.DateField()
    last_day = models.DateField()
    parts = models.JSONField(default=dict, help_text="Cost by part, in the currency.")
    value = models.FloatField()
    bound = models.FloatField()
    left_out = models.JSONField(default=list, help_text="Orders left out, each with its reason.")
    published_at = models.DateTimeField(null=True, blank=True)
    published_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-first_day", "-id"]
        constraints = [
            models.UniqueConstraint(fields=["base", "first_day"], condition=Q(state="published"), name="plan_published_once"),
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="plan_in_order"),
        ]

    def __str__(self) -> str:
        return f"plan {self.pk} from {self.first_day} ({self.state})"


class Visit(models.Model):
    """One team at one turbine on one day. Times are UTC; `down_by` is when everybody must be at the tower's foot."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="visits")
    turbine = models.ForeignKey(Turbine, on_delete=models.PROTECT, related_name="visits")
    vehicle = models.ForeignKey(Vehicle, null=True, on_delete=models.PROTECT, related_name="visits")
    sets_out_from = models.ForeignKey(
        Lodging, null=True, blank=True, on_delete=models.PROTECT, related_name="mornings", help_text="Empty: from the base."
    )
    sleeps_at = models.ForeignKey(
        Lodging, null=True, blank=True, on_delete=models.PROTECT, related_name="evenings", help_text="Empty: at home."
    )
    day = models.DateField(help_text="Local day.")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    down_by = models.DateTimeField()
    chance = models.FloatField(help_text="Share of members in which the whole stay fits, when it was planned.")
    by = models.CharField(max_length=8, help_text="lift or ladder")
    only_if = models.TextField(blank=True, default="", help_text="What must be accepted first for the visit to be made.")
    told_at = models.DateTimeField(null=True, blank=True, help_text="When the day's teams were told.")
    people = models.ManyToManyField(Technician, related_name="visits")

    class Meta:
        ordering = ["day", "starts_at", "turbine__code"]
        indexes = [models.Index(fields=["day"])]
        constraints = [
            models.CheckConstraint(condition=Q(ends_at__gt=F("starts_at")), name="visit_in_order"),
            models.UniqueConstraint(fields=["plan", "turbine", "starts_at"], name="visit_once"),
        ]

    def __str__(self) -> str:
        return f"{self.turbine} {self.starts_at.astimezone(UTC):%Y-%m-%d %H:%M} UTC"


class VisitJob(models.Model):
    """The part of an order done on a visit."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="jobs")
    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="jobs")
    number = models.PositiveSmallIntegerField(default=0, help_text="Which visit of the order, from 0.")
    work_min = models.PositiveIntegerField()

    class Meta:
        ordering = ["visit", "order"]
        constraints = [models.UniqueConstraint(fields=["visit", "order"], name="visit_job_once")]

    def __str__(self) -> str:
        return f"{self.order} on {self.visit}"

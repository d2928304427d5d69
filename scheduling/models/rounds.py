"""The year's round. The only writer is services/rounds.py."""

from __future__ import annotations

from django.db import models

from planner.models.intervals import Interval
from planner.models.sites import Base
from planner.models.turbines import Component, Turbine
from scheduling.choices import PlanState
from scheduling.models.runs import Run


class Round(models.Model):
    """One year's services and inspections of a base's sites, laid into weeks."""

    base = models.ForeignKey(Base, on_delete=models.PROTECT, related_name="rounds")
    run = models.OneToOneField(Run, on_delete=models.PROTECT, related_name="round")
    state = models.CharField(max_length=12, choices=PlanState.choices, default=PlanState.DRAFT)
    first_day = models.DateField()
    last_day = models.DateField()
    about = models.JSONField(default=dict, help_text="Weeks with load, capacity and fit; energy; finishing dates; warnings.")
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-first_day", "-id"]

    def __str__(self) -> str:
        return f"round {self.pk} from {self.first_day}"


class RoundItem(models.Model):
    """One due item in its week (Monday), or left out (week empty) with the reason."""

    round = models.ForeignKey(Round, on_delete=models.CASCADE, related_name="items")
    turbine = models.ForeignKey(Turbine, on_delete=models.PROTECT, related_name="round_items")
    component = models.ForeignKey(Component, null=True, on_delete=models.PROTECT)
    interval = models.ForeignKey(Interval, on_delete=models.PROTECT, related_name="round_items")
    due_on = models.DateField()
    closes_on = models.DateField()
    week = models.DateField(null=True, help_text="Monday of the week.")
    reason = models.TextField(blank=True)

    class Meta:
        ordering = ["round", "week", "turbine__code"]

    def __str__(self) -> str:
        return f"{self.turbine} {self.interval} {self.week or 'left out'}"

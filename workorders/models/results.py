"""What the crew brings back: answers to steps, and findings."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from planner.models.base import Record
from planner.models.procedures import Procedure, Step
from planner.models.turbines import Component
from workorders.choices import Severity
from workorders.models.orders import Order


class StepResult(Record):
    """The answer to one step of an order."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="results")
    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="results")
    value = models.FloatField(null=True, blank=True)
    text = models.TextField(blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["order", "step__number"]
        constraints = [models.UniqueConstraint(fields=["order", "step"], name="step_answered_once")]

    def __str__(self) -> str:
        return f"{self.order} {self.step}"


class Finding(Record):
    """Something found up there; raises an order when asked."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="findings")
    component = models.ForeignKey(Component, null=True, blank=True, on_delete=models.SET_NULL)
    severity = models.CharField(max_length=20, choices=Severity.choices)
    within_days = models.PositiveSmallIntegerField(null=True, blank=True)
    text = models.TextField()
    found_on = models.DateField()
    procedure = models.ForeignKey(Procedure, null=True, blank=True, on_delete=models.PROTECT, help_text="How to mend it.")
    raised_order = models.OneToOneField(Order, null=True, blank=True, on_delete=models.SET_NULL, related_name="raised_from")

    class Meta:
        ordering = ["-found_on", "id"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(severity="within days") | Q(within_days__isnull=False, within_days__gt=0),
                name="finding_days",
                violation_error_message="Severity 'within days' needs within_days of 1 or more.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.severity}: {self.text[:40]}"

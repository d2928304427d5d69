"""An order, what holds it, and every move it made."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from planner.models.base import Record, once
from planner.models.intervals import Interval
from planner.models.procedures import Procedure
from planner.models.turbines import Component, Turbine
from workorders.choices import HoldKind, Klass, Origin, State


class Order(Record):
    """One job on one turbine. `due_on` and `closes_on` are copied from due work when it is raised (facts of that day)."""

    number = models.CharField(max_length=20, unique=True)
    turbine = models.ForeignKey(Turbine, on_delete=models.PROTECT, related_name="orders")
    component = models.ForeignKey(Component, null=True, blank=True, on_delete=models.PROTECT, related_name="orders")
    procedure = models.ForeignKey(Procedure, on_delete=models.PROTECT, related_name="orders")
    interval = models.ForeignKey(Interval, null=True, blank=True, on_delete=models.PROTECT, related_name="orders")
    origin = models.CharField(max_length=8, choices=Origin.choices)
    klass = models.CharField("class", max_length=10, choices=Klass.choices)
    state = models.CharField(max_length=10, choices=State.choices, default=State.RAISED)
    opens_on = models.DateField(null=True, blank=True, help_text="Not before this day.")
    due_on = models.DateField()
    closes_on = models.DateField(null=True, blank=True, help_text="End of tolerance.")
    effort_left_h = models.FloatField(help_text="Person-hours still to do.")
    note = models.TextField(blank=True)
    raised_at = models.DateTimeField(auto_now_add=True)
    done_on = models.DateField(null=True, blank=True, help_text="Local day on which the crew finished.")
    finished_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="finished_orders"
    )

    class Meta:
        ordering = ["due_on", "number"]
        indexes = [models.Index(fields=["state", "due_on"]), models.Index(fields=["turbine", "state"])]
        constraints = [
            *once(
                ["interval", "turbine"],
                "component",
                "order_once_for_due_work",
                condition=Q(interval__isnull=False) & ~Q(state__in=["accepted", "withdrawn"]),
            ),
            models.CheckConstraint(
                condition=Q(effort_left_h__gte=0),
                name="order_effort",
                violation_error_message="effort_left_h must be 0 or more person-hours.",
            ),
            models.CheckConstraint(
                condition=Q(closes_on__isnull=True) | Q(closes_on__gte=F("due_on")),
                name="order_closes_after_due",
                violation_error_message="closes_on lies before due_on.",
            ),
        ]

    def __str__(self) -> str:
        return self.number


class Hold(Record):
    """Something an order waits for."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="holds")
    kind = models.CharField(max_length=8, choices=HoldKind.choices)
    reason = models.CharField(max_length=160)
    since = models.DateField()
    expected_until = models.DateField(null=True, blank=True)
    cleared_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["order", "since"]
        constraints = [
            models.CheckConstraint(
                condition=Q(expected_until__isnull=True) | Q(expected_until__gte=F("since")),
                name="hold_in_order",
                violation_error_message="expected_until lies before since.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.reason}"


class OrderMove(models.Model):
    """One move an order made: who, when, from, to, why. Written with the move, never changed."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="moves")
    name = models.CharField(max_length=12)
    source = models.CharField(max_length=10)
    target = models.CharField(max_length=10)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField()
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["order", "at", "id"]

    def __str__(self) -> str:
        return f"{self.order} {self.name}"

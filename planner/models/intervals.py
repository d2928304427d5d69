"""Intervals, counters and the history of work done."""

from __future__ import annotations

from datetime import date
from typing import cast

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from planner import due as core
from planner.choices import Scope, Trigger
from planner.models.base import Record, above, at_least, once
from planner.models.procedures import Procedure
from planner.models.turbines import Component, ComponentKind, Turbine, TurbineType
from planner.validators import gate_list


class Interval(Record):
    """A procedure that falls due again and again on everything in its scope."""

    code = models.SlugField(max_length=40, unique=True)
    procedure = models.ForeignKey(Procedure, on_delete=models.PROTECT, related_name="intervals")
    scope = models.CharField(max_length=12, choices=Scope.choices)
    turbine_type = models.ForeignKey(TurbineType, null=True, blank=True, on_delete=models.CASCADE)
    component_kind = models.ForeignKey(ComponentKind, null=True, blank=True, on_delete=models.CASCADE)
    turbine = models.ForeignKey(Turbine, null=True, blank=True, on_delete=models.CASCADE)
    trigger = models.CharField(max_length=16, choices=Trigger.choices, default=Trigger.MONTHS)
    every = models.FloatField(help_text="Months (whole), hours, MWh or cycles.")
    first_every = models.FloatField(null=True, blank=True, help_text="The first time after commissioning, if different.")
    fixed = models.BooleanField(default=False, help_text="Counts from the due date, not from the day it was done.")
    early_days = models.PositiveSmallIntegerField(default=0, help_text="May be done this many days before the due date.")
    late_days = models.PositiveSmallIntegerField(default=0, help_text="Tolerance after the due date. 0 for statutory.")
    statutory = models.BooleanField(default=False)
    stops = models.JSONField(default=list, blank=True, validators=[gate_list], help_text='What a lapse stops: ["lift"].')
    absorbs = models.ManyToManyField("self", symmetrical=False, blank=True, related_name="absorbed_by")
    source = models.CharField(max_length=160, blank=True, help_text="Law, standard or manual that asks for it.")
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["code"]
        constraints = [
            above("every", 0, "interval_every"),
            models.CheckConstraint(
                condition=Q(first_every__isnull=True) | Q(first_every__gt=0),
                name="interval_first_every",
                violation_error_message="first_every must be above 0, or empty.",
            ),
            models.CheckConstraint(
                condition=Q(statutory=False) | Q(late_days=0),
                name="interval_statutory_not_stretched",
                violation_error_message="A statutory date is never stretched: late_days must be 0.",
            ),
            at_least("early_days", 0, "interval_early"),
            models.CheckConstraint(
                condition=(
                    Q(scope="type", turbine_type__isnull=False, component_kind__isnull=True, turbine__isnull=True)
                    | Q(scope="component", component_kind__isnull=False, turbine__isnull=True)
                    | Q(scope="turbine", turbine__isnull=False, turbine_type__isnull=True, component_kind__isnull=True)
                ),
                name="interval_scope_target",
                violation_error_message="Give what the scope asks for: a turbine type, a component kind, or one turbine.",
            ),
        ]

    def __str__(self) -> str:
        return self.code

    def clean(self) -> None:
        """What the due dates are worked out with must take these numbers: whole months, a tolerance shorter than the interval."""
        if self.every is None:
            return
        if self.trigger == Trigger.MONTHS and self.every != int(self.every):
            raise ValidationError({"every": f"{self.every:g} months: give whole months."})
        if self.every <= 0 or (self.statutory and self.late_days):
            return  # a constraint of its own says so
        try:
            self._as_core()
        except ValueError as error:
            raise ValidationError(str(error)) from error

    def _as_core(self) -> core.Interval:
        return core.Interval(
            key=self.code,
            trigger=cast(core.Trigger, self.trigger),
            every=self.every,
            first_every=self.first_every,
            anchor=date(2000, 1, 1),
            fixed=self.fixed,
            early_days=self.early_days or 0,
            late_days=self.late_days or 0,
            statutory=self.statutory,
            stops=frozenset(self.stops if isinstance(self.stops, list) else ()),
        )


class CounterReading(Record):
    """A counter of a turbine read at a time. `site time` of the reading is stored as a date in the site's zone."""

    turbine = models.ForeignKey(Turbine, on_delete=models.CASCADE, related_name="readings")
    counter = models.CharField(max_length=16, choices=[c for c in Trigger.choices if c[0] != Trigger.MONTHS])
    read_on = models.DateField()
    value = models.FloatField()

    class Meta:
        ordering = ["turbine", "counter", "read_on"]
        constraints = [
            models.UniqueConstraint(fields=["turbine", "counter", "read_on"], name="reading_once_a_day"),
            at_least("value", 0, "reading_value"),
        ]

    def __str__(self) -> str:
        return f"{self.turbine} {self.counter} {self.value:g}"


class WorkDone(Record):
    """An interval was fulfilled on an asset on a day. The only writer is services/work_done.py."""

    interval = models.ForeignKey(Interval, on_delete=models.PROTECT, related_name="done")
    turbine = models.ForeignKey(Turbine, on_delete=models.CASCADE, related_name="done")
    component = models.ForeignKey(Component, null=True, blank=True, on_delete=models.CASCADE, related_name="done")
    done_on = models.DateField()
    due_on = models.DateField(null=True, blank=True, help_text="The due date it answered, where known.")
    counter = models.FloatField(null=True, blank=True)
    note = models.CharField(max_length=120, blank=True, help_text="Order or report it comes from.")

    class Meta:
        ordering = ["turbine", "interval", "done_on"]
        verbose_name_plural = "work done"
        constraints = once(["interval", "turbine", "done_on"], "component", "done_once_a_day")

    def __str__(self) -> str:
        return f"{self.interval} {self.turbine} {self.done_on}"

"""Who works with whom, when hired people are there, and who is on call."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Greatest, Least

from planner.choices import PairKind
from planner.models.base import Record, at_least, in_order
from planner.models.people import Technician


class Pair(Record):
    """Two people and whether they work in one team. Which of them stands first says nothing."""

    first = models.ForeignKey(Technician, on_delete=models.CASCADE, related_name="pairs")
    second = models.ForeignKey(Technician, on_delete=models.CASCADE, related_name="pairs_of_others")
    kind = models.CharField(max_length=8, choices=PairKind.choices)
    reason = models.CharField(max_length=120, blank=True)
    from_day = models.DateField(null=True, blank=True, help_text="Empty: from ever.")
    until_day = models.DateField(null=True, blank=True, help_text="The last day; empty: for good.")

    class Meta:
        ordering = ["first", "second"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(first=F("second")),
                name="pair_of_two",
                violation_error_message="second is the same person as first: choose somebody else.",
            ),
            models.UniqueConstraint(
                Least("first", "second"),
                Greatest("first", "second"),
                name="pair_once",
                violation_error_message="These two are a pair already: change that row instead.",
            ),
            models.CheckConstraint(
                condition=Q(from_day__isnull=True) | Q(until_day__isnull=True) | Q(until_day__gte=F("from_day")),
                name="pair_in_order",
                violation_error_message="until_day lies before from_day: give an end on or after the start.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.first} and {self.second}: {self.get_kind_display()}"

    def clean(self) -> None:
        """Both start at one base; people of two bases never share a team."""
        if self.first_id and self.second_id and self.first.base_id != self.second.base_id:
            raise ValidationError({"second": f"{self.second} belongs to another base: choose somebody of {self.first.base}."})


class HirePeriod(Record):
    """A hired person is there from `first_day` through `last_day`, for `day_cost` a day out."""

    technician = models.ForeignKey(Technician, on_delete=models.CASCADE, related_name="hires")
    first_day = models.DateField()
    last_day = models.DateField()
    day_cost = models.FloatField(default=0, help_text="For each day out with a team, in the currency of the sites.")
    note = models.CharField(max_length=80, blank=True, help_text="Firm, or number of the contract.")

    class Meta:
        ordering = ["technician", "first_day"]
        constraints = [in_order("first_day", "last_day", "hire_in_order"), at_least("day_cost", 0, "hire_day_cost")]

    def __str__(self) -> str:
        return f"{self.technician} {self.first_day} to {self.last_day}"

    def clean(self) -> None:
        """One price a day: periods of a person do not overlap."""
        if not (self.technician_id and self.first_day and self.last_day):
            return
        others = HirePeriod.objects.filter(technician=self.technician_id).exclude(pk=self.pk)
        other = others.filter(first_day__lte=self.last_day, last_day__gte=self.first_day).first()
        if other is not None:
            told = f"Hired from {other.first_day} to {other.last_day} already: change that period, or give other days."
            raise ValidationError({"first_day": told})


class OnCall(Record):
    """A technician is on call in the nights after `first_day` through `last_day`.

    On those days there is no overtime, so that they are back in time: common practice, no source.
    """

    technician = models.ForeignKey(Technician, on_delete=models.CASCADE, related_name="on_calls")
    first_day = models.DateField(help_text="The evening of the first night.")
    last_day = models.DateField(help_text="The evening of the last night.")

    class Meta:
        ordering = ["technician", "first_day"]
        constraints = [in_order("first_day", "last_day", "on_call_in_order")]
        verbose_name = "on-call duty"
        verbose_name_plural = "on-call duties"

    def __str__(self) -> str:
        return f"{self.technician} on call {self.first_day} to {self.last_day}"


class CallOut(Record):
    """A technician was called out and came home at `ended_at`: the daily rest runs from there. Common practice, no source."""

    technician = models.ForeignKey(Technician, on_delete=models.CASCADE, related_name="call_outs")
    ended_at = models.DateTimeField(help_text="When the person was home again.")
    note = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["technician", "-ended_at"]
        constraints = [models.UniqueConstraint(fields=["technician", "ended_at"], name="call_out_once")]

    def __str__(self) -> str:
        return f"{self.technician} called out until {self.ended_at:%Y-%m-%d %H:%M} UTC"

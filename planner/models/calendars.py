"""Shared equipment, vehicles, parts and closures: what must be there, and when one may not go."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from planner.choices import ClosureKind, EquipmentKind
from planner.models.base import Record, above, at_least, in_order
from planner.models.limits import LimitSet
from planner.models.sites import Base, Site
from planner.models.turbines import Turbine


class Equipment(Record):
    """Equipment that several orders share."""

    name = models.CharField(max_length=80, unique=True)
    kind = models.CharField(max_length=12, choices=EquipmentKind.choices)
    base = models.ForeignKey(Base, on_delete=models.PROTECT, related_name="equipment")
    capacity = models.PositiveSmallIntegerField(default=1, help_text="Visits that can use it at the same time.")
    day_cost = models.FloatField(default=0)
    mobilise_cost = models.FloatField(default=0, help_text="Once for each fortnight in which it is used at all.")
    limit_set = models.ForeignKey(
        LimitSet, null=True, blank=True, on_delete=models.PROTECT, related_name="equipment",
        help_text="Limits of its own, which hold beside those of the procedure.",
    )  # fmt: skip
    always_there = models.BooleanField(default=False, help_text="Otherwise only on its booked days.")

    class Meta:
        ordering = ["name"]
        constraints = [
            at_least("capacity", 1, "equipment_capacity"),
            at_least("day_cost", 0, "equipment_day_cost"),
            at_least("mobilise_cost", 0, "equipment_mobilise_cost"),
        ]

    def __str__(self) -> str:
        return self.name


class EquipmentBooking(Record):
    """Days on which shared equipment is there."""

    equipment = models.ForeignKey(Equipment, on_delete=models.CASCADE, related_name="bookings")
    first_day = models.DateField()
    last_day = models.DateField()

    class Meta:
        ordering = ["equipment", "first_day"]
        constraints = [in_order("first_day", "last_day", "booking_in_order")]

    def __str__(self) -> str:
        return f"{self.equipment} {self.first_day} to {self.last_day}"


class Vehicle(Record):
    """A vehicle of a base: one team a day."""

    name = models.CharField(max_length=40, unique=True)
    base = models.ForeignKey(Base, on_delete=models.PROTECT, related_name="vehicles")
    seats = models.PositiveSmallIntegerField(default=3)

    class Meta:
        ordering = ["name"]
        constraints = [at_least("seats", 2, "vehicle_seats")]

    def __str__(self) -> str:
        return self.name


class Lodging(Record):
    """Beds near the turbines, where a team may sleep between two days in a row."""

    name = models.CharField(max_length=60)
    base = models.ForeignKey(Base, on_delete=models.CASCADE, related_name="lodgings")
    latitude = models.FloatField(validators=[MinValueValidator(-90), MaxValueValidator(90)])
    longitude = models.FloatField(validators=[MinValueValidator(-180), MaxValueValidator(180)])
    beds = models.PositiveSmallIntegerField(default=2)
    night_cost = models.FloatField(default=0, help_text="For each person and night, in the currency of the sites.")

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["base", "name"], name="lodging_once"),
            at_least("beds", 1, "lodging_beds"),
            at_least("night_cost", 0, "lodging_night_cost"),
        ]

    def __str__(self) -> str:
        return self.name


class Part(Record):
    """A part, its stock and how long an order takes."""

    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=80)
    stock = models.PositiveIntegerField(default=0)
    lead_time_days = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.name


class PartDelivery(Record):
    """Parts on order: `quantity` expected on a day."""

    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="deliveries")
    quantity = models.PositiveIntegerField()
    expected_on = models.DateField()
    received_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["part", "expected_on"]
        constraints = [above("quantity", 0, "delivery_quantity")]

    def __str__(self) -> str:
        return f"{self.quantity} x {self.part} on {self.expected_on}"


class Closure(Record):
    """From `first_day` through `last_day` nobody may work at a turbine, along a road or on a whole site.

    A grid outage does not keep people away: standstill is free then.
    """

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="closures")
    turbine = models.ForeignKey(Turbine, null=True, blank=True, on_delete=models.CASCADE, related_name="closures")
    road = models.CharField(max_length=40, blank=True, help_text="Turbines on this track.")
    kind = models.CharField(max_length=12, choices=ClosureKind.choices)
    reason = models.CharField(max_length=120)
    first_day = models.DateField()
    last_day = models.DateField()

    class Meta:
        ordering = ["site", "first_day"]
        constraints = [
            in_order("first_day", "last_day", "closure_in_order"),
            models.CheckConstraint(
                condition=Q(turbine__isnull=True) | Q(road=""),
                name="closure_one_target",
                violation_error_message="Give a turbine or a road, not both; neither means the whole site.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.reason} {self.first_day} to {self.last_day}"

"""Turbine types, turbines and their component trees."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from planner.models.base import Record, above, at_least, once
from planner.models.sites import Site
from planner.validators import power_curve


class TurbineType(Record):
    """What turbines of one type have in common: rotor, power curve and the way up."""

    name = models.CharField(max_length=80, unique=True)
    rotor_diameter_m = models.FloatField()
    rated_kw = models.FloatField()
    cut_in_mps = models.FloatField(default=3)
    cut_out_mps = models.FloatField(default=25)
    power_curve = models.JSONField(validators=[power_curve], help_text="[[m/s, kW], ...] at 1.225 kg/m3, speeds rising.")
    lift_to_m = models.FloatField(null=True, blank=True, help_text="Height the service lift reaches; empty: no lift.")
    lift_m_per_min = models.FloatField(default=18)
    climb_m_per_min = models.FloatField(default=7.2, help_text="24 rungs of 0.30 m a minute.")

    class Meta:
        ordering = ["name"]
        constraints = [
            above("rotor_diameter_m", 0, "type_rotor"),
            above("rated_kw", 0, "type_rated"),
            above("lift_m_per_min", 0, "type_lift_pace"),
            above("climb_m_per_min", 0, "type_climb_pace"),
            models.CheckConstraint(
                condition=Q(cut_in_mps__gt=0) & Q(cut_out_mps__gt=F("cut_in_mps")),
                name="type_cut_in_below_cut_out",
                violation_error_message="cut_out_mps must lie above cut_in_mps, and both above 0.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Turbine(Record):
    """One turbine of a site."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="turbines")
    code = models.CharField(max_length=20)
    type = models.ForeignKey(TurbineType, on_delete=models.PROTECT, related_name="turbines")
    latitude = models.FloatField(validators=[MinValueValidator(-90), MaxValueValidator(90)])
    longitude = models.FloatField(validators=[MinValueValidator(-180), MaxValueValidator(180)])
    hub_height_m = models.FloatField()
    feeder = models.CharField(max_length=20, blank=True, help_text="String or feeder it hangs on.")
    road = models.CharField(max_length=40, blank=True, help_text="Track that leads to it, for closures of a road.")
    commissioned_on = models.DateField()
    designation = models.CharField(max_length=40, blank=True, help_text="Reference designation (ISO/IEC 81346).")

    class Meta:
        ordering = ["site__code", "code"]
        constraints = [
            models.UniqueConstraint(fields=["site", "code"], name="turbine_code_once_per_site"),
            above("hub_height_m", 0, "turbine_hub_height"),
        ]

    def __str__(self) -> str:
        return self.code

    def clean(self) -> None:
        """A lift cannot reach above the hub."""
        lift_to_m = self.type.lift_to_m if self.type_id else None
        if lift_to_m is not None and self.hub_height_m is not None and lift_to_m > self.hub_height_m:
            raise ValidationError({"hub_height_m": "The type's lift reaches above this hub: correct hub_height_m or lift_to_m."})


class ComponentKind(Record):
    """A kind of component, such as a pitch bearing."""

    code = models.SlugField(max_length=30, unique=True)
    name = models.CharField(max_length=80)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.name


class Component(Record):
    """A component in a turbine's tree; one of `of` alike at `position` (1..of)."""

    turbine = models.ForeignKey(Turbine, on_delete=models.CASCADE, related_name="components")
    parent = models.ForeignKey("self", null=True, blank=True, on_delete=models.CASCADE, related_name="children")
    kind = models.ForeignKey(ComponentKind, on_delete=models.PROTECT, related_name="components")
    position = models.PositiveSmallIntegerField(default=1)
    of = models.PositiveSmallIntegerField(default=1)
    designation = models.CharField(max_length=40, blank=True, help_text="Reference designation (ISO/IEC 81346).")
    serial = models.CharField(max_length=40, blank=True)
    installed_on = models.DateField(null=True, blank=True, help_text="Empty: with the turbine.")

    class Meta:
        ordering = ["turbine", "kind__code", "position"]
        constraints = [
            *once(["turbine", "kind", "position"], "parent", "component_position_once"),
            at_least("position", 1, "component_position_from_1"),
            models.CheckConstraint(
                condition=Q(position__lte=F("of")),
                name="component_position_within",
                violation_error_message="position must be between 1 and the number of alike components.",
            ),
        ]

    def __str__(self) -> str:
        of = f" {self.position}/{self.of}" if self.of > 1 else ""
        return f"{self.kind}{of}"

    def clean(self) -> None:
        """The parent belongs to the same turbine."""
        if self.parent_id and self.parent and self.parent.turbine_id != self.turbine_id:
            raise ValidationError({"parent": "The parent belongs to another turbine: choose one of this turbine."})

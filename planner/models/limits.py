"""Limit sets: the weather that allows a kind of work."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from planner.choices import Comparison, MetabolicClass, Quantity
from planner.models.base import Record, above, at_least

UPPER = (Comparison.AT_MOST, Comparison.BELOW)
#: What is dangerous above its limit, and what below; temperature, humidity and wave period may be either.
WORSE_ABOVE = (
    Quantity.WIND, Quantity.GUST, Quantity.LIGHTNING_CHANCE, Quantity.WBGT, Quantity.RAIN, Quantity.ICING, Quantity.WAVE,
)  # fmt: skip
WORSE_BELOW = (
    Quantity.LIGHTNING, Quantity.WIND_CHILL, Quantity.WORK_SHARE, Quantity.DEW_POINT_SPREAD, Quantity.VISIBILITY,
)  # fmt: skip
PERCENT = (Quantity.LIGHTNING_CHANCE, Quantity.WORK_SHARE, Quantity.HUMIDITY, Quantity.ICING)
LENGTHS = (Quantity.LIGHTNING, Quantity.VISIBILITY, Quantity.RAIN, Quantity.WAVE, Quantity.WAVE_PERIOD)
INSIDE = (Quantity.TEMPERATURE, Quantity.WBGT, Quantity.WORK_SHARE)

#: Two limits of one quantity stand beside each other where they are at another height, averaging or offset.
KIND = ["limit_set", "quantity", "comparison", "at_hub", "averaging_min", "offset_c"]
TWICE = "The set has such a limit already at that height, averaging and offset: change the one that is there."


class LimitSet(Record):
    """Named weather limits. All hold at once; together they say when a slot is workable."""

    code = models.SlugField(max_length=30, unique=True)
    name = models.CharField(max_length=80)
    daylight = models.BooleanField(default=False, help_text="Only between sunrise and sunset.")
    gust_factor = models.FloatField(
        null=True, blank=True, help_text="Gust = mean x this where no gust is forecast. Empty: no gust, no work."
    )
    note = models.TextField(blank=True, help_text="Where the numbers come from.")

    class Meta:
        ordering = ["code"]
        constraints = [at_least("gust_factor", 1, "limit_set_gust_factor")]

    def __str__(self) -> str:
        return self.name


class Limit(Record):
    """One limit of a set, with height and averaging: m/s, degrees Celsius, percent, mm/h, seconds, or metres (of sight, to
    lightning, of wave)."""

    limit_set = models.ForeignKey(LimitSet, on_delete=models.CASCADE, related_name="limits")
    quantity = models.CharField(max_length=30, choices=Quantity.choices)
    comparison = models.CharField(max_length=2, choices=Comparison.choices, default=Comparison.AT_MOST)
    value = models.FloatField()
    at_hub = models.BooleanField(default=True)
    height_m = models.FloatField(null=True, blank=True, help_text="Only where the limit is not meant at the hub.")
    averaging_min = models.FloatField(default=10, help_text="0.05 is a 3-second gust.")
    clear_after_min = models.FloatField(
        default=0, help_text="Back only when it has held for so many minutes; each value past it starts the clock again."
    )
    offset_c = models.FloatField(default=0, help_text="Temperature and heat: the nacelle is warmer than outside by this.")
    metabolic_class = models.PositiveSmallIntegerField(
        null=True, blank=True, choices=MetabolicClass.choices, help_text="Work share: how heavy the work is, by ISO 7243."
    )
    acclimatised = models.BooleanField(default=False, help_text="Work share: the people are used to the heat.")

    class Meta:
        ordering = ["limit_set", "quantity"]
        constraints = [
            models.UniqueConstraint(
                fields=KIND, condition=Q(height_m__isnull=True), name="limit_once_at_hub", violation_error_message=TWICE
            ),
            models.UniqueConstraint(
                fields=[*KIND, "height_m"],
                condition=Q(height_m__isnull=False),
                name="limit_once_at_height",
                violation_error_message=TWICE,
            ),
            models.CheckConstraint(
                condition=Q(at_hub=True) | Q(height_m__isnull=False, height_m__gt=0),
                name="limit_has_height",
                violation_error_message="A limit needs its height: tick at_hub or give height_m.",
            ),
            models.CheckConstraint(
                condition=Q(at_hub=False) | Q(height_m__isnull=True),
                name="limit_has_one_height",
                violation_error_message="height_m is for a limit that is not meant at the hub: untick at_hub or leave it empty.",
            ),
            models.CheckConstraint(
                condition=~Q(quantity__in=["wind", "gust"]) | Q(value__gt=0),
                name="limit_wind_above_zero",
                violation_error_message="A wind limit must be above 0 m/s.",
            ),
            models.CheckConstraint(
                condition=(~Q(quantity__in=WORSE_ABOVE) | Q(comparison__in=UPPER))
                & (~Q(quantity__in=WORSE_BELOW) | ~Q(comparison__in=UPPER)),
                name="limit_direction",
                violation_error_message="comparison points the wrong way for this quantity: give at most or below for what is "
                "worse the more there is (wind), at least or above for what is worse the less there is (visibility).",
            ),
            models.CheckConstraint(
                condition=~Q(quantity=Quantity.WIND_CHILL) | Q(value__lte=10),
                name="limit_wind_chill",
                violation_error_message="value lies above 10 degC, where nobody feels wind chill: give 10 or less.",
            ),
            models.CheckConstraint(
                condition=~Q(quantity__in=PERCENT) | Q(value__gte=0, value__lte=100),
                name="limit_percent",
                violation_error_message="value is a percentage here: give 0 to 100.",
            ),
            models.CheckConstraint(
                condition=~Q(quantity__in=LENGTHS) | Q(value__gte=0),
                name="limit_length",
                violation_error_message="value cannot lie below 0 for this quantity: give it in the unit shown.",
            ),
            models.CheckConstraint(
                condition=Q(clear_after_min__gte=0, clear_after_min__lte=1440),
                name="limit_clear_after",
                violation_error_message="clear_after_min is how long to stay clear: give 0 to 1440 minutes.",
            ),
            models.CheckConstraint(
                condition=Q(offset_c=0) | Q(quantity__in=INSIDE, offset_c__gt=0, offset_c__lte=40),
                name="limit_offset",
                violation_error_message="offset_c is how much warmer the nacelle is, 0 to 40 degC, for temperature, WBGT and "
                "work share only.",
            ),
            models.CheckConstraint(
                condition=Q(quantity=Quantity.WORK_SHARE, metabolic_class__isnull=False, metabolic_class__lte=4)
                | (~Q(quantity=Quantity.WORK_SHARE) & Q(metabolic_class__isnull=True)),
                name="limit_metabolic_class",
                violation_error_message="metabolic_class goes with a work share, and only there: give 0 (resting) to 4 (very "
                "high).",
            ),
            above("averaging_min", 0, "limit_averaging"),
        ]

    def __str__(self) -> str:
        name, _, unit = self.get_quantity_display().partition(" (")
        return f"{name} {self.comparison} {self.value:g} {unit.rstrip(')')}"


def check_limit_against_cut_in(limit: Limit, cut_in_mps: float) -> None:
    """A wind limit below cut-in would stop work before the turbine even runs: refuse it as a likely unit error."""
    if limit.quantity in (Quantity.WIND, Quantity.GUST) and limit.at_hub and limit.value < cut_in_mps:
        below = f"{limit.value:g} m/s lies below cut-in ({cut_in_mps:g} m/s)"
        raise ValidationError({"value": f"{below}: check the unit, limits are in m/s at the hub."})

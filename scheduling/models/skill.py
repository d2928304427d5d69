"""How good the weather was: what stays were called, what became of them, and what was learnt from it."""

from __future__ import annotations

from datetime import UTC

from django.db import models
from django.db.models import F, Q

from planner.models.sites import Site
from planner.models.turbines import Turbine
from scheduling.models.plans import Visit
from scheduling.models.weather import WeatherSet


class StayCall(models.Model):
    """The chance a stay was given, from which forecast; and, once the wind was measured, whether the stay would have fitted.

    One row for each stay and forecast: a later forecast of the same stay is another call, with a shorter lead.
    """

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="stay_calls")
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="stay_calls")
    forecast = models.ForeignKey(WeatherSet, null=True, on_delete=models.SET_NULL, related_name="stay_calls")
    issued_at = models.DateTimeField(help_text="Issue time of the forecast (UTC), kept even when the forecast is deleted.")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    lead_h = models.FloatField(help_text="Hours from the issue of the forecast to the start of the stay.")
    chance = models.FloatField(help_text="Share of members in which the whole stay fits.")
    go = models.BooleanField(help_text="Whether that reached the confidence the site asks for.")
    limits = models.JSONField(help_text="Codes of the limit sets that had to hold.")
    fitted = models.BooleanField(null=True, help_text="What the measured wind said; empty while it is not known.")
    scored_at = models.DateTimeField(null=True, blank=True)
    about = models.JSONField(default=dict, help_text="What was measured, and why a stay could not be scored.")

    class Meta:
        ordering = ["-starts_at", "visit", "-issued_at"]
        indexes = [models.Index(fields=["site", "fitted", "starts_at"])]
        constraints = [
            models.UniqueConstraint(fields=["visit", "issued_at"], name="stay_called_once"),
            models.CheckConstraint(condition=Q(ends_at__gt=F("starts_at")), name="stay_call_in_order"),
            models.CheckConstraint(condition=Q(chance__gte=0) & Q(chance__lte=1), name="stay_call_chance"),
        ]

    def __str__(self) -> str:
        return f"{self.visit}: {self.chance:.0%} from {self.issued_at.astimezone(UTC):%Y-%m-%d %H:%M} UTC"


class ErrorFit(models.Model):
    """How far off the forecasts of a site were, by lead time: what the newest fit found. The newest one in use counts."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="error_fits")
    fitted_at = models.DateTimeField()
    first_issue = models.DateTimeField()
    last_issue = models.DateTimeField()
    forecasts = models.PositiveIntegerField()
    pairs = models.PositiveIntegerField(help_text="Values of a forecast that could be held against a measured one.")
    model = models.JSONField(help_text="Bias, spread and memory, by lead.")
    in_use = models.BooleanField(default=True)

    class Meta:
        ordering = ["site", "-fitted_at", "-id"]

    def __str__(self) -> str:
        return f"{self.site}, {self.forecasts} forecasts to {self.last_issue.astimezone(UTC):%Y-%m-%d}"


class TurbineWind(models.Model):
    """How a turbine's own wind compares with the forecast of its site at its hub: own = factor x forecast + offset."""

    turbine = models.OneToOneField(Turbine, on_delete=models.CASCADE, related_name="own_wind")
    factor = models.FloatField()
    offset_mps = models.FloatField()
    pairs = models.PositiveIntegerField()
    rest_mps = models.FloatField(help_text="Spread of what the factor does not explain, m/s.")
    fitted_at = models.DateTimeField()
    in_use = models.BooleanField(default=True)

    class Meta:
        ordering = ["turbine"]
        constraints = [models.CheckConstraint(condition=Q(factor__gt=0), name="turbine_wind_factor")]

    def __str__(self) -> str:
        return f"{self.turbine}: {self.factor:.2f} x {self.offset_mps:+.1f} m/s"

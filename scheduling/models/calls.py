"""The morning's calls, kept as they were said."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from scheduling.choices import Verdict
from scheduling.models.plans import Visit
from scheduling.models.weather import WeatherSet


class Call(models.Model):
    """What the morning said to one visit: verdict, times, limit, with the forecast it was said from."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="calls")
    verdict = models.CharField(max_length=6, choices=Verdict.choices)
    said_at = models.DateTimeField()
    forecast = models.ForeignKey(WeatherSet, null=True, on_delete=models.SET_NULL, related_name="calls")
    first_start = models.DateTimeField(null=True)
    last_start = models.DateTimeField(null=True)
    down_by = models.DateTimeField(null=True)
    chance = models.FloatField(null=True)
    about = models.JSONField(default=dict, help_text="Binding limit, forecast age, reasons.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")

    class Meta:
        ordering = ["-said_at", "visit"]

    def __str__(self) -> str:
        return f"{self.visit}: {self.verdict}"

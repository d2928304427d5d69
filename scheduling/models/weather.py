"""Weather as arrays: one row per set of series, never a row per value."""

from __future__ import annotations

from datetime import UTC

from django.db import models
from django.db.models import Q

from planner.models.base import Record
from planner.models.sites import Site
from scheduling.choices import SeriesKind


class WeatherFeed(Record):
    """Where weather of a site comes from, how its files are read (the recipe, as JSON), and how often they should come."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="feeds")
    name = models.CharField(max_length=60)
    kind = models.CharField(max_length=12, choices=SeriesKind.choices, default=SeriesKind.FORECAST)
    recipe = models.JSONField()
    every_h = models.FloatField(
        null=True,
        blank=True,
        help_text="Hours between two files. Twice as long without one is an alarm. Empty: by hand, no alarm.",
    )

    class Meta:
        ordering = ["site", "name"]
        constraints = [
            models.UniqueConstraint(fields=["site", "name"], name="feed_name_once"),
            models.CheckConstraint(
                condition=Q(every_h__isnull=True) | Q(every_h__gt=0),
                name="feed_every_above_zero",
                violation_error_message="every_h must be above 0, or empty.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class WeatherSet(models.Model):
    """Series of one source on one regular UTC grid, at their own heights, as a compressed array file.

    `data` holds the arrays of weather.series in NumPy's .npz form; `about` lists variable, unit, height and averaging of each,
    with the reader's report. `digest` makes a second import of the same content find the first.
    """

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="weather")
    feed = models.ForeignKey(WeatherFeed, null=True, blank=True, on_delete=models.SET_NULL, related_name="sets")
    kind = models.CharField(max_length=12, choices=SeriesKind.choices)
    issued_at = models.DateTimeField(null=True, blank=True, help_text="Issue time of a forecast (UTC).")
    received_at = models.DateTimeField(auto_now_add=True)
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    step_min = models.PositiveSmallIntegerField()
    members = models.PositiveSmallIntegerField(default=1)
    about = models.JSONField(default=dict)
    data = models.BinaryField()
    digest = models.CharField(max_length=64)

    class Meta:
        ordering = ["site", "kind", "-issued_at", "-id"]
        indexes = [models.Index(fields=["site", "kind", "issued_at"])]
        constraints = [
            models.UniqueConstraint(fields=["site", "kind", "digest"], name="weather_content_once"),
            models.CheckConstraint(
                condition=~Q(kind="forecast") | Q(issued_at__isnull=False),
                name="forecast_has_issue_time",
                violation_error_message="A forecast needs its issue time.",
            ),
            models.CheckConstraint(
                condition=Q(ends_at__gt=models.F("starts_at")),
                name="weather_in_order",
                violation_error_message="The series ends before it starts.",
            ),
        ]

    def __str__(self) -> str:
        at = (self.issued_at or self.starts_at).astimezone(UTC)
        return f"{self.site} {self.kind} {at:%Y-%m-%d %H:%M} UTC"

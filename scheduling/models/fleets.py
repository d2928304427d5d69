"""Fleets: the fortnights of many bases, begun together."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from scheduling.choices import FleetState


class Fleet(models.Model):
    """Many bases' fortnights asked for at once. Its parts are ordinary runs, one for each base, which point here.

    Nothing of the parts is kept twice: values, gaps and failures are read from the runs. What stands here is what was asked,
    and, once the last part has ended, what the joined plan looked like at that moment.
    """

    state = models.CharField(max_length=8, choices=FleetState.choices, default=FleetState.OPEN)
    first_day = models.DateField()
    days = models.PositiveSmallIntegerField()
    seed = models.PositiveIntegerField(default=1)
    params = models.JSONField(default=dict)
    joined_by = models.JSONField(
        default=list, blank=True, help_text="Bases planned one after the other, in their order, and what they share."
    )
    stop_asked = models.BooleanField(default=False)
    text = models.TextField(blank=True, help_text="How it ended, in a sentence or two.")
    outcome = models.JSONField(default=dict, blank=True, help_text="Counts and sums of the parts when the last one ended.")
    shared = models.JSONField(default=list, blank=True, help_text="What plans of more than one base use.")
    clashes = models.JSONField(default=list, blank=True, help_text="What the plans together use twice, each in a sentence.")
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    asked_at = models.DateTimeField(auto_now_add=True)
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-asked_at", "-id"]
        indexes = [models.Index(fields=["asked_at"], name="fleet_open", condition=models.Q(state="open"))]

    def __str__(self) -> str:
        return f"fleet {self.pk} from {self.first_day}"

    @property
    def is_open(self) -> bool:
        """Whether parts are still to come."""
        return self.state == FleetState.OPEN

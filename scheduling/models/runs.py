"""One solve: everything needed to replay it, and what came of it."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from planner.models.sites import Base
from scheduling.choices import OPEN, RunKind, RunState


class Run(models.Model):
    """A solve of one base's sites. The worker that holds it writes `beat_at`; a run whose beat stops is taken up again.

    `attempt` is part of the claim: a worker writes only while its attempt is the row's. One run of a kind may be open for a
    base, and one for each what-if: those touch neither each other nor the base's plan.
    """

    base = models.ForeignKey(Base, on_delete=models.PROTECT, related_name="runs")
    kind = models.CharField(max_length=10, choices=RunKind.choices)
    state = models.CharField(max_length=12, choices=RunState.choices, default=RunState.QUEUED)
    first_day = models.DateField()
    days = models.PositiveSmallIntegerField()
    problem = models.JSONField(null=True, help_text="Frozen; empty until a worker has built it (parts of a fleet).")
    params = models.JSONField(default=dict)
    what_if = models.ForeignKey(
        "scheduling.WhatIf", null=True, blank=True, on_delete=models.CASCADE, related_name="runs",
        help_text="The what-if it solves; empty: the base's own plan.",
    )  # fmt: skip
    fleet = models.ForeignKey(
        "scheduling.Fleet", null=True, blank=True, on_delete=models.CASCADE, related_name="parts",
        help_text="The fleet whose part it is; empty: asked for alone.",
    )  # fmt: skip
    follows = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.SET_NULL, related_name="followers",
        help_text="The part that must end first, because both share equipment or parts.",
    )  # fmt: skip
    seed = models.PositiveIntegerField(default=1)
    versions = models.JSONField(default=dict, blank=True)
    status = models.CharField(max_length=20, blank=True, help_text="The solver's own word.")
    text = models.TextField(blank=True, help_text="What happened, in a sentence.")
    value = models.FloatField(null=True, blank=True, help_text="In the base's currency.")
    bound = models.FloatField(null=True, blank=True)
    gap = models.FloatField(null=True, blank=True)
    seconds = models.FloatField(null=True, blank=True)
    trace = models.JSONField(default=list, blank=True, help_text="[seconds, value, bound] of each improvement.")
    best = models.JSONField(null=True, blank=True, help_text="The best plan so far, kept when stopped or lost.")
    changes = models.JSONField(default=list, blank=True, help_text="What a repair changed: order and a sentence for each visit.")
    error = models.TextField(blank=True)
    attempt = models.PositiveSmallIntegerField(default=0)
    stop_asked = models.BooleanField(default=False)
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    asked_at = models.DateTimeField(auto_now_add=True)
    started_at = models.DateTimeField(null=True, blank=True)
    beat_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-asked_at", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["base", "kind"],
                condition=Q(state__in=["queued", "solving"], what_if__isnull=True),
                name="run_one_open_for_base",
            ),
            models.UniqueConstraint(
                fields=["what_if"], condition=Q(state__in=["queued", "solving"]), name="run_one_open_for_what_if"
            ),
        ]
        indexes = [
            models.Index(fields=["beat_at"], name="run_open_beat", condition=Q(state__in=["queued", "solving"])),
        ]

    def __str__(self) -> str:
        return f"run {self.pk} ({self.kind} from {self.first_day})"

    @property
    def is_open(self) -> bool:
        """Still to come."""
        return self.state in OPEN

"""What-ifs: named copies of a fortnight's problem with changes. The only writer is services/what_ifs."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from planner.models.sites import Base
from scheduling.choices import WhatIfState


class WhatIf(models.Model):
    """One planner's question: the base's fortnight as it was when asked, with a list of changes.

    `problem`, `register` and `forecasts` are frozen when it is made; `tables` are the weather tables for changed limits.
    `result` is the run that solved the changes as they stand; a change empties it.
    """

    base = models.ForeignKey(Base, on_delete=models.PROTECT, related_name="what_ifs")
    name = models.CharField(max_length=60)
    note = models.TextField(blank=True)
    state = models.CharField(max_length=12, choices=WhatIfState.choices, default=WhatIfState.OPEN)
    first_day = models.DateField()
    days = models.PositiveSmallIntegerField()
    changes = models.JSONField(default=list, blank=True, help_text="Changes, each with its kind (fortnight/changes).")
    told = models.JSONField(default=list, blank=True, help_text="Each change in a sentence, and what would make it true.")
    result = models.OneToOneField(
        "scheduling.Run", null=True, blank=True, on_delete=models.SET_NULL, related_name="result_of",
        help_text="The run whose plan answers these changes.",
    )  # fmt: skip
    left_out = models.JSONField(default=list, blank=True, help_text="Orders its plan leaves out, each with its reason.")
    problem = models.JSONField(help_text="The problem before any change.")
    register = models.JSONField(default=dict, help_text="What the register said beside it.")
    forecasts = models.JSONField(default=dict, help_text="Site -> id of the forecast it stands on.")
    tables = models.JSONField(default=dict, blank=True, help_text="Weather tables for changed limits.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    created_at = models.DateTimeField()

    history: Any = HistoricalRecords(excluded_fields=["problem", "register", "forecasts", "tables", "left_out", "told"])

    class Meta:
        ordering = ["-created_at", "-id"]
        verbose_name = "what-if"
        constraints = [
            models.UniqueConstraint(fields=["base", "name"], condition=Q(state="open"), name="what_if_name_once_open"),
            models.CheckConstraint(condition=Q(days__gte=1), name="what_if_has_days"),
        ]

    def __str__(self) -> str:
        return self.name

"""Questions about a plan that take seconds to answer: asked once, worked out by a worker, kept with the plan."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from scheduling.choices import QUESTION_OPEN, QuestionKind, QuestionState
from scheduling.models.plans import Plan


class PlanQuestion(models.Model):
    """What would let an order in, or where else a visit could stand. One row for each question of a plan, so it is its cache.

    `attempt` is part of the claim, as with runs: a worker writes only while its attempt is the row's. The only writer is
    services/questions.py.
    """

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="questions")
    kind = models.CharField(max_length=10, choices=QuestionKind.choices)
    order_number = models.CharField(max_length=40)
    visit = models.PositiveSmallIntegerField(default=0, help_text="Which visit of the order, from 0.")
    state = models.CharField(max_length=10, choices=QuestionState.choices, default=QuestionState.QUEUED)
    tried = models.PositiveSmallIntegerField(default=0, help_text="Changes or days tried so far.")
    to_try = models.PositiveSmallIntegerField(default=0)
    answer = models.JSONField(default=dict, blank=True)
    text = models.TextField(blank=True, help_text="The answer in a sentence, or why there is none.")
    attempt = models.PositiveSmallIntegerField(default=0)
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    asked_at = models.DateTimeField(auto_now_add=True)
    beat_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-asked_at", "-id"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "kind", "order_number", "visit"], name="plan_question_once"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.order_number} of plan {self.plan_id}"

    @property
    def is_open(self) -> bool:
        """Still to be answered."""
        return self.state in QUESTION_OPEN

"""Named values of weather, runs and plans, with named groups."""

from __future__ import annotations

from django.db import models


class SeriesKind(models.TextChoices):
    """What a stored series is."""

    FORECAST = "forecast", "forecast"
    OBSERVED = "observed", "observed"
    PAST = "past years", "past years (reanalysis or mast)"


class RunKind(models.TextChoices):
    """What a run solves."""

    FORTNIGHT = "fortnight", "fortnight"
    YEAR = "year", "year"


class RunState(models.TextChoices):
    """Where a run is."""

    QUEUED = "queued", "queued"
    SOLVING = "solving", "solving"
    DONE = "done", "done"
    STOPPED = "stopped", "stopped by the user"
    INFEASIBLE = "infeasible", "infeasible"
    FAILED = "failed", "failed"
    LOST = "lost", "worker lost"


OPEN = (RunState.QUEUED, RunState.SOLVING)
"""Still to come."""
USABLE = (RunState.DONE, RunState.STOPPED)
"""Ended with a result that may be published after its check."""


class FleetState(models.TextChoices):
    """Where a fleet is. Whether its parts came to plans stands on their runs."""

    OPEN = "open", "under way"
    DONE = "done", "all parts ended"
    STOPPED = "stopped", "stopped by the user"


class PlanState(models.TextChoices):
    """A plan's life: published plans are never edited, only replaced."""

    DRAFT = "draft", "draft"
    PUBLISHED = "published", "published"
    SUPERSEDED = "superseded", "superseded"


class WhatIfState(models.TextChoices):
    """A what-if's life: tried, then published or thrown away."""

    OPEN = "open", "open"
    THROWN_AWAY = "thrown away", "thrown away"
    PUBLISHED = "published", "published"


class Verdict(models.TextChoices):
    """What the morning says to a team."""

    GO = "go", "go"
    WAIT = "wait", "wait"
    NO_GO = "no-go", "no-go"


class QuestionKind(models.TextChoices):
    """What is asked about a plan."""

    WAYS_IN = "ways in", "what would let it in"
    MOVES = "moves", "where else it could stand"


class QuestionState(models.TextChoices):
    """Where a question is."""

    QUEUED = "queued", "queued"
    WORKING = "working", "being worked out"
    ANSWERED = "answered", "answered"
    FAILED = "failed", "failed"


QUESTION_OPEN = (QuestionState.QUEUED, QuestionState.WORKING)
"""Still to be answered."""


class LockKind(models.TextChoices):
    """What a lock holds."""

    VISIT = "visit", "pinned visit"
    TEAM = "team", "pinned team"
    DAY = "day", "forbidden days"

"""Finding runs whose worker went silent, or whose message was lost with it."""

from __future__ import annotations

import logging
from datetime import datetime
from typing import Any

from django.conf import settings
from django.db.models import Q, QuerySet

from planner.clock import now_utc
from scheduling.choices import OPEN, RunState
from scheduling.models import Run
from scheduling.services.runs.ending import run_end_lost, run_end_stopped, run_fail
from scheduling.services.runs.execute import lost_after

log = logging.getLogger(__name__)


def runs_recover(*, now: datetime | None = None) -> list[Run]:
    """Runs to queue again (the caller queues them): solving without a beat, up to RUN_TRIES tries, or queued and forgotten.

    A run that has had its tries ends as lost with its cause; one that was asked to stop ends as stopped. Each run is given to
    one caller only (conditional UPDATE), so two sweeps at once are harmless.
    """
    moment = now or now_utc()
    before = moment - lost_after()
    silent = Run.objects.filter(state=RunState.SOLVING, beat_at__lt=before).select_related("base")
    again = [run for run in silent if _taken_up(run, moment)]
    waiting = Run.objects.filter(state=RunState.QUEUED).filter(
        Q(beat_at__lt=before) | Q(beat_at__isnull=True, asked_at__lt=before)
    )
    waiting = waiting.exclude(follows__state__in=OPEN).exclude(fleet__in=_lively(before))
    return again + [run for run in waiting if _forgotten(run, moment)]


def _lively(before: datetime) -> QuerySet[Run, Any]:
    """Fleets of which a part is being solved or has just ended: their other parts wait for their turn, nobody forgot them.

    Without this every sweep would send a message for each of some hundred parts again.
    """
    moving = Q(state=RunState.SOLVING) | Q(ended_at__gte=before)
    return Run.objects.filter(moving, fleet__isnull=False).values("fleet")


def _taken_up(run: Run, moment: datetime) -> bool:
    if run.stop_asked or run.attempt >= settings.RUN_TRIES:
        _end(run)
        return False
    text = f"The worker was lost at {run.beat_at:%H:%M:%S} UTC; waiting for another one."
    held = Run.objects.filter(pk=run.pk, state=RunState.SOLVING, attempt=run.attempt, beat_at=run.beat_at)
    return bool(held.update(state=RunState.QUEUED, beat_at=moment, text=text))


def _end(run: Run) -> None:
    log.warning("run %s: its worker is lost, try %s was the last", run.pk, run.attempt)
    try:
        ended = run_end_stopped(run, held=RunState.SOLVING) if run.stop_asked else run_end_lost(run)
        log.info("run %s: %s", run.pk, run.text if ended else "somebody else ended it")
    except Exception as error:
        # One run that cannot be drafted must not keep the sweep from the others.
        log.exception("run %s could not be ended", run.pk)
        run_fail(run, error)


def _forgotten(run: Run, moment: datetime) -> bool:
    """A queued run nobody took for long: its message may be gone. A second message is harmless, so it gets one."""
    return bool(Run.objects.filter(pk=run.pk, state=RunState.QUEUED, beat_at=run.beat_at).update(beat_at=moment))

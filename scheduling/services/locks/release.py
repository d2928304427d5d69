"""Letting go of what was held."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from planner.clock import now_utc
from planner.errors import ConflictError
from scheduling.models import FrozenDay, Lock
from scheduling.services.runs.create import planner_required


def lock_release(*, lock: Lock, by: User | None, now: datetime | None = None) -> Lock:
    """The next plan is free there again. Of two who release at once one gets a ConflictError."""
    planner_required(user=by, base=lock.base)
    _release(lock, by, now)
    return lock


def day_release(*, frozen: FrozenDay, by: User | None, now: datetime | None = None) -> FrozenDay:
    """The day may change again with the next plan."""
    planner_required(user=by, base=frozen.base)
    _release(frozen, by, now)
    return frozen


def _release(row: Lock | FrozenDay, by: User | None, now: datetime | None) -> None:
    with transaction.atomic():
        mine = type(row).objects.select_for_update(of=("self",)).filter(pk=row.pk, released_at=None).first()
        if mine is None:
            raise ConflictError("It is released already.")
        mine.released_at, mine.released_by = now or now_utc(), by
        mine.save(update_fields=["released_at", "released_by"])
    row.refresh_from_db()

"""Asking a what-if, and throwing it away."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from planner.clock import now_utc
from planner.errors import ConflictError, PlannerError
from planner.models import Base
from scheduling import codec
from scheduling.builders.what_if import what_if_frozen
from scheduling.choices import OPEN, WhatIfState
from scheduling.fortnight.problem import problem_to_json
from scheduling.models import Run, WhatIf
from scheduling.services.runs.create import days_check, planner_required, run_stop
from scheduling.services.what_ifs.change import laid
from scheduling.services.what_ifs.rows import open_locked, refuse_unless_open

NAME_MOST, NOTE_MOST = 60, 2000


def what_if_create(
    *,
    base: Base,
    name: str,
    first_day: date,
    days: int,
    by: User | None,
    note: str = "",
    changes: Sequence[Any] = (),
    now: datetime | None = None,
) -> WhatIf:
    """Freeze the base's fortnight under a name, with changes (JSON values) if there are any yet.

    `by` is a planner of every site of the base, or None from a command. Raises PlannerError naming the field, and
    ConflictError when an open what-if of the base has this name.
    """
    moment = now or now_utc()
    planner_required(user=by, base=base)
    days_check("fortnight", days)
    called = _name(name)
    if len(note) > NOTE_MOST:
        raise PlannerError(f"note has {len(note)} characters: use at most {NOTE_MOST}.", field="note")
    _refuse_second(base, called)
    row = WhatIf(base=base, name=called, note=note.strip(), first_day=first_day, days=days, by=by, created_at=moment)
    _freeze(row, moment)
    for field, value in laid(row, list(changes)).items():
        setattr(row, field, value)
    with transaction.atomic():
        # One row of the base is the lock: of two who take the same name at once, one is told.
        Base.objects.select_for_update().get(pk=base.pk)
        _refuse_second(base, called)
        row.save()
    return row


def what_if_throw_away(*, what_if: WhatIf, by: User | None) -> WhatIf:
    """End it; a run of it that still solves is asked to stop. It stays in the list of what was tried."""
    planner_required(user=by, base=what_if.base)
    refuse_unless_open(what_if)
    with transaction.atomic():
        row = open_locked(what_if)
        row.state = WhatIfState.THROWN_AWAY
        row.save(update_fields=["state"])
    for run in Run.objects.filter(what_if=row, state__in=OPEN).select_related("base"):
        # Whoever ended it meanwhile did what was wanted.
        with contextlib.suppress(ConflictError):
            run_stop(run=run, by=by)
    return row


def _name(name: str) -> str:
    called = " ".join(name.split())
    if not called or len(called) > NAME_MOST or not called.isprintable():
        raise PlannerError(f"name is {name[:80]!r}: give 1 to {NAME_MOST} printable characters.", field="name")
    return called


def _freeze(row: WhatIf, moment: datetime) -> None:
    try:
        frozen = what_if_frozen(base=row.base, first_day=row.first_day, days=row.days, now=moment)
    except ValueError as error:
        raise PlannerError(f"{error}.", field="base") from error
    row.problem = problem_to_json(frozen.problem)
    row.register = {
        name: codec.to_json(getattr(frozen.register, name)) for name in ("statutory", "closed", "waits_for", "limits")
    }
    row.forecasts = frozen.forecasts


def _refuse_second(base: Base, name: str) -> None:
    other = WhatIf.objects.filter(base=base, name=name, state=WhatIfState.OPEN).only("pk").first()
    if other is not None:
        text = f"{name!r} is an open what-if of {base} already: give another name, or throw that one away first."
        raise ConflictError(text, field="name", extra={"what_if": other.pk})

"""Asking for a run, and asking one to stop."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction

from planner.choices import Role
from planner.clock import now_utc
from planner.errors import ConflictError, PlannerError
from planner.models import Base
from planner.services.access import require_role
from scheduling import codec, solvers
from scheduling.builders import fortnight
from scheduling.builders import round as year
from scheduling.choices import OPEN, RunKind, RunState, WhatIfState
from scheduling.models import Run, WhatIf
from scheduling.services.runs.ending import run_end_stopped

DAYS = {RunKind.FORTNIGHT: (1, 28), RunKind.YEAR: (28, 735)}
PARAMS = ("time_limit_s", "gap", "start")
DEFAULT_GAP = 0.01


def run_create(
    *,
    base: Base,
    kind: str,
    first_day: date,
    days: int,
    by: User | None,
    seed: int = 1,
    params: dict[str, Any] | None = None,
    now: datetime | None = None,
) -> Run:
    """Freeze the base's problem into a queued run. `by` is a planner of every site of the base, or None from a command.

    params: {"time_limit_s": seconds, "gap": share, "start": "published"}, all optional; with `start` the published plan is
    mended, so that visits that nothing forces to change stay. Raises PlannerError naming the field, and ConflictError
    naming the run when the same kind is open for the base already. Queuing it is the business of scheduling.tasks.run_ask.
    """
    planner_required(user=by, base=base)
    days_check(kind, days)
    limits = limits_of(params, seed)
    if kind != RunKind.FORTNIGHT and "start" in limits:
        raise PlannerError("start is for a fortnight only: leave it out.", field="params")
    _refuse_second(base, kind)
    first_day = first_day - timedelta(days=first_day.weekday()) if kind == RunKind.YEAR else first_day
    problem = problem_build(base, kind, first_day, days, now or now_utc(), seed)
    with transaction.atomic():
        # One row of the base is the lock: two people who ask at once are answered one after the other.
        Base.objects.select_for_update().get(pk=base.pk)
        _refuse_second(base, kind)
        return Run.objects.create(
            base=base, kind=kind, first_day=first_day, days=days, problem=problem, params=limits, seed=seed, asked_by=by
        )


def run_create_what_if(*, what_if: WhatIf, problem: Any, by: User | None, seed: int, limits: dict[str, float]) -> Run:
    """A queued run of a what-if's changed problem (JSON), beside the base's own run; of one what-if only one is open."""
    with transaction.atomic():
        row = WhatIf.objects.select_for_update().get(pk=what_if.pk)
        other = Run.objects.filter(what_if=row, state__in=OPEN).only("pk").first()
        if other is not None or row.state != WhatIfState.OPEN or row.changes != what_if.changes:
            raise ConflictError(f"Somebody was faster with what-if {row.name!r}: look at it again.")
        return Run.objects.create(
            base_id=row.base_id,
            kind=RunKind.FORTNIGHT,
            first_day=row.first_day,
            days=row.days,
            what_if=row,
            problem=problem,
            params=limits,
            seed=seed,
            asked_by=by,
        )


def run_stop(*, run: Run, by: User | None) -> Run:
    """Ask an open run to stop. A queued one ends at once; one that solves ends within about a second and keeps its best plan."""
    planner_required(user=by, base=run.base)
    if run_end_stopped(run, held=RunState.QUEUED):
        return run
    asked = Run.objects.filter(pk=run.pk, state__in=OPEN).update(stop_asked=True)
    run.refresh_from_db()
    if not asked:
        raise ConflictError(f"Run {run.pk} has ended already ({run.get_state_display()}): there is nothing to stop.")
    return run


def planner_required(*, user: User | None, base: Base) -> None:
    """Refuse whoever is not a planner of every site of the base; None is the command line."""
    if user is None:
        return
    for site in base.sites.all():
        require_role(user=user, site=site, roles=(Role.PLANNER,))


def limits_of(params: dict[str, Any] | None, seed: int) -> dict[str, Any]:
    """The run's limits, checked and completed: numbers, and `start` where one is asked for."""
    given = dict(params or {})
    unknown = sorted(set(given) - set(PARAMS))
    if unknown:
        raise PlannerError(f"{unknown[0]!r} is no parameter of a run: give {' or '.join(PARAMS)}.", field="params")
    start = given.pop("start", "")
    values = {"time_limit_s": settings.SOLVE_LIMIT_S, "gap": DEFAULT_GAP, **given}
    for name, value in values.items():
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise PlannerError(f"{name} is {value!r}: give a number.", field="params")
    try:
        solvers.Limits(time_limit_s=values["time_limit_s"], gap=values["gap"], seed=seed, threads=1, start=start)
    except ValueError as error:
        raise PlannerError(f"{error}.", field="seed" if "seed" in str(error) else "params") from None
    most = settings.CELERY_TASK_SOFT_TIME_LIMIT
    if not values["time_limit_s"] < most:
        raise PlannerError(
            f"time_limit_s is {values['time_limit_s']:g}: a task is ended after {most} s, give less.", field="params"
        )
    return {name: float(value) for name, value in values.items()} | ({"start": start} if start else {})


def days_check(kind: str, days: int) -> None:
    """Refuse a kind that is not known and a number of days it cannot have."""
    if kind not in RunKind.values:
        raise PlannerError(f"kind is {kind!r}: give {' or '.join(RunKind.values)}.", field="kind")
    least, most = DAYS[RunKind(kind)]
    if not least <= days <= most:
        raise PlannerError(f"days is {days}: a {kind} has {least} to {most} days.", field="days")


def _refuse_second(base: Base, kind: str) -> None:
    other = Run.objects.filter(base=base, kind=kind, state__in=OPEN, what_if=None).first()
    if other is not None:
        raise ConflictError(
            f"Run {other.pk} ({kind} of {base} from {other.first_day}) is {other.get_state_display()}: wait for it or stop it.",
            extra={"run": other.pk},
        )


def problem_build(base: Base, kind: str, first_day: date, days: int, now: datetime, seed: int, drafts: Sequence[int] = ()) -> Any:
    """The base's problem of these days as JSON, from the rows of this moment. PlannerError says what it wants.

    `drafts`: plans of other bases that count beside the published ones (builders/elsewhere.py).
    """
    try:
        if kind == RunKind.YEAR:
            return codec.to_json(year.round_problem(base=base, first_day=first_day, weeks=-(-days // 7)))
        made = fortnight.fortnight_problem(base=base, first_day=first_day, days=days, now=now, seed=seed, drafts=drafts)
        return codec.to_json(made)
    except ValueError as error:
        raise PlannerError(f"{error}.", field="base") from error

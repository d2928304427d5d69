"""Carrying out a run: claim it, solve, end it. Safe to call twice, at once, and after a worker's death."""

from __future__ import annotations

import logging
from datetime import datetime, timedelta

from django.conf import settings
from django.db.models import F, Q

from planner.clock import now_utc
from scheduling import solvers
from scheduling.builders.elsewhere import drafts_before
from scheduling.choices import OPEN, RunState
from scheduling.models import Run
from scheduling.services.runs.create import problem_build
from scheduling.services.runs.ending import run_end, run_fail
from scheduling.services.runs.watch import Watch

log = logging.getLogger(__name__)


def run_execute(*, run_id: int, worker: str) -> None:
    """Solve a queued run and end it; does nothing if the run is somebody else's or has ended."""
    run = run_claim(run_id=run_id, worker=worker)
    if run is None:
        log.info("run %s is not to be taken by %s", run_id, worker)
        return
    try:
        _carry_out(run)
    except Exception as error:
        log.exception("run %s failed", run_id)
        run_fail(run, error)


def run_claim(*, run_id: int, worker: str, now: datetime | None = None) -> Run | None:
    """Make the run ours: queued, or solving with a beat that is long gone. One conditional UPDATE; None if it went to nobody.

    The claim raises `attempt`; whoever held the run before can no longer write to it.
    """
    moment = now or now_utc()
    stale = Q(state=RunState.SOLVING, attempt__lt=settings.RUN_TRIES, beat_at__lt=moment - lost_after())
    free = Run.objects.filter(Q(pk=run_id) & (Q(state=RunState.QUEUED) | stale))
    # A part that ended stays ended, so that looking at it before the claim is enough.
    seen = free.exclude(follows__state__in=OPEN).values_list("attempt", flat=True).first()
    if seen is None:
        return None
    claimed = free.filter(attempt=seen).update(
        state=RunState.SOLVING,
        attempt=F("attempt") + 1,
        started_at=moment,
        beat_at=moment,
        text=f"Solving on {worker}, try {seen + 1}.",
    )
    return Run.objects.select_related("base").get(pk=run_id) if claimed else None


def lost_after() -> timedelta:
    """How long a run may go without a beat before it counts as lost."""
    return timedelta(seconds=settings.RUN_LOST_AFTER_S)


def _carry_out(run: Run) -> None:
    solver = solvers.solver_for(run.kind)
    limits = solvers.Limits(
        time_limit_s=run.params["time_limit_s"],
        gap=run.params["gap"],
        seed=run.seed,
        # A fleet's parts are its parallel work: each keeps to one core, and every core carries a part of its own.
        threads=settings.SOLVE_THREADS if run.fleet_id is None else 1,
        start=run.params.get("start", ""),
    )
    with Watch(run, solver.write) as watch:
        watch.stop_asked = run.stop_asked
        _freeze(run)
        result = solver.solve(solver.read(run.problem), limits, watch.on_step, watch.should_stop)
        if watch.lost:
            log.warning("run %s was taken up by another worker; this result is dropped", run.pk)
            return
        # Saying why orders were left out takes a while on a large problem: the beat goes on until the run has ended.
        run_end(run, solver, result, watch.trace)


def _freeze(run: Run) -> None:
    """Build the problem of a part of a fleet, and keep it with the run: a second try and every replay solve the same."""
    if run.problem is not None:
        return
    days = (run.first_day, run.days)
    run.problem = problem_build(run.base, run.kind, *days, now_utc(), run.seed, drafts_before(run))
    Run.objects.filter(pk=run.pk, attempt=run.attempt, state=RunState.SOLVING).update(problem=run.problem)

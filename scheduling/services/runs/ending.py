"""How a run ends: each way with its state, its text and what is kept. Written only while the attempt is still ours."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from functools import partial
from typing import Any

from billiard.exceptions import SoftTimeLimitExceeded
from django.db import transaction

from planner.clock import now_utc
from planner.errors import PlannerError
from scheduling import solvers
from scheduling.choices import USABLE, RunKind, RunState
from scheduling.models import Run
from scheduling.services.runs.watch import gap_of

Draft = Callable[..., Any]
STATES = {
    "optimal": RunState.DONE,
    "gap reached": RunState.DONE,
    "out of time": RunState.DONE,
    "empty": RunState.DONE,
    "stopped": RunState.STOPPED,
    "infeasible": RunState.INFEASIBLE,
    "unknown": RunState.FAILED,
}
TEXTS = {
    "optimal": "Solved: no better plan exists.",
    "gap reached": "Solved to the gap that was asked for.",
    "out of time": "The time ran out; this is the best plan found, with the bound that tells how far it can be off.",
    "empty": "There was nothing to plan in these days.",
    "stopped": "Stopped on request; this is the best plan until then.",
    "infeasible": "No plan can keep what was pinned together with the hard rules.",
    "unknown": "No plan was found in the time given, which does not say that there is none: the published plan stays, "
    "give more time.",
}
STOPPED_EARLY = "Stopped before a worker began it: there is no plan."
STOPPED_LOST = "Stopped on request while no worker held it; this is the best plan until then."
LOST = "The worker was lost {tries} times while it solved this run (killed, out of memory, or the machine went away). "
LOST_KEPT = "The best plan until then is kept with the run, not drafted: ask for the run again."
LOST_BARE = "No plan had been found: ask for the run again with a shorter time limit or on a larger machine."
TRACE_CHARS = 8000
NOTHING = {"value": None, "bound": None, "gap": None, "best": None}


def run_end(run: Run, solver: solvers.Solver, result: solvers.Result, trace: list[list[float | None]]) -> bool:
    """End the run with a result and draft its plan or round, both or neither. False if the run was not ours any more."""
    outcome = _outcome(run, solver, result)
    # Out of time with nothing to show does not mean that no plan exists; it must not leave an empty plan behind either.
    status = "unknown" if result.status == "out of time" and outcome["best"] is None else result.status
    state = STATES.get(status, RunState.FAILED)
    usable = state in USABLE
    fields: dict[str, Any] = {
        "state": state,
        "status": status,
        "text": result.text or TEXTS.get(status, f"The solver ended with {status!r}."),
        "seconds": result.seconds,
        "versions": {**solvers.versions_here(), **dict(result.versions)},
        "trace": trace,
        "ended_at": now_utc(),
        **(outcome if usable else NOTHING),
    }
    if usable and outcome["best"] is not None and run.params.get("start"):
        fields["changes"] = changes_told(run, outcome["best"])
    return _finish(run, fields, draft=_drafter(run, outcome["best"]) if usable else None)


def changes_told(run: Run, best: Any) -> list[dict[str, str]]:
    """What a plan (as JSON) changed of the one it mends: order and sentence of each visit that did not stay."""
    from scheduling.fortnight.plan import plan_from_json
    from scheduling.fortnight.problem import problem_from_json
    from scheduling.fortnight.repair import change_texts, changes
    from scheduling.selectors.solved import clock_of

    problem, plan = problem_from_json(run.problem), plan_from_json(best)
    told = change_texts(problem, changes(problem, plan), clock_of(problem, run.base.zone))
    return [{"order": change.was.order, "text": text} for change, text in told]


def _outcome(run: Run, solver: solvers.Solver, result: solvers.Result) -> dict[str, Any]:
    """Value, bound and plan; the plan of an earlier try, cut off by its worker's death, wins if it is cheaper.

    A plan without parts of cost is no plan: that is what the solvers give when they found none.
    """
    value, best = (solvers.money(result.plan.value), solver.write(result.plan)) if result.plan.parts else (None, None)
    if run.best is not None and run.value is not None and (value is None or run.value < value):
        value, best = run.value, run.best
    bound = solvers.money(result.bound) if best is not None else None
    return {"value": value, "bound": bound, "gap": gap_of(value, bound), "best": best}


def run_fail(run: Run, error: Exception) -> bool:
    """End the run as failed: a sentence for the planner, the traceback for whoever mends it; the best plan so far stays."""
    trace = "".join(traceback.format_exception(error))[-TRACE_CHARS:]
    return _finish(run, {"state": RunState.FAILED, "text": _sentence(error), "error": trace, "ended_at": now_utc()})


def run_end_stopped(run: Run, *, held: str) -> bool:
    """End a run that no worker holds because somebody asked to stop; `held` is the state it must still be in."""
    kept = run.best is not None
    text = STOPPED_LOST if kept else STOPPED_EARLY
    fields = {"state": RunState.STOPPED, "status": "stopped", "stop_asked": True, "text": text, "ended_at": now_utc()}
    return _finish(run, fields, draft=_drafter(run, run.best), held=held)


def run_end_lost(run: Run) -> bool:
    """End a run whose worker is gone and that has had its tries: the cause as text, the best plan kept with the run."""
    text = LOST.format(tries=run.attempt) + (LOST_BARE if run.best is None else LOST_KEPT)
    fields = {"state": RunState.LOST, "status": "lost", "text": text, "ended_at": now_utc()}
    return _finish(run, fields)


def _finish(run: Run, fields: dict[str, Any], *, draft: Draft | None = None, held: str = RunState.SOLVING) -> bool:
    """Write the end where the row is still as we know it; drafting what came of it belongs to the same transaction."""
    with transaction.atomic():
        if not Run.objects.filter(pk=run.pk, attempt=run.attempt, state=held).update(**fields):
            return False
        run.refresh_from_db()
        if draft is not None:
            draft(run=run)
    return True


def _drafter(run: Run, best: Any) -> Draft | None:
    """What writes the rows of a plan (as JSON), everything slow about it already worked out; None without a plan."""
    if best is None:
        return None
    if run.what_if_id is not None:
        from scheduling.services.what_ifs.solve import left_out_of, what_if_take

        return partial(what_if_take, left_out=left_out_of(run, best))
    if run.kind == RunKind.YEAR:
        from scheduling.services.rounds import Told, round_draft

        return partial(round_draft, told=Told.of(run, best))
    from scheduling.services.drafts import plan_draft, told_left_out

    return partial(plan_draft, left_out=told_left_out(run, best))


def _sentence(error: Exception) -> str:
    if isinstance(error, SoftTimeLimitExceeded):
        return "The task's time limit ended the solve: give a shorter time limit, or raise LULL_TASK_SOFT_LIMIT_S."
    if isinstance(error, PlannerError):
        return error.message
    if isinstance(error, ValueError):
        return f"The problem cannot be solved as it stands: {error}."
    return f"The solve broke off with an error of the program ({type(error).__name__}); the details are kept with the run."

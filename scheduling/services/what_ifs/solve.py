"""Solving a what-if through the ordinary runs, and what comes of it: a plan kept with the run, no draft of the base."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import User

from scheduling.choices import WhatIfState
from scheduling.fortnight.changes.orders import LeftOutByHand
from scheduling.fortnight.problem import problem_to_json
from scheduling.models import Run, WhatIf
from scheduling.services.drafts import LeftOut, told_left_out
from scheduling.services.runs.create import limits_of, planner_required, run_create_what_if
from scheduling.services.what_ifs.rows import changed_problem, changes_of, refuse_unless_open, refuse_while_solving

BY_HAND = {"code": "by hand", "reason": "Left out by hand in this what-if."}


def what_if_solve(*, what_if: WhatIf, by: User | None, seed: int = 1, params: dict[str, Any] | None = None) -> Run:
    """A queued run of the changed problem. Queuing it is the business of scheduling.tasks.what_if_ask.

    Raises PlannerError naming the field, and ConflictError while another run of it is open.
    """
    planner_required(user=by, base=what_if.base)
    refuse_unless_open(what_if)
    limits = limits_of(params, seed)
    refuse_while_solving(what_if)
    problem = problem_to_json(changed_problem(what_if))
    return run_create_what_if(what_if=what_if, problem=problem, by=by, seed=seed, limits=limits)


def left_out_of(run: Run, best: Any) -> LeftOut:
    """What the plan of a what-if leaves out, what was left out by hand told as such."""
    what_if = WhatIf.objects.only("changes").get(runs=run)
    by_hand = {change.order for change in changes_of(what_if) if isinstance(change, LeftOutByHand)}
    return [{**row, **BY_HAND} if row["order"] in by_hand else row for row in told_left_out(run, best)]


def what_if_take(*, run: Run, left_out: LeftOut) -> None:
    """Keep a run's plan as the answer, inside the transaction that ends the run; a what-if thrown away meanwhile stays so."""
    row = WhatIf.objects.select_for_update(of=("self",)).filter(runs=run, state=WhatIfState.OPEN).first()
    if row is not None:
        row.result, row.left_out = run, left_out
        row.save(update_fields=["result", "left_out"])

"""Publishing a what-if's plan: only when it holds against the register as it is now, else told what would have to change."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction

from planner.clock import now_utc
from planner.errors import ConflictError, PlannerError
from scheduling.builders.fortnight import fortnight_as_it_is
from scheduling.choices import USABLE
from scheduling.fortnight.changes import already_so
from scheduling.fortnight.changes.orders import OrderMode
from scheduling.fortnight.plan import Plan as Solution
from scheduling.fortnight.plan import plan_from_json
from scheduling.fortnight.problem import Problem
from scheduling.models import Plan, Run, WhatIf
from scheduling.services.publish import plan_draft, plan_publish
from scheduling.services.runs.create import planner_required
from scheduling.services.what_ifs.rows import changed_problem, changes_of, refuse_unless_open, refuse_while_solving


@dataclass(frozen=True)
class Need:
    """A change that the register does not know, and which row to change so that it does."""

    number: int
    said: str
    cure: str


def what_if_publish(*, what_if: WhatIf, by: User | None, now: datetime | None = None) -> Plan:
    """Make the answer the plan people go by, as plan_publish does, and end the what-if.

    Where the plan needs what is true in the copy only, ConflictError: `extra["violations"]` says what does not hold, and
    `extra["register"]` which rows to change first. All of it or nothing.
    """
    moment = now or now_utc()
    planner_required(user=by, base=what_if.base)
    run = _answer(what_if)
    try:
        return _publish(what_if, run, by, moment)
    except ConflictError as error:
        raise _with_needs(error, what_if, moment) from error


def what_if_needs(what_if: WhatIf, now: datetime) -> list[Need]:
    """The changes that the register does not say yet. All of them, where it cannot be held against them now."""
    changes = changes_of(what_if)
    fresh = _fresh(what_if, now)
    changed = changed_problem(what_if)
    return [
        Need(number, change.said(changed), change.cure(changed))
        for number, change in enumerate(changes)
        if change.cure(changed) and not (fresh is not None and already_so(fresh, changed, change))
    ]


def _fresh(what_if: WhatIf, now: datetime) -> Problem | None:
    try:
        made = fortnight_as_it_is(base=what_if.base, first_day=what_if.first_day, days=what_if.days, now=now, seed=1)
    except (PlannerError, ValueError):
        return None
    return made.problem


def _answer(what_if: WhatIf) -> Run:
    refuse_unless_open(what_if)
    refuse_while_solving(what_if)
    run = what_if.result
    if run is None or run.best is None or run.state not in USABLE:
        raise ConflictError(f"What-if {what_if.name!r} has no plan for its changes as they stand: solve it first.")
    return run


def _publish(what_if: WhatIf, run: Run, by: User | None, moment: datetime) -> Plan:
    solution = plan_from_json(run.best)
    _refuse_what_nobody_has(what_if, solution)
    _refuse_other_work(what_if, solution, moment)
    plan = _drafted(what_if, run)
    try:
        return plan_publish(plan=plan, by=by, now=moment, what_if=what_if)
    except BaseException:
        # The draft was only for this publication; nobody is to find it among the base's plans.
        Plan.objects.filter(pk=plan.pk, state="draft").delete()
        raise


def _drafted(what_if: WhatIf, run: Run) -> Plan:
    try:
        with transaction.atomic():
            return plan_draft(run=run, left_out=what_if.left_out)
    except IntegrityError:
        raise ConflictError(f"Somebody is publishing what-if {what_if.name!r} at this moment: look at it again.") from None


def _refuse_what_nobody_has(what_if: WhatIf, solution: Solution) -> None:
    """People and vehicles that were only thought of."""
    people = set(what_if.base.technicians.filter(active=True).values_list("name", flat=True))
    vans = set(what_if.base.vehicles.values_list("name", flat=True))
    gone = sorted({f"{name} is no active technician" for v in solution.visits for name in v.people if name not in people})
    gone += sorted({f"{v.vehicle} is no vehicle" for v in solution.visits if v.vehicle not in vans})
    beds = {"", *what_if.base.lodgings.values_list("name", flat=True)}
    slept = {name for v in solution.visits for name in (v.starts_from, v.ends_at)}
    gone += sorted(f"{name} is no lodging" for name in slept - beds)
    if gone:
        raise ConflictError(
            f"The plan sends out who or what the register does not have: {'; '.join(gone)} of {what_if.base}.",
            extra={"violations": gone},
        )


def _refuse_other_work(what_if: WhatIf, solution: Solution, moment: datetime) -> None:
    """Orders that are planned with other people or minutes than the register asks for."""
    asked = [change for change in changes_of(what_if) if isinstance(change, OrderMode)]
    planned = {job.order for visit in solution.visits for job in visit.jobs}
    asked = [change for change in asked if change.order in planned]
    fresh = _fresh(what_if, moment) if asked else None
    if fresh is None:
        return
    told = list(_other_work(asked, fresh, changed_problem(what_if)))
    if told:
        raise ConflictError(
            f"The plan does work in another way than the register asks: {'; '.join(told)}.", extra={"violations": told}
        )


def _other_work(asked: list[OrderMode], fresh: Problem, changed: Problem) -> Iterator[str]:
    for change in asked:
        if not already_so(fresh, changed, change):
            order = next((one for one in fresh.orders if one.id == change.order), None)
            modes = ", ".join(f"{mode.team} people in {sum(mode.visits_min)} min" for mode in order.modes) if order else "nothing"
            yield f"{change.order} is planned by {change.team} people, the register asks for {modes}"


def _with_needs(error: ConflictError, what_if: WhatIf, moment: datetime) -> ConflictError:
    needs = what_if_needs(what_if, moment)
    if not needs:
        return error
    first = f" To make this what-if true, first: {'; '.join(need.cure for need in needs)}."
    rows = [{"change": need.number, "said": need.said, "do": need.cure} for need in needs]
    return ConflictError(error.message + first, field=error.field, extra={**error.extra, "register": rows})

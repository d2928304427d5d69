"""Publishing a plan: checked by other code, orders still as they were, nothing twice. The only writer of Plan and Visit."""

from __future__ import annotations

from datetime import date, datetime

from django.contrib.auth.models import User
from django.db import transaction

from planner.clock import now_utc, today_at
from planner.errors import ConflictError
from planner.models import Base
from scheduling.choices import USABLE, PlanState, WhatIfState
from scheduling.fortnight.check import check
from scheduling.fortnight.plan import Plan as Solution
from scheduling.fortnight.plan import plan_from_json
from scheduling.fortnight.problem import Problem, problem_from_json
from scheduling.models import Plan, VisitJob, WhatIf
from scheduling.services.drafts import plan_draft
from scheduling.services.runs.create import planner_required
from scheduling.services.since_solved import refuse_what_changed
from scheduling.services.stay_calls import calls_record_plan
from scheduling.services.told import visits_keep_told
from workorders.choices import TO_PLAN, WAITING, State
from workorders.models import Order
from workorders.services.moves import order_move

__all__ = ["plan_draft", "plan_publish"]


def plan_publish(*, plan: Plan, by: User | None, now: datetime | None = None, what_if: WhatIf | None = None) -> Plan:
    """Make a draft the plan people go by. `by` is a planner of every site of the base, or None from a command.

    The checker must find nothing, neither in the problem as it was solved nor in the register as it is now; what changed is
    named; plans it overlaps are superseded; its orders become slotted and those of the superseded plans that it leaves out
    go back. All of it or nothing: of two people who publish at the same moment, one gets a ConflictError. A what-if's plan is
    published by services.what_ifs alone, which gives its `what_if` too and ends it thereby.
    """
    moment = now or now_utc()
    planner_required(user=by, base=plan.base)
    _refuse_unless_draft(plan, moment)
    _refuse_only_tried(plan, what_if)
    stored, solution = problem_from_json(plan.run.problem), plan_from_json(plan.run.best)
    _refuse_violations(plan, stored, solution)
    refuse_what_changed(plan, stored, solution, moment)
    with transaction.atomic():
        Base.objects.select_for_update().get(pk=plan.base_id)
        _refuse_newer(plan, what_if)
        orders = _orders_of(plan)
        _refuse_changed(plan, orders)
        before = _supersede(plan, today_at(plan.base.zone, moment))
        _publish(plan, by, moment)
        _end(what_if)
        _move_orders(orders, before, by, moment)
        # What the stays were called must not keep a plan from people: if it fails, the sweep makes it good.
        transaction.on_commit(lambda: calls_record_plan(plan_id=plan.pk, now=moment), robust=True)
    plan.refresh_from_db()
    return plan


def _refuse_unless_draft(plan: Plan, moment: datetime) -> None:
    if plan.run.state not in USABLE:
        raise ConflictError(f"Run {plan.run_id} is {plan.run.get_state_display()}: only a run that ended with a plan counts.")
    if plan.state != PlanState.DRAFT:
        raise ConflictError(f"Plan {plan.pk} is {plan.get_state_display()}: only a draft can be published.")
    if plan.last_day < today_at(plan.base.zone, moment):
        raise ConflictError(f"Plan {plan.pk} ended on {plan.last_day}: solve the coming days instead.")


def _refuse_only_tried(plan: Plan, what_if: WhatIf | None) -> None:
    """A plan that answers a what-if is never published by accident."""
    if plan.run.what_if_id != (what_if.pk if what_if else None):
        raise ConflictError(f"Plan {plan.pk} answers a what-if: publish it there, where its changes are told.")


def _end(what_if: WhatIf | None) -> None:
    if what_if is None:
        return
    row = WhatIf.objects.select_for_update().get(pk=what_if.pk)
    if row.state != WhatIfState.OPEN or row.changes != what_if.changes:
        raise ConflictError(f"What-if {row.name!r} is {row.get_state_display()} or was changed: somebody was faster.")
    row.state = WhatIfState.PUBLISHED
    row.save(update_fields=["state"])


def _refuse_violations(plan: Plan, stored: Problem, solution: Solution) -> None:
    """By other code than the solver's, from the stored problem and the stored solution."""
    found = check(stored, solution)
    if found:
        texts = [f"{one.rule}: {one.text}" for one in found]
        more = f" (and {len(texts) - 3} more)" if len(texts) > 3 else ""
        raise ConflictError(
            f"Plan {plan.pk} breaks {len(texts)} hard rules and cannot be published: {'; '.join(texts[:3])}{more}.",
            extra={"violations": texts},
        )


def _overlapping(plan: Plan) -> list[Plan]:
    others = Plan.objects.filter(base_id=plan.base_id, state=PlanState.PUBLISHED).exclude(pk=plan.pk)
    return list(others.filter(first_day__lte=plan.last_day, last_day__gte=plan.first_day))


def _refuse_newer(plan: Plan, what_if: WhatIf | None) -> None:
    """A plan whose problem is older than another one's publication knows neither what people were told nor what is slotted."""
    frozen_at = what_if.created_at if what_if else plan.run.asked_at
    newer = [p for p in _overlapping(plan) if p.published_at is not None and p.published_at > frozen_at]
    if newer:
        told = f"Plan {newer[0].pk} was published on {newer[0].published_at:%Y-%m-%d at %H:%M} UTC"
        asked, cure = (f"what-if {what_if.name!r}", "make a new one") if what_if else (f"plan {plan.pk}", "solve again")
        raise ConflictError(f"{told}, after {asked} was asked for: {cure}, so that it starts from what people know.")


def _orders_of(plan: Plan) -> list[Order]:
    return list(Order.objects.filter(jobs__visit__plan=plan).distinct().select_related("turbine__site").order_by("number"))


def _refuse_changed(plan: Plan, orders: list[Order]) -> None:
    """Orders closed, or begun and finished, since the run froze them."""
    closed = [f"{order.number} is {order.get_state_display()}" for order in orders if order.state not in TO_PLAN]
    turbines = dict(VisitJob.objects.filter(visit__plan=plan).values_list("order__number", "visit__turbine_id"))
    elsewhere = [f"{order.number} is at another turbine" for order in orders if turbines[order.number] != order.turbine_id]
    if closed or elsewhere:
        raise ConflictError(f"Orders changed since plan {plan.pk} was solved: {', '.join(closed + elsewhere)}. Solve again.")


def _supersede(plan: Plan, today: date) -> set[int]:
    """Replace the plans it overlaps; gives the ids of their orders, less those with a visit between today and this plan."""
    others = _overlapping(plan)
    visits_keep_told(plan=plan, others=others)
    Plan.objects.filter(pk__in=[other.pk for other in others], state=PlanState.PUBLISHED).update(state=PlanState.SUPERSEDED)
    jobs = VisitJob.objects.filter(visit__plan__in=others)
    kept = jobs.filter(visit__day__gte=today, visit__day__lt=plan.first_day)
    return set(jobs.values_list("order_id", flat=True)) - set(kept.values_list("order_id", flat=True))


def _publish(plan: Plan, by: User | None, moment: datetime) -> None:
    draft = Plan.objects.filter(pk=plan.pk, state=PlanState.DRAFT)
    if not draft.update(state=PlanState.PUBLISHED, published_at=moment, published_by=by):
        raise ConflictError(f"Plan {plan.pk} is no draft any more: somebody was faster.")


def _move_orders(orders: list[Order], before: set[int], by: User | None, moment: datetime) -> None:
    """Slot what the plan holds; send back what only the superseded plan held."""
    for order in orders:
        if order.state in WAITING and order.state != State.SLOTTED:
            order_move(order=order, name="slot", by=by, now=moment)
    dropped = Order.objects.filter(pk__in=before - {order.pk for order in orders}, state=State.SLOTTED)
    for order in dropped.select_related("turbine__site"):
        order_move(order=order, name="unslot", by=by, now=moment)

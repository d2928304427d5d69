"""A run's best plan as rows: visits with people, times in UTC, and what was left out with its reason."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from planner.errors import ConflictError
from planner.models import Lodging, Technician, Vehicle
from scheduling.builders.background import background_of
from scheduling.fortnight.down_by import down_by_slots
from scheduling.fortnight.explain import conditions, left_out_by_day, reasons
from scheduling.fortnight.plan import Plan as Solution
from scheduling.fortnight.plan import Visit as Stay
from scheduling.fortnight.plan import plan_from_json
from scheduling.fortnight.problem import Problem, problem_from_json
from scheduling.models import Plan, Run, Visit, VisitJob
from scheduling.selectors.solved import clock_of
from workorders.models import Order

log = logging.getLogger(__name__)
LeftOut = list[dict[str, str]]


def plan_draft(*, run: Run, left_out: LeftOut | None = None) -> Plan:
    """The draft of a run's best plan; the one that is there, if the run was drafted before.

    Call it inside the transaction that ends the run. `left_out` comes from told_left_out, worked out before that transaction
    because it takes its time. Raises ConflictError when a person, vehicle or order of the plan has gone from the register
    since the run was asked for.
    """
    drafted = Plan.objects.filter(run=run).first()
    if drafted is not None:
        return drafted
    problem, solution = problem_from_json(run.problem), plan_from_json(run.best)
    rows = _Rows.of(run, solution)
    plan = Plan.objects.create(
        base=run.base,
        run=run,
        first_day=run.first_day,
        last_day=run.first_day + timedelta(days=run.days - 1),
        parts={name: cents / 100 for name, cents in solution.parts.items()},
        value=solution.value / 100,
        bound=run.bound or 0.0,
        left_out=told_left_out(run, run.best) if left_out is None else left_out,
    )
    _write_visits(plan, problem, solution, rows)
    return plan


def told_left_out(run: Run, best: Any) -> LeftOut:
    """What a plan (as JSON) leaves out: order, label, and why: a code and a sentence."""
    problem, solution = problem_from_json(run.problem), plan_from_json(best)
    label = {order.id: order.label for order in problem.orders}
    why = _reasons(problem, solution, run.base.zone)
    days = _by_day(run, problem, solution)
    nothing = {"code": "", "reason": ""}
    return [
        {"order": number, "label": label[number], **why.get(number, nothing), **days.get(number, {})}
        for number in solution.left_out
    ]


def _reasons(problem: Problem, solution: Solution, zone: ZoneInfo) -> dict[str, dict[str, str]]:
    try:
        found = reasons(problem, solution, clock_of(problem, zone))
    except Exception:
        # A plan without its reasons is worth more than no plan; the defect is in the log.
        log.exception("reasons for what is left out could not be worked out")
        return {}
    return {number: {"code": one.code, "reason": one.text} for number, one in found.items()}


def _by_day(run: Run, problem: Problem, solution: Solution) -> dict[str, dict[str, str]]:
    """What is in the way day by day, with limits and absences as the register has them."""
    try:
        background = background_of(run, problem, orders=solution.left_out)
        return {number: {"by_day": text} for number, text in left_out_by_day(problem, solution, background).items() if text}
    except Exception:
        # As with the reasons: they are worth less than the plan.
        log.exception("what is in the way day by day could not be worked out")
        return {}


def stay_times(problem: Problem, stay: Stay) -> tuple[datetime, datetime]:
    """Start and end of a stay, UTC. Minutes are counted from the origin, so a clock change needs no care."""
    day = problem.days[stay.day]
    start_min = day.start_min + stay.start * problem.slot_min
    start = datetime.fromisoformat(problem.origin) + timedelta(minutes=start_min)
    return start, start + timedelta(minutes=stay.slots * problem.slot_min)


@dataclass(frozen=True)
class _Rows:
    """The register's rows behind the ids of a plan."""

    orders: dict[str, Order]
    people: dict[str, Technician]
    vehicles: dict[str, Vehicle]
    lodgings: dict[str, Lodging]

    @classmethod
    def of(cls, run: Run, solution: Solution) -> _Rows:
        numbers = {job.order for stay in solution.visits for job in stay.jobs}
        names = {name for stay in solution.visits for name in stay.people}
        vans = {stay.vehicle for stay in solution.visits if stay.vehicle}
        beds = {name for stay in solution.visits for name in (stay.starts_from, stay.ends_at) if name}
        orders = Order.objects.filter(number__in=numbers, turbine__site__base=run.base).select_related("turbine")
        rows = cls(
            {order.number: order for order in orders},
            {one.name: one for one in Technician.objects.filter(name__in=names)},
            {one.name: one for one in Vehicle.objects.filter(name__in=vans)},
            {one.name: one for one in run.base.lodgings.filter(name__in=beds)} if beds else {},
        )
        gone = sorted((numbers - set(rows.orders)) | (names - set(rows.people)) | (vans - set(rows.vehicles)))
        gone += sorted(beds - set(rows.lodgings))
        if gone:
            named = ", ".join(gone[:5]) + (f" and {len(gone) - 5} more" if len(gone) > 5 else "")
            raise ConflictError(f"The register changed while the run was solved; gone are {named}: solve again.")
        return rows


def _write_visits(plan: Plan, problem: Problem, solution: Solution, rows: _Rows) -> None:
    down, only_if = down_by_slots(problem, solution), conditions(problem, solution)
    visits = Visit.objects.bulk_create(
        _visit(plan, problem, stay, rows, down[stay], only_if.get(stay, "")) for stay in solution.visits
    )
    pairs = list(zip(visits, solution.visits, strict=True))
    VisitJob.objects.bulk_create(
        VisitJob(visit=visit, order=rows.orders[job.order], number=job.visit, work_min=job.work_min)
        for visit, stay in pairs
        for job in stay.jobs
    )
    through = Visit.people.through
    through.objects.bulk_create(
        through(visit_id=visit.pk, technician_id=rows.people[name].pk) for visit, stay in pairs for name in stay.people
    )


def _visit(plan: Plan, problem: Problem, stay: Stay, rows: _Rows, down_slot: int, only_if: str) -> Visit:
    starts_at, ends_at = stay_times(problem, stay)
    to_spare = down_slot - stay.start - stay.slots
    return Visit(
        plan=plan,
        turbine=rows.orders[stay.jobs[0].order].turbine,
        vehicle=rows.vehicles.get(stay.vehicle),
        sets_out_from=rows.lodgings.get(stay.starts_from),
        sleeps_at=rows.lodgings.get(stay.ends_at),
        day=date.fromisoformat(problem.days[stay.day].date),
        starts_at=starts_at,
        ends_at=ends_at,
        down_by=ends_at + timedelta(minutes=to_spare * problem.slot_min),
        chance=stay.chance,
        by=stay.by,
        only_if=only_if,
    )

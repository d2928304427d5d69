"""Lost energy of a plan against the same work done in due-date order."""

from __future__ import annotations

from scheduling.fortnight.due_order import due_order_plan
from scheduling.fortnight.plan import Plan, Visit
from scheduling.fortnight.problem import Problem


def compared(problem: Problem, plan: Plan) -> dict[str, float | int]:
    """MWh lost by the orders that both plans hold, in ours and in due-date order, and how many those are.

    A visit's loss is shared evenly among the orders that ride along on it; nights of a turbine that stays stopped between two
    visits count for the order that keeps it stopped.
    """
    rule = due_order_plan(problem)
    ours, theirs = lost_by_order(problem, plan), lost_by_order(problem, rule)
    common = sorted(set(ours) & set(theirs))
    return {
        "lost_energy_mwh": round(sum(ours[order] for order in common), 2),
        "lost_energy_mwh_due_date_order": round(sum(theirs[order] for order in common), 2),
        "orders_compared": len(common),
        "orders_planned_due_date_order": len(theirs),
        "value_due_date_order": rule.value / 100,
    }


def lost_by_order(problem: Problem, plan: Plan) -> dict[str, float]:
    """order id -> expected MWh lost for it in a plan."""
    orders = {order.id: order for order in problem.orders}
    energy = {turbine.id: turbine.energy for turbine in problem.turbines}
    lost: dict[str, float] = {}
    last: dict[str, Visit] = {}
    for visit in sorted(plan.visits, key=lambda one: (one.day, one.start)):
        stopped = {turbine for job in visit.jobs for turbine in orders[job.order].stops}
        first = problem.days[visit.day].first_slot + visit.start
        during = sum(sum(problem.stop_mwh[energy[turbine]][first : first + visit.slots]) for turbine in stopped)
        for job in visit.jobs:
            lost[job.order] = lost.get(job.order, 0.0) + during / len(visit.jobs)
            if orders[job.order].stopped_between and job.order in last:
                lost[job.order] += _between(problem, energy[visit.turbine], last[job.order], visit)
            last[job.order] = visit
    return lost


def _between(problem: Problem, key: str, earlier: Visit, later: Visit) -> float:
    """MWh of a turbine from the end of one visit to the start of the next."""
    begin = problem.days[earlier.day].first_slot + earlier.start + earlier.slots
    end = problem.days[later.day].first_slot + later.start
    nights = sum(problem.night_mwh[key][day] for day in range(earlier.day, later.day))
    return sum(problem.stop_mwh[key][begin:end]) + nights

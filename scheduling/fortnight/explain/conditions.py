"""What must come true first for a visit to be made: the inspections that open its way, with the days they are planned for."""

from __future__ import annotations

from scheduling.fortnight.explain.words import day_text
from scheduling.fortnight.plan import Plan, Visit
from scheduling.fortnight.problem import Problem


def conditions(problem: Problem, plan: Plan) -> dict[Visit, str]:
    """Visit -> "only if the ladder inspection, H3 (A-7) of Mon 8 Jun is accepted"; visits that wait for nothing are left out."""
    orders = {order.id: order for order in problem.orders}
    last: dict[str, int] = {}
    for visit in plan.visits:
        for job in visit.jobs:
            last[job.order] = max(visit.day, last.get(job.order, visit.day))
    found: dict[Visit, str] = {}
    for visit in plan.visits:
        opening = dict.fromkeys(other for job in visit.jobs for other in orders[job.order].behind if other in last)
        named = [f"{_called(orders[other].label, other)} of {day_text(problem, last[other])}" for other in opening]
        if named:
            found[visit] = f"only if {' and '.join(named)} {'is' if len(named) == 1 else 'are'} accepted"
    return found


def _called(label: str, order: str) -> str:
    return f"{label} ({order})" if label else order

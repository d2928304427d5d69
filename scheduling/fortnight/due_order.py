"""The fortnight laid in due-date order: what a planner without a solver does, and what a plan's worth is measured against.

Pinned orders first, then by due date, each on the first day that fits with the smallest team and the fewest
visits; a team that is out already
before a new one. Never moves what it has placed, never lets orders ride along, never looks at money. Keeps every hard rule
(a pin that nothing can satisfy is left out and so reported by the checker).
"""

from __future__ import annotations

from dataclasses import replace

from scheduling.fortnight.check import recompute_parts
from scheduling.fortnight.check.cover_rules import cover
from scheduling.fortnight.check.view import View
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Order, Problem
from scheduling.fortnight.room import Room


def due_order_plan(problem: Problem) -> Plan:
    """The plan in due-date order, with its parts. Deterministic; no time limit (under 20 s for 400 orders, 40 people)."""
    room, left_out = Room(problem), list[str]()
    for order in _in_due_order(problem):
        for mode in sorted(order.modes, key=lambda m: (m.team, len(m.visits_min))):
            placed = room.with_order(order, mode)
            if placed is not None:
                room = placed[0]
                break
        else:
            left_out.append(order.id)
    plan = _covered(problem, Plan(tuple(visit for visits in room.days for visit in visits), tuple(left_out)))
    return replace(plan, parts=recompute_parts(problem, plan))


def _covered(problem: Problem, plan: Plan) -> Plan:
    """The plan without the orders whose teams nobody could rescue in time, nor those that come after them."""
    while breach := next(cover(View(problem, plan)), None):
        gone = set(breach.orders)
        while more := {o.id for o in problem.orders if set(o.after) & gone} - gone:
            gone |= more
        visits = (replace(v, jobs=tuple(job for job in v.jobs if job.order not in gone)) for v in plan.visits)
        plan = Plan(tuple(visit for visit in visits if visit.jobs), tuple(dict.fromkeys([*plan.left_out, *sorted(gone)])))
    return plan


def _in_due_order(problem: Problem) -> list[Order]:
    """Pinned first, then by due day, what costs most to leave out first; orders that come after others behind them."""
    ranked = sorted(problem.orders, key=lambda o: (not o.pins, o.due_day, -o.left_out_cost, o.id))
    done: list[Order] = []
    while ranked:
        ids = {order.id for order in ranked}
        ready = next((order for order in ranked if not ids & set(order.after)), ranked[0])
        ranked.remove(ready)
        done.append(ready)
    return done

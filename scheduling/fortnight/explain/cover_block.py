"""Whether somebody could rescue the team at one of the starts that are left for an order (a test of reasons.py)."""

from __future__ import annotations

from dataclasses import replace

from scheduling.fortnight.check.cover_rules import cover
from scheduling.fortnight.explain.blocks import Block
from scheduling.fortnight.explain.case import Case
from scheduling.fortnight.plan import Visit


def covered(case: Case) -> Block | None:
    """A start with a team at which others, or a group standing by, could reach it in time."""
    rules, order = case.problem.rules, case.order
    if not rules.cover_min:
        return None
    fits = list(case.crewed(case.free(case.starts)))
    if not fits or any(_is_covered(case, visit) for visit in fits):
        return None
    text = f"Wherever it has room, nobody who can rescue would be within {rules.cover_min} min of {order.turbine} for the whole "
    text += "stay: it needs a second team nearby at the same time, or a rescue group standing by at the base within reach."
    return "no cover", text, {"cover_min": float(rules.cover_min), "starts": float(len(fits))}


def _is_covered(case: Case, visit: Visit) -> bool:
    plan = case.around.plan
    others = tuple(v for v in plan.visits if v.day == visit.day)
    view = case.room.view.with_plan(replace(plan, visits=(*others, visit)))
    mine = {job.order for job in visit.jobs}
    return not any(mine & set(breach.orders) for breach in cover(view))

"""Questions about plans, with joins done, and two plans of a base side by side."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet

from planner.errors import PlannerError
from planner.selectors.caller import Caller
from planner.selectors.ownership import visible
from scheduling.fortnight.explain import Comparison, compare
from scheduling.models import Plan, PlanQuestion
from scheduling.selectors.solved import clock_of, solved


def question_list(*, caller: Caller) -> QuerySet[PlanQuestion]:
    """Questions that the caller may see, newest first."""
    rows = PlanQuestion.objects.select_related("plan__base", "asked_by")
    return visible(rows.defer("plan__left_out"), caller).order_by("-asked_at", "-pk")


def question_of(*, plan: Plan, kind: str, order: str, visit: int = 0) -> PlanQuestion | None:
    """The plan's question, if it was asked."""
    rows = PlanQuestion.objects.filter(plan=plan, kind=kind, order_number=order, visit=visit)
    return rows.select_related("plan__base", "asked_by").first()


def plans_compared(*, before: Plan, after: Plan) -> Comparison:
    """From one plan to another of the same base, each with the problem it answers; see fortnight.explain.compare.

    Raises PlannerError for plans of two bases, or one whose run keeps no plan.
    """
    if before.base_id != after.base_id:
        raise PlannerError(f"Plans {before.pk} and {after.pk} are of two bases: compare plans of one.", field="other")
    for plan in (before, after):
        if not plan.run.best:
            raise PlannerError(f"Plan {plan.pk} has no solved plan behind it: it cannot be compared.", field="other")
    (old_problem, old), (new_problem, new) = solved(before), solved(after)
    clock, old_clock = (clock_of(problem, after.base.zone) for problem in (new_problem, old_problem))
    return compare(new_problem, old, new, clock, before=old_problem, before_clock=old_clock)


def comparison_json(found: Comparison) -> dict[str, Any]:
    """A comparison as JSON: money in the currency, days as ISO dates."""
    return {
        "text": found.text,
        "cost": found.value / 100,
        "parts": [
            {"name": name, "before": found.parts_before.get(name, 0) / 100, "after": found.parts_after.get(name, 0) / 100}
            for name, change in found.parts.items()
            if change or found.parts_after.get(name)
        ],
        "lost_mwh_before": round(found.lost_mwh_before, 3),
        "lost_mwh_after": round(found.lost_mwh_after, 3),
        "orders_won": list(found.won),
        "orders_lost": list(found.lost),
        "changes": [{"kind": c.kind, "order": c.order, "visit": c.visit, "text": c.text} for c in found.changes],
        "people": [
            {
                "person": one.person,
                "days_before": [day.isoformat() for day in one.days_before],
                "days_after": [day.isoformat() for day in one.days_after],
                "away_min_before": one.away_min_before,
                "away_min_after": one.away_min_after,
                "text": one.text,
            }
            for one in found.people
        ],
        "problem": [{"kind": one.kind, "what": one.what, "text": one.text} for one in found.problem],
    }

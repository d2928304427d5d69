"""Plans and calls as plain data for commands; times are local with their offset."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from scheduling.models import Plan, Visit
from scheduling.selectors.plans import plan_visits
from scheduling.services.dispatch import TeamCall


def plan_json(plan: Plan) -> dict[str, Any]:
    """A plan with its visits and what it leaves out."""
    run = plan.run
    return {
        "plan": plan.pk,
        "state": plan.state,
        "run": plan.run_id,
        "first_day": plan.first_day.isoformat(),
        "last_day": plan.last_day.isoformat(),
        "status": run.status,
        "text": run.text,
        "value": run.value,
        "bound": run.bound,
        "gap": run.gap,
        "parts": plan.parts,
        "visits": [visit_json(visit, plan) for visit in plan_visits(plan)],
        "left_out": plan.left_out,
    }


def visit_json(visit: Visit, plan: Plan) -> dict[str, Any]:
    """One visit of a plan."""
    zone = plan.base.zone
    return {
        "day": visit.day.isoformat(),
        "turbine": visit.turbine.code,
        "team": [person.name for person in visit.people.all()],
        "vehicle": visit.vehicle.name if visit.vehicle else None,
        "sets_out_from": visit.sets_out_from.name if visit.sets_out_from else None,
        "sleeps_at": visit.sleeps_at.name if visit.sleeps_at else None,
        "start": visit.starts_at.astimezone(zone).isoformat(),
        "end": visit.ends_at.astimezone(zone).isoformat(),
        "down_by": visit.down_by.astimezone(zone).isoformat(),
        "chance": visit.chance,
        "by": visit.by,
        "orders": [{"order": job.order.number, "what": job.order.procedure.name} for job in visit.jobs.all()],
    }


def call_json(call: TeamCall) -> dict[str, Any]:
    """One call as data; times are local to the site with their offset."""
    zone, verdict, binding = call.visit.turbine.site.zone, call.verdict, call.verdict.binding

    def local(moment: datetime | None) -> str | None:
        return moment.astimezone(zone).isoformat() if moment else None

    return {
        "turbine": verdict.turbine,
        "team": verdict.team,
        "verdict": verdict.verdict,
        "start": local(call.start),
        "first_start": local(call.first_start),
        "last_start": local(call.last_start),
        "down_by": local(call.down_by),
        "start_down_by": local(call.start_down_by),
        "chance": verdict.chance,
        "limit": None
        if binding is None
        else {"name": binding.name, "value": binding.value, "op": binding.op, "limit": binding.limit, "unit": binding.unit},
        "forecast_age_h": verdict.forecast_age_h,
        "reasons": [reason.text for reason in verdict.reasons],
    }

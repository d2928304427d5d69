"""What came of the demo, as data. page.py turns it into the printed page."""

from __future__ import annotations

from collections import Counter
from typing import Any

from planner.choices import Gate
from planner.selectors.due import DueItem
from scheduling.demo.energy import compared
from scheduling.demo.job import Done
from scheduling.fortnight.check import check
from scheduling.fortnight.plan import plan_from_json
from scheduling.selectors.plans import round_items
from scheduling.telling import call_json, plan_json

SHOWN = ("overdue", "late", "due")


def report_of(done: Done) -> dict[str, Any]:
    """Keys: now, due, round, plan, lost_energy_mwh, lost_energy_mwh_due_date_order, morning, weather."""
    solution = plan_from_json(done.plan.run.best)
    energy = compared(done.problem, solution)
    plan = _plan(done, [one.text for one in check(done.problem, solution)])
    return {
        "now": done.now.isoformat(),
        "base": done.base.name,
        "first_day": done.first_day.isoformat(),
        "due": [_due(item) for item in done.items if item.due.state in SHOWN or item.due.state == "open"],
        "round": _round(done),
        "plan": {**plan, **energy},
        **energy,
        "morning": [call_json(call) for call in done.calls],
        "morning_day": done.morning_day.isoformat(),
        "weather": {name: done.weather[name] for name in ("rows_read", "first", "last", "step_min", "flags")},
    }


def _due(item: DueItem) -> dict[str, Any]:
    due = item.due
    return {
        "site": item.turbine.site.code,
        "turbine": item.turbine.code,
        "what": item.interval.procedure.name,
        "state": due.state,
        "due": due.due.isoformat() if due.due else None,
        "closes": due.closes.isoformat() if due.closes else None,
        "days_over": due.days_over,
        "statutory": due.statutory,
        "stops": [Gate(gate).label for gate in sorted(due.stops)],
        "absorbed": due.absorbed_by is not None,
        "reason": due.reason,
    }


def _round(done: Done) -> dict[str, Any]:
    about = done.round.about
    items = list(round_items(done.round))
    months = Counter(item.week.strftime("%Y-%m") for item in items if item.week)
    run = done.round.run
    return {
        "items": len(items),
        "left_out": [f"{item.turbine} {item.interval.procedure.name}: {item.reason}" for item in items if item.week is None],
        "by_month": dict(sorted(months.items())),
        "lost_mwh_mean": about["lost_mwh_mean"],
        "lost_mwh_p90": about["lost_mwh_p90"],
        "finish_p50": about["finish_p50"],
        "finish_p90": about["finish_p90"],
        "years": about["history"],
        "weeks": [{"week": w["label"], "fits_share": w["fits_share"], "load_h": w["load_h"]} for w in about["weeks"]],
        "warnings": about["warnings"],
        "value": run.value,
        "bound": run.bound,
        "gap": run.gap,
    }


def _plan(done: Done, violations: list[str]) -> dict[str, Any]:
    told = plan_json(done.plan)
    return {**told, "currency": done.problem.currency, "violations": len(violations), "violation_texts": violations}

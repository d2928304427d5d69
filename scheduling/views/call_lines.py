"""What the morning says to each team, ready to show."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

from planner.views.formats import chance, clock, hours, number
from planner.views.marks import mark
from scheduling.choices import Verdict
from scheduling.day.problem import Binding
from scheduling.services.dispatch import TeamCall
from scheduling.views.plan_lines import job_lines, night_of, team_of


def call_line(call: TeamCall, zone: ZoneInfo) -> dict[str, Any]:
    """One card. Times to start and to be down are shown only where the verdict lets somebody up."""
    visit, said = call.visit, call.verdict
    return {
        "mark": mark(said.verdict),
        "team": team_of(visit),
        "turbine": visit.turbine.code,
        "site": visit.turbine.site.name,
        "jobs": job_lines(visit),
        "vehicle": str(visit.vehicle or ""),
        "night": night_of(visit),
        "by": visit.by,
        "only_if": visit.only_if,
        "planned": clock(visit.starts_at, zone),
        "times": _times(call, zone) if said.verdict != Verdict.NO_GO else [],
        "binding": binding_words(said.binding, call, zone),
        "chance": chance(said.chance),
        "age": "no forecast" if said.forecast_age_h is None else f"{hours(said.forecast_age_h)} old",
        "reasons": [reason.text for reason in said.reasons],
    }


def _times(call: TeamCall, zone: ZoneInfo) -> list[tuple[str, str]]:
    rows = [
        ("First safe start", call.first_start),
        ("Last start", call.last_start),
        ("Way down begins by", call.start_down_by),
        ("Everybody down by", call.down_by),
    ]
    return [(name, clock(when, zone)) for name, when in rows]


def binding_words(binding: Binding | None, call: TeamCall, zone: ZoneInfo) -> str:
    """wind at hub 11.2 m/s at 10:30 CEST; the limit is <= 12.0 m/s."""
    if binding is None:
        return "the stay lies outside the forecast"
    at = f" at {clock(call.binding_at, zone)}" if call.binding_at else ""
    limit = number(binding.limit, binding.unit, 1)
    return f"{binding.name} {number(binding.value, binding.unit, 1)}{at}; the limit is {binding.op} {limit}"

"""Checks a plan against the hard rules, by code of its own: shares nothing with the solver but the records.

A new rule: its name and definition in rules.py, one small function here in the file of its kind, one line in CHECKS.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from scheduling.fortnight.check import cover_rules, money, night_rules, order_rules, place_rules, team_rules, time_rules
from scheduling.fortnight.check.view import View
from scheduling.fortnight.plan import Plan, Violation
from scheduling.fortnight.problem import Problem

CHECKS: dict[str, Callable[[View], Iterator[Violation]]] = {
    "known": order_rules.known,
    "complete": order_rules.complete,
    "team size": team_rules.team_size,
    "certificate": team_rules.certificate,
    "rescue": team_rules.rescue,
    "cover": cover_rules.cover,
    "skill": team_rules.skill,
    "one team": team_rules.one_team,
    "vehicle": team_rules.vehicle,
    "shift": time_rules.shift,
    "break": time_rules.pause,
    "rest": time_rules.rest,
    "weekly hours": time_rules.weekly_hours,
    "stay": place_rules.stay,
    "window": place_rules.window,
    "day allowed": place_rules.day_allowed,
    "access": place_rules.access,
    "climbs": team_rules.climbs,
    "one team per turbine": place_rules.one_team_per_turbine,
    "isolation": place_rules.isolation,
    "equipment": place_rules.equipment,
    "sequence": order_rules.sequence,
    "most stopped": place_rules.most_stopped,
    "pin": order_rules.pin,
    "crew": order_rules.crew,
    "together": team_rules.together,
    "night": night_rules.night,
    "beds": night_rules.beds,
    "nights in a row": night_rules.nights_in_row,
    "value": money.value,
}


def check(problem: Problem, plan: Plan) -> tuple[Violation, ...]:
    """Every hard rule the plan breaks, in the order of RULES; an empty tuple is a plan that may be published.

    Works on any plan, also one that names unknown ids. Definitions: rules.py. Raises nothing.
    """
    view = View(problem, plan)
    return tuple(violation for rule in CHECKS.values() for violation in rule(view))


def recompute_parts(problem: Problem, plan: Plan) -> dict[str, int]:
    """The parts of the plan's cost by name (PARTS of rules.py), in whole cents, whatever the plan states."""
    return money.count_parts(View(problem, plan))


__all__ = ["CHECKS", "check", "recompute_parts"]

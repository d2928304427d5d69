"""A plan's problem and solution as they were solved, and the local clock of a problem's slots."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from scheduling.fortnight.explain import Clock
from scheduling.fortnight.plan import Plan as Solution
from scheduling.fortnight.plan import plan_from_json
from scheduling.fortnight.problem import Problem, problem_from_json
from scheduling.models import Plan


def clock_of(problem: Problem, zone: ZoneInfo) -> Clock:
    """The local clock of a problem's slots: "08:30"."""
    origin, slot = datetime.fromisoformat(problem.origin), timedelta(minutes=problem.slot_min)

    def clock(day: int, number: int) -> str:
        moment = origin + timedelta(minutes=problem.days[day].start_min) + number * slot
        return f"{moment.astimezone(zone):%H:%M}"

    return clock


def solved(plan: Plan) -> tuple[Problem, Solution]:
    """The problem and the plan as they were solved."""
    return problem_from_json(plan.run.problem), plan_from_json(plan.run.best)

"""The search by itself, ended as soon as it has found what the exact model proves to be the best: no test waits for a clock."""

from __future__ import annotations

from dataclasses import replace

from scheduling.fortnight.plan import Plan, Result
from scheduling.fortnight.problem import Problem
from scheduling.fortnight.solve import Params, solve

SLACK_CENTS = 2


def searched(problem: Problem, params: Params) -> Result:
    """What the search finds without the exact model, at the latest when the time of `params` is over."""
    enough = solve(problem, replace(params, time_limit_s=20.0, exact=True)).plan.value + SLACK_CENTS
    now = [float("inf")]

    def found(seconds: float, value: int, bound: float, plan: Plan) -> None:
        now[0] = value

    return solve(problem, replace(params, exact=False), on_progress=found, should_stop=lambda: now[0] <= enough)

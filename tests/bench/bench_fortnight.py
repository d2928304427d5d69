"""Measure the fortnight: the solver's plan and bound beside the rule of thumb on the same seeded cases.

From the checkout: `python -m tests.bench.bench_fortnight medium 1`.
"""

from __future__ import annotations

import json
import resource
import sys
import time
from typing import Any

from scheduling.fortnight.check import check
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Problem
from scheduling.fortnight.solve import Params, solve
from tests.bench.cases import fortnight_case
from tests.bench.rule import rule_plan

SECONDS = {"small": 30.0, "medium": 60.0, "large": 180.0}
CASES = tuple(SECONDS)
ROW = (
    "case",
    "seed",
    "status",
    "value",
    "bound",
    "gap",
    "seconds",
    "first_plan_seconds",
    "peak_mb",
    "rule_value",
    "rule_seconds",
    "left_out",
    "rule_left_out",
    "lost_energy_mwh",
    "rule_lost_energy_mwh",
    "violations",
    "check_seconds",
)


def run(case: str, seed: int, seconds: float | None = None) -> dict[str, Any]:
    """One row: value and bound in cents, gap as a share, times in seconds, memory of the whole process in MB."""
    problem = fortnight_case(case, seed)
    first: list[float] = []
    began = time.perf_counter()
    result = solve(
        problem,
        Params(time_limit_s=seconds or SECONDS[case], seed=seed),
        on_progress=lambda at, value, bound, plan: first.append(at),
    )
    solved = time.perf_counter()
    violations = check(problem, result.plan)
    checked = time.perf_counter()
    rule = rule_plan(problem)
    ruled = time.perf_counter()
    numbers = (case, seed, result.status, result.plan.value, round(result.bound), round(result.gap, 5), round(solved - began, 2))
    numbers += (round(min(first, default=solved - began), 2), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)
    numbers += (rule.value, round(ruled - checked, 2), len(result.plan.left_out), len(rule.left_out))
    numbers += (round(lost_mwh(problem, result.plan), 1), round(lost_mwh(problem, rule), 1))
    numbers += (len(violations), round(checked - solved, 3))
    return dict(zip(ROW, numbers, strict=True))


def lost_mwh(problem: Problem, plan: Plan) -> float:
    """MWh lost while people work (standstill between visits left aside)."""
    orders, turbines = {o.id: o for o in problem.orders}, {t.id: t for t in problem.turbines}
    total = 0.0
    for visit in plan.visits:
        first = problem.days[visit.day].first_slot + visit.start
        for turbine in {turbine for job in visit.jobs for turbine in orders[job.order].stops}:
            total += sum(problem.stop_mwh[turbines[turbine].energy][first : first + visit.slots])
    return total


if __name__ == "__main__":
    arguments = sys.argv[1:] or ["small"]
    print(json.dumps(run(arguments[0], int(arguments[1]) if len(arguments) > 1 else 1), indent=1))

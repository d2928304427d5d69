"""Measure the year: our round beside due-date order and turbine-number order on the same seeded inputs.

From the checkout: `python -m tests.bench.bench_year medium 1`.
"""

from __future__ import annotations

import json
import resource
import sys
from typing import Any

from scheduling.year.board import due_date_order, turbine_order
from scheduling.year.check import check
from scheduling.year.outlook import outlook
from scheduling.year.plan import Plan
from scheduling.year.problem import Problem
from scheduling.year.solve import Params, solve
from tests.bench.year_cases import SIZES, generate

CASES = ("small", "medium", "large")
SECONDS = {"small": 10.0, "medium": 20.0, "large": 120.0}
GAPS = {"small": 1e-4, "medium": 1e-3, "large": 2e-3}


def run(case: str, seed: int) -> dict[str, Any]:
    """One row: value, bound and gap of our round (cents), and what the rules of thumb give."""
    problem = generate(SIZES[case], seed)
    result = solve(problem, Params(time_limit_s=SECONDS[case], gap=GAPS[case], seed=seed))
    by_due, by_number = due_date_order(problem), turbine_order(problem)
    assert by_due is not None
    assert by_number is not None
    return {
        "case": case,
        "seed": seed,
        "items": len(problem.items),
        "status": result.status,
        "value": result.value,
        "bound": round(result.bound),
        "gap": round(result.gap, 5),
        "seconds": round(result.seconds, 2),
        "peak_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
        "rule_value": by_due.value,
        "violations": len(check(problem, result.plan)),
        **_compared("", problem, result.plan),
        **_compared("rule_", problem, by_due),
        **_compared("turbine_order_", problem, by_number),
    }


def _compared(prefix: str, problem: Problem, plan: Plan) -> dict[str, Any]:
    seen = outlook(problem, plan)
    statutory = [item.id for item in problem.items if item.statutory and item.id in seen.met_share]
    return {
        f"{prefix}lost_mwh": round(seen.lost_mwh_mean, 1),
        f"{prefix}left_out": len([i for i in problem.items if i.id in plan.left_out and i.closes < len(problem.weeks)]),
        f"{prefix}put_off": len([i for i in problem.items if i.id in plan.left_out and i.closes >= len(problem.weeks)]),
        f"{prefix}finish_p90": seen.finish_p90,
        f"{prefix}statutory_met": round(sum(seen.met_share[i] for i in statutory) / max(1, len(statutory)), 3),
    }


if __name__ == "__main__":
    arguments = sys.argv[1:] or ["small", "1"]
    print(json.dumps(run(arguments[0], int(arguments[1]) if len(arguments) > 1 else 1), indent=1))

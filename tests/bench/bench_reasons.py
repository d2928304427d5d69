"""Measure the reasons of a plan: why each order is left out, and day by day, beside the same asked start by start."""

from __future__ import annotations

import json
import sys
import time
from typing import Any

from scheduling.fortnight.explain import Reason, left_out_by_day, reasons
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Problem
from tests.bench.cases import SIZES, fortnight_case
from tests.bench.plain_case import plainly
from tests.bench.rule import rule_plan

CASES = tuple(SIZES)


def run(case: str, seed: int) -> dict[str, Any]:
    """One row: seconds for all reasons of the rule of thumb's plan, and `ratio`: how many times longer the plain way takes.

    `differ`: orders that the two ways tell otherwise.
    """
    problem = fortnight_case(case, seed)
    plan = rule_plan(problem)
    why, days, found = _told(problem, plan)
    with plainly():
        plain_why, plain_days, plain = _told(problem, plan)
    differ = sum(found[order] != plain[order] for order in found)
    row = {"case": case, "seed": seed, "left_out": len(plan.left_out), "seconds": round(why + days, 3)}
    row |= {"reasons_seconds": round(why, 3), "by_day_seconds": round(days, 3)}
    return row | {"plain_seconds": round(plain_why + plain_days, 3), "ratio": round((plain_why + plain_days) / (why + days), 1),
                  "differ": differ}  # fmt: skip


def _told(problem: Problem, plan: Plan) -> tuple[float, float, dict[str, tuple[Reason, str]]]:
    """Seconds for the reasons, seconds for the days, and both by order."""
    began = time.perf_counter()
    why = reasons(problem, plan)
    reasoned = time.perf_counter()
    days = left_out_by_day(problem, plan)
    ended = time.perf_counter()
    return reasoned - began, ended - reasoned, {order: (why[order], days[order]) for order in why}


if __name__ == "__main__":
    for name in sys.argv[1:] or CASES:
        print(json.dumps(run(name, 1)))

"""The solver's plans of small random problems against trying everything: no cheaper plan that keeps the rules may exist.

The solver's plan is checked and given to the enumeration (tests/scheduling/fortnight/brute.py, which knows nothing of the
solver), which looks for anything cheaper by more than a cent. `too_large` counts problems that it gave up on.
"""

from __future__ import annotations

from itertools import count, islice
from time import process_time
from typing import Any

from scheduling.fortnight.check import check
from scheduling.fortnight.problem import Problem
from scheduling.fortnight.solve import Params, solve
from tests.bench.tiny_mix import random_mixed
from tests.scheduling.fortnight.brute import TooLarge, optimum

SLACK_CENTS = 2
PROBLEMS, MOST_BRANCHES = 100, 60_000
CASES = {f"{n} orders": n for n in range(1, 7)}


def run(case: str, seed: int) -> dict[str, Any]:
    """How many of the problems with so many orders were proven equal, cost more, broke a rule, or were too large to count out."""
    row = {"case": case, "seed": seed, "problems": 0, "equal": 0, "dearer": 0, "broken": 0, "not_proven": 0, "too_large": 0}
    began = process_time()
    for problem in islice(problems(CASES[case], 1000 * seed), PROBLEMS):
        row["problems"] += 1
        row[verdict(problem)] += 1
    return {**row, "cpu_seconds": round(process_time() - began, 1)}


def problems(orders: int, first: int) -> Any:
    """Random problems with exactly so many orders."""
    return (problem for problem in map(random_mixed, count(first)) if len(problem.orders) == orders)


def verdict(problem: Problem, most_branches: int = MOST_BRANCHES) -> str:
    """The column of `run` in which the problem is counted."""
    result = solve(problem, Params(time_limit_s=60.0, gap=0.0, seed=1))
    if result.status not in ("optimal", "infeasible"):
        return "not_proven"
    known = result.plan if result.status == "optimal" else None
    if known and check(problem, known):
        return "broken"
    try:
        best = optimum(problem, most_branches, known)
    except TooLarge:
        return "too_large"
    if known is None or best is None:
        return "equal" if known is best else "dearer"
    return "equal" if abs(best.value - known.value) <= SLACK_CENTS else "dearer"

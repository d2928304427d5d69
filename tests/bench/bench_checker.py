"""The checker beside the naive second reading of the rules, on damaged and scattered plans; and its time on the large case."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from time import perf_counter, process_time
from typing import Any

import numpy as np

from scheduling.fortnight.check import check, recompute_parts
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Problem
from tests.bench.cases import fortnight_case
from tests.bench.rule import rule_plan
from tests.bench.tiny_mix import random_mixed
from tests.scheduling.fortnight.mutate import mutated, scattered
from tests.scheduling.fortnight.naive_check import naive_rules
from tests.scheduling.fortnight.naive_money import naive_parts

CASES = {"100,000 plans": 100_000, "400 orders": 0}
PLANS_A_PROBLEM, TIMES, ROUNDING = 20, 5, {"lost energy": 1, "likely aborts": 1}


def run(case: str, seed: int) -> dict[str, Any]:
    """Disagreements of both readings on so many plans, or the time that one check of the large case takes."""
    return timed(case, seed) if case == "400 orders" else compared(case, seed, CASES[case])


def compared(case: str, seed: int, most: int) -> dict[str, Any]:
    """Plans, good ones among them, disagreements about rules and about money, the rule and the part that were met least."""
    began, rules, parts, row = process_time(), Counter[str](), Counter[str](), Counter[str]()
    for problem, plan in plans(seed, most):
        broken, cents = {violation.rule for violation in check(problem, plan)}, recompute_parts(problem, plan)
        row.update(plans=1, good=not broken, rules_differ=broken != naive_rules(problem, plan))
        row["money_differs"] += not same_money(cents, naive_parts(problem, plan))
        rules.update(broken)
        parts.update(name for name, value in cents.items() if value)
    least = [f"{name}: {times}" for name, times in (rules.most_common()[-1], parts.most_common()[-1])]
    seconds = round(process_time() - began, 1)
    return {"case": case, "seed": seed, **row, "least_met": least[0], "least_paid": least[1], "cpu_seconds": seconds}


def plans(seed: int, most: int) -> Iterator[tuple[Problem, Plan]]:
    """`most` plans of random problems, most of them bad."""
    for number in range(most // PLANS_A_PROBLEM):
        one = 100_000 * seed + number
        rng, problem = np.random.default_rng(one), random_mixed(one)
        plan = rule_plan(problem)
        for _ in range(PLANS_A_PROBLEM // 2):
            yield problem, mutated(rng, problem, plan)
            yield problem, scattered(rng, problem)


def same_money(found: dict[str, int], naive: dict[str, int]) -> bool:
    """Whether both counted the same, to the cent that sums of fractions may tip."""
    return set(found) == set(naive) and all(abs(found[name] - naive[name]) <= ROUNDING.get(name, 0) for name in found)


def timed(case: str, seed: int) -> dict[str, Any]:
    """Seconds of one check of the large case's rule-of-thumb plan (the least of some)."""
    problem = fortnight_case("large", seed)
    plan, seconds = rule_plan(problem), []
    for _ in range(TIMES):
        began = perf_counter()
        violations = check(problem, plan)
        seconds.append(perf_counter() - began)
    row = {"case": case, "seed": seed, "plans": 1, "good": int(not violations), "orders": len(problem.orders)}
    return {**row, "visits": len(plan.visits), "cpu_seconds": round(min(seconds), 3)}

"""The checker against a second, naive reading of the rules, on thousands of good, damaged and scattered plans."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from scheduling.fortnight.check import check, recompute_parts
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Problem
from scheduling.fortnight.rules import PARTS, RULES
from tests.bench.bench_checker import plans, same_money
from tests.bench.cases import random_small
from tests.bench.rule import rule_plan
from tests.scheduling.fortnight.farms import hand_plan, tiny
from tests.scheduling.fortnight.mutate import mutated
from tests.scheduling.fortnight.naive_check import naive_rules
from tests.scheduling.fortnight.naive_money import naive_parts


def agreed(problem: Problem, plan: Plan) -> set[str]:
    """Broken rules, once both readings agree on them."""
    found = {violation.rule for violation in check(problem, plan)}
    assert found == naive_rules(problem, plan), (problem.name, plan)
    return found


@pytest.mark.parametrize("first", range(0, 200, 50))
def test_rule_of_thumb_plans_of_200_random_problems_break_nothing(first: int) -> None:
    for seed in range(first, first + 50):
        problem = random_small(seed)
        assert agreed(problem, rule_plan(problem)) == set(), seed


NIGHTS = {"night", "beds", "nights in a row"}
"""No problem drawn here has lodgings; test_nights.py damages plans that do."""


def test_both_readings_agree_on_1500_plans_and_meet_every_rule_and_every_part_of_the_cost() -> None:
    """A sample; `manage.py bench checker` compares 100,000 plans."""
    seen, paid, good = Counter[str](), Counter[str](), 0
    for problem, plan in plans(seed=0, most=1500):
        rules = agreed(problem, plan)
        parts = recompute_parts(problem, plan)
        assert same_money(parts, naive_parts(problem, plan)), (problem.name, plan)
        seen.update(rules)
        paid.update(name for name, cents in parts.items() if cents)
        good += not rules
    assert set(seen) == set(RULES) - NIGHTS, set(RULES) - set(seen)
    assert min(seen.values()) >= 10, seen
    assert set(paid) == set(PARTS) - {"nights away"}, set(PARTS) - set(paid)
    assert min(paid.values()) >= 30, paid
    assert good >= 30  # some changes do no harm, and both readings say so


def test_both_readings_agree_on_the_tiny_farm_damaged() -> None:
    rng = np.random.default_rng(5)
    for _ in range(300):
        agreed(tiny(), mutated(rng, tiny(), hand_plan()))


def test_both_count_the_same_money() -> None:
    assert naive_parts(tiny(), hand_plan()) == recompute_parts(tiny(), hand_plan())


def test_a_plan_one_cent_off_in_each_part_is_seen_by_both() -> None:
    plan = hand_plan()
    for name in plan.parts:
        assert agreed(tiny(), replace(plan, parts={**plan.parts, name: plan.parts[name] + 2})) == {"value"}

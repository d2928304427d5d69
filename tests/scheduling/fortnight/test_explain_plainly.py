"""Reasons found for all starts at once are those found start by start."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.fortnight.check import recompute_parts
from scheduling.fortnight.explain import left_out_by_day, reasons, slot_clock
from scheduling.fortnight.explain.surroundings import Surroundings
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Problem
from scheduling.fortnight.room import Room
from tests.bench.cases import fortnight_case, random_small
from tests.bench.plain_case import plainly
from tests.bench.rule import rule_plan
from tests.bench.tiny_cover import with_cover


def plans(problem: Problem) -> list[Plan]:
    """Nothing, the rule of thumb's plan, and each second order of it."""
    plan = rule_plan(problem)
    kept = set(list(dict.fromkeys(job.order for visit in plan.visits for job in visit.jobs))[::2])
    half = tuple(visit for visit in plan.visits if {job.order for job in visit.jobs} <= kept)
    return [Plan((), ()), plan, Plan(half, ())]


def told(problem: Problem, plan: Plan) -> tuple[object, object]:
    """Everything that is said."""
    return reasons(problem, plan), left_out_by_day(problem, plan)


@pytest.mark.parametrize("seed", range(40))
def test_small_cases_are_told_alike(seed: int) -> None:
    problem = with_cover(seed, random_small(seed)) if seed % 4 == 3 else random_small(seed)
    for plan in plans(problem):
        with plainly():
            plain = told(problem, plan)
        assert told(problem, plan) == plain


def test_a_fortnight_is_told_alike() -> None:
    problem = fortnight_case("small", 2)
    plan = rule_plan(problem)
    with plainly():
        plain = told(problem, plan)
    assert told(problem, plan) == plain


@pytest.mark.parametrize("seed", range(30))
def test_what_more_visits_cost_is_counted_from_what_stands_beside_them(seed: int) -> None:
    problem = random_small(seed)
    for plan in plans(problem):
        around, before = Surroundings(problem, plan, slot_clock), sum(recompute_parts(problem, plan).values())
        for order in problem.orders:
            placed = None if order.id in around.planned else Room(problem, plan.visits).with_order(order, order.modes[0])
            if placed:
                after = recompute_parts(problem, replace(plan, visits=(*plan.visits, *placed[1])))
                grown = order.left_out_cost + sum(after.values()) - before
                assert abs(around.cost_of(order, placed[1]) - grown) <= 1  # two parts sum fractions of a cent

"""The solver against counting out: on problems small enough to try everything its plan is the cheapest there is."""

from __future__ import annotations

import contextlib
import functools
from dataclasses import replace

import pytest

from scheduling.fortnight.check import check
from scheduling.fortnight.plan import Plan, Result
from scheduling.fortnight.problem import Problem
from scheduling.fortnight.solve import Params, solve
from tests.bench.cases import random_small
from tests.bench.rule import rule_plan
from tests.bench.tiny_mix import random_mixed
from tests.scheduling.fortnight.brute import TooLarge, optimum
from tests.scheduling.fortnight.farms import tiny, with_orders
from tests.scheduling.fortnight.naive_check import naive_rules

SLACK_CENTS = 2
"""Two parts of the cost sum fractions of a cent; each may tip by one."""


def solved(problem: Problem) -> Plan:
    """The solver's plan, proven optimal and by both readings without a breach."""
    result = solve(problem, Params(time_limit_s=30.0, gap=0.0, seed=1))
    assert result.status in {"optimal", "empty"}, (problem.name, result.status, result.text)
    assert check(problem, result.plan) == (), problem.name
    assert naive_rules(problem, result.plan) == set(), problem.name
    assert result.bound <= result.plan.value + SLACK_CENTS, problem.name
    return result.plan


@pytest.mark.parametrize("first", range(0, 40, 20))
def test_the_solver_finds_what_counting_out_finds(first: int) -> None:
    better = 0
    for seed in range(first, first + 20):
        problem = random_small(seed, max_orders=3)
        best = optimum(problem)
        assert best is not None, seed
        assert abs(solved(problem).value - best.value) <= SLACK_CENTS, seed
        better += best.value < rule_plan(problem).value
    assert better >= 1  # the rule of thumb alone would not do


def test_orders_ride_along_where_that_is_cheapest() -> None:
    problem = with_orders(tiny(), feeder={"stops": ("T2",)})
    problem = replace(problem, orders=(problem.orders[1], problem.orders[4]), people=problem.people[:2])
    best = optimum(problem)
    assert best is not None
    assert [len(visit.jobs) for visit in best.visits] == [2]  # repair and feeder isolation in one climb
    assert abs(solved(problem).value - best.value) <= SLACK_CENTS


def test_small_jobs_on_one_turbine_counted_out() -> None:
    together = 0
    for seed in range(24):
        problem = _on_one_turbine(random_small(seed, max_orders=3))
        best = optimum(problem)
        assert best is not None, seed
        assert abs(solved(problem).value - best.value) <= SLACK_CENTS, seed
        together += any(len(visit.jobs) > 1 for visit in best.visits)
    assert together >= 2


def _on_one_turbine(problem: Problem) -> Problem:
    """Every order of the problem on its first turbine, short, and free to ride along."""
    turbine = problem.turbines[0].id
    orders = (
        replace(
            order,
            turbine=turbine,
            stops=(turbine,),
            pins=(),
            ride_along=not order.opens_climbing,
            modes=tuple(
                replace(mode, visits_min=tuple(30 + minutes // 3 for minutes in mode.visits_min)) for mode in order.modes
            ),
        )
        for order in problem.orders
    )
    return replace(problem, orders=tuple(orders), published=())


def test_counting_out_gives_up_where_there_is_too_much() -> None:
    with pytest.raises(TooLarge, match="too many branches"):
        optimum(tiny(), most_branches=50)


@functools.cache
def small(seed: int) -> tuple[Problem, Result]:
    """A problem of up to six orders and what the solver says."""
    problem = random_mixed(seed)
    return problem, solve(problem, Params(time_limit_s=30.0, seed=1))


@pytest.mark.parametrize("first", range(0, 80, 20))
def test_no_plan_of_four_to_six_orders_is_cheaper_than_the_solvers(first: int) -> None:
    """A sample of those that are counted out quickly; `manage.py bench proof` takes 100 of each number of orders."""
    proven = 0
    for seed in range(first, first + 20):
        problem, result = small(seed)
        if len(problem.orders) < 4 or result.status != "optimal":
            continue
        with contextlib.suppress(TooLarge):
            best = optimum(problem, 500, known=result.plan)
            assert best is result.plan, (seed, best and best.value, result.plan.value)
            proven += 1
    assert proven >= 5


def test_counting_out_from_a_dear_plan_finds_the_solvers_value_of_four_to_six_orders() -> None:
    """So that nothing cheaper is passed over when it starts from the solver's own plan."""
    better = 0
    for seed in range(30):
        problem, result = small(seed)
        if len(problem.orders) < 4 or result.status != "optimal":
            continue
        with contextlib.suppress(TooLarge):
            best = optimum(problem, 800, known=rule_plan(problem))
            assert best is not None
            assert abs(best.value - result.plan.value) <= SLACK_CENTS, seed
            better += best.value < rule_plan(problem).value
    assert better >= 3


@pytest.mark.parametrize("first", range(0, 200, 50))
def test_plans_of_200_random_problems_break_nothing(first: int) -> None:
    for seed in range(first, first + 50):
        problem, result = small(seed)
        assert check(problem, result.plan) == (), seed
        assert result.plan.value <= rule_plan(problem).value + SLACK_CENTS, seed
        assert result.bound <= result.plan.value + SLACK_CENTS, seed

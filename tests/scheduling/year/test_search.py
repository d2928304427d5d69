"""The search for large rounds, on rounds small enough to know the answer."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.year import solve as solving
from scheduling.year.board import first_plans
from scheduling.year.check import check
from scheduling.year.descent import Descent, Levels
from scheduling.year.fit import reachable_h
from scheduling.year.money import least_cost
from scheduling.year.plan import Placement, Plan
from scheduling.year.problem import Problem
from scheduling.year.search import laid_from, tear_and_lay
from scheduling.year.solve import Params, solve
from scheduling.year.tables import tables, undone_h
from tests.bench.year_cases import SIZES, generate
from tests.scheduling.year.farm import TINY, laid, rounds, service, with_items


def times(count: int) -> Callable[[], bool]:
    """Says go on so many times."""
    left = iter(range(count))
    return lambda: next(left, None) is not None


def test_single_moves_find_the_best_of_the_tiny_round() -> None:
    for weeks in ({}, {"T1 service": 0}, {"T1 service": 2, "T2 service": 3}):
        assert Descent(tables(TINY), laid(TINY, weeks)).run(lambda: True).value == 24_000


@settings(max_examples=100, deadline=None)
@given(rounds(most_items=6, weeks=4))
def test_descent_keeps_every_rule_and_never_costs_more(problem: Problem) -> None:
    t = tables(problem)
    start = Plan((), tuple(item.id for item in problem.items))
    plan = Descent(t, start).run(lambda: True)
    assert check(problem, plan) == ()
    assert plan.value <= Descent(t, start).plan().value + 4
    assert plan.value >= least_cost(t) - 4


@settings(max_examples=60, deadline=None)
@given(rounds(most_items=5, weeks=4), st.integers(0, 5))
def test_advice_that_breaks_rules_is_laid_only_where_it_fits(problem: Problem, week: int) -> None:
    t = tables(problem)
    advice = Plan(tuple(Placement(item.id, week) for item in problem.items), ())
    assert check(problem, laid_from(t, advice, lambda: True)) == ()


def test_advice_of_an_absorbed_item_is_taken_with_its_host() -> None:
    problem = with_items(service("T1", absorbs=("small",)), service("T1", id="small"))
    advice = Plan((Placement("T1 service", 3), Placement("small", 3, "T1 service")), ())
    plan = laid_from(tables(problem), advice, lambda: True)
    assert [(p.week, p.with_item) for p in plan.placements] == [(3, ""), (3, "T1 service")]


@settings(max_examples=40, deadline=None)
@given(rounds(most_items=6, weeks=4), st.integers(0, 3))
def test_tearing_out_never_makes_a_round_dearer(problem: Problem, seed: int) -> None:
    t = tables(problem)
    start = Descent(t, Plan((), ())).run(lambda: True)
    better: list[Plan] = []
    plan = tear_and_lay(t, start, seed, times(60), better.append)
    assert check(problem, plan) == ()
    assert plan.value <= start.value
    assert [p.value for p in better] == sorted((p.value for p in better), reverse=True)


def test_the_search_for_large_rounds_beats_the_rules_of_thumb(monkeypatch: pytest.MonkeyPatch) -> None:
    """The small generated round, solved whole and as if it were too large for that."""
    problem = generate(SIZES["small"], 2)
    best = solve(problem, Params(time_limit_s=20.0, gap=1e-3))
    monkeypatch.setattr(solving, "EXACT", 0)
    searched = solve(problem, Params(time_limit_s=3.0, gap=0.02))
    assert check(problem, searched.plan) == ()
    assert best.bound <= searched.value
    assert searched.bound <= best.value
    assert searched.value < first_plans(tables(problem))[0].value
    assert searched.status in ("gap reached", "out of time")


def test_the_search_stops_when_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(solving, "EXACT", 0)
    problem = generate(SIZES["small"], 2)
    result = solve(problem, Params(time_limit_s=60.0, gap=0.0), should_stop=lambda: True)
    assert result.status == "stopped"
    assert result.seconds < 10
    assert check(problem, result.plan) == ()


@settings(max_examples=80, deadline=None)
@given(rounds(most_items=4, weeks=3), st.integers(0, 1000))
def test_levels_say_the_same_as_the_plain_formula(problem: Problem, seed: int) -> None:
    t = tables(problem)
    load = np.random.default_rng(seed).uniform(0, 60, (3, t.share.shape[0], len(t.groups)))
    plain = [undone_h(t.share[:, :, w], t.capacity[w], load[w]) for w in range(3)]
    assert np.allclose(Levels(t).undone([0, 1, 2], load), plain)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.sampled_from([3.0, 7.5, 12.0, 36.0]), max_size=6), st.floats(0.0, 120.0))
def test_reachable_hours_against_every_subset(loads: list[float], room: float) -> None:
    sums = {0.0}
    for load in loads:
        sums |= {total + load for total in sums}
    expected = max(total for total in sums if total <= room + 1e-9)
    assert reachable_h(loads, room) == pytest.approx(expected if loads else room)


def test_six_times_36_hours_go_into_240() -> None:
    assert reachable_h([36.0] * 10, 240.0) == pytest.approx(216.0)
    assert reachable_h([1.0 / 3.0] * 3, 0.5) == 0.5  # no plain number of hours: left as it is

"""Rescue cover between teams: the rule read on hand-made plans, the naive reading, the search against counting out.

Hops of the tiny farm: base to T1, T2, T3 15, 25, 30 min, T1 to T2 15 min. The rule is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scheduling.fortnight.check import check
from scheduling.fortnight.check.cover_rules import cover
from scheduling.fortnight.check.view import View
from scheduling.fortnight.due_order import due_order_plan
from scheduling.fortnight.explain import reasons
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Problem
from scheduling.fortnight.solve import Params, solve
from tests.bench.cases import random_small
from tests.bench.tiny_cover import with_cover
from tests.scheduling.fortnight.brute import optimum
from tests.scheduling.fortnight.farms import hand_plan, tiny, with_orders, with_people, with_rules, with_visit
from tests.scheduling.fortnight.mutate import mutated, scattered
from tests.scheduling.fortnight.naive_check import naive_rules

BY_COUNTING = (2, 3, 5, 17, 19)
"""Seeds at which cover makes the best plan dearer."""


def bare(problem: Problem, plan: Plan) -> list[tuple[str, int]]:
    """(turbine, minutes that nobody covers) of each breach; both readings agree on whether there are any."""
    found = list(cover(View(problem, plan)))
    assert ("cover" in naive_rules(problem, plan)) == bool(found)
    return [(breach.text.split(" ")[0], int(breach.amount)) for breach in found]


def side_by_side() -> tuple[Problem, Plan]:
    """Monday with both teams out at once: T2 from 30 to 240 min after 07:00, T1 from 30 to 270."""
    problem = with_rules(with_orders(tiny(), feeder={"stops": ("T2",)}), cover_min=25)
    return problem, with_visit(problem, hand_plan(), 1, start=1)


def test_teams_that_are_alone_are_bare_but_for_others_on_their_way_home_or_out() -> None:
    problem = with_rules(tiny(), cover_min=30)
    # T2 (30-240): the other team leaves the base at 225. T1 (240-480): the first team is back at 265.
    assert bare(problem, hand_plan()) == [("T2", 195), ("T1", 215), ("T3", 240), ("T1", 240)]
    assert bare(tiny(), hand_plan()) == []


def test_a_group_that_stands_by_covers_what_it_reaches_on_its_days() -> None:
    problem = replace(with_rules(tiny(), cover_min=30), standby_days=(0, 1, 2))
    assert bare(problem, hand_plan()) == []
    assert bare(with_rules(problem, cover_min=29), hand_plan()) == [("T3", 240)]
    assert [where for where, _ in bare(replace(problem, standby_days=(0, 1)), hand_plan())] == ["T1"]


def test_teams_near_each_other_cover_each_other() -> None:
    problem, plan = side_by_side()
    monday = [one for one in bare(problem, plan) if one[0] in ("T1", "T2")][:-1]
    assert monday == [("T1", 5)]  # the first team sets out at 240 and is back at 265, T1 comes down at 270
    assert bare(with_rules(problem, cover_min=14), plan)[:2] == [("T2", 210), ("T1", 240)]


def test_a_team_without_two_who_can_rescue_covers_nobody() -> None:
    problem, plan = side_by_side()
    problem = with_people(with_rules(problem, rescue_pair=1), dia={"rescue_days": (1,)})
    assert bare(problem, plan)[:2] == [("T2", 210), ("T1", 5)]


def test_the_checker_and_the_naive_reading_agree_on_damaged_plans() -> None:
    seen = {True: 0, False: 0}
    for seed in range(60):
        rng, problem = np.random.default_rng(seed), with_cover(seed, random_small(seed))
        for bad in (mutated(rng, problem, due_order_plan(problem)), scattered(rng, problem)):
            found = {violation.rule for violation in check(problem, bad)}
            assert found == naive_rules(problem, bad), seed
            seen["cover" in found] += 1
    assert min(seen.values()) >= 20, seen


@pytest.mark.parametrize("seed", BY_COUNTING)
def test_the_search_finds_what_counting_out_finds(seed: int) -> None:
    problem = with_cover(seed, random_small(seed, max_orders=4))
    result = solve(problem, Params(time_limit_s=0.5, seed=1))
    best = optimum(problem, 40_000, known=result.plan)
    free = solve(with_rules(problem, cover_min=0), Params(time_limit_s=5.0, seed=1))
    assert best is not None
    assert check(problem, result.plan) == ()
    assert free.plan.value < best.value - 2
    assert abs(result.plan.value - best.value) <= 2
    assert result.bound <= best.value + 2


def test_plans_of_random_problems_under_cover_break_nothing() -> None:
    for seed in range(20, 32):
        problem = with_cover(seed, random_small(seed))
        for plan in (solve(problem, Params(time_limit_s=0.15, seed=1)).plan, due_order_plan(problem)):
            assert check(problem, plan) == (), seed
            assert naive_rules(problem, plan) == set(), seed


def test_an_order_that_nobody_could_rescue_says_so() -> None:
    problem = with_rules(tiny(), cover_min=20)
    result = solve(problem, Params(time_limit_s=0.3, seed=1))
    found = reasons(problem, result.plan)["crane work"]  # T3 lies alone, and needs three of the four people
    assert found.code == "no cover"
    assert "nobody who can rescue would be within 20 min of T3" in found.text

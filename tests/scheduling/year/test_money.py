from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings

from scheduling.year.check import recomputed_parts
from scheduling.year.money import least_cost, parts, tail_mean
from scheduling.year.problem import Problem
from scheduling.year.rules import PARTS
from scheduling.year.solve import Params, solve
from scheduling.year.tables import tables
from tests.scheduling.year.farm import TINY, laid, rounds


@pytest.mark.parametrize(
    ("quantile", "mean"),
    [(0.0, 25.0), (0.5, 35.0), (0.75, 40.0), (0.9, 40.0), (0.625, (40 + 0.5 * 30) / 1.5)],
)
def test_the_worst_share_of_four_years(quantile: float, mean: float) -> None:
    """Years of 10, 20, 30, 40: of the worst 1.5 years, the whole of 40 and half of 30 count."""
    assert tail_mean(np.array([30.0, 10.0, 40.0, 20.0]), quantile) == pytest.approx(mean)


@settings(max_examples=80, deadline=None)
@given(rounds(most_items=6, weeks=4))
def test_solver_and_checker_reckon_the_same(problem: Problem) -> None:
    plan = solve(problem, Params(time_limit_s=5.0)).plan
    again = recomputed_parts(problem, plan)
    assert plan.parts.keys() == again.keys()
    assert set(plan.parts) <= set(PARTS)
    assert all(abs(plan.parts[name] - again[name]) <= 1 for name in again)


def test_least_cost_of_the_tiny_round_is_reached() -> None:
    """Each service at its cheapest: 10 h * 0.2 MWh * 50.00 and two weeks late, and nothing hinders either."""
    t = tables(TINY)
    plan = laid(TINY, {"T1 service": 3, "T2 service": 3})
    assert least_cost(t) == 24_000
    assert sum(parts(t, plan.placements, plan.left_out).values()) == 24_000

"""Bounds never lie above an optimum, and route prices stay below what real routes cost."""

from __future__ import annotations

from typing import Any

import highspy
import numpy as np
import pytest

from scheduling.fortnight.bound import Bounder
from scheduling.fortnight.columns import Kinds
from scheduling.fortnight.daymodel import DayModel
from scheduling.fortnight.facts import Facts
from scheduling.fortnight.hops import hop_floor
from scheduling.fortnight.master import Master
from scheduling.fortnight.solve import Params, solve
from tests.bench.cases import random_small
from tests.scheduling.fortnight.farms import tiny


def said(seed: int) -> tuple[list[dict[str, Any]], int]:
    problem = random_small(seed)
    result = solve(problem, Params(time_limit_s=30.0))
    assert result.status in ("optimal", "empty")
    facts, found = Facts(problem), list[dict[str, Any]]()
    Bounder(facts, Kinds(facts), 3.0, 0, found.append).run()
    return found, result.plan.value


@pytest.mark.parametrize("seed", range(25))
def test_no_bound_lies_above_the_optimum(seed: int) -> None:
    found, optimum = said(seed)
    for line in found:
        assert line.get("bound", 0.0) <= optimum + 2


def test_routes_close_most_of_the_gap() -> None:
    shares = []
    for seed in range(8):
        found, optimum = said(seed)
        bounds = [line["bound"] for line in found if "bound" in line]
        shares.append(max(bounds) / optimum if bounds else 1.0)
    assert sum(shares) / len(shares) > 0.85


def test_it_works_after_a_solve_with_other_threads_in_the_same_process() -> None:
    """A worker solves the year with two threads, then a fortnight: HiGHS refused the second and the bound was 0."""
    other = highspy.Highs()
    other.setOptionValue("output_flag", False)
    other.resetGlobalScheduler(True)
    other.setOptionValue("threads", 2)
    other.addVars(1, np.zeros(1), np.ones(1))
    other.run()
    facts = Facts(tiny())
    master = Master(facts, Kinds(facts), 0)
    master.round()
    assert master.value > 0


def test_the_master_only_rises_in_bound_and_falls_in_value() -> None:
    facts = Facts(tiny())
    master = Master(facts, Kinds(facts), 0)
    values, bounds = [], []
    for _ in range(12):
        worst = master.round()
        values.append(master.value)
        bounds.append(master.bound)
        if worst > -1.0:
            break
    assert values == sorted(values, reverse=True)
    assert bounds == sorted(bounds)
    assert 0.8 * values[-1] < bounds[-1] <= values[-1] + 1.0


def test_hop_shares_never_exceed_a_route() -> None:
    facts = Facts(tiny())
    floor = hop_floor(facts)
    for a in set(facts.own):
        assert floor.team_min + floor.visit_min[a] <= 2 * facts.base_min[a] + 1e-6
        for b in set(facts.own) - {a}:
            route = facts.base_min[a] + facts.hop_min[a][b] + facts.base_min[b]
            assert floor.team_min + floor.visit_min[a] + floor.visit_min[b] <= route + 1e-6


def test_the_day_model_knows_every_candidate_and_rule() -> None:
    facts = Facts(tiny())
    kinds = Kinds(facts)
    model = DayModel(facts, kinds)
    assert len(model.x) == sum(len(kind.fields) for kind in kinds.all())
    assert model.rows.rows > 50

"""Solved to the end, what allows more never costs more, and what allows less never costs less.

A minimum over more plans is no larger: true of every minimisation (textbook). It holds the changes against the solver's own
optimum, so that a change that allows the wrong thing shows.
"""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import pytest

from scheduling.fortnight.changes import apply, changes_from_json
from scheduling.fortnight.check import check
from scheduling.fortnight.problem import Problem
from scheduling.fortnight.solve import Params, solve
from tests.scheduling.fortnight.changes.samples import MON, TUE, WED, farm, register_for

LOOSER: tuple[dict[str, Any], ...] = (
    {"kind": "person added", "person": "Eve", "like": "ann"},
    {"kind": "vehicle added", "vehicle": "bus", "seats": 6},
    {"kind": "equipment days", "equipment": "crane", "days": [MON, TUE, WED]},
    {"kind": "parts earlier", "order": "inspection", "day": MON},
    {"kind": "limit", "limit_set": "calm", "value": 20},
    {"kind": "confidence", "share": 0.5},
    {"kind": "rule", "rule": "most stopped", "site": "hill", "value": 9},
)
TIGHTER: tuple[dict[str, Any], ...] = (
    {"kind": "person away", "person": "ann", "days": [MON, WED]},
    {"kind": "vehicle gone", "vehicle": "van"},
    {"kind": "turbine closed", "turbine": "T1", "days": [TUE, WED]},
    {"kind": "confidence", "share": 1.0},
    {"kind": "allowed days", "order": "repair", "days": [WED]},
    {"kind": "left out by hand", "order": "service"},
    {"kind": "shift longer", "person": "ben", "minutes": -240},
    {"kind": "rule", "rule": "most stopped", "site": "hill", "value": 1},
)


def least_cost(problem: Problem) -> int:
    """Of the best plan there is, which keeps the rules of its problem."""
    result = solve(problem, Params(time_limit_s=60, gap=0.0))
    assert result.status == "optimal"
    assert check(problem, result.plan) == ()
    return result.plan.value


@cache
def cost_with(change: str) -> int:
    """The least cost with a change (JSON), each worked out once."""
    changes = changes_from_json([json.loads(change)])
    return least_cost(apply(farm(), changes, register_for(changes)))


def cost(change: dict[str, Any]) -> int:
    return cost_with(json.dumps(change))


@cache
def usual_cost() -> int:
    return least_cost(farm())


@pytest.mark.parametrize("change", LOOSER, ids=lambda one: one["kind"])
def test_what_allows_more_costs_no_more(change: dict[str, Any]) -> None:
    assert cost(change) <= usual_cost()


@pytest.mark.parametrize("change", TIGHTER, ids=lambda one: one["kind"])
def test_what_allows_less_costs_no_less(change: dict[str, Any]) -> None:
    assert cost(change) >= usual_cost()


def test_some_of_them_bite() -> None:
    """Otherwise the two laws above would say nothing."""
    assert any(cost(one) < usual_cost() for one in LOOSER)
    assert sum(cost(one) > usual_cost() for one in TIGHTER) >= 4


def test_in_a_hired_person_s_price_more_is_dearer() -> None:
    free, dear = ({"kind": "person added", "person": "Eve", "like": "ann", "day_cost": each} for each in (0, 10_000))
    assert cost(free) <= cost(dear)

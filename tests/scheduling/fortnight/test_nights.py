"""Nights away: the rules on hand-made plans, the naive reading, the search and the bounds against counting out.

The tiny farm from a base 80 km further west: 95 min to T1 and 105 to T2; the inn is 7 min from T1 and 13 from T2. What a night is
and costs is our own definition (rules.py); common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from scheduling.fortnight.check import check
from scheduling.fortnight.down_by import down_by_slots
from scheduling.fortnight.due_order import due_order_plan
from scheduling.fortnight.facts import Facts
from scheduling.fortnight.plan import Plan, Visit
from scheduling.fortnight.problem import Lodging, Problem
from scheduling.fortnight.solve import Params, solve
from tests.bench.cases import random_small
from tests.bench.tiny_nights import with_lodgings
from tests.scheduling.fortnight.brute import optimum
from tests.scheduling.fortnight.farms import job, order, priced, tiny, with_rules
from tests.scheduling.fortnight.mutate import mutated
from tests.scheduling.fortnight.naive_check import naive_rules
from tests.scheduling.fortnight.naive_money import naive_parts

BY_COUNTING = (26, 31)
"""Seeds whose cheapest plan has a night away."""


def far() -> Problem:
    orders = (order("first", "T1", (2, (240,))), order("second", "T2", (2, (240,))))
    inn = Lodging("inn", 12.0, 0.0, 2, 5_000)
    return replace(tiny(), base_x_km=-80.0, people=tiny().people[:2], orders=orders, lodgings=(inn,))


def night_plan(**of_second: Any) -> Plan:
    """Ann and Ben on T1 on Monday, at the inn, on T2 on Tuesday."""
    both = ("ann", "ben")
    monday = Visit("T1", 0, 4, 10, 0, (job("first", 240),), both, "van", 1.0, "lift", "", "inn")
    tuesday = Visit("T2", 1, 1, 10, 0, (job("second", 240),), both, "van", 1.0, "lift", "inn", "")
    return priced(far(), Plan((monday, replace(tuesday, **of_second)), ()))


def broken(problem: Problem, plan: Plan) -> set[str]:
    """Names of broken rules; both readings agree on them."""
    found = {violation.rule for violation in check(problem, plan)}
    assert found == naive_rules(problem, plan)
    return found


def test_a_night_by_hand_keeps_the_rules_and_costs_what_it_says() -> None:
    plan = night_plan()
    assert broken(far(), plan) == set()
    assert plan.parts["travel"] == 2 * 60 * (95 + 7 + 13 + 105)
    assert plan.parts["nights away"] == 2 * 5_000
    assert naive_parts(far(), plan) == plan.parts
    # Monday home at 515 min after 07:00 without the night, on Tuesday out of the base at 05:45: before the shift.
    home = tuple(replace(visit, starts_from="", ends_at="") for visit in plan.visits)
    assert broken(far(), priced(far(), replace(plan, visits=home))) == {"shift"}


@pytest.mark.parametrize(
    ("changes", "rules"),
    [
        ({"starts_from": ""}, {"night", "shift"}),
        ({"vehicle": "car"}, {"night"}),
        ({"day": 2, "start": 4}, {"night"}),
        ({"ends_at": "inn"}, {"night"}),
        ({"people": ("ann",)}, {"night", "team size", "rescue"}),
    ],
)
def test_the_same_team_and_vehicle_start_where_they_slept(changes: dict[str, Any], rules: set[str]) -> None:
    assert broken(far(), night_plan(**changes)) == rules


def test_down_by_counts_the_way_to_the_bed() -> None:
    plan = night_plan()
    down = down_by_slots(far(), plan)
    # The shift ends at slot 20 of 30 min: 7 min to the inn on Monday are one slot, 105 min home on Tuesday four.
    assert down[plan.visits[0]] == 19
    assert down[plan.visits[1]] <= 16


def test_an_unknown_lodging_is_caught() -> None:
    plan = night_plan()
    lost = replace(plan, visits=(replace(plan.visits[0], ends_at="barn"), plan.visits[1]))
    assert {v.rule for v in check(far(), lost)} >= {"known"}


def test_beds_and_nights_in_a_row_are_few() -> None:
    full = replace(far(), lodgings=(replace(far().lodgings[0], beds=1),))
    assert broken(full, night_plan()) == {"beds"}
    assert broken(with_rules(far(), nights_in_row=0), night_plan()) == {"nights in a row"}


def test_a_day_missing_in_between_is_no_night() -> None:
    days = (far().days[0], replace(far().days[1], date="2026-03-04"), replace(far().days[2], date="2026-03-05"))
    assert broken(replace(far(), days=days), night_plan()) == {"night"}


def test_the_search_sleeps_away_where_that_is_cheaper() -> None:
    found = until(far(), night_plan().value)
    assert {(visit.starts_from, visit.ends_at) for visit in found.visits} >= {("", "inn"), ("inn", "")}
    assert broken(far(), found) == set()


def until(problem: Problem, value: int) -> Plan:
    """The plan of a run that is stopped once it costs no more than this."""
    seen: list[float] = []
    result = solve(
        problem,
        Params(time_limit_s=20.0, seed=1),
        lambda _, found, bound, plan: seen.append(found),
        lambda: min(seen) <= value + 2,
    )
    assert result.bound <= value + 2, problem.name
    assert result.plan.value <= value + 2, problem.name
    return result.plan


@pytest.mark.parametrize("seed", BY_COUNTING)
def test_the_search_finds_what_counting_out_finds(seed: int) -> None:
    problem = with_lodgings(seed, random_small(seed, max_orders=3))
    best = optimum(problem)
    assert best is not None
    assert any(visit.ends_at for visit in best.visits)
    found = until(problem, best.value)
    assert broken(problem, found) == set()
    assert found.value >= best.value - 2


def test_the_nearest_place_is_never_farther_than_the_base() -> None:
    facts, near = Facts(far()), Facts(far(), nearest=True)
    assert facts.base_min[:2] == [95, 105]
    assert near.base_min[:2] == [7, 13]
    assert near.home_min == facts.home_min


def test_the_checker_and_the_naive_reading_agree_on_damaged_plans() -> None:
    seen: Counter[str] = Counter()
    for seed in range(32):
        rng, problem = np.random.default_rng(seed), with_lodgings(seed, random_small(seed))
        plan = due_order_plan(problem)
        for _ in range(5):
            bad = mutated(rng, problem, _scattered_nights(rng, problem, plan))
            seen.update(broken(problem, bad))
    for _ in range(100):
        seen.update(broken(far(), mutated(rng, far(), night_plan())))
    assert min(seen[name] for name in ("night", "beds", "nights in a row", "value")) >= 5, seen


def _scattered_nights(rng: np.random.Generator, problem: Problem, plan: Plan) -> Plan:
    """The plan with lodgings written to some of its visits."""
    names = ["", *(one.id for one in problem.lodgings)]
    visits = (replace(v, starts_from=str(rng.choice(names)), ends_at=str(rng.choice(names))) for v in plan.visits)
    return priced(problem, replace(plan, visits=tuple(visits)))

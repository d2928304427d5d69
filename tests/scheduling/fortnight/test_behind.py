"""Orders behind a shut gate: planned from the day after the inspection that opens it, and by no code before."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from scheduling.bits import pack_members
from scheduling.fortnight.check import check
from scheduling.fortnight.explain import conditions, reasons
from scheduling.fortnight.plan import Plan, Visit
from scheduling.fortnight.problem import Access, Problem, PublishedVisit, problem_from_json, problem_to_json
from scheduling.fortnight.repair import repair
from scheduling.fortnight.solve import Params, solve
from tests.bench.cases import random_small
from tests.bench.plain_case import plainly
from tests.bench.rule import rule_plan
from tests.bench.tiny_gates import SHUT, with_gate
from tests.scheduling.fortnight.brute import TooLarge, optimum
from tests.scheduling.fortnight.farms import MEMBERS, hand_plan, job, order, priced, tiny, with_orders
from tests.scheduling.fortnight.mutate import mutated, scattered
from tests.scheduling.fortnight.naive_check import naive_rules

SLACK_CENTS = 10
LIFT = Access("lift", 10, 10)


def shut() -> Problem:
    """The tiny farm with T3 shut: its ladder inspection opens it, a repair waits behind it."""
    problem = tiny()
    look = order("look", "T3", (2, (60,)), opens_climbing=True, access=Access("ladder", 40, 40), ride_along=False)
    mend = order("mend", "T3", (2, (60,)), after=("look",), behind=("look",), access=LIFT)
    turbines = tuple(replace(t, access=(SHUT,) * 3) if t.id == "T3" else t for t in problem.turbines)
    calm = pack_members(np.ones((MEMBERS, problem.total_slots), dtype=bool))
    return replace(problem, turbines=turbines, orders=(look, mend), workable={"calm": calm})


def plan_of(look_day: int, mend_day: int, **changes: Any) -> Plan:
    """Both by Ann and Ben with the van, at any hour of these days."""
    look = Visit("T3", look_day, 2, 5, 0, (job("look", 60),), ("ann", "ben"), "van", 1.0, "ladder")
    mend = Visit("T3", mend_day, 12, 3, 0, (job("mend", 60),), ("ann", "ben"), "van", 1.0, "lift")
    return priced(shut(), Plan((look, replace(mend, **changes)), ()))


def broken(problem: Problem, plan: Plan) -> set[str]:
    """Rules broken, by checker and naive reading alike."""
    found = {violation.rule for violation in check(problem, plan)}
    assert found == naive_rules(problem, plan)
    return found


def test_the_next_day_at_the_earliest() -> None:
    assert broken(shut(), plan_of(0, 1)) == set()
    assert broken(shut(), plan_of(0, 2)) == set()
    assert broken(shut(), plan_of(1, 1)) == {"sequence"}
    assert broken(shut(), plan_of(2, 1)) == {"sequence"}
    text = check(shut(), plan_of(1, 1))[0].text
    assert text == "order mend does not lie on a later day than look, which opens the way and must be accepted first"


def test_without_its_inspection_or_its_link_nobody_climbs() -> None:
    alone = priced(shut(), replace(plan_of(0, 1), visits=plan_of(0, 1).visits[1:], left_out=("look",)))
    assert broken(shut(), alone) == {"sequence"}
    loose = with_orders(shut(), mend={"behind": (), "after": ()})
    assert "access" in broken(loose, priced(loose, plan_of(0, 1)))
    assert "access" in broken(shut(), plan_of(0, 1, by="ladder"))  # the way up is the order's own


def test_a_turbine_that_is_open_keeps_its_own_way_up() -> None:
    problem = with_orders(tiny(), inspection={"after": ("repair",), "behind": ("repair",), "access": Access("ladder", 90, 90)})
    assert broken(problem, hand_plan()) == set()  # repair on day 0, inspection riding along on day 2


def test_a_link_that_is_not_after_is_refused() -> None:
    with pytest.raises(ValueError, match="order mend: behind must name orders of its own after"):
        with_orders(shut(), mend={"after": ()})
    assert problem_from_json(problem_to_json(shut())) == shut()


def test_the_reason_says_what_opens_the_way() -> None:
    assert reasons(shut(), Plan((), ("look", "mend")))["mend"].text == (
        "It comes after look, which opens the way and is left out itself."
    )
    late = with_orders(shut(), look={"days": (2,)})
    plan = priced(late, Plan(plan_of(2, 1).visits[:1], ("mend",)))
    assert "on a later day than look, which opens the way" in reasons(late, plan)["mend"].text


def test_a_plan_says_what_must_be_accepted_first() -> None:
    plan = plan_of(0, 1)
    assert conditions(shut(), plan) == {plan.visits[1]: "only if look of Mon 2 Mar is accepted"}
    named = with_orders(shut(), look={"label": "Ladder inspection, T3"})
    assert conditions(named, plan)[plan.visits[1]] == "only if Ladder inspection, T3 (look) of Mon 2 Mar is accepted"
    assert conditions(tiny(), hand_plan()) == {}


def test_both_are_planned_in_one_fortnight() -> None:
    result = solve(shut(), Params(time_limit_s=5.0, seed=1))
    days = {one.order: visit.day for visit in result.plan.visits for one in visit.jobs}
    assert days["look"] < days["mend"]
    assert check(shut(), result.plan) == ()


@pytest.mark.parametrize("first", range(0, 60, 15))
def test_random_plans_break_nothing_and_the_bound_holds(first: int) -> None:
    for seed in range(first, first + 15):
        problem = with_gate(seed, random_small(seed, max_orders=4))
        result = solve(problem, Params(time_limit_s=5.0, seed=1))
        assert broken(problem, result.plan) == set(), seed
        assert result.bound <= result.plan.value + SLACK_CENTS, seed
        rule = rule_plan(problem)
        assert broken(problem, rule) == set(), seed
        assert result.plan.value <= rule.value + SLACK_CENTS, seed


def test_small_problems_are_solved_to_the_optimum() -> None:
    counted = behind = 0
    for seed in range(60):
        problem = with_gate(seed, random_small(seed, max_orders=3))
        if len(problem.days) == 1 or behind == 4:
            continue
        try:
            best = optimum(problem, most_branches=1_500)
        except TooLarge:
            continue
        if best is not None:
            result = solve(problem, Params(time_limit_s=5.0, seed=1))
            assert abs(result.plan.value - best.value) <= SLACK_CENTS, seed
            assert result.bound <= best.value + SLACK_CENTS, seed
            counted += 1
            planned = {one.order for visit in best.visits for one in visit.jobs}
            behind += any(o.behind and o.id in planned for o in problem.orders)
    assert (counted >= 4, behind) == (True, 4), (counted, behind)


def test_damaged_plans_are_judged_alike() -> None:
    rng, seen = np.random.default_rng(5), 0
    for seed in range(120):
        problem = with_gate(seed, random_small(seed))
        plan = mutated(rng, problem, rule_plan(problem)) if seed % 2 else scattered(rng, problem)
        seen += "sequence" in broken(problem, plan)
    assert seen >= 10


@pytest.mark.parametrize("seed", range(8))
def test_reasons_are_those_found_start_by_start(seed: int) -> None:
    problem = with_gate(seed, random_small(seed))
    plan = rule_plan(problem)
    quick = reasons(problem, plan)
    with plainly():
        assert reasons(problem, plan) == quick


def test_a_repair_goes_on_from_such_a_plan() -> None:
    people = ("ann", "ben")
    told = (PublishedVisit("look", 0, 0, 2, people, 40_000), PublishedVisit("mend", 0, 1, 12, people, 40_000))
    problem = replace(shut(), published=told)
    result = repair(problem, Params(time_limit_s=2.0, seed=1))
    assert check(problem, result.plan) == ()
    assert [(v.day, v.start, v.by) for v in result.plan.visits] == [(0, 2, "ladder"), (1, 12, "lift")]

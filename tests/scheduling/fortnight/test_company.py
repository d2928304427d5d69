"""Who goes with whom: people named for a visit, hires, preferred pairs, hand-overs, people told; solver, rules and reasons."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from scheduling.fortnight.check import check
from scheduling.fortnight.explain import why_left_out
from scheduling.fortnight.plan import Plan, Visit
from scheduling.fortnight.problem import Problem, PublishedVisit
from scheduling.fortnight.solve import Params, solve
from tests.scheduling.fortnight.farms import hand_plan, tiny, with_orders, with_people, with_visit
from tests.scheduling.fortnight.until import searched

EXACT = Params(time_limit_s=20.0, seed=1, threads=1)
SEARCH = replace(EXACT, time_limit_s=5.0, exact=False)
BOTH = pytest.mark.parametrize("params", [EXACT, SEARCH], ids=["exact", "search"])


def planned(problem: Problem, params: Params) -> Plan:
    plan = (solve(problem, params) if params.exact else searched(problem, params)).plan
    assert check(problem, plan) == ()
    return plan


def visits_of(plan: Plan, order: str) -> list[Visit]:
    return sorted((v for v in plan.visits if any(j.order == order for j in v.jobs)), key=lambda v: v.day)


def only(*names: str, **changes: dict[str, Any]) -> Problem:
    """The tiny farm with some of its orders only."""
    problem = with_orders(tiny(), **changes)
    return replace(problem, orders=tuple(order for order in problem.orders if order.id in names))


# --- people named for a visit -----------------------------------------------------------------------------------------


def test_named_people_who_are_not_there_break_the_rule() -> None:
    problem = with_orders(tiny(), repair={"crew": ((0, ("ann", "dia")),)}, service={"crew": ((1, ("cem",)),)})
    broken = check(problem, hand_plan())
    assert [(v.rule, v.people, v.orders) for v in broken] == [("crew", ("dia",), ("repair", "feeder"))]
    assert "Dia must be there for visit 0 of order repair" in broken[0].text


def test_a_planned_order_has_the_visits_for_which_people_are_named() -> None:
    problem = with_orders(tiny(), service={"crew": ((1, ("cem",)),)})
    once = replace(hand_plan().visits[1].jobs[0], work_min=300)
    whole = with_visit(problem, hand_plan(), 1, people=("ben", "cem", "dia"), jobs=(once,))
    whole = with_visit(problem, whole, 3, jobs=whole.visits[3].jobs[1:])
    assert any(v.rule == "crew" and "visit 1, which is not planned" in v.text for v in check(problem, whole))


@BOTH
def test_named_people_go(params: Params) -> None:
    problem = with_orders(tiny(), repair={"crew": ((0, ("dia",)),)}, service={"crew": ((1, ("ben", "ann")),)})
    plan = planned(problem, params)
    assert "dia" in visits_of(plan, "repair")[0].people
    first, second = visits_of(plan, "service")
    assert {"ann", "ben"} <= set(second.people), first


@BOTH
def test_a_named_learner_rides_along_and_counts_as_nothing(params: Params) -> None:
    problem = with_people(only("repair", repair={"crew": ((0, ("cem",)),)}), cem={"learner": True})
    (visit,) = visits_of(planned(problem, params), "repair")
    assert "cem" in visit.people
    assert len(visit.people) == 3


def test_an_order_whose_people_cannot_come_is_left_out_with_the_reason() -> None:
    problem = with_people(with_orders(tiny(), repair={"crew": ((0, ("dia", "ann")),), "days": (2,)}), ann={})
    plan = planned(problem, EXACT)
    assert "repair" in plan.left_out
    reason = why_left_out(problem, plan, "repair")
    assert reason.code == "crew away"
    assert reason.text.startswith("Dia, Ann must go there, but never all of them can on the starts with enough chance: Wed 4 Mar")
    assert "off: Dia" in reason.text


def test_named_people_who_are_out_elsewhere_are_told() -> None:
    problem = with_orders(tiny(), feeder={"days": (1,), "crew": ((0, ("ann", "ben")),)})
    kept = tuple(v for v in hand_plan().visits if v.day == 1)
    plan = Plan(kept, tuple(order.id for order in problem.orders if order.id != "crane work"))
    reason = why_left_out(problem, plan, "feeder")
    assert reason.code == "people busy"
    assert "0 of 2 people named for it are free" in reason.text
    assert "crane work" in reason.text


def test_a_pin_whose_people_cannot_come_is_infeasible() -> None:
    result = solve(with_orders(tiny(), repair={"pins": ((0, 2, 6),), "crew": ((0, ("dia",)),)}), EXACT)
    assert result.status == "infeasible"
    assert "repair cannot all be kept with the people named for them; release a pin or a named person" in result.text
    kept = solve(with_orders(tiny(), repair={"pins": ((0, 1, 6),), "crew": ((0, ("dia",)),)}), EXACT)
    assert kept.status == "optimal"
    assert "dia" in visits_of(kept.plan, "repair")[0].people


# --- money ------------------------------------------------------------------------------------------------------------


@BOTH
def test_own_people_go_before_hired_ones(params: Params) -> None:
    problem = with_people(only("repair", "inspection"), ben={"day_cost": 30_000}, dia={"day_cost": 90_000})
    plan = planned(problem, params)
    assert plan.left_out == ()
    assert {person for visit in plan.visits for person in visit.people} == {"ann", "cem"}
    assert plan.parts["hired people"] == 0


@BOTH
def test_the_cheapest_are_hired_where_own_people_do_not_suffice(params: Params) -> None:
    costs = {"ben": {"day_cost": 30_000}, "cem": {"day_cost": 20_000}, "dia": {"day_cost": 90_000}}
    plan = planned(with_people(only("repair"), **costs), params)
    assert plan.visits[0].people == ("ann", "cem")
    assert plan.parts["hired people"] == 20_000


def test_hiring_that_costs_more_than_the_order_is_worth_is_not_done() -> None:
    dear = {name: {"day_cost": 600_000} for name in ("ann", "ben", "cem", "dia")}
    assert planned(with_people(only("repair"), **dear), EXACT).left_out == ("repair",)


@BOTH
def test_a_preferred_pair_goes_in_one_team(params: Params) -> None:
    problem = replace(only("repair", "inspection", inspection={"days": (0,)}, repair={"days": (0,)}), prefer=(("ann", "dia"),))
    plan = planned(replace(problem, weights=replace(problem.weights, pair_apart=50_000)), params)
    assert plan.parts["pairs apart"] == 0
    assert all("dia" not in visit.people or "ann" in visit.people for visit in plan.visits)


@BOTH
def test_the_people_of_an_order_stay_with_it(params: Params) -> None:
    tired = with_people(only("service", service={"hand_over_cost": 80_000}), ann={"day_cost": 4_000}, ben={"day_cost": 4_000})
    problem = replace(tired, orders=tuple(replace(o, modes=o.modes[:1]) for o in tired.orders))
    plan = planned(problem, params)
    first, second = visits_of(plan, "service")
    assert set(first.people) & set(second.people)
    assert plan.parts["hand-over"] == 0


@BOTH
def test_people_who_were_told_stay_in_a_visit_that_stands(params: Params) -> None:
    told = PublishedVisit("inspection", 0, 1, 6, ("ben", "dia"), 30_000, crew_cost=9_000)
    plan = planned(replace(only("inspection"), published=(told,)), params)
    (visit,) = plan.visits
    assert (visit.day, visit.start, visit.people) == (1, 6, ("ben", "dia"))
    assert plan.parts["change"] == 0


def test_the_same_problem_and_seed_give_the_same_plan() -> None:
    problem = with_people(with_orders(tiny(), service={"hand_over_cost": 5_000}), ben={"day_cost": 8_000})
    problem = replace(problem, prefer=(("ann", "dia"),), weights=replace(problem.weights, pair_apart=3_000))
    assert solve(problem, EXACT).plan == solve(problem, EXACT).plan


# --- sentences --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"crew": ((2, ("ann",)),)}, "crew names visit 2, but its modes have visits 0 to 1; name one of these"),
        ({"crew": ((-1, ("ann",)),)}, "crew names visit -1"),
        ({"crew": ((0, ()),)}, "crew of visit 0 must name somebody"),
        ({"crew": ((0, ("ann", "ann")),)}, "nobody twice"),
        ({"crew": ((0, ("zoe",)),)}, "crew of visit 0 names zoe, not in the problem; take them out"),
        ({"crew": ((0, ("ann",)), (0, ("ben",)))}, "crew names a visit twice; join its people"),
        ({"hand_over_cost": -1}, "order service: costs must be between 0"),
    ],
)
def test_what_makes_no_sense_in_an_order_is_refused(changes: dict[str, Any], said: str) -> None:
    with pytest.raises(ValueError, match="order service") as refused:
        with_orders(tiny(), service=changes)
    assert said in str(refused.value)


def test_what_makes_no_sense_elsewhere_is_refused() -> None:
    with pytest.raises(ValueError, match="person ann: day_cost is -5: give cents between 0"):
        with_people(tiny(), ann={"day_cost": -5})
    with pytest.raises(ValueError, match="must name two different known people"):
        replace(tiny(), prefer=(("ann", "zoe"),))
    with pytest.raises(ValueError, match="stands twice; name it once"):
        replace(tiny(), prefer=(("ann", "ben"), ("ben", "ann")))
    with pytest.raises(ValueError, match="crew_cost must be between 0"):
        replace(tiny(), published=(PublishedVisit("repair", 0, 0, 1, (), 0, crew_cost=-1),))
    with pytest.raises(ValueError, match="weights must be 0 or more"):
        replace(tiny(), weights=replace(tiny().weights, pair_apart=-1))

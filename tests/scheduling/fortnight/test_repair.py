"""Mending a published plan: what is hit is planned anew, what is not stays; every way it can end is a result with a text."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.fortnight.check import check
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Problem, PublishedVisit
from scheduling.fortnight.repair import affected, change_texts, changes, repair
from scheduling.fortnight.solve import Params, solve
from scheduling.fortnight.told import told_plan
from tests.bench.bench_repair import compared, with_ill
from tests.bench.cases import fortnight_case, random_small
from tests.scheduling.fortnight.farms import hand_plan, tiny, with_orders

QUICK = Params(time_limit_s=0.7)


def told(problem: Problem, plan: Plan, cents: int = 20_000) -> Problem:
    """The problem once people know the plan."""
    visits = ((v, job) for v in plan.visits for job in v.jobs)
    published = tuple(PublishedVisit(job.order, job.visit, v.day, v.start, v.people, cents) for v, job in visits)
    return replace(problem, published=published)


def known() -> Problem:
    """The tiny farm whose people know the plan by hand."""
    return told(tiny(), hand_plan())


def places(plan: Plan) -> set[tuple[str, int, int, int, frozenset[str]]]:
    """Order, visit, day, start and people of all jobs."""
    return {(j.order, j.visit, v.day, v.start, frozenset(v.people)) for v in plan.visits for j in v.jobs}


def test_the_published_visits_are_the_plan_again() -> None:
    plan = told_plan(known())
    assert plan is not None
    assert places(plan) == places(hand_plan())
    assert {job for visit in plan.visits for job in visit.jobs} == {job for visit in hand_plan().visits for job in visit.jobs}


def test_visits_that_do_not_say_who_goes_are_no_plan_to_start_from() -> None:
    bare = replace(known(), published=(PublishedVisit("repair", 0, 0, 1, (), 100),))
    assert told_plan(bare) is None
    assert "no published plan to go on from" in repair(bare, QUICK).text


def test_who_is_ill_hits_their_visits_and_no_others() -> None:
    assert affected(known()) == {}
    hit = affected(with_ill(known(), "cem", (2,)))
    assert set(hit) == {("service", 1), ("inspection", 0)}
    assert set(hit.values()) == {"Cem is not there on Wed 4 Mar"}


def test_a_hit_visit_is_planned_anew_and_the_others_stay() -> None:
    problem = with_ill(known(), "cem", (2,))
    result = repair(problem, QUICK)
    assert check(problem, result.plan) == ()
    same = places(result.plan) & places(hand_plan())
    assert {(order, visit) for order, visit, *_ in same} >= {("repair", 0), ("feeder", 0), ("service", 0), ("crane work", 0)}
    assert "2 published visits are hit (Cem is not there on Wed 4 Mar)" in result.text
    assert "4 of the 4 others stay as they were" in result.text
    words = [text for _, text in change_texts(problem, changes(problem, result.plan))]
    assert any("inspection" in text and "Cem is not there" in text for text in words)


def test_somebody_ill_without_a_visit_changes_nothing() -> None:
    problem = with_ill(known(), "dia", (1,))
    result = repair(problem, QUICK)
    assert places(result.plan) == places(hand_plan())
    assert "No published visit is hit" in result.text


def test_nobody_left_is_a_plan_without_visits() -> None:
    problem = known()
    for who in ("ann", "ben", "cem", "dia"):
        problem = with_ill(problem, who, (0, 1, 2))
    result = repair(problem, QUICK)
    assert result.plan.visits == ()
    assert check(problem, result.plan) == ()
    assert "6 published visits are hit" in result.text
    assert "6 left out" in result.text


def test_a_pin_broken_by_the_absence_is_infeasible_and_names_it() -> None:
    problem = with_orders(known(), repair={"pins": ((0, 0, 1),)})
    assert places(repair(problem, QUICK).plan) >= {("repair", 0, 0, 1, frozenset({"ann", "ben"}))}
    result = repair(with_ill(problem, "ann", (0,)), QUICK)  # nobody else has the electrical level
    assert result.status == "infeasible"
    assert "repair" in result.text
    assert "Ann is not there on Mon 2 Mar" in result.text
    assert "The published plan stays." in result.text


def test_a_vehicle_out_of_order_hits_a_team() -> None:
    problem = replace(known(), vehicles=known().vehicles[:1])
    hit = affected(problem)
    assert {order for order, _ in hit} == {"service"}  # the second team of Monday
    assert check(problem, repair(problem, QUICK).plan) == ()


def test_a_turbine_out_hits_its_visits() -> None:
    shut = tuple(
        replace(one, access=(replace(one.access[0], by="none"),) * 3) if one.id == "T3" else one for one in known().turbines
    )
    problem = replace(known(), turbines=shut)
    assert affected(problem) == {("crane work", 0): "T3 may not be climbed on Tue 3 Mar"}
    result = repair(problem, QUICK)
    assert result.plan.left_out == ("crane work",)
    assert check(problem, result.plan) == ()


def test_somebody_who_left_for_good() -> None:
    gone = replace(known(), people=tuple(one for one in known().people if one.id != "dia"))
    assert affected(gone) == {("service", 0): "dia is not among the people any more"}
    assert check(gone, repair(gone, QUICK).plan) == ()


@pytest.mark.parametrize("seed", range(12))
def test_whatever_is_published_and_whoever_is_ill_the_rules_are_kept(seed: int) -> None:
    problem = random_small(seed)
    problem = told(replace(problem, published=()), solve(problem, QUICK).plan)
    ill = with_ill(problem, problem.people[seed % len(problem.people)].id, (0, 1))
    result = repair(ill, QUICK)
    assert check(ill, result.plan) == ()
    assert result.text


def test_a_larger_plan_stays_by_nine_tenths_though_changing_more_would_pay() -> None:
    problem = replace(fortnight_case("small", 2), published=())
    plan = solve(problem, Params(time_limit_s=1.0, seed=1)).plan
    ill = with_ill(told(problem, plan, cents=1), plan.visits[0].people[0], (0, 1))
    result = repair(ill, Params(time_limit_s=1.5, seed=1))
    assert check(ill, result.plan) == ()
    _, unaffected, same = compared(ill, result.plan)
    assert unaffected > 10
    assert same >= 0.9 * unaffected - 1  # an order's other visits may have to follow the one that is hit


def test_a_solve_that_starts_from_a_plan_is_never_worse() -> None:
    problem = replace(fortnight_case("small", 3), published=())
    good = solve(problem, Params(time_limit_s=1.5, seed=1)).plan
    again = solve(problem, Params(time_limit_s=0.5, seed=2), start=good)
    assert again.plan.value <= good.value
    assert check(problem, again.plan) == ()

"""What would let an order in: against everything tried by hand or counted out on tiny farms."""

from __future__ import annotations

import contextlib
import functools
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from scheduling.bits import pack_members
from scheduling.fortnight.check import check, recompute_parts
from scheduling.fortnight.explain import force
from scheduling.fortnight.explain.background import Background, LimitStep, Shut
from scheduling.fortnight.explain.candidates import KINDS, LIMIT_CAUTION, candidates
from scheduling.fortnight.explain.force import force_in
from scheduling.fortnight.explain.relax import Way, WaysIn, way_text, ways_in
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Equipment, Mode, Need, Problem, Vehicle
from scheduling.fortnight.solve import Params, solve
from tests.bench.cases import random_small
from tests.scheduling.fortnight.brute import TooLarge, optimum
from tests.scheduling.fortnight.farms import calm, hand_plan, order, priced, tiny, with_orders, with_people, with_rules

HUGE = 50_000_000
"""Cents no plan would pay: an order with that on it is in wherever it can be."""


def clock(day: int, slot: int) -> str:
    return f"{7 + slot // 2:02}:{30 * (slot % 2):02}"


def alone(problem: Problem, *names: str) -> Problem:
    """The problem of only these orders."""
    return replace(problem, orders=tuple(o for o in problem.orders if o.id in names))


def best(problem: Problem) -> Plan:
    """The optimum of a tiny problem."""
    return solve(problem, Params(time_limit_s=20.0, threads=1)).plan


def asked(problem: Problem, order_id: str, background: Background | None = None, **more: Any) -> WaysIn:
    return ways_in(problem, best(problem), order_id, background or Background(), clock=clock, **more)


def of_kind(found: WaysIn, kind: str) -> Way:
    return next(way for way in found.ways if way.kind == kind)


# --- against brute force -----------------------------------------------------------------------------------------------


def _planned(plan: Plan) -> set[str]:
    return {job.order for visit in plan.visits for job in visit.jobs}


def _cheapest_with(problem: Problem, plan: Plan, order_id: str) -> int | None:
    """By trying everything: the least cost of a plan of these orders with this one in it (None: there is none)."""
    orders = tuple(
        replace(o, left_out_cost=HUGE) if o.id == order_id else o
        for o in problem.orders
        if o.id in _planned(plan) or o.id == order_id
    )
    names = {o.id for o in orders}
    part = replace(problem, orders=orders, published=tuple(p for p in problem.published if p.order in names))
    found = optimum(part, most_branches=60_000)
    if found is None or order_id not in _planned(found):
        return None
    left = tuple(o.id for o in problem.orders if o.id not in _planned(found))
    return sum(recompute_parts(problem, Plan(found.visits, left)).values())


@functools.cache
def _counted_out() -> list[tuple[int, Problem, Plan, str, int | None]]:
    """(seed, problem, optimum, an order it leaves out, the least cost with that order in)."""
    found = []
    for seed in range(100):
        problem = random_small(seed, max_orders=3)
        if any(o.after or o.pins for o in problem.orders):
            continue
        with contextlib.suppress(TooLarge):
            plan = optimum(problem, most_branches=3_000)
            out = [o.id for o in problem.orders if plan and o.id not in _planned(plan)]
            if plan and out:
                found.append((seed, problem, plan, out[0], _cheapest_with(problem, plan, out[0])))
    return found


@pytest.mark.parametrize(("exact", "missed"), [(True, 0), (False, 2)])
def test_an_order_is_forced_in_as_cheaply_as_can_be(exact: bool, missed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The search by itself may miss a rare team (it tries few new ones); what it finds is as cheap on these."""
    if not exact:
        monkeypatch.setattr(force, "MOST_EXACT_ORDERS", 0)
    compared = nowhere = not_found = 0
    for seed, problem, plan, out, least in _counted_out():
        found = force_in(problem, plan, out, keep_cents=0, steps=60)
        compared, nowhere = compared + (least is not None), nowhere + (least is None)
        if least is None:
            assert found is None, seed
        elif found is None:
            not_found += 1
        else:
            assert abs(sum(found.parts.values()) - least) <= 5, seed
    assert compared >= 10
    assert nowhere >= 10
    assert not_found <= missed


# --- by hand ------------------------------------------------------------------------------------------------------------


def test_somebody_who_is_off_at_work_on_a_day() -> None:
    problem = alone(tiny(), "feeder")  # needs both who hold high voltage
    shifts = {p.id: p.shifts for p in problem.people}
    problem = with_people(problem, ann={"shifts": shifts["ann"][:1]}, ben={"shifts": shifts["ben"][1:2]})
    leave = Background(absent={"ben": {0: "on leave until 2 Mar"}})
    found = asked(problem, "feeder", leave)
    # Monday: T1 and T2 lose 3,000 cents a slot each for 3 slots; 2 people 50 min on the road at 60 cents; one team.
    cost = 2 * 3 * 3_000 + 2 * 50 * 60 + 4_000
    first = found.ways[0]
    assert (first.kind, first.cents) == ("person", cost - 500_000)
    assert {way.text for way in found.ways} >= {"Ben at work on Mon 2 Mar (now: on leave until 2 Mar)"}
    assert any(way.text.startswith("A hired person with high voltage level 1 on") for way in found.ways)
    assert found.text.startswith("Cheapest: ")
    said = way_text(problem, first)
    assert ": 4,720 EUR less than the plan; it goes Mon 2 Mar, " in said
    assert said.endswith(", Ann, Ben; nothing falls out.")


def test_a_limit_is_only_shown_to_tell_what_binds() -> None:
    problem = replace(alone(tiny(), "inspection"), workable={"calm": pack_members(np.zeros((4, 60), dtype=bool))})
    higher = pack_members(calm())
    steps = (
        LimitStep("wind", "10 min wind at hub up to 13 instead of 12 m/s", pack_members(np.zeros((4, 60), dtype=bool))),
        LimitStep("wind", "10 min wind at hub up to 14 instead of 12 m/s", higher),
        LimitStep("lightning_distance", "lightning at 5 instead of 30 km", higher),
    )
    found = asked(problem, "inspection", Background(steps={"calm": steps}))
    assert [(way.kind, way.text) for way in found.ways] == [("limit", "10 min wind at hub up to 14 instead of 12 m/s")]
    assert found.ways[0].caution == LIMIT_CAUTION
    assert "Nobody may work above it" in LIMIT_CAUTION
    assert "10 min wind at hub up to 13 instead of 12 m/s" in found.tried
    assert not any("lightning" in text for text in found.tried)


def test_less_chance_down_to_the_best_there_is() -> None:
    # 6 h by ladder with a break: 15 slots from slot 1 on, Tuesday only: one member of four has but 12 calm slots.
    problem = with_orders(alone(tiny(), "crane work"), crane_work={"modes": (Mode(3, (360,)),)})
    short = with_rules(problem, confidence=0.9)
    way = of_kind(asked(short, "crane work"), "chance")
    assert way.text == "75 % chance asked for instead of 90 %"
    assert "broken off more often" in way.caution


def test_parts_earlier_a_hold_lifted_and_a_closure_opened_but_no_gate() -> None:
    problem = with_orders(alone(tiny(), "repair"), repair={"days": ()})
    shut = {
        0: Shut("gate", "lift inspection lapsed"),
        1: Shut("part", "parts not before 2026-03-05"),
        2: Shut("closure", "birds"),
    }
    found = asked(problem, "repair", Background(shut={"repair": shut}))
    assert {(way.kind, way.text) for way in found.ways} == {
        ("part", "Parts there by Tue 3 Mar (now: parts not before 2026-03-05)"),
        ("day", "Wed 4 Mar allowed too (now: birds)"),
    }
    only_gate = Background(shut={"repair": dict.fromkeys((0, 1, 2), Shut("gate", "lift inspection lapsed"))})
    nothing = asked(problem, "repair", only_gate)
    assert nothing.ways == ()
    assert nothing.text.startswith("Nothing tried lets repair in (")


def test_the_crane_a_day_more() -> None:
    problem = with_orders(alone(tiny(), "crane work"), crane_work={"days": (0, 2)})
    found = asked(problem, "crane work")
    assert {way.text for way in found.ways} == {"crane there on Mon 2 Mar too", "crane there on Wed 4 Mar too"}


def test_later_ends_of_shifts() -> None:
    problem = with_orders(alone(tiny(), "repair"), repair={"modes": (Mode(2, (390,)),)})  # 390 + 30 + break: 15 slots
    short = {p.id: {"shifts": tuple(replace(s, end=16, regular_end=16) for s in p.shifts)} for p in problem.people}
    found = asked(with_people(problem, **short), "repair")
    assert [way.text for way in found.ways] == [f"Shifts that may end {h}.0 h later, as overtime" for h in (1, 2)]
    assert found.ways[0].cents == found.ways[1].cents  # one hour is enough


def test_a_vehicle_more() -> None:
    problem = replace(alone(tiny(), "crane work"), vehicles=(Vehicle("car", 2),))
    assert [way.text for way in asked(problem, "crane work").ways] == ["One more vehicle of 3 seats"]


def test_an_exchange_says_what_falls_out_and_its_price() -> None:
    problem = with_orders(alone(tiny(), "repair", "inspection"), repair={"days": (1,)}, inspection={"days": (1,)})
    people = tuple(p for p in problem.people if p.id in ("ann", "ben"))
    hours = tuple(replace(p, shifts=tuple(replace(s, end=9, regular_end=9) for s in p.shifts)) for p in people)
    problem = with_orders(replace(problem, people=hours), inspection={"left_out_cost": 80_000})
    plan = best(problem)
    assert plan.left_out == ("inspection",)
    found = ways_in(problem, plan, "inspection", clock=clock)
    way = of_kind(found, "exchange")
    with_inspection = best(alone(problem, "inspection")).value
    assert way.cents == with_inspection + 500_000 - plan.value
    assert way.fallen == ("repair",)
    assert "repair fall out" in way_text(problem, way)
    assert all(other.cents < way.cents for other in found.ways if other is not way)  # what costs no less is not worth lifting


def test_a_climb_more_only_where_climbs_bind() -> None:
    jobs = tuple(order(f"check {n}", "T1", (2, (30,)), days=(0,), ride_along=False) for n in range(3))
    problem = with_rules(replace(tiny(), orders=jobs), climbs_a_day=2)
    problem = replace(problem, people=problem.people[:2])
    plan = best(problem)
    assert len(plan.left_out) == 1
    found = ways_in(problem, plan, plan.left_out[0], clock=clock)
    assert of_kind(found, "climb").text == "One climb more a day (3, by ladder 3)"


# --- laws ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_every_way_keeps_every_rule_but_the_one_that_was_lifted(seed: int) -> None:
    problem = random_small(seed + 100, max_orders=4)
    plan = best(problem)
    for name in plan.left_out[:1]:
        for way in ways_in(problem, plan, name).ways:
            tried = {c.text: c.problem for c in candidates(problem, plan, name, Background())}[way.text]
            assert check(tried, way.plan) == ()
            assert name in _planned(way.plan)
            assert way.cents == sum(recompute_parts(tried, way.plan).values()) - sum(recompute_parts(problem, plan).values())
            assert way.kind in KINDS


KEPT = ("min_team", "rescue_pair", "rest_min", "week_max_min", "break_min", "break_after_min", "cover_min", "max_stopped")


def test_what_keeps_people_safe_is_never_lifted() -> None:
    shut = Background(shut={"repair": {0: Shut("gate", "lapsed")}})
    problem = with_orders(tiny(), repair={"days": (1,), "needs": (Need("rope", 2, 1),)})
    for candidate in candidates(problem, Plan((), ()), "repair", shut):
        was, now = problem.rules, candidate.problem.rules
        for name in KEPT:
            assert getattr(was, name) == getattr(now, name), (candidate.text, name)
        people = {p.id: p for p in candidate.problem.people}
        for person in problem.people:
            kept = people[person.id]
            assert (kept.fit_days, kept.rescue_days, kept.skills, kept.learner) == (
                person.fit_days,
                person.rescue_days,
                person.skills,
                person.learner,
            )
        order = next(o for o in candidate.problem.orders if o.id == "repair")
        assert 0 not in order.days
        assert order.needs == problem.orders[1].needs
        assert candidate.problem.turbines == problem.turbines


def test_same_question_same_answer() -> None:
    problem = random_small(7, max_orders=5)
    plan = priced(problem, Plan((), tuple(o.id for o in problem.orders)))
    name = problem.orders[0].id
    assert ways_in(problem, plan, name, seed=3) == ways_in(problem, plan, name, seed=3)


def test_progress_and_stopping() -> None:
    problem = alone(tiny(), "repair")
    seen: list[tuple[int, int]] = []
    nothing = priced(problem, Plan((), ("repair",)))
    ways_in(problem, nothing, "repair", on_progress=lambda done, every: seen.append((done, every)))
    assert [done for done, _ in seen] == list(range(1, len(seen) + 1))
    assert ways_in(problem, nothing, "repair", should_stop=lambda: True).ways == ()


def test_questions_that_make_no_sense_are_refused() -> None:
    with pytest.raises(ValueError, match="'nothing' is not in the problem"):
        ways_in(tiny(), hand_plan(), "nothing")
    with pytest.raises(ValueError, match="'repair' is planned; ask where else"):
        ways_in(tiny(), hand_plan(), "repair")
    with pytest.raises(ValueError, match="'nothing' is not in the problem"):
        force_in(tiny(), hand_plan(), "nothing")


def test_an_order_that_waits_comes_in_with_what_it_waits_for() -> None:
    problem = with_orders(tiny(), inspection={"after": ("repair",)}, repair={"days": (0,)})
    plan = priced(problem, Plan((), tuple(o.id for o in problem.orders)))
    found = force_in(problem, plan, "inspection")
    assert found is not None
    assert _planned(found) == {"repair", "inspection"}


def test_a_crane_that_is_hired_out_is_no_candidate_twice() -> None:
    problem = replace(tiny(), equipment=(Equipment("crane", "crane", 1, (0, 1, 2)),))
    assert not [c for c in candidates(problem, Plan((), ()), "crane work", Background()) if c.kind == "part"]

"""Crewing a day exactly with real people."""

from __future__ import annotations

import random
from dataclasses import replace

from scheduling.fortnight.board import Board
from scheduling.fortnight.check import check
from scheduling.fortnight.columns import Kinds
from scheduling.fortnight.crewday import crew_day, put_day
from scheduling.fortnight.exactday import settle
from scheduling.fortnight.facts import Facts
from scheduling.fortnight.money import plan_of
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Problem
from tests.scheduling.fortnight.farms import tiny, with_orders, with_people, with_rules

REPAIR, INSPECTION, FEEDER = 1, 3, 4


def crewed(problem: Problem, day: int, *orders: int) -> Plan:
    """The plan after one day is crewed with these single-visit orders."""
    facts = Facts(problem)
    kinds = Kinds(facts)
    found = Orders(Board(facts, kinds), random.Random(0))
    result = crew_day(found, day, [kinds.get(((o, 0, 0),)) for o in orders], 10.0, 1, 0)
    assert result.status == "optimal"
    put_day(found.board, day, result.teams.get(day, []))
    settle(found)
    plan = plan_of(found.board, found.left)
    assert check(problem, plan) == ()
    return plan


def test_the_skilled_go_and_the_team_stays_the_same_all_day() -> None:
    plan = crewed(with_orders(tiny(), feeder={"stops": ("T2",)}), 1, REPAIR, INSPECTION, FEEDER)
    assert len(plan.visits) == 3
    by_order = {visit.jobs[0].order: set(visit.people) for visit in plan.visits}
    assert by_order["feeder"] == {"ann", "ben"}
    assert "ann" in by_order["repair"]  # the only one at level 2


def test_what_nobody_may_do_is_missed() -> None:
    plan = crewed(with_people(tiny(), ben={"skills": ()}), 1, REPAIR, FEEDER)
    assert [visit.jobs[0].order for visit in plan.visits] == ["repair"]


def test_pairs_kept_apart_do_not_share_a_team() -> None:
    plan = crewed(replace(tiny(), apart=(("ann", "ben"), ("ann", "cem"))), 0, REPAIR)
    assert plan.visits[0].people == ("ann", "dia")


def test_pairs_kept_together_go_together_or_one_stays() -> None:
    plan = crewed(replace(tiny(), together=(("ann", "dia"),), apart=(("ben", "cem"),)), 1, REPAIR, INSPECTION)
    teams = {visit.people for visit in plan.visits}
    assert ("ann", "dia") in teams


def test_weekly_hours_count_what_was_used_before() -> None:
    tired = {"week_left_min": {"2026-W10": 100}}
    plan = crewed(with_people(tiny(), ben=tired, cem=tired), 0, REPAIR)
    assert plan.visits[0].people == ("ann", "dia")


def test_one_vehicle_means_one_team() -> None:
    plan = crewed(replace(tiny(), vehicles=tiny().vehicles[:1]), 1, REPAIR, INSPECTION)
    assert len({visit.team for visit in plan.visits}) == 1


def test_a_long_day_has_its_break() -> None:
    problem = with_rules(with_orders(tiny(), inspection={"turbine": "T2", "stops": ("T2",)}), break_after_min=240, break_min=60)
    plan = crewed(problem, 1, REPAIR, INSPECTION)
    assert len(plan.visits) == 2  # check() above asserts the break itself

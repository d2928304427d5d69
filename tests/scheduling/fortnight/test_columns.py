"""Candidate visits against the definitions of rules.py, by hand on the tiny farm."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.fortnight.columns import Kinds, start_index
from scheduling.fortnight.facts import Facts
from scheduling.fortnight.problem import Problem, PublishedVisit
from tests.scheduling.fortnight.farms import NONE, tiny, with_orders, with_people, with_rules

SERVICE, REPAIR, CRANE, INSPECTION, FEEDER = range(5)


def kinds(problem: Problem) -> Kinds:
    return Kinds(Facts(problem))


def test_a_stay_is_way_up_work_and_way_down_in_whole_slots() -> None:
    repair = kinds(tiny()).get(((REPAIR, 0, 0),))
    assert {day: field.slots for day, field in repair.fields.items()} == {0: 5, 1: 5, 2: 5}  # 15 + 120 + 15 minutes


def test_starts_leave_room_for_the_way_from_base_and_back() -> None:
    field = kinds(tiny()).get(((REPAIR, 0, 0),)).fields[0]
    assert (field.starts.min(), field.starts.max()) == (1, 14)  # base is one slot away, the day has 20


def test_starts_keep_the_asked_confidence() -> None:
    repair = kinds(tiny()).get(((REPAIR, 0, 0),))
    assert repair.fields[1].chance.tolist() == [1.0] * 7 + [0.75] * 4  # one member is windy from slot 12 on, more later
    assert repair.fields[2].starts.min() == 4
    sure = kinds(with_rules(tiny(), confidence=1.0)).get(((REPAIR, 0, 0),))
    assert sure.fields[1].starts.tolist() == list(range(1, 8))


def test_no_start_without_enough_holders_of_the_skill() -> None:
    nobody = with_people(tiny(), ann={"skills": ()})
    assert kinds(nobody).get(((REPAIR, 0, 0),)).fields == {}


def test_equipment_and_shut_access_take_days_away() -> None:
    problem = tiny()
    assert list(kinds(problem).get(((CRANE, 0, 0),)).fields) == [1]
    shut = replace(problem, turbines=(replace(problem.turbines[0], access=(NONE,) * 3), *problem.turbines[1:]))
    assert kinds(shut).get(((INSPECTION, 0, 0),)).fields == {}


def test_a_pin_leaves_one_start_and_only_modes_with_that_visit() -> None:
    pinned = kinds(with_orders(tiny(), service={"pins": ((1, 1, 3),)}))
    assert pinned.job_keys(SERVICE) == [(SERVICE, 0, 0), (SERVICE, 0, 1)]
    fields = pinned.get(((SERVICE, 0, 1),)).fields
    assert {day: field.starts.tolist() for day, field in fields.items()} == {1: [3]}


def test_lost_energy_lateness_and_aborts_are_in_the_cost() -> None:
    repair = kinds(tiny()).get(((REPAIR, 0, 0),))
    assert repair.fields[0].cents.tolist() == [5 * 3_000 + 10_000] * 14  # due the day before the first
    unsure = repair.fields[1]
    assert unsure.cents[-1] - unsure.cents[0] == pytest.approx(0.25 * 15_000 * 2)


def test_standing_between_visits_splits_over_its_two_ends() -> None:
    found = kinds(tiny())
    first, second = found.get(((SERVICE, 0, 0),)), found.get(((SERVICE, 0, 1),))
    a, b = first.fields[0], second.fields[1]
    both = float(a.cents[start_index(first, 0, 2) or 0] + b.cents[start_index(second, 1, 2) or 0])
    end = 2 + a.slots
    between = (20 - end + 2) * 3_000 + 24_000
    assert both == pytest.approx((a.slots + b.slots) * 3_000 + between)


def test_a_published_visit_costs_its_change_everywhere_else() -> None:
    stood = replace(tiny(), published=(PublishedVisit("repair", 0, 0, 4, ("ann", "ben"), 700),))
    repair = kinds(stood).get(((REPAIR, 0, 0),))
    plain = kinds(tiny()).get(((REPAIR, 0, 0),))
    extra = {day: (repair.fields[day].cents - plain.fields[day].cents).tolist() for day in (0, 1)}
    assert extra[0] == [700.0 if start != 4 else 0.0 for start in plain.fields[0].starts]
    assert set(extra[1]) == {700.0}


def test_orders_of_a_turbine_ride_along_unless_one_waits_or_goes_alone() -> None:
    found = kinds(tiny())
    assert found.mates[SERVICE] == [INSPECTION]
    both = found.get(((SERVICE, 0, 0), (INSPECTION, 0, 0)))
    assert both.fields[1].slots == 10  # 15 + 210 + 60 + 15 minutes
    assert kinds(with_orders(tiny(), inspection={"after": ("service",)})).mates[SERVICE] == []
    assert kinds(with_orders(tiny(), inspection={"ride_along": False})).mates[SERVICE] == []


def test_no_people_and_no_wind_leave_no_kinds() -> None:
    assert kinds(replace(tiny(), people=())).all() == []
    storm = replace(tiny(), workable={"calm": "A" * len(tiny().workable["calm"])})
    assert kinds(storm).all() == []

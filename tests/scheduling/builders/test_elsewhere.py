"""What another base's plan takes of shared equipment and parts is not there for this one. South plans first, then North.

The crane of the tiny farm is there on Tuesday 16 and Wednesday 17 June 2026, day indexes 6 and 7 from TODAY.
"""

from __future__ import annotations

from datetime import date, time

import pytest

from planner.models import Equipment, Part, ProcedureEquipment, ProcedurePart
from scheduling.builders.elsewhere import drafts_before, taken_elsewhere
from scheduling.builders.fortnight import builder_of, fortnight_problem
from scheduling.builders.horizon import horizon_of
from scheduling.builders.orders import why_not_on
from scheduling.fortnight.problem import Problem
from scheduling.models import Fleet, Plan, Run, WeatherSet
from tests import farm as rows
from tests.page_rows import build_order, build_plan, build_visit
from workorders.models import Order

TUESDAY, WEDNESDAY = date(2026, 6, 16), date(2026, 6, 17)


@pytest.fixture
def lamps(farm: rows.Farm, calm: WeatherSet) -> rows.Farm:
    """An order of North and one of South, both of a procedure that asks for the crane."""
    ProcedureEquipment.objects.create(procedure=farm.procedures["lamp"], equipment=Equipment.objects.get(name="crane"))
    build_order(farm.h2, farm, "N-1", "lamp")
    build_order(farm.p1, farm, "S-1", "lamp", state="slotted")
    return farm


def south_plan(farm: rows.Farm, state: str, *days: date) -> Plan:
    """South's plan with its order at P1 on these days."""
    plan = build_plan(farm, state)
    Plan.objects.filter(pk=plan.pk).update(base=farm.plain.base)
    Run.objects.filter(pk=plan.run_id).update(base=farm.plain.base)
    for day in days:
        build_visit(plan, farm, Order.objects.get(number="S-1"), day, time(9))
    return plan


def north(farm: rows.Farm, *drafts: Plan) -> Problem:
    """North's problem from TODAY on."""
    asked = [plan.pk for plan in drafts]
    return fortnight_problem(base=farm.north, first_day=rows.TODAY, days=10, now=rows.NOW, seed=1, drafts=asked)


def crane(problem: Problem) -> tuple[tuple[int, ...], int]:
    """Its days and its capacity."""
    piece = next(one for one in problem.equipment if one.id == "crane")
    return piece.days, piece.capacity


def test_a_published_plan_elsewhere_takes_the_day(lamps: rows.Farm) -> None:
    assert crane(north(lamps)) == ((6, 7), 1)
    south_plan(lamps, "published", TUESDAY)
    problem = north(lamps)
    assert crane(problem) == ((7,), 1)
    order = next(one for one in problem.orders if one.id == "N-1")
    assert order.days == (7,)
    builder = builder_of(base=lamps.north, first_day=rows.TODAY, days=10, now=rows.NOW, seed=1)
    row = next(one for one in builder.rows if one.number == "N-1")
    assert why_not_on(row, builder.ground, 6) == "crane is planned at another base"


def test_its_own_plan_takes_nothing_from_a_base(lamps: rows.Farm) -> None:
    plan = build_plan(lamps)
    build_visit(plan, lamps, Order.objects.get(number="N-1"), TUESDAY)
    assert crane(north(lamps)) == ((6, 7), 1)


def test_of_two_one_is_left(lamps: rows.Farm) -> None:
    Equipment.objects.filter(name="crane").update(capacity=2)
    south_plan(lamps, "published", TUESDAY)
    assert crane(north(lamps)) == ((6, 7), 1)


def test_a_draft_counts_where_it_is_named_beside_what_it_would_replace(lamps: rows.Farm) -> None:
    draft = south_plan(lamps, "draft", WEDNESDAY)
    assert crane(north(lamps)) == ((6, 7), 1)
    assert crane(north(lamps, draft)) == ((6,), 1)
    south_plan(lamps, "published", TUESDAY)
    assert crane(north(lamps, draft))[0] == ()


def test_work_that_is_done_takes_nothing(lamps: rows.Farm) -> None:
    south_plan(lamps, "published", TUESDAY)
    Order.objects.filter(number="S-1").update(state="finished")
    assert crane(north(lamps)) == ((6, 7), 1)


def test_parts_promised_elsewhere_are_not_promised_again(lamps: rows.Farm) -> None:
    ProcedurePart.objects.create(procedure=lamps.procedures["lamp"], part=Part.objects.get(code="filter"), quantity=6)
    assert north(lamps).orders[0].days != ()
    south_plan(lamps, "published", TUESDAY, WEDNESDAY)
    order = Order.objects.filter(number="N-1").prefetch_related("procedure__part_needs")
    taken = taken_elsewhere(lamps.north, horizon_of(lamps.north, rows.TODAY, 10), list(order))
    assert list(taken.parts.values()) == [6]
    assert next(one for one in north(lamps).orders if one.id == "N-1").days == ()


def test_the_drafts_of_the_parts_before(lamps: rows.Farm) -> None:
    fleet = Fleet.objects.create(first_day=rows.TODAY, days=14)
    first, second = south_plan(lamps, "draft"), south_plan(lamps, "published")
    Run.objects.filter(pk=second.run_id).update(follows=first.run_id, fleet=fleet)
    run = Run.objects.create(
        base=lamps.north, kind="fortnight", first_day=rows.TODAY, days=14, fleet=fleet, follows_id=second.run_id
    )
    assert drafts_before(run) == [first.pk]
    assert drafts_before(first.run) == []

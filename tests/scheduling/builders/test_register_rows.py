"""People, money, equipment and order of orders: from the rows of the tiny farm into the fortnight's problem."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from planner.models import (
    CallOut,
    Equipment,
    HirePeriod,
    Interval,
    Limit,
    LimitSet,
    Lodging,
    OnCall,
    Pair,
    ProcedureEquipment,
    RuleSet,
    Technician,
)
from scheduling.bits import unpack_members
from scheduling.builders import money
from scheduling.builders.fortnight import fortnight_as_it_is
from scheduling.builders.limits import sets_of
from scheduling.fortnight.problem import Person, Problem, Shift
from scheduling.models import WeatherSet
from tests import farm as rows
from tests.scheduling.builders.test_fortnight import boss, build, find, raise_one
from workorders.models import Order, OrderLink
from workorders.services.links import link_check
from workorders.services.moves import order_move
from workorders.services.raising import orders_raise_from_due

FRIDAY, MONDAY, TUESDAY = 2, 5, 6  # day indexes from TODAY, Wednesday 10 June 2026


def person(problem: Problem, name: str) -> Person:
    return next(one for one in problem.people if one.name == name)


def shift(problem: Problem, name: str, day: int) -> Shift | None:
    return next((one for one in person(problem, name).shifts if one.day == day), None)


def order(number: str) -> Order:
    return Order.objects.get(number=number)


# --- people -----------------------------------------------------------------------------------------------------------


def test_pairs_by_kind_while_they_hold(farm: rows.Farm, calm: WeatherSet) -> None:
    ada, ben, cleo, dov = (farm.people[name] for name in ("Ada", "Ben", "Cleo", "Dov"))
    Pair.objects.create(first=ben, second=ada, kind="together")
    Pair.objects.create(first=ada, second=cleo, kind="apart", until_day=rows.TODAY)
    Pair.objects.create(first=ada, second=dov, kind="gladly")
    Pair.objects.create(first=ben, second=dov, kind="apart", until_day=rows.TODAY - timedelta(days=1))
    Pair.objects.create(first=cleo, second=dov, kind="apart", from_day=rows.TODAY + timedelta(days=10))
    problem = build(farm)
    assert problem.together == (("Ben", "Ada"),)
    assert problem.apart == (("Ada", "Cleo"),)
    assert problem.prefer == (("Ada", "Dov"),)
    assert problem.weights.pair_apart == 2_000


def test_a_pair_is_of_two_and_stands_once(farm: rows.Farm) -> None:
    ada, ben = farm.people["Ada"], farm.people["Ben"]
    Pair.objects.create(first=ada, second=ben, kind="gladly")
    turned = Pair(first=ben, second=ada, kind="apart")
    with pytest.raises(ValidationError, match="are a pair already"):
        turned.full_clean()
    with pytest.raises(IntegrityError), transaction.atomic():
        turned.save()
    with pytest.raises(ValidationError, match="same person"):
        Pair(first=ada, second=ada, kind="apart").full_clean()
    far = Technician.objects.create(name="Far", base=farm.plain.base, shift_pattern=ada.shift_pattern)
    with pytest.raises(ValidationError, match="another base"):
        Pair(first=ada, second=far, kind="apart").full_clean()


def test_hired_people_are_there_on_hired_days_only(farm: rows.Farm, calm: WeatherSet) -> None:
    ada = farm.people["Ada"]
    Technician.objects.filter(pk=ada.pk).update(contractor=True)
    assert person(build(farm), "Ada").shifts == ()
    HirePeriod.objects.create(technician=ada, first_day=date(2026, 6, 12), last_day=date(2026, 6, 15), day_cost=640)
    hired = person(build(farm), "Ada")
    assert [one.day for one in hired.shifts] == [FRIDAY, MONDAY]
    assert hired.day_cost == 64_000
    assert person(build(farm), "Ben").day_cost == 0
    with pytest.raises(ValidationError, match="Hired from 2026-06-12 to 2026-06-15 already"):
        HirePeriod(technician=ada, first_day=date(2026, 6, 15), last_day=date(2026, 6, 20)).full_clean()


def test_on_call_ends_at_the_regular_end_and_a_call_out_is_rested(farm: rows.Farm, calm: WeatherSet) -> None:
    """Common practice, no source: 11 h of rest (directive 2003/88/EC) after coming home at 02:00 make 13:00."""
    ada = farm.people["Ada"]
    usual = shift(build(farm), "Ada", FRIDAY)
    assert usual is not None
    assert usual.end == usual.regular_end + 4
    OnCall.objects.create(technician=ada, first_day=date(2026, 6, 12), last_day=date(2026, 6, 12))
    CallOut.objects.create(technician=ada, ended_at=datetime(2026, 6, 15, 0, 0, tzinfo=rows.NOW.tzinfo))  # 02:00 on Monday
    problem = build(farm)
    friday, monday = shift(problem, "Ada", FRIDAY), shift(problem, "Ada", MONDAY)
    assert friday is not None
    assert friday.end == friday.regular_end == usual.regular_end
    assert monday is not None
    assert monday.start == (13 - 7) * 2
    assert shift(problem, "Ada", TUESDAY) == shift(problem, "Ben", TUESDAY)
    CallOut.objects.create(technician=ada, ended_at=datetime(2026, 6, 15, 8, 0, tzinfo=rows.NOW.tzinfo))
    assert shift(build(farm), "Ada", MONDAY) is None


# --- equipment --------------------------------------------------------------------------------------------------------


def test_equipment_brings_its_own_limits_and_mobilisation(farm: rows.Farm, calm: WeatherSet) -> None:
    crane = Equipment.objects.get(name="crane")
    limits = LimitSet.objects.create(code="crane", name="Lifting")
    Limit.objects.create(limit_set=limits, quantity="wind", value=3)
    Equipment.objects.filter(pk=crane.pk).update(limit_set=limits, mobilise_cost=1500)
    ProcedureEquipment.objects.create(procedure=farm.procedures["lamp"], equipment=crane)
    number = raise_one(farm, "lamp")
    problem = build(farm)
    one = find(problem, number)
    assert [key.rsplit("/", 1)[1] for key in (one.window, *one.also)] == ["tower", "crane"]
    tower, lifting = (
        unpack_members(problem.workable[key], problem.members, problem.total_slots) for key in (one.window, *one.also)
    )
    assert tower.mean() > 0.9 > 0.5 > lifting.mean()  # 4 m/s all day
    assert problem.equipment[0].mobilise_cost == 150_000
    assert list(sets_of(order(number).procedure)) == ["tower", "crane"]


# --- order of orders --------------------------------------------------------------------------------------------------


def test_an_order_after_another_in_the_same_fortnight(farm: rows.Farm, calm: WeatherSet) -> None:
    first, second = raise_one(farm, "lamp"), raise_one(farm, "lamp", "h1")
    OrderLink.objects.create(earlier=order(first), later=order(second), least_gap_h=36)
    problem = build(farm)
    assert (find(problem, second).after, find(problem, second).after_gap_min) == ((first,), 36 * 60)
    assert find(problem, first).after == ()
    order_move(order=order(first), name="withdraw", by=boss(farm), note="not needed", now=rows.NOW)
    gone = find(build(farm), second)
    assert gone.after == ()
    assert 0 in gone.days


def test_the_gap_runs_from_when_the_earlier_one_was_finished(farm: rows.Farm, calm: WeatherSet) -> None:
    first, second = raise_one(farm, "lamp"), raise_one(farm, "lamp", "h1")
    OrderLink.objects.create(earlier=order(first), later=order(second), least_gap_h=48)
    for name in ("prepare", "start", "finish"):
        order_move(order=order(first), name=name, by=boss(farm), now=rows.NOW)
    found = find(build(farm), second)
    assert found.after == ()
    assert found.days[0] == 3  # Wednesday 08:00 and 48 h: past Friday's opening at 07:00
    it = fortnight_as_it_is(base=farm.north, first_day=rows.TODAY, days=10, now=rows.NOW, seed=1)
    assert it.why_not(second, 2) == f"comes 48 h after {first} until 2026-06-12 06:00 UTC"


def test_nothing_comes_after_what_cannot_be_planned(farm: rows.Farm, calm: WeatherSet) -> None:
    first, second = raise_one(farm, "lamp"), raise_one(farm, "lamp", "h1")
    Order.objects.filter(number=first).update(due_on=date(2026, 8, 15), opens_on=date(2026, 8, 1))
    OrderLink.objects.create(earlier=order(first), later=order(second))
    assert find(build(farm), second).days == ()
    it = fortnight_as_it_is(base=farm.north, first_day=rows.TODAY, days=10, now=rows.NOW, seed=1)
    assert it.why_not(second, 0) == f"comes after {first}, which cannot be planned in these days"


def test_links_make_no_ring_and_stay_at_one_base(farm: rows.Farm) -> None:
    a, b, c = (order(raise_one(farm, "lamp", at)) for at in ("h1", "h2", "h1"))
    OrderLink.objects.create(earlier=a, later=b)
    OrderLink.objects.create(earlier=b, later=c)
    with pytest.raises(ValidationError, match=r"comes after .* already"):
        link_check(OrderLink(earlier=c, later=a))
    link_check(OrderLink(earlier=a, later=c))
    rows.build_user("south", "planner", farm.plain)
    Order.objects.filter(pk=c.pk).update(turbine=farm.p1)
    with pytest.raises(ValidationError, match="another base"):
        link_check(OrderLink(earlier=a, later=order(c.number)))


# --- money ------------------------------------------------------------------------------------------------------------


def test_money_of_the_base_and_lodgings(farm: rows.Farm, calm: WeatherSet) -> None:
    base = farm.north
    number = raise_one(farm, "lamp")
    usual = build(farm)
    assert (usual.weights.travel_per_person_min, usual.weights.overtime_per_person_min) == (60, 90)
    assert (usual.weights.abort_per_person, usual.weights.team_day) == (15_000, 4_000)
    assert (usual.day_weight[0], usual.day_weight[-1], len(usual.day_weight)) == (1.0, 0.5, 10)
    assert (usual.lodgings, usual.rules.cover_min, usual.standby_days) == ((), 0, ())
    base.travel_per_person_h, base.abort_per_person, base.far_day_share = 60, 200, 1
    base.rescue_standby = True
    base.save()
    Lodging.objects.create(name="inn", base=base, latitude=54.61, longitude=9.0, beds=3, night_cost=85)
    RuleSet.objects.update(cover_min=45)
    farm.procedures["lamp"].hand_over_cost = 90
    farm.procedures["lamp"].save()
    problem = build(farm)
    assert (problem.weights.travel_per_person_min, problem.weights.abort_per_person) == (100, 20_000)
    assert problem.day_weight == ()
    assert (problem.rules.cover_min, problem.standby_days) == (45, tuple(range(10)))
    assert find(problem, number).hand_over_cost == 9_000
    inn = problem.lodgings[0]
    assert (inn.id, inn.beds, inn.night_cost, inn.x_km) == ("inn", 3, 8_500, 0.0)
    assert inn.y_km == pytest.approx(1.112, abs=0.001)  # a hundredth of a degree on a sphere of 6371 km


def test_moving_what_people_were_told_costs_more(farm: rows.Farm) -> None:
    base = farm.north
    assert [money.change_cents(base, day) for day in (0, 3, 4)] == [40_000, 10_000, 4_000]
    assert money.change_cents(base, 0, told=True) == 80_000
    assert (money.crew_cents(base), money.crew_cents(base, told=True)) == (2_000, 4_000)


def test_a_class_of_order_has_the_sites_own_value_or_the_usual_one(farm: rows.Farm) -> None:
    farm.hill.left_out_costs = {"minor": 1_000}
    own = money.cost_of(farm.north, farm.hill, "minor", 0, 0, 1)
    assert own.left_out == 100_000 + 1_500
    assert money.cost_of(farm.north, farm.plain, "minor", 0, 0, 1).left_out == 70_000 + 1_500
    farm.hill.left_out_costs = {"minr": 1_000}
    with pytest.raises(ValidationError, match="'minr' is no class of order: give some of statutory, gate"):
        farm.hill.full_clean()


# --- due work that is not due yet -------------------------------------------------------------------------------------


def test_work_inside_its_early_tolerance_may_ride_along(farm: rows.Farm, calm: WeatherSet) -> None:
    """H3's service is due on 1 August and opens on 17 June, inside the fortnight: it is there, from that day on, for little."""
    farm.hill.closures.all().delete()
    Interval.objects.filter(code="low-12").update(early_days=45)
    orders_raise_from_due(site=farm.hill)
    early = Order.objects.get(interval__code="low-12")
    assert (early.opens_on, early.due_on) == (date(2026, 6, 17), date(2026, 8, 1))
    service = find(build(farm), early.number)
    assert min(service.days) == 7
    assert service.ride_along
    closes = (date(2026, 9, 6) - rows.TODAY).days  # 36 days late at the most: 79 days past the last day, faded to the least
    assert early.closes_on == rows.TODAY + timedelta(days=closes)
    assert service.left_out_cost == round(2_500 * 0.15 * 100)

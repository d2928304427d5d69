"""Due work becomes orders, once."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta
from threading import Barrier

import pytest
import time_machine
from django.contrib.auth.models import User
from django.db import connection

from planner.errors import NotAllowedError, PlannerError
from planner.models import Interval, Site, WorkDone
from planner.services.work_done import work_done_record
from tests.farm import TODAY, Farm, build_farm
from workorders.models import Order
from workorders.services import raising
from workorders.services.moves import order_move
from workorders.services.orders import orders_raise_from_due


def codes(orders: list[Order]) -> list[tuple[str, str]]:
    return [(order.turbine.code, order.interval.code) for order in orders if order.interval]


def raised(farm: Farm, turbine: str, code: str) -> Order:
    return Order.objects.get(turbine__site=farm.hill, turbine__code=turbine, interval__code=code)


def test_everything_that_opens_within_the_horizon_and_is_not_absorbed(farm: Farm) -> None:
    report = orders_raise_from_due(site=farm.hill)
    assert codes(report.raised) == [
        ("H1", "lift-12"),
        ("H2", "svc-12"),
        ("H1", "svc-12"),
        ("H1", "oil"),
        ("H1", "blade-24"),
        ("H1", "blade-24"),
        ("H1", "blade-24"),
        ("H3", "low-12"),
        ("H2", "lift-12"),
    ]
    assert (report.already, report.withdrawn) == (0, 0)
    assert not Order.objects.filter(turbine=farm.p1).exists()


def test_a_second_run_raises_nothing_new(farm: Farm) -> None:
    first = orders_raise_from_due(site=farm.hill)
    again = orders_raise_from_due(site=farm.hill)
    assert again.raised == []
    assert again.already == len(first.raised) == Order.objects.count() == 9


def test_the_horizon_counts_to_the_day_it_opens(farm: Farm) -> None:
    # H2's lift inspection opens on 2 August, 53 days after the 10th of June.
    assert ("H2", "lift-12") not in codes(orders_raise_from_due(site=farm.hill, horizon_days=52).raised)
    assert codes(orders_raise_from_due(site=farm.hill, horizon_days=53).raised) == [("H2", "lift-12")]


def test_the_facts_of_the_day_are_copied(farm: Farm, planner_user: User) -> None:
    orders_raise_from_due(site=farm.hill, by=planner_user)
    lift = raised(farm, "H1", "lift-12")
    assert (lift.opens_on, lift.due_on, lift.closes_on) == (date(2026, 4, 20), date(2026, 5, 20), date(2026, 5, 20))
    assert (lift.origin, lift.state, lift.klass, lift.effort_left_h) == ("due", "raised", "statutory", 4)
    assert lift.procedure == farm.procedures["lift-check"]
    assert lift.history.get().history_user == planner_user
    blades = Order.objects.filter(interval__code="blade-24").values_list("component__position", flat=True)
    assert sorted(blades) == [1, 2, 3]


def test_a_joint_visit_closes_when_the_first_of_its_parts_does(farm: Farm) -> None:
    orders_raise_from_due(site=farm.hill)
    joint = raised(farm, "H1", "svc-12")  # with svc-6, due on 25 June, tolerance to 13 July; alone it would be 26 July
    assert (joint.due_on, joint.closes_on) == (date(2026, 6, 20), date(2026, 7, 13))
    assert raised(farm, "H2", "svc-12").closes_on == date(2026, 6, 30)


def test_the_class_is_the_strongest_of_the_visits_parts(farm: Farm) -> None:
    Interval.objects.filter(code="blade-24").update(stops=["hoist"])
    Interval.objects.filter(code="svc-6").update(statutory=True, late_days=0)
    Interval.objects.filter(code="low-12").update(procedure=farm.procedures["lamp"])
    orders_raise_from_due(site=farm.hill)
    klasses = {
        order.interval.code: order.klass for order in Order.objects.filter(turbine__in=[farm.h1, farm.h3]) if order.interval
    }
    assert klasses == {
        "lift-12": "statutory",
        "svc-12": "statutory",  # it does the statutory svc-6 too
        "blade-24": "gate",
        "oil": "service",
        "low-12": "minor",
    }


def test_numbers_run_on_by_site_and_year(farm: Farm) -> None:
    orders_raise_from_due(site=farm.hill)
    orders_raise_from_due(site=farm.plain)
    assert sorted(Order.objects.values_list("number", flat=True))[:2] == ["HILL-26-0001", "HILL-26-0002"]
    assert Order.objects.get(turbine=farm.p1).number == "PLAIN-26-0001"


def test_work_without_a_date_raises_nothing(farm: Farm) -> None:
    Interval.objects.filter(code="lift-12").update(early_days=4000)  # refused by the calculation
    report = orders_raise_from_due(site=farm.hill)
    assert not {("H1", "lift-12"), ("H2", "oil")} & set(codes(report.raised))


def test_the_day_is_the_sites_own(farm: Farm) -> None:
    # P1's lift inspection opens on 12 May 2026 here; in Perth that day begins on the 11th at 16:00 UTC.
    Interval.objects.filter(code="lift-12").update(early_days=29)
    Order.objects.all().delete()
    with time_machine.travel(datetime(2026, 5, 11, 15, 59, tzinfo=UTC), tick=False):
        assert ("P1", "lift-12") not in codes(orders_raise_from_due(site=farm.plain, horizon_days=0).raised)
    with time_machine.travel(datetime(2026, 5, 11, 16, 0, tzinfo=UTC), tick=False):
        assert codes(orders_raise_from_due(site=farm.plain, horizon_days=0).raised) == [("P1", "lift-12")]


def test_done_work_makes_room_for_the_next_order(farm: Farm) -> None:
    orders_raise_from_due(site=farm.hill)
    Order.objects.filter(interval__code="low-12").update(state="accepted")
    work_done_record(interval=farm.intervals["low-12"], turbine=farm.h3, component=None, done_on=TODAY)
    assert orders_raise_from_due(site=farm.hill).raised == []
    later = orders_raise_from_due(site=farm.hill, today=date(2027, 4, 1))
    assert ("H3", "low-12") in codes(later.raised)
    assert Order.objects.get(turbine=farm.h3, interval__code="low-12", state="raised").due_on == date(2027, 6, 10)


class TestWithdrawn:
    def withdraw(self, farm: Farm, turbine: str, code: str, by: User) -> None:
        order_move(order=raised(farm, turbine, code), name="withdraw", by=by, note="the maker has done it")

    def test_stays_withdrawn_for_that_due_date(self, farm: Farm, planner_user: User) -> None:
        orders_raise_from_due(site=farm.hill)
        self.withdraw(farm, "H3", "low-12", planner_user)
        self.withdraw(farm, "H1", "oil", planner_user)
        again = orders_raise_from_due(site=farm.hill)
        assert (again.raised, again.already, again.withdrawn) == ([], 7, 2)

    def test_a_projected_date_that_moved_is_the_same_work(self, farm: Farm, planner_user: User) -> None:
        orders_raise_from_due(site=farm.hill)
        self.withdraw(farm, "H1", "oil", planner_user)
        Order.objects.filter(interval__code="oil").update(due_on=date(2026, 6, 20))
        assert orders_raise_from_due(site=farm.hill).withdrawn == 1
        Interval.objects.filter(code="oil").update(every=500)
        tomorrow = TODAY + timedelta(days=1)
        WorkDone.objects.create(interval=farm.intervals["oil"], turbine=farm.h1, done_on=tomorrow, counter=43_750)
        again = orders_raise_from_due(site=farm.hill, today=tomorrow)
        assert codes(again.raised) == [("H1", "oil")]  # done since: this is the next one

    def test_statutory_work_and_gates_come_back(self, farm: Farm, planner_user: User) -> None:
        orders_raise_from_due(site=farm.hill)
        self.withdraw(farm, "H1", "lift-12", planner_user)
        again = orders_raise_from_due(site=farm.hill)
        assert codes(again.raised) == [("H1", "lift-12")]
        assert again.raised[0].number == "HILL-26-0010"


def test_only_planning_roles_may(farm: Farm, technician_user: User, stranger: User) -> None:
    for user in (technician_user, stranger):
        with pytest.raises(NotAllowedError):
            orders_raise_from_due(site=farm.hill, by=user)
    assert not Order.objects.exists()


def test_a_horizon_in_the_past_is_refused(farm: Farm) -> None:
    with pytest.raises(PlannerError) as refusal:
        orders_raise_from_due(site=farm.hill, horizon_days=-1)
    assert refusal.value.field == "horizon_days"


def test_an_order_made_without_the_lock_counts_as_already(farm: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
    orders_raise_from_due(site=farm.hill)
    monkeypatch.setattr(raising, "_known", lambda site: raising._Known(set(), {}))
    again = orders_raise_from_due(site=farm.hill)
    assert (again.raised, again.already) == ([], 9)


@pytest.mark.django_db(transaction=True)
def test_six_sweeps_at_once_raise_each_order_once(now: datetime) -> None:
    farm, ready = build_farm(), Barrier(6, timeout=20)

    def sweep(_: int) -> tuple[int, int]:
        try:
            ready.wait()
            report = orders_raise_from_due(site=Site.objects.get(pk=farm.hill.pk))
            return len(report.raised), report.already
        finally:
            connection.close()

    with ThreadPoolExecutor(6) as pool:
        answers = sorted(pool.map(sweep, range(6)))
    assert answers == [(0, 9)] * 5 + [(9, 0)]
    assert Order.objects.count() == len(set(Order.objects.values_list("number", flat=True))) == 9

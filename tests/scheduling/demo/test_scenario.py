"""The scenario holds what a planner meets: each trouble once, and nothing outside the rules of the register."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from planner.models import Certificate, Equipment, Interval, OnCall, Pair, Procedure, Technician, Turbine, WorkDone
from planner.selectors.due import due_list, gates_shut
from scheduling.demo.scenario import scenario_load
from workorders.models import Order, OrderLink

FIRST = date(2026, 11, 25)


@pytest.fixture
def base(db: None):  # type: ignore[no-untyped-def]
    return scenario_load(first_day=FIRST)


def test_what_stands_and_who_is_there(base) -> None:  # type: ignore[no-untyped-def]
    assert Turbine.objects.count() == 24
    assert {kind.lift_to_m for kind in {one.type for one in Turbine.objects.select_related("type")}} == {98, None}
    assert base.sites.count() == 2
    assert Technician.objects.count() == 12
    assert Certificate.objects.filter(valid_until__lt=FIRST).count() == 1
    assert Technician.objects.filter(absences__first_day__gte=FIRST).count() == 1
    (crane,) = Equipment.objects.get(name="Main crane").bookings.all()
    assert (crane.last_day - crane.first_day).days == 1
    assert crane.first_day.isoweekday() <= 4


def test_who_works_with_whom_and_what_comes_after_what(base) -> None:  # type: ignore[no-untyped-def]
    assert Pair.objects.get().kind == "gladly"
    (hired,) = Technician.objects.filter(contractor=True)
    assert hired.hires.get().day_cost == 680
    assert OnCall.objects.get().technician.name == "Jonas Brandt"
    link = OrderLink.objects.get()
    assert link.earlier.turbine == link.later.turbine
    assert link.least_gap_h == 24
    crane = Equipment.objects.get(name="Main crane")
    assert crane.limit_set is not None
    assert (crane.limit_set.code, crane.mobilise_cost) == ("crane", 9000)


def test_what_is_overdue_and_what_it_stops(base) -> None:  # type: ignore[no-untyped-def]
    items = due_list(sites=base.sites.all(), today=FIRST)
    overdue = {(item.turbine.code, item.interval.code) for item in items if item.due.state == "overdue"}
    assert overdue == {("LK03", "lift-12"), ("MO04", "low-ladder-12"), ("LK09", "tall-annual")}
    late = {item.turbine.code for item in items if item.due.state == "late"}
    assert late == {"MO02"}
    shut = {Turbine.objects.get(pk=pk).code: set(gates) for pk, gates in gates_shut(items, FIRST).items()}
    assert shut == {"LK03": {"lift"}, "MO04": {"climbing"}}


@pytest.mark.django_db
@pytest.mark.parametrize("first", [date(2026, 11, 26), date(2027, 3, 1), date(2028, 2, 29)])
def test_work_was_done_before_today_whatever_the_day(first: date) -> None:
    base = scenario_load(first_day=first)
    today = first - timedelta(days=1)
    assert not WorkDone.objects.filter(done_on__gte=today).exists()
    worst = min(item.due.due for item in due_list(sites=base.sites.all(), today=today))
    assert worst == first - timedelta(days=50), "the service past its tolerance is the oldest of all"


def test_every_row_keeps_the_registers_rules(base) -> None:  # type: ignore[no-untyped-def]
    for model in (Turbine, Procedure, Interval, Technician, Order):
        for row in model.objects.all():
            row.full_clean()

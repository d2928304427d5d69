"""A finding is recorded on the turbine it was found on, and raises one order."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import date, datetime
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection

from planner.errors import ConflictError, NotAllowedError, PlannerError
from planner.models import Interval
from tests.farm import TODAY, Farm, build_farm, build_user
from workorders.models import Finding, Order
from workorders.services.findings import finding_raise_order, finding_record
from workorders.services.orders import order_raise_by_hand


@pytest.fixture
def order(farm: Farm, planner_user: User) -> Order:
    return order_raise_by_hand(turbine=farm.h1, procedure=farm.procedures["service"], due_on=TODAY, by=planner_user)


def record(order: Order, by: User, **change: Any) -> Finding:
    return finding_record(**({"order": order, "severity": "at next service", "text": "crack", "by": by} | change))


def test_recorded_by_the_crew_today(farm: Farm, order: Order, technician_user: User) -> None:
    finding = record(order, technician_user, component=farm.blades[2], text=" crack ")
    assert (finding.found_on, finding.text, finding.component) == (TODAY, "crack", farm.blades[2])
    assert finding.history.get().history_user == technician_user


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"severity": "soon"}, "severity"),
        ({"text": "   "}, "text"),
        ({"severity": "within days"}, "within_days"),
        ({"severity": "within days", "within_days": 0}, "within_days"),
        ({"severity": "within days", "within_days": -3}, "within_days"),
        ({"severity": "stop now", "within_days": 3}, "within_days"),
        ({"found_on": date(2026, 6, 11)}, "found_on"),
    ],
)
def test_what_cannot_be_names_its_field(order: Order, planner_user: User, change: dict[str, Any], field: str) -> None:
    with pytest.raises(PlannerError) as refusal:
        record(order, planner_user, **change)
    assert refusal.value.field == field
    assert not Finding.objects.exists()


def test_a_component_of_another_turbine(farm: Farm, planner_user: User) -> None:
    order = order_raise_by_hand(turbine=farm.h2, procedure=farm.procedures["lamp"], due_on=TODAY, by=planner_user)
    with pytest.raises(PlannerError, match="belongs to another turbine than H2") as refusal:
        record(order, planner_user, component=farm.blades[0])
    assert refusal.value.field == "component"


def test_not_on_withdrawn_orders_nor_by_viewers(order: Order, planner_user: User, viewer_user: User, stranger: User) -> None:
    for user in (viewer_user, stranger):
        with pytest.raises(NotAllowedError):
            record(order, user)
    order.state = "withdrawn"
    with pytest.raises(ConflictError, match="is withdrawn"):
        record(order, planner_user)


class TestRaising:
    @pytest.mark.parametrize(
        ("severity", "days", "klass", "due_on"),
        [
            ("stop now", None, "failure", "2026-06-10"),
            ("before next climb", None, "gate", "2026-06-10"),
            ("within days", 14, "service", "2026-06-24"),
            ("at next service", None, "service", "2026-06-20"),  # H1's svc-12
        ],
    )
    def test_class_and_date_follow_the_severity(
        self, farm: Farm, order: Order, lead_user: User, severity: str, days: int | None, klass: str, due_on: str
    ) -> None:
        finding = record(order, lead_user, severity=severity, within_days=days, component=farm.blades[0])
        mending = finding_raise_order(finding=finding, by=lead_user, procedure=farm.procedures["pitch-repair"])
        assert (mending.klass, str(mending.due_on), mending.origin) == (klass, due_on, "finding")
        assert (mending.note, mending.component, mending.turbine) == ("crack", farm.blades[0], farm.h1)
        assert (finding.raised_order, finding.procedure) == (mending, farm.procedures["pitch-repair"])
        assert finding.history.first().history_user == lead_user

    def test_next_service_overdue_means_at_once_and_none_known_a_year(self, farm: Farm, planner_user: User) -> None:
        order = order_raise_by_hand(turbine=farm.h2, procedure=farm.procedures["lamp"], due_on=TODAY, by=planner_user)
        how = {"by": planner_user, "procedure": farm.procedures["lamp"]}
        assert finding_raise_order(finding=record(order, planner_user), **how).due_on == TODAY  # H2's service was due in May
        Interval.objects.update(active=False)
        assert finding_raise_order(finding=record(order, planner_user), **how).due_on == date(2027, 6, 10)

    def test_once(self, farm: Farm, order: Order, planner_user: User) -> None:
        finding = record(order, planner_user, procedure=farm.procedures["lamp"])
        first = finding_raise_order(finding=finding, by=planner_user)
        with pytest.raises(ConflictError, match=f"has raised order {first.number} already") as refusal:
            finding_raise_order(finding=finding, by=planner_user)
        assert refusal.value.extra == {"order": first.number}

    def test_without_a_procedure_nobody_knows_how(self, order: Order, planner_user: User) -> None:
        with pytest.raises(PlannerError, match="give a procedure") as refusal:
            finding_raise_order(finding=record(order, planner_user), by=planner_user)
        assert refusal.value.field == "procedure"

    def test_technicians_record_and_do_not_raise(self, farm: Farm, order: Order, technician_user: User, stranger: User) -> None:
        finding = record(order, technician_user, procedure=farm.procedures["lamp"])
        for user in (technician_user, stranger):
            with pytest.raises(NotAllowedError):
                finding_raise_order(finding=finding, by=user)

    @pytest.mark.django_db(transaction=True)
    def test_four_at_once_raise_one(self, now: datetime) -> None:
        farm = build_farm()
        planner = build_user("planner", "planner", farm.hill)
        lamp = farm.procedures["lamp"]
        order = order_raise_by_hand(turbine=farm.h1, procedure=lamp, due_on=TODAY, by=planner)
        finding = record(order, planner, procedure=lamp)

        def once(_: int) -> bool:
            try:
                return bool(finding_raise_order(finding=Finding.objects.get(pk=finding.pk), by=planner))
            except ConflictError:
                return False
            finally:
                connection.close()

        with ThreadPoolExecutor(4) as pool:
            assert sorted(pool.map(once, range(4))) == [False, False, False, True]
        assert Order.objects.filter(origin="finding").count() == 1

"""The due list of the tiny farm, row by row as its docstring says, and what happens at its edges."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planner.models import Component, CounterReading, Interval, Turbine, WorkDone
from planner.selectors.due import DueItem, due_list, gates_shut, key_of, lapses_on
from tests.farm import TODAY, Farm, build_turbine


def by_code(items: list[DueItem], turbine: Turbine) -> dict[str, DueItem]:
    return {item.interval.code: item for item in items if item.turbine == turbine}


def test_the_farms_table(farm: Farm) -> None:
    items = due_list(sites=[farm.hill, farm.plain])
    table = [(item.turbine.code, item.interval.code, str(item.due.due), item.due.state) for item in items]
    assert table == [
        ("H1", "lift-12", "2026-05-20", "overdue"),
        ("H2", "svc-12", "2026-05-25", "late"),
        ("P1", "lift-12", "2026-06-10", "due"),
        ("H1", "svc-12", "2026-06-20", "open"),
        ("H1", "svc-6", "2026-06-25", "open"),
        ("H1", "oil", "2026-06-28", "open"),
        ("H1", "blade-24", "2026-07-01", "open"),
        ("H1", "blade-24", "2026-07-01", "open"),
        ("H1", "blade-24", "2026-07-01", "open"),
        ("H3", "low-12", "2026-08-01", "not open"),
        ("H2", "lift-12", "2026-09-01", "not open"),
        ("H2", "svc-6", "2026-09-15", "not open"),
        ("H3", "ladder-12", "2026-12-01", "not open"),
        ("P1", "svc-12", "2026-12-01", "not open"),
        ("P1", "svc-6", "2026-12-01", "not open"),
        ("H2", "oil", "None", "open"),
        ("P1", "oil", "None", "open"),
    ]
    assert [item.component.position for item in items if item.component] == [1, 2, 3]


def test_a_larger_service_absorbs_what_lies_within_tolerance(farm: Farm) -> None:
    items = due_list(sites=[farm.hill])
    h1, h2 = by_code(items, farm.h1), by_code(items, farm.h2)
    assert h1["svc-6"].due.absorbed_by == h1["svc-12"].due.key == key_of(farm.intervals["svc-12"].pk, None)
    assert h2["svc-6"].due.absorbed_by is None
    assert h1["svc-12"].contains == {h1["svc-6"].due.key}


def test_containment_passes_through_an_interval_the_turbine_does_not_have(farm: Farm) -> None:
    five = Interval.objects.create(
        code="svc-60", procedure=farm.procedures["service"], scope="type", turbine_type=farm.h1.type, every=60
    )
    farm.intervals["svc-12"].active = False
    farm.intervals["svc-12"].save()
    five.absorbs.add(farm.intervals["svc-12"])
    items = by_code(due_list(sites=[farm.hill]), farm.h1)
    assert items["svc-60"].contains == {items["svc-6"].due.key}


def test_work_on_the_turbine_contains_work_on_each_blade_but_one_blade_only_its_own(farm: Farm) -> None:
    blade_24, rotor_work = farm.intervals["blade-24"], farm.intervals["svc-12"]
    leading_edge = Interval.objects.create(
        code="edge-12", procedure=farm.procedures["blade-look"], scope="component", component_kind=farm.blades[0].kind, every=12
    )
    rotor_work.absorbs.add(blade_24)
    blade_24.absorbs.add(leading_edge)
    items = [item for item in due_list(sites=[farm.hill]) if item.turbine == farm.h1]
    whole = next(item for item in items if item.interval == rotor_work)
    second = next(item for item in items if item.interval == blade_24 and item.component == farm.blades[1])
    assert {key_of(blade_24.pk, blade.pk) for blade in farm.blades} <= whole.contains
    assert second.contains == {key_of(leading_edge.pk, farm.blades[1].pk)}


def test_without_today_each_site_has_its_own_day(farm: Farm) -> None:
    # Half past midnight on the 11th in Perth, half past eleven in the morning of the 10th in Chicago.
    farm.hill.time_zone = "America/Chicago"
    farm.hill.save()
    WorkDone.objects.filter(interval=farm.intervals["lift-12"], turbine=farm.h1).update(done_on=date(2025, 6, 10))
    items = due_list(sites=[farm.hill, farm.plain], now=datetime(2026, 6, 10, 16, 30, tzinfo=UTC))
    assert by_code(items, farm.h1)["lift-12"].due.state == "due"
    assert by_code(items, farm.p1)["lift-12"].due.state == "overdue"


def test_a_past_day_is_seen_as_it_was(farm: Farm) -> None:
    WorkDone.objects.create(interval=farm.intervals["lift-12"], turbine=farm.h1, done_on=date(2026, 6, 9))
    assert by_code(due_list(sites=[farm.hill], today=date(2026, 6, 8)), farm.h1)["lift-12"].due.state == "overdue"
    assert by_code(due_list(sites=[farm.hill], today=TODAY), farm.h1)["lift-12"].due.due == date(2027, 6, 9)


def test_one_turbine_of_its_own_site_only(farm: Farm) -> None:
    assert {item.turbine for item in due_list(sites=[farm.hill], turbine=farm.h2)} == {farm.h2}
    assert due_list(sites=[farm.hill], turbine=farm.p1) == []


def test_an_exchanged_component_begins_anew(farm: Farm) -> None:
    farm.blades[0].installed_on = date(2026, 1, 15)
    farm.blades[0].save()
    items = [item for item in due_list(sites=[farm.hill]) if item.component]
    assert {item.component.position: str(item.due.due) for item in items if item.component} == {
        1: "2028-01-15",
        2: "2026-07-01",
        3: "2026-07-01",
    }


def test_scopes(farm: Farm) -> None:
    Interval.objects.create(code="only-h2", procedure=farm.procedures["lamp"], scope="turbine", turbine=farm.h2, every=12)
    low = farm.intervals["blade-24"]
    low.turbine_type = farm.h3.type
    low.save()
    items = due_list(sites=[farm.hill, farm.plain])
    assert [item.turbine for item in items if item.interval.code == "only-h2"] == [farm.h2]
    assert not [item for item in items if item.interval == low]


def test_the_number_of_queries_does_not_grow(farm: Farm) -> None:
    with CaptureQueriesContext(
        connection,
    ) as few:
        due_list(sites=[farm.plain])
    for number in range(100):
        turbine = build_turbine(farm.plain, f"Q{number:03}", farm.p1.type, 0, 100)
        Component.objects.create(turbine=turbine, kind=farm.blades[0].kind)
        WorkDone.objects.create(interval=farm.intervals["svc-6"], turbine=turbine, done_on=date(2026, 2, 1))
        CounterReading.objects.create(turbine=turbine, counter="running_hours", read_on=date(2026, 6, 1), value=100)
    with CaptureQueriesContext(connection) as many:
        items = due_list(sites=[farm.plain])
        assert len({str(item.component) + item.interval.procedure.name + item.turbine.site.name for item in items}) > 4
    assert len(items) == 4 + 5 * 100
    assert len(many) == len(few) == 6


class TestGates:
    def test_shut_from_the_day_after_the_statutory_date(self, farm: Farm) -> None:
        items = due_list(sites=[farm.hill, farm.plain])
        assert gates_shut(items, date(2026, 5, 20)) == {}
        shut = gates_shut(items, date(2026, 5, 21))
        assert list(shut) == [farm.h1.pk]
        assert list(shut[farm.h1.pk]) == ["lift"]
        assert "due 2026-05-20, lapsed for 1 day" in shut[farm.h1.pk]["lift"]

    def test_a_later_day_shuts_more(self, farm: Farm) -> None:
        shut = gates_shut(due_list(sites=[farm.hill, farm.plain]), date(2026, 12, 2))
        assert {turbine: sorted(gates) for turbine, gates in shut.items()} == {
            farm.h1.pk: ["lift"],
            farm.h2.pk: ["lift"],
            farm.h3.pk: ["climbing"],
            farm.p1.pk: ["lift"],
        }

    def test_lapses_carry_the_key_of_the_work_that_opens_them(self, farm: Farm) -> None:
        lapse = lapses_on(due_list(sites=[farm.hill]), TODAY)[farm.h1.pk]["lift"][0]
        assert lapse.subject == key_of(farm.intervals["lift-12"].pk, None)
        assert lapse.since == date(2026, 5, 21)


class TestRowsThatMakeNoSense:
    """The register may hold what the calculation refuses; the list still comes, and the gate is shut."""

    @pytest.mark.parametrize("change", [{"early_days": 4000}, {"every": 6.5}, {"every": 7000}])
    def test_an_impossible_interval_is_overdue_and_shuts_its_gate(self, farm: Farm, change: dict[str, Any]) -> None:
        Interval.objects.filter(code="lift-12").update(**change)
        items = due_list(sites=[farm.hill])
        first = items[0]
        assert (first.interval.code, first.due.state, first.due.due) == ("lift-12", "overdue", None)
        assert next(iter(change)) in first.due.reason
        assert set(gates_shut(items, TODAY)) == {farm.h1.pk, farm.h2.pk}
        assert "no due date can be worked out" in gates_shut(items, TODAY)[farm.h2.pk]["lift"]
        assert len(items) == 13

    def test_an_impossible_history_row_is_named(self, farm: Farm) -> None:
        WorkDone.objects.filter(interval__code="oil").update(counter=-5)
        found = by_code(due_list(sites=[farm.hill]), farm.h1)["oil"]
        assert found.due.state == "overdue"
        assert "counter -5.0 of 2025-10-01" in found.due.reason

    def test_intervals_that_contain_each_other_absorb_nothing(self, farm: Farm, caplog: pytest.LogCaptureFixture) -> None:
        farm.intervals["svc-6"].absorbs.add(farm.intervals["svc-12"])
        items = due_list(sites=[farm.hill])
        assert len(items) == 13
        assert not [item for item in items if item.due.absorbed_by]
        assert "leads back to itself" in caplog.text

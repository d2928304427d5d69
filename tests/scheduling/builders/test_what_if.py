"""What a what-if stands on: the same problem with room at the end of the day, what closes days, and tables for other limits."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from planner.errors import ConflictError, PlannerError
from planner.models import Equipment, LimitSet, ProcedureEquipment
from scheduling import codec
from scheduling.bits import unpack_members
from scheduling.builders.fortnight import fortnight_problem
from scheduling.builders.what_if import Frozen, limit_tables, what_if_frozen
from scheduling.fortnight.changes import Register, apply, changes_from_json
from scheduling.models import WeatherSet
from tests import farm as rows
from tests.scheduling.builders.conftest import steady, store
from tests.scheduling.builders.test_fortnight import raise_one
from workorders.services.raising import orders_raise_from_due


def frozen(farm: rows.Farm, days: int = 10) -> Frozen:
    return what_if_frozen(base=farm.north, first_day=rows.TODAY, days=days, now=rows.NOW)


def tables(farm: rows.Farm, made: Frozen, asked: dict[str, dict[str, float]]) -> dict[str, str]:
    facts = {"base": farm.north, "problem": made.problem, "forecasts": made.forecasts, "made_at": rows.NOW}
    return limit_tables(**facts, asked=asked)  # type: ignore[arg-type]


def test_the_days_have_room_for_longer_shifts_and_everything_else_is_the_same(farm: rows.Farm, calm: WeatherSet) -> None:
    orders_raise_from_due(site=farm.hill)
    made = frozen(farm).problem
    usual = fortnight_problem(base=farm.north, first_day=rows.TODAY, days=10, now=rows.NOW, seed=1)
    assert [day.slots - other.slots for day, other in zip(made.days, usual.days, strict=True)] == [6] * 10
    assert (made.people, made.orders, made.turbines, made.vehicles) == (
        usual.people,
        usual.orders,
        usual.turbines,
        usual.vehicles,
    )
    longer = apply(made, changes_from_json([{"kind": "shift longer", "person": "Ada", "minutes": 120}]))
    ends = {one.id: {shift.end for shift in one.shifts} for one in longer.people}
    assert ends["Ada"] == {end + 4 for end in ends["Ben"]}


def test_what_closes_days_is_told_by_cause(farm: rows.Farm, calm: WeatherSet) -> None:
    motor = raise_one(farm, "pitch-repair")  # the motor comes on 18 June
    crane = raise_one(farm, "lamp", "h1")
    crane_row = Equipment.objects.get(name="crane")
    ProcedureEquipment.objects.create(procedure=farm.procedures["lamp"], equipment=crane_row)
    nest = raise_one(farm, "oil", "h3")  # the kite nest closes H3 in June
    register = frozen(farm).register
    assert register.closed[motor] == {str(day): ("parts",) for day in range(8)}
    assert register.waits_for[motor] == ("pitch motor",)
    assert set(register.closed[crane]) == {str(day) for day in range(10)} - {"6", "7"}
    assert register.closed[crane]["0"] == ("equipment crane",)
    assert register.closed[nest]["0"] == ("closure",)


def test_parts_and_equipment_open_what_they_closed(farm: rows.Farm, calm: WeatherSet) -> None:
    motor = raise_one(farm, "pitch-repair")
    made = frozen(farm)
    changes = changes_from_json([{"kind": "parts earlier", "order": motor, "day": "2026-06-12"}])
    days = {one.id: one.days for one in apply(made.problem, changes, made.register).orders}
    assert days[motor] == tuple(range(2, 10))


def test_statutory_orders_are_known(farm: rows.Farm, calm: WeatherSet) -> None:
    orders_raise_from_due(site=farm.hill)
    register = frozen(farm).register
    lifts = {one.number for one in farm.h1.orders.filter(interval__code="lift-12")}
    assert lifts
    assert lifts <= set(register.statutory)
    assert not {one.number for one in farm.h2.orders.filter(interval__code="svc-12")} & set(register.statutory)


def test_tables_for_another_limit_are_those_of_a_register_that_says_so(farm: rows.Farm) -> None:
    store(farm, steady(11.0))
    raise_one(farm, "lamp")
    made = frozen(farm)
    assert made.register.limits["tower"] == {"wind": 12.0, "gust": 16.0}
    asked = {"tower": {"wind": 14.0, "gust": 19.0}}
    found = tables(farm, made, asked)
    register = replace(made.register, made_for=asked, workable=found)
    values = ({"quantity": "wind", "value": 14}, {"quantity": "gust", "value": 19})
    changes = changes_from_json([{"kind": "limit", "limit_set": "tower", **one} for one in values])
    changed = apply(made.problem, changes, register)
    limits = LimitSet.objects.get(code="tower").limits
    for one in values:
        limits.filter(quantity=one["quantity"]).update(value=one["value"])
    assert changed.workable == frozen(farm).problem.workable
    assert share(changed.workable) > share(made.problem.workable)


def share(tables: dict[str, str]) -> float:
    """Share of slots and members that is workable in the one table."""
    (table,) = tables.values()
    return float(unpack_members(table, 20, len(table) * 6 // 20).mean())


def test_tables_are_refused_when_what_they_stand_on_has_changed(farm: rows.Farm, calm: WeatherSet) -> None:
    raise_one(farm, "lamp")
    made = frozen(farm)
    LimitSet.objects.get(code="tower").limits.filter(quantity="wind").update(value=3)
    with pytest.raises(ConflictError, match="changed since this what-if was made: make a new one"):
        tables(farm, made, {"tower": {"wind": 14.0}})
    calm.delete()
    with pytest.raises(ConflictError, match="that this what-if stands on is gone"):
        tables(farm, made, {"tower": {"wind": 14.0}})


def test_no_limit_asked_no_table(farm: rows.Farm, calm: WeatherSet) -> None:
    assert tables(farm, frozen(farm), {}) == {}


def test_without_a_forecast_or_a_site_nothing_is_frozen(farm: rows.Farm) -> None:
    with pytest.raises(PlannerError, match="has no forecast"):
        frozen(farm)
    base = type(farm.north).objects.create(name="Bare", latitude=50, longitude=8, time_zone="Europe/Berlin")
    with pytest.raises(PlannerError, match="has no site"):
        what_if_frozen(base=base, first_day=date(2026, 6, 10), days=3, now=rows.NOW)


def test_the_register_goes_to_json_and_back(farm: rows.Farm, calm: WeatherSet) -> None:
    raise_one(farm, "pitch-repair")
    register = frozen(farm).register
    assert codec.from_json(Register, codec.to_json(register)) == register

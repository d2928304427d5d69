"""Each change against the register: once its cure is entered, the register's own problem is the changed one."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, time
from typing import Any

import pytest

from planner.models import (
    Absence,
    Closure,
    Equipment,
    EquipmentBooking,
    HeldSkill,
    PartDelivery,
    ProcedureEquipment,
    ShiftPattern,
    Technician,
    Vehicle,
)
from scheduling.builders.what_if import what_if_frozen
from scheduling.fortnight.changes import already_so, apply, change_from_json
from scheduling.fortnight.problem import Problem
from scheduling.models import WeatherSet
from tests import farm as rows
from tests.scheduling.builders.test_fortnight import raise_one
from workorders.models import Order

Enter = Callable[[rows.Farm], None]
FRIDAY = date(2026, 6, 12)


def problem(farm: rows.Farm) -> Problem:
    return what_if_frozen(base=farm.north, first_day=rows.TODAY, days=10, now=rows.NOW).problem


def away(farm: rows.Farm) -> None:
    Absence.objects.create(technician=farm.people["Ada"], first_day=FRIDAY, last_day=FRIDAY)


def added(farm: rows.Farm) -> None:
    ben = farm.people["Ben"]
    eve = Technician.objects.create(name="Eve", base=farm.north, shift_pattern=ben.shift_pattern)
    for one in ben.certificates.all():
        one.pk, one.technician = None, eve
        one.save()
    for held in ben.skills.all():
        HeldSkill.objects.create(technician=eve, skill=held.skill, level=held.level)


def longer(farm: rows.Farm) -> None:
    """A pattern of Ada's own with an hour more; the others keep theirs."""
    own = ShiftPattern.objects.create(name="long", weekdays=[1, 2, 3, 4, 5], start=time(7), end=time(16), overtime_h=3)
    Technician.objects.filter(name="Ada").update(shift_pattern=own)


def closed(farm: rows.Farm) -> None:
    Closure.objects.create(site=farm.hill, turbine=farm.h2, kind="birds", reason="nest", first_day=FRIDAY, last_day=FRIDAY)


def due(farm: rows.Farm) -> None:
    Order.objects.filter(procedure__code="lamp").update(due_on=FRIDAY)


def delivered(farm: rows.Farm) -> None:
    PartDelivery.objects.update(expected_on=FRIDAY)


def booked(farm: rows.Farm) -> None:
    EquipmentBooking.objects.all().delete()
    EquipmentBooking.objects.create(equipment=Equipment.objects.get(name="crane"), first_day=FRIDAY, last_day=FRIDAY)


def bus(farm: rows.Farm) -> None:
    Vehicle.objects.create(name="van 3", base=farm.north, seats=5)


def gone(farm: rows.Farm) -> None:
    Vehicle.objects.filter(name="van 1").delete()


def most(farm: rows.Farm) -> None:
    type(farm.hill).objects.filter(code="HILL").update(most_stopped=1)


def sure(farm: rows.Farm) -> None:
    type(farm.hill).objects.filter(code="HILL").update(confidence=0.95)


def effort(farm: rows.Farm) -> None:
    lamp = farm.procedures["lamp"]
    type(lamp).objects.filter(pk=lamp.pk).update(team_min=2, team_max=2)
    Order.objects.filter(procedure__code="lamp").update(effort_left_h=6)


DAY = "2026-06-12"
CASES: dict[str, tuple[dict[str, Any], Enter]] = {
    "person away": ({"person": "Ada", "days": [DAY]}, away),
    "person added": ({"person": "Eve", "like": "Ben"}, added),
    "shift longer": ({"person": "Ada", "minutes": 60}, longer),
    "turbine closed": ({"turbine": "HILL H2", "days": [DAY]}, closed),
    "due date": ({"order": "lamp", "day": DAY}, due),
    "parts earlier": ({"order": "pitch-repair", "day": DAY}, delivered),
    "equipment days": ({"equipment": "crane", "days": [DAY]}, booked),
    "vehicle added": ({"vehicle": "van 3", "seats": 5}, bus),
    "vehicle gone": ({"vehicle": "van 1"}, gone),
    "rule": ({"rule": "most stopped", "site": "HILL", "value": 1}, most),
    "confidence": ({"share": 0.95}, sure),
    "order mode": ({"order": "lamp", "team": 2, "visits_min": [180]}, effort),
}


@pytest.fixture
def orders(farm: rows.Farm, calm: WeatherSet) -> dict[str, str]:
    """Procedure -> number of its order on H2: a lamp, a motor that is on its way, an oil change that needs the crane."""
    crane = Equipment.objects.get(name="crane")
    ProcedureEquipment.objects.create(procedure=farm.procedures["oil"], equipment=crane)
    numbers = {work: raise_one(farm, work) for work in ("lamp", "pitch-repair", "oil")}
    Order.objects.update(closes_on=date(2026, 7, 20))
    return numbers


@pytest.mark.parametrize("kind", CASES)
def test_the_cure_makes_the_change_true(kind: str, farm: rows.Farm, orders: dict[str, str]) -> None:
    fields, enter = CASES[kind]
    fields = {name: orders.get(value, value) if name == "order" else value for name, value in fields.items()}
    change = change_from_json({"kind": kind, **fields})
    frozen = what_if_frozen(base=farm.north, first_day=rows.TODAY, days=10, now=rows.NOW)
    changed = apply(frozen.problem, (change,), frozen.register)
    assert changed != frozen.problem, "the change changes something"
    assert not already_so(frozen.problem, changed, change)
    enter(farm)
    now = problem(farm)
    assert already_so(now, changed, change)
    assert {one.id: one for one in now.orders} == {one.id: one for one in changed.orders}
    assert {one.id: one for one in now.vehicles} == {one.id: one for one in changed.vehicles}
    assert now.rules == changed.rules
    assert now.equipment == changed.equipment
    if kind != "shift longer":  # the grid of the register has grown with the shift
        assert {one.id: one for one in now.people} == {one.id: one for one in changed.people}

"""What stands and what it needs: types, turbines, components, limits, skills, parts, procedures, intervals."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from planner import models as m

if TYPE_CHECKING:
    from scheduling.demo.scenario import Loaded


def load(loaded: Loaded) -> None:
    """Lay the assets, in the order in which they name each other."""
    for step in (_types, _turbines, _components, _limits, _skills, _shared, _procedures, _intervals, _closures):
        step(loaded)


def _types(loaded: Loaded) -> None:
    for row in loaded.data["turbine_types"]:
        loaded.types[row["name"]] = m.TurbineType.objects.create(**row)


def _turbines(loaded: Loaded) -> None:
    for row in loaded.data["turbines"]:
        day = date.fromisoformat(row["commissioned_on"])
        named = {**row, "site": loaded.sites[row["site"]], "type": loaded.types[row["type"]], "commissioned_on": day}
        loaded.turbines[row["code"]] = m.Turbine.objects.create(**named)


def _components(loaded: Loaded) -> None:
    for row in loaded.data["component_kinds"]:
        loaded.kinds[row["code"]] = m.ComponentKind.objects.create(**row)
    m.Component.objects.bulk_create(
        m.Component(turbine=turbine, kind=loaded.kinds[code], position=position, of=of)
        for turbine in loaded.turbines.values()
        for code, of in loaded.data["components"][turbine.type.name]
        for position in range(1, of + 1)
    )


def _limits(loaded: Loaded) -> None:
    for row in loaded.data["limit_sets"]:
        limits = row.pop("limits")
        made = loaded.limit_sets[row["code"]] = m.LimitSet.objects.create(**row)
        for limit in limits:
            m.Limit.objects.create(limit_set=made, **limit)


def _skills(loaded: Loaded) -> None:
    for code, name in loaded.data["skills"]:
        loaded.skills[code] = m.Skill.objects.create(code=code, name=name)


def _shared(loaded: Loaded) -> None:
    for name, seats in loaded.data["vehicles"]:
        m.Vehicle.objects.create(name=name, seats=seats, base=loaded.base)
    for row in loaded.data["equipment"]:
        bookings = row.pop("bookings", [])
        row["limit_set"] = loaded.limit_sets.get(row.get("limit_set", ""))
        made = loaded.equipment[row["name"]] = m.Equipment.objects.create(base=loaded.base, **row)
        for first, last in bookings:
            _book(loaded, made, first, last)
    for row in loaded.data["parts"]:
        deliveries = row.pop("deliveries", [])
        part = loaded.parts[row["code"]] = m.Part.objects.create(**row)
        for quantity, ahead in deliveries:
            m.PartDelivery.objects.create(part=part, quantity=quantity, expected_on=loaded.day(ahead))


def _book(loaded: Loaded, equipment: m.Equipment, first: int, last: int) -> None:
    """Book days; a booking of two days is moved to weekdays, as a crane firm would."""
    start, length = loaded.day(first), last - first
    if length == 1:
        while start.isoweekday() > 4:
            start += timedelta(days=1)
    m.EquipmentBooking.objects.create(equipment=equipment, first_day=start, last_day=start + timedelta(days=length))


def _procedures(loaded: Loaded) -> None:
    for row in loaded.data["procedures"]:
        lists = {name: row.pop(name, []) for name in ("skills", "parts", "equipment", "steps")}
        row["limit_set"] = loaded.limit_sets[row["limit_set"]]
        made = loaded.procedures[row["code"]] = m.Procedure.objects.create(**row)
        _needs(loaded, made, lists)


def _needs(loaded: Loaded, made: m.Procedure, lists: dict[str, list[Any]]) -> None:
    for code, level, count in lists["skills"]:
        m.ProcedureSkill.objects.create(procedure=made, skill=loaded.skills[code], level=level, count=count)
    for code, quantity in lists["parts"]:
        m.ProcedurePart.objects.create(procedure=made, part=loaded.parts[code], quantity=quantity)
    for name in lists["equipment"]:
        m.ProcedureEquipment.objects.create(procedure=made, equipment=loaded.equipment[name])
    for step in lists["steps"]:
        m.Step.objects.create(procedure=made, **step)


def _intervals(loaded: Loaded) -> None:
    for row in loaded.data["intervals"]:
        absorbs = [loaded.intervals[code] for code in row.pop("absorbs", [])]
        kind = loaded.kinds.get(row.pop("component", ""))
        row["procedure"] = loaded.procedures[row["procedure"]]
        row["turbine_type"] = loaded.types[row.pop("type")]
        scope = "component" if kind else "type"
        made = m.Interval.objects.create(scope=scope, component_kind=kind, **row)
        made.absorbs.set(absorbs)
        loaded.intervals[made.code] = made


def _closures(loaded: Loaded) -> None:
    for row in loaded.data["closures"]:
        first, last = row.pop("days")
        row["site"] = loaded.sites[row["site"]]
        row["turbine"] = loaded.turbines.get(row["turbine"] or "")
        m.Closure.objects.create(first_day=loaded.day(first), last_day=loaded.day(last), **row)

"""Shared equipment as the fortnight sees it: on which days it is there, and how many visits it can serve at once."""

from __future__ import annotations

from collections.abc import Iterable

from planner.models import Equipment
from scheduling.builders.elsewhere import Taken
from scheduling.builders.horizon import Horizon
from scheduling.builders.orders import equipment_there
from scheduling.fortnight.problem import Equipment as EquipmentRecord
from workorders.models import Order


def equipment_of(rows: Iterable[Order], horizon: Horizon, taken: Taken) -> tuple[EquipmentRecord, ...]:
    """What the orders' procedures name. Two queries."""
    named = {need.equipment_id for row in rows for need in row.procedure.equipment_needs.all()}
    pieces = Equipment.objects.filter(pk__in=named).prefetch_related("bookings")
    return tuple(_record(piece, horizon, taken) for piece in pieces)


def _record(piece: Equipment, horizon: Horizon, taken: Taken) -> EquipmentRecord:
    """A record has one capacity for all its days: what is free on the fullest of the days on which any is free at all."""
    dates = {day: horizon.date_of(day) for day in range(horizon.days)}
    free = {day: taken.free(piece, local) for day, local in dates.items() if equipment_there(piece, local)}
    days = tuple(day for day, count in free.items() if count > 0)
    return EquipmentRecord(
        id=piece.name,
        name=piece.name,
        capacity=min((free[day] for day in days), default=piece.capacity),
        days=days,
        day_cost=round(piece.day_cost * 100),
        mobilise_cost=round(piece.mobilise_cost * 100),
    )

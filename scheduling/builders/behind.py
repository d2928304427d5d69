"""Orders behind a shut gate: which orders of the same fortnight open it, and on which days that is enough.

An order waits behind the inspections that open its way only where it has no day without them: before a gate shuts, work goes on
as ever. What opens hoist or isolation waits for ladder and entry only, so that two openers never wait for each other.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from planner import gates
from planner.choices import EquipmentKind
from planner.due import Key
from planner.selectors.due import DueItem
from scheduling.builders.access import Ways, way_for_opener
from scheduling.fortnight.problem import Access
from workorders.models import Order

Stops = tuple[list[gates.Lapse], ...]
"""By day: the lapses that stop an order."""


@dataclass(frozen=True)
class Behind:
    """What one order waits for. `orders`: numbers; `days`: where nothing else stops it once they are accepted; `access`: its
    way up where the turbine has none (None: the turbine can be climbed)."""

    orders: tuple[str, ...]
    days: frozenset[int]
    access: Access | None


def keys_of(row: Order, items: Iterable[DueItem]) -> set[Key]:
    """The due work that an order does."""
    return {
        item.due.key
        for item in items
        if item.interval.pk == row.interval_id
        and item.turbine.pk == row.turbine_id
        and (item.component.pk if item.component else None) == row.component_id
    }


def needs_of(row: Order) -> set[str]:
    """Gates that an order goes through besides entry and climbing."""
    needs = {"isolation"} if row.procedure.isolations.strip() else set()
    if any(need.equipment.kind == EquipmentKind.HOIST for need in row.procedure.equipment_needs.all()):
        needs.add("hoist")
    return needs


def behind_of(rows: Sequence[Order], items: Sequence[DueItem], ways: Mapping[int, Ways]) -> dict[int, Behind]:
    """order pk -> what it waits behind; orders that are stopped by nothing, or by what no order opens, are left out."""
    shut_here = {row.turbine_id for row in rows if any(ways[row.turbine_id].shut)}
    own = {row.pk: keys_of(row, items) for row in rows if row.turbine_id in shut_here}
    openers = {(row.turbine_id, key): row for row in rows for key in own.get(row.pk, ())}
    found = {row.pk: _behind(row, own[row.pk], openers, ways[row.turbine_id]) for row in rows if row.pk in own}
    return {order: behind for order, behind in found.items() if behind is not None}


def _behind(row: Order, keys: set[Key], openers: Mapping[tuple[int, Key], Order], ways: Ways) -> Behind | None:
    stops: Stops = tuple(gates.stopping(shut, needs_of(row), keys) for shut in ways.shut)
    if not all(stops):
        return None
    is_opener = any(lapse.subject in keys for shut in ways.shut for lapses in shut.values() for lapse in lapses)
    opened = {
        lapse: openers[row.turbine_id, lapse.subject].number
        for lapses in stops
        for lapse in lapses
        if (row.turbine_id, lapse.subject) in openers and (lapse.gate in gates.BLOCKING or not is_opener)
        and lapse.subject not in keys
    }  # fmt: skip
    free = frozenset(day for day, lapses in enumerate(stops) if all(lapse in opened or lapse.subject in keys for lapse in lapses))
    if not free or not opened:
        return None
    orders = {opened[lapse] for day in free for lapse in stops[day] if lapse in opened}
    climbing_shut = any(lapse.gate in gates.BLOCKING for day in free for lapse in stops[day])
    return Behind(tuple(sorted(orders)), free, way_for_opener(row.turbine, ways.shut[max(free)]) if climbing_shut else None)

"""When the parts of orders are there."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import date

from planner.models import Part
from workorders.models import Order


def parts_from(rows: Iterable[Order], taken: Mapping[int, int]) -> dict[int, date | None]:
    """order pk -> first day on which its parts are there (None: never in sight); orders without parts are left out.

    Stock goes to the orders in their order (due date), then deliveries as they come. Quantities are promised once; `taken` by
    part pk is promised to other bases before.
    """
    free: Counter[int] = Counter()
    coming: dict[int, list[tuple[date, int]]] = {}
    days: dict[int, date | None] = {}
    for row in rows:
        needs = list(row.procedure.part_needs.all())
        for need in needs:
            _open_account(need.part, taken, free, coming)
        if needs:
            waits = [_take(need.part_id, need.quantity, free, coming) for need in needs]
            days[row.pk] = None if any(wait is None for wait in waits) else max(wait or date.min for wait in waits)
    return days


def _open_account(part: Part, taken: Mapping[int, int], free: Counter[int], coming: dict[int, list[tuple[date, int]]]) -> None:
    if part.pk in coming:
        return
    free[part.pk] = part.stock - taken.get(part.pk, 0)
    open_ones = [d for d in part.deliveries.all() if d.received_on is None]
    coming[part.pk] = sorted((d.expected_on, d.quantity) for d in open_ones)


def _take(part: int, quantity: int, free: Counter[int], coming: dict[int, list[tuple[date, int]]]) -> date | None:
    """Promise `quantity`: the day it is there (date.min = in stock), or None."""
    day = date.min
    while free[part] < quantity:
        if not coming[part]:
            return None
        day, more = coming[part].pop(0)
        free[part] += more
    free[part] -= quantity
    return day

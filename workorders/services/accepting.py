"""What accepting an order writes into history: the work it was for, and the smaller services inside it."""

from __future__ import annotations

from datetime import date

from planner.models import Component, Interval
from planner.selectors.due import Asset, DueItem, due_list
from planner.selectors.due_rows import applies
from planner.services.work_done import work_done_record
from workorders.choices import WAITING
from workorders.models import Order


def work_accept(order: Order) -> list[Order]:
    """Write that the order's interval was fulfilled on done_on, and every smaller one inside it that was open by then.

    Open means that its tolerance had begun; one already past it counts too, since the work was done all the same. What had
    not opened stays due. Back come the orders not yet begun that were raised for those smaller ones. An order that no
    interval asked for, or whose interval applies to its asset no more, writes nothing.
    """
    interval, done_on = order.interval, order.done_on
    if interval is None or done_on is None or not applies(interval, order.turbine, order.component):
        return []
    inside = _inside(order, done_on)  # before anything is written
    _write(order, interval, order.component, done_on, order.due_on)
    for item in inside:
        _write(order, item.interval, item.component, done_on, item.due.due)
    return _waiting_for({item.asset for item in inside}, order)


def _inside(order: Order, done_on: date) -> list[DueItem]:
    items = due_list(sites=[order.turbine.site], turbine=order.turbine, today=done_on)
    asset: Asset = (order.interval_id, order.turbine_id, order.component_id)
    contains = next((item.contains for item in items if item.asset == asset), frozenset())
    return [item for item in items if item.due.key in contains and item.due.state != "not open"]


def _write(order: Order, interval: Interval, component: Component | None, done_on: date, due_on: date | None) -> None:
    work_done_record(
        interval=interval,
        turbine=order.turbine,
        component=component,
        done_on=done_on,
        due_on=due_on,
        note=f"order {order.number}",
    )


def _waiting_for(assets: set[Asset], order: Order) -> list[Order]:
    others = Order.objects.filter(turbine=order.turbine, interval__isnull=False, state__in=WAITING)
    return [other for other in others if (other.interval_id, other.turbine_id, other.component_id) in assets]

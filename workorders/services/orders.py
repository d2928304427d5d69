"""Orders come into being: from due work, or by hand."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import F

from planner.clock import today_at
from planner.errors import ConflictError, PlannerError
from planner.models import Component, Procedure, Site, Turbine
from planner.services.access import require_role
from planner.services.rows import checked
from workorders.choices import TO_PLAN, Origin
from workorders.lifecycle import CREW, PLANNING
from workorders.models import Order
from workorders.services.history import history_write, save_by
from workorders.services.numbers import free_numbers
from workorders.services.raising import RaiseReport, klass_by_kind, orders_raise_from_due

__all__ = ["RaiseReport", "order_effort_change", "order_make", "order_raise_by_hand", "orders_raise_from_due"]


def order_raise_by_hand(
    *,
    turbine: Turbine,
    procedure: Procedure,
    due_on: date,
    by: Any,
    component: Component | None = None,
    klass: str | None = None,
    note: str = "",
    opens_on: date | None = None,
    closes_on: date | None = None,
    site: Site | None = None,
) -> Order:
    """An order that no interval asks for. `klass` "failure" says that the turbine stands; without it the procedure decides.

    `site`, where the caller has one in hand, must be the turbine's. Raises NotAllowedError, PlannerError with its field.
    """
    require_role(user=by, site=turbine.site, roles=PLANNING)
    if site is not None and turbine.site_id != site.pk:
        raise PlannerError(f"{turbine} is no turbine of {site.name}: choose one of its own.", field="turbine")
    return order_make(
        turbine=turbine,
        component=component,
        procedure=procedure,
        origin=Origin.HAND,
        klass=klass or klass_by_kind(procedure),
        opens_on=opens_on,
        due_on=due_on,
        closes_on=closes_on,
        note=note,
        by=by,
    )


@transaction.atomic
def order_make(*, turbine: Turbine, procedure: Procedure, component: Component | None, by: Any, **facts: Any) -> Order:
    """A new order with the next number of its site, checked as a form would. For services that know the facts."""
    if component is not None and component.turbine_id != turbine.pk:
        raise PlannerError(f"The component belongs to another turbine than {turbine}: choose one of it.", field="component")
    if facts.get("opens_on") and facts["due_on"] and facts["opens_on"] > facts["due_on"]:
        raise PlannerError(f"opens_on lies after due_on {facts['due_on']}: give that day or before.", field="opens_on")
    order = Order(
        number=next(free_numbers(turbine.site, today_at(turbine.site.zone))),
        turbine=turbine,
        procedure=procedure,
        component=component,
        effort_left_h=procedure.effort_person_h,
        **facts,
    )
    save_by(checked(order), by)
    return order


def order_effort_change(*, order: Order, change_h: float, by: Any) -> Order:
    """Person-hours still to do go up or down (negative) by change_h; two people at once both count.

    Raises PlannerError if fewer than 0 would be left, ConflictError once the order is finished.
    """
    require_role(user=by, site=order.turbine.site, roles=CREW)
    if not abs(change_h) < 10_000:
        raise PlannerError(f"change_h {change_h} is no number of person-hours: give -9999 to 9999.", field="change_h")
    with transaction.atomic():
        waiting = Order.objects.filter(pk=order.pk, state__in=TO_PLAN)
        if not waiting.filter(effort_left_h__gte=-change_h).update(effort_left_h=F("effort_left_h") + change_h):
            order.refresh_from_db()
            if order.state not in TO_PLAN:
                raise ConflictError(f"{order} is {order.state}: its effort no longer changes.")
            raise PlannerError(f"Only {order.effort_left_h:g} person-hours are left: take off no more.", field="change_h")
        order.refresh_from_db()
        history_write(order, by, "effort")
    return order

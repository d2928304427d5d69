"""Lists of orders, their joins done."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet

from planner.clock import today_at
from planner.models import Base, Site
from workorders.choices import TO_PLAN
from workorders.models import Hold, Order


def order_list_for(*, sites: Iterable[Site]) -> QuerySet[Order]:
    """The orders of the sites by due date, then number; `open_holds` is on each. Two queries."""
    orders = Order.objects.filter(turbine__site__in=sites)
    joined = orders.select_related("turbine__site", "turbine__type", "component__kind", "procedure", "interval", "finished_by")
    return joined.prefetch_related(open_holds()).order_by("due_on", "number")


def order_list_to_plan(*, base: Base, first_day: date, last_day: date, today: date | None = None) -> QuerySet[Order]:
    """What a plan of these days may hold: work left, open by the last day, and no hold that outlasts it.

    A hold expected to end by last_day stays in `open_holds`: the order is for the days after it. An expected end that has
    passed (before today, default the base's own) while the hold is still open says nothing: such an order is left out.
    """
    since = min(first_day, today or today_at(base.zone))
    lasting = open_holds_of(OuterRef("pk")).exclude(expected_until__gte=since, expected_until__lte=last_day)
    orders = order_list_for(sites=Site.objects.filter(base=base)).filter(
        Q(opens_on__isnull=True) | Q(opens_on__lte=last_day), ~Exists(lasting), state__in=TO_PLAN, effort_left_h__gt=0
    )
    return orders.prefetch_related("procedure__skill_needs", "procedure__part_needs", "procedure__equipment_needs")


def open_holds_of(order: Any) -> QuerySet[Hold]:
    """The open holds of an order (the order, its id, or an OuterRef to it)."""
    return Hold.objects.filter(order=order, cleared_on__isnull=True).order_by("since", "pk")


def open_holds() -> Prefetch[str, QuerySet[Hold], str]:
    """Prefetches each order's open holds as `open_holds`."""
    return Prefetch("holds", Hold.objects.filter(cleared_on__isnull=True).order_by("since", "pk"), to_attr="open_holds")

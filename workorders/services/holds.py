"""What an order waits for, set and cleared."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.db import transaction

from planner.clock import today_at
from planner.errors import ConflictError, PlannerError
from planner.services.access import require_role
from planner.services.rows import checked
from workorders.choices import TO_PLAN
from workorders.lifecycle import CREW, PLANNING
from workorders.models import Hold, Order
from workorders.services.history import history_write, save_by


@transaction.atomic
def hold_set(
    *, order: Order, kind: str, reason: str, by: Any, since: date | None = None, expected_until: date | None = None
) -> Hold:
    """A new hold on an order that is not finished; since defaults to today at the site.

    The order's row is locked, so that no move that the hold would stop slips past it.
    """
    site = order.turbine.site
    require_role(user=by, site=site, roles=CREW)
    state = Order.objects.select_for_update().values_list("state", flat=True).get(pk=order.pk)
    if state not in TO_PLAN:
        raise ConflictError(f"{order} is {state}: there is nothing left to hold.")
    hold = Hold(order=order, kind=kind, reason=reason, since=since or today_at(site.zone), expected_until=expected_until)
    save_by(checked(hold), by)
    return hold


@transaction.atomic
def hold_clear(*, hold: Hold, by: Any, on: date | None = None) -> Hold:
    """The hold is over, on a day that defaults to today at the site."""
    site = hold.order.turbine.site
    require_role(user=by, site=site, roles=PLANNING)
    today = today_at(site.zone)
    day = on or today
    if not hold.since <= day <= today:
        raise PlannerError(f"on must lie between {hold.since}, when the hold began, and {today}.", field="on")
    if not Hold.objects.filter(pk=hold.pk, cleared_on__isnull=True).update(cleared_on=day):
        raise ConflictError("The hold is cleared already.")
    hold.refresh_from_db()
    history_write(hold, by, "clear")
    return hold

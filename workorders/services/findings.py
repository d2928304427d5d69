"""What was found up there, and the order that mends it."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.db import transaction

from planner import due as core
from planner.choices import WorkKind
from planner.clock import today_at
from planner.errors import ConflictError, PlannerError
from planner.models import Component, Procedure
from planner.selectors.due import due_list
from planner.services.access import require_role
from planner.services.rows import checked
from workorders.choices import Klass, Origin, Severity, State
from workorders.lifecycle import CREW, PLANNING
from workorders.models import Finding, Order
from workorders.services.history import history_write, save_by
from workorders.services.orders import order_make
from workorders.services.raising import klass_by_kind

KLASS = {Severity.STOP: Klass.FAILURE, Severity.BEFORE_CLIMB: Klass.GATE}
"""Stop now: the turbine stands. Before the next climb: until then nobody goes up. Otherwise the procedure decides."""


def finding_record(
    *,
    order: Order,
    severity: str,
    text: str,
    by: Any,
    component: Component | None = None,
    within_days: int | None = None,
    found_on: date | None = None,
    procedure: Procedure | None = None,
) -> Finding:
    """A finding on the order's turbine; found_on defaults to today at the site. `procedure` says how to mend it, if known."""
    site = order.turbine.site
    require_role(user=by, site=site, roles=CREW)
    finding = Finding(
        order=order,
        severity=severity,
        text=text.strip(),
        component=component,
        within_days=within_days,
        found_on=found_on or today_at(site.zone),
        procedure=procedure,
    )
    _check(finding, today_at(site.zone))
    with transaction.atomic():
        save_by(checked(finding), by)
    return finding


def _check(finding: Finding, today: date) -> None:
    order = finding.order
    if order.state == State.WITHDRAWN:
        raise ConflictError(f"{order} is withdrawn: record the finding on an order that was done.")
    if finding.component and finding.component.turbine_id != order.turbine_id:
        raise PlannerError(f"The component belongs to another turbine than {order.turbine}: choose one of it.", field="component")
    if finding.found_on > today:
        raise PlannerError(f"found_on {finding.found_on} has not come yet: give {today} or before.", field="found_on")
    needs_days = finding.severity == Severity.IN_DAYS
    if needs_days and not finding.within_days:
        raise PlannerError("Severity 'within days' needs within_days of 1 or more.", field="within_days")
    if not needs_days and finding.within_days is not None:
        raise PlannerError(f"within_days goes with severity 'within days' only, not {finding.severity!r}.", field="within_days")


@transaction.atomic
def finding_raise_order(*, finding: Finding, by: Any, procedure: Procedure | None = None) -> Order:
    """The one order that mends the finding; a second call raises ConflictError that names the first."""
    turbine = finding.order.turbine
    require_role(user=by, site=turbine.site, roles=PLANNING)
    # The bare row: PostgreSQL reads joined rows as they were before it waited for the lock.
    locked = Finding.objects.select_for_update().get(pk=finding.pk)
    if locked.raised_order:
        number = locked.raised_order.number
        raise ConflictError(f"The finding has raised order {number} already.", extra={"order": number})
    how = procedure or locked.procedure
    if how is None:
        raise PlannerError("Say how to mend the finding: give a procedure.", field="procedure")
    order = order_make(
        turbine=turbine,
        component=locked.component,
        procedure=how,
        origin=Origin.FINDING,
        klass=KLASS.get(Severity(locked.severity)) or klass_by_kind(how),
        due_on=_due_on(locked),
        note=locked.text,
        by=by,
    )
    Finding.objects.filter(pk=finding.pk).update(raised_order=order, procedure=how)
    finding.refresh_from_db()
    history_write(finding, by, "raise order")
    return order


def _due_on(finding: Finding) -> date:
    """Stop now and before the next climb: at once. At next service: when the turbine's next service is due."""
    if finding.severity == Severity.IN_DAYS:
        return finding.found_on + timedelta(days=finding.within_days or 0)
    if finding.severity == Severity.NEXT_SERVICE:
        return _next_service(finding)
    return finding.found_on


def _next_service(finding: Finding) -> date:
    """Due date of the turbine's next service, as seen when it was found; a year on where none is known."""
    turbine = finding.order.turbine
    items = due_list(sites=[turbine.site], turbine=turbine, today=finding.found_on)
    days = [item.due.due for item in items if item.interval.procedure.kind == WorkKind.SERVICE and item.due.due is not None]
    return min((max(day, finding.found_on) for day in days), default=core.add_months(finding.found_on, 12))

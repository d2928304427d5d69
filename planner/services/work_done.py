"""The only writer of history: an interval was fulfilled on an asset on a day."""

from __future__ import annotations

from datetime import date

from django.db import transaction

from planner import due as core
from planner.clock import today_at
from planner.errors import PlannerError
from planner.models import Component, Interval, Turbine, WorkDone
from planner.selectors.due_rows import applies
from planner.services.rows import checked


def work_done_record(
    *,
    interval: Interval,
    turbine: Turbine,
    component: Component | None,
    done_on: date,
    due_on: date | None = None,
    counter: float | None = None,
    note: str = "",
) -> WorkDone:
    """The row that says so; recorded twice for one asset and day, the first row stays as it is.

    Raises PlannerError if the interval does not apply to the asset, or the day has not come at the site.
    """
    row = WorkDone(
        interval=interval, turbine=turbine, component=component, done_on=done_on, due_on=due_on, counter=counter, note=note
    )
    _check(row)
    asset = {"interval": interval, "turbine": turbine, "component": component, "done_on": done_on}
    with transaction.atomic():
        known = WorkDone.objects.filter(**asset).first()
        if known is None:
            checked(row, alone=False)
            known, _ = WorkDone.objects.get_or_create(**asset, defaults={"due_on": due_on, "counter": counter, "note": note})
    return known


def _check(row: WorkDone) -> None:
    if row.component and row.component.turbine_id != row.turbine_id:
        raise PlannerError(f"The component belongs to another turbine than {row.turbine}: choose one of it.", field="component")
    if not applies(row.interval, row.turbine, row.component):
        asset = f"{row.component} of {row.turbine}" if row.component else str(row.turbine)
        raise PlannerError(f"{row.interval} does not fall due on {asset}: choose what it applies to.", field="interval")
    today = today_at(row.turbine.site.zone)
    if row.done_on > today:
        raise PlannerError(f"done_on {row.done_on} has not come yet at the site: give {today} or before.", field="done_on")
    try:
        core.Done(row.done_on, row.due_on, row.counter)
    except ValueError as error:
        field = {"on": "done_on", "due": "due_on"}.get(str(error).split()[0], "counter")
        raise PlannerError(str(error), field=field) from error

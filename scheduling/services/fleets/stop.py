"""Stopping a fleet: every part that is still to come."""

from __future__ import annotations

from django.contrib.auth.models import User

from planner.clock import now_utc
from planner.errors import ConflictError, NotAllowedError
from scheduling.choices import OPEN, FleetState, RunState
from scheduling.models import Fleet, Run
from scheduling.selectors.fleets import bases_planned
from scheduling.services.fleets.ending import fleet_close
from scheduling.services.runs.ending import STOPPED_EARLY, run_end_stopped


def fleet_stop(*, fleet: Fleet, by: User | None) -> Fleet:
    """Ask every open part to stop. Those that wait end at once; those that solve end within about a second, plan kept.

    For planners of all its bases. ConflictError when the fleet has ended already.
    """
    _planner_of_all(fleet, by)
    if not Fleet.objects.filter(pk=fleet.pk, state=FleetState.OPEN).update(stop_asked=True):
        fleet.refresh_from_db()
        raise ConflictError(f"Fleet {fleet.pk} has ended already ({fleet.get_state_display()}): there is nothing to stop.")
    parts = Run.objects.filter(fleet=fleet, state__in=OPEN)
    fields = {"state": RunState.STOPPED, "status": "stopped", "stop_asked": True, "text": STOPPED_EARLY, "ended_at": now_utc()}
    # Parts that nobody began, in one go: three hundred of them must not be stopped one by one.
    parts.filter(state=RunState.QUEUED, attempt=0).update(**fields)
    parts.update(stop_asked=True)
    for run in parts.filter(state=RunState.QUEUED).select_related("base"):
        run_end_stopped(run, held=RunState.QUEUED)
    fleet_close(fleet_id=fleet.pk)
    fleet.refresh_from_db()
    return fleet


def _planner_of_all(fleet: Fleet, by: User | None) -> None:
    planned = bases_planned(by).values("pk")
    strange = Run.objects.filter(fleet=fleet).exclude(base__in=planned).select_related("base").only("base__name").first()
    if strange is not None:
        raise NotAllowedError(f"You do not plan every site of {strange.base}: ask a planner of all its bases.")

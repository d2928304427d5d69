"""What happens when parts end: the next in turn may begin, and after the last one the fleet is summed up and checked.

The finish is found by the rows, not by Celery's chord. A chord counts the results of the very messages it sent: it needs a
store of results, which the queue in files has none of, a part that raises keeps it from its callback, and a part whose worker
was killed goes on under a new message (runs_recover) of which the chord knows nothing. Here whoever ends the last part closes
the fleet by one conditional UPDATE, the sweep closes what nobody did, and both queues go the same way.
"""

from __future__ import annotations

import logging
from typing import Any

from planner.clock import now_utc
from scheduling.choices import OPEN, FleetState
from scheduling.fleet.joined import Joined, joined
from scheduling.models import Fleet, Run
from scheduling.selectors.fleets import Sums, fleet_parts, joined_plans, sums_of

log = logging.getLogger(__name__)


def fleet_go_on(*, run_id: int) -> list[Run]:
    """What a part's end sets going: the parts that followed it, for the caller to queue; its fleet is closed if it was the last.

    Does nothing for a run that is no part of a fleet or has not ended. Safe to call twice.
    """
    run = Run.objects.filter(pk=run_id).only("pk", "state", "fleet_id").first()
    if run is None or run.fleet_id is None or run.is_open:
        return []
    followers = list(Run.objects.filter(follows=run, state__in=OPEN).only("pk"))
    if not followers:
        fleet_close(fleet_id=run.fleet_id)
    return followers


def fleet_close(*, fleet_id: int) -> bool:
    """Close a fleet whose parts have all ended: counts, sums, joined check. True for the one caller that closed it."""
    fleet = Fleet.objects.filter(pk=fleet_id, state=FleetState.OPEN).first()
    if fleet is None or Run.objects.filter(fleet=fleet, state__in=OPEN).exists():
        return False
    sums, whole = sums_of(fleet_parts(fleet)), joined(joined_plans(fleet))
    fields: dict[str, Any] = {
        "state": FleetState.STOPPED if fleet.stop_asked else FleetState.DONE,
        "text": _told(sums, whole),
        "outcome": sums.to_json(),
        "shared": list(whole.shared),
        "clashes": list(whole.clashes),
        "ended_at": now_utc(),
    }
    # Parts that have ended stay ended, so the state alone says whether somebody else was faster.
    return bool(Fleet.objects.filter(pk=fleet_id, state=FleetState.OPEN).update(**fields))


def fleets_recover() -> list[Fleet]:
    """Close fleets whose last part ended with nobody there to see it (its worker was killed, or it was stopped by hand)."""
    waiting = Fleet.objects.filter(state=FleetState.OPEN).exclude(pk__in=_with_open_parts())
    return [fleet for fleet in waiting if _closed(fleet)]


def _with_open_parts() -> Any:
    return Run.objects.filter(fleet__state=FleetState.OPEN, state__in=OPEN).values("fleet")


def _closed(fleet: Fleet) -> bool:
    try:
        return fleet_close(fleet_id=fleet.pk)
    except Exception:
        # One fleet that cannot be summed up must not keep the sweep from the others.
        log.exception("fleet %s could not be closed", fleet.pk)
        return False


def _told(sums: Sums, whole: Joined) -> str:
    """How it ended: what came of the parts, then what the check of all plans together found."""
    if sums.without_plan == sums.parts:
        return "No part came to a plan: each says why."
    planned = f"{sums.parts - sums.without_plan} of {sums.parts} parts came to a plan"
    without = f"; {sums.without_plan} did not and say why" if sums.without_plan else ""
    return f"{planned}{without}. {check_text(whole)}"


def check_text(whole: Joined) -> str:
    """The joined check in a sentence."""
    if whole.clashes:
        return f"Checked as one, the plans use {len(whole.clashes)} things twice: do not publish them all before that is mended."
    if whole.shared:
        return f"Checked as one: the plans share {', '.join(whole.shared)}, and use nothing twice."
    return "Checked as one: the plans share nobody and nothing."

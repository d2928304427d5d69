"""A fleet whose parts fail and lose their worker still ends, with the others' plans kept. Real worker, real queue."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.fortnight.problem import problem_to_json
from scheduling.models import Fleet, Plan, Run
from scheduling.services.fleets import fleet_create, fleet_stop
from scheduling.tasks import fleet_queue
from tests.faults.conftest import Bench, kill
from tests.scheduling.services import scenes

pytestmark = pytest.mark.worker


def begun(bench: Bench) -> tuple[Fleet, Run, Run]:
    """North with the scene's slow problem, South without a forecast; queued."""
    fleet = fleet_create(first_day=scenes.FIRST, days=scenes.DAYS, by=None, params={"time_limit_s": 3})
    north, south = (Run.objects.get(fleet=fleet, base=base) for base in (bench.farm.north, bench.farm.plain.base))
    Run.objects.filter(pk=north.pk).update(problem=problem_to_json(replace(scenes.problem(), name="slow")))
    fleet_queue(fleet)
    return fleet, north, south


def until_closed(bench: Bench, fleet: Fleet) -> Fleet:
    def closed() -> bool:
        fleet.refresh_from_db()
        return not fleet.is_open

    bench.wait(closed, "the fleet stays open")
    return fleet


def test_a_failed_part_and_a_killed_worker_lose_nothing(bench: Bench) -> None:
    fleet, north, south = begun(bench)
    kill(bench.solver_pid())
    bench.solver_pid(2)
    bench.go()
    until_closed(bench, fleet)
    north.refresh_from_db()
    south.refresh_from_db()
    assert (north.state, north.attempt, south.state) == ("done", 2, "failed")
    assert "has no forecast" in south.text
    assert Plan.objects.get().run_id == north.pk
    assert fleet.text.startswith("1 of 2 parts came to a plan; 1 did not and say why. Checked as one")


def test_a_fleet_is_stopped_in_the_middle(bench: Bench) -> None:
    fleet, north, _ = begun(bench)
    bench.until(north, lambda row: row.best is not None)
    fleet_stop(fleet=fleet, by=None)
    until_closed(bench, fleet)
    north.refresh_from_db()
    assert (fleet.state, north.state, north.plan.visits.count()) == ("stopped", "stopped", 1)

"""The rows of the fleet bench carry its generated problems: names are each base's own, and a part can be drafted."""

from __future__ import annotations

import pytest

from planner.models import Technician
from scheduling import solvers
from scheduling.fortnight.due_order import due_order_plan
from scheduling.fortnight.problem import problem_from_json
from scheduling.models import Fleet, Run
from scheduling.selectors.fleets import fleet_parts, wanted_by
from scheduling.services.fleets import fleet_create, fleet_go_on
from scheduling.services.runs import run_execute
from tests.bench.fleet.rows import DAYS, FIRST, freeze, lay
from tests.scheduling.services import scenes


@pytest.mark.django_db(transaction=True)
def test_every_base_has_its_own_names_and_its_plan_is_drafted(monkeypatch: pytest.MonkeyPatch) -> None:
    problems = lay(2, seed=1)
    one, two = (problem_from_json(problem) for problem in problems.values())
    for kind in ("people", "vehicles", "orders"):
        assert not {row.id for row in getattr(one, kind)} & {row.id for row in getattr(two, kind)}
    assert Technician.objects.count() == len(one.people) + len(two.people)
    fleet = fleet_create(first_day=FIRST, days=DAYS, by=None)
    assert (fleet.joined_by, wanted_by([run.base for run in fleet.parts.all()], FIRST)) == ([], [])
    freeze(fleet, problems)
    plan = due_order_plan(one)
    monkeypatch.setitem(solvers.SOLVERS, "fortnight", scenes.gives(scenes.result(plan, "out of time")))
    first = Run.objects.filter(fleet=fleet).order_by("pk")[0]
    run_execute(run_id=first.pk, worker="test")
    assert fleet_go_on(run_id=first.pk) == []
    row = fleet_parts(Fleet.objects.get())[0]
    assert (row.run.state, row.planned) == ("done", len({job.order for visit in plan.visits for job in visit.jobs}))
    assert row.left_out == len(plan.left_out)

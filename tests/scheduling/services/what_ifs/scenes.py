"""What-ifs on the tiny farm: Wednesday 10 and Thursday 11 June, orders W-1 on H1 and W-2 on H2, a calm forecast."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from scheduling.fortnight.plan import plan_to_json
from scheduling.models import Plan, Run, WhatIf
from scheduling.services.runs import run_claim
from scheduling.services.runs.ending import run_end
from scheduling.services.what_ifs import what_if_create, what_if_solve
from scheduling.solvers import Limits, solver_for
from tests.farm import NOW, Farm
from tests.scheduling.services import scenes

AWAY = {"kind": "person away", "person": "Ada", "days": ["2026-06-10"]}
HIRED = {"kind": "person added", "person": "Eve", "like": "Ada", "day_cost": 600}
CLOSED = {"kind": "turbine closed", "turbine": "HILL H1", "days": ["2026-06-10"]}
BY_HAND = {"kind": "left out by hand", "order": "W-2"}


def what_if(farm: Farm, *changes: dict[str, Any], name: str = "less wind", **more: Any) -> WhatIf:
    """An open what-if of base North."""
    facts = {"base": farm.north, "first_day": scenes.FIRST, "days": scenes.DAYS, "by": None, "now": NOW}
    return what_if_create(name=name, changes=changes, **{**facts, **more})


def solved(farm: Farm, *changes: dict[str, Any], **more: Any) -> WhatIf:
    """The same, solved by the real solver (some hundred booleans), without the thread that watches a run."""
    row = what_if(farm, *changes, **more)
    asked = what_if_solve(what_if=row, by=None, params={"time_limit_s": 20, "gap": 0.0})
    run = run_claim(run_id=asked.pk, worker="here")
    assert run is not None
    solver = solver_for(run.kind)
    result = solver.solve(solver.read(run.problem), Limits(20, 0.0, 1, 1), lambda step: None, lambda: False)
    assert run_end(run, solver, result, [])
    row.refresh_from_db()
    return row


def run_of(row: WhatIf) -> Run:
    """Its newest run."""
    return row.runs.latest("pk")


def told(farm: Farm) -> Plan:
    """W-1 on Wednesday is published, W-2 was left out."""
    made = scenes.half_plan()
    run = scenes.run(farm, state="done", best=plan_to_json(made), value=made.value / 100, bound=1.0)
    return Plan.objects.create(
        base=farm.north, run=run, state="published", published_at=NOW - timedelta(hours=1), first_day=scenes.FIRST,
        last_day=scenes.FIRST + timedelta(days=1), value=made.value / 100, bound=1.0,
        left_out=[{"order": "W-2", "label": "W-2", "reason": "No room."}],
    )  # fmt: skip

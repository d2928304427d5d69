"""The Celery application of the fault tests: Lull's own, on the test's queue, with solvers that wait to be killed.

A problem named "slow ..." is solved by the one below, any other by the real solver. The test and the solver talk by files in
the folder LULL_TEST_DIR: `pid-<n>` says which process tries it for the n-th time, `go` lets it end.
"""

from __future__ import annotations

import json
import os
import time
from pathlib import Path
from typing import Any

import django

from planner.project.celery import app

django.setup()

from scheduling import solvers  # noqa: E402
from scheduling.solvers import Limits, OnStep, ShouldStop, Solver, Step  # noqa: E402
from tests.scheduling.services import scenes  # noqa: E402

FOLDER = Path(os.environ["LULL_TEST_DIR"])
app.conf.broker_transport_options = {**app.conf.broker_transport_options, **json.loads(os.environ["LULL_TEST_TRANSPORT"])}
real = solvers.SOLVERS["fortnight"]


def solve(task: Any, limits: Limits, on_step: OnStep, should_stop: ShouldStop) -> Any:
    """Show a plan; then wait for `go`, for a stop (unless the name says "deaf"), or to be killed."""
    if not task.name.startswith("slow"):
        return real().solve(task, limits, on_step, should_stop)
    half = scenes.half_plan()
    on_step(Step(0.1, half.value, 0.0, half))
    number = len(list(FOLDER.glob("pid-*"))) + 1
    (FOLDER / "pid-new").write_text(str(os.getpid()))
    (FOLDER / "pid-new").rename(FOLDER / f"pid-{number}")
    while not (FOLDER / "go").exists():
        if should_stop() and "deaf" not in task.name:
            return scenes.result(half, "stopped")
        time.sleep(0.05)
    return scenes.result(scenes.good_plan())


def slow() -> Solver:
    """The fortnight's entry with the solver above."""
    own = real()
    return Solver(own.read, solve, own.write, own.read_plan, own.check)


solvers.SOLVERS["fortnight"] = slow

"""A real worker in processes of its own, on the test's database and a queue that nobody else uses."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import threading
import time
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from django.test import override_settings

from planner.project.celery import app
from scheduling.embedded import Child, embedded_worker, worker_answers
from scheduling.fortnight.problem import problem_to_json
from scheduling.models import Run
from scheduling.tasks import run_queue, run_solve
from tests.farm import Farm, build_farm
from tests.scheduling.services import scenes

TARGET = "tests.faults.worker_app"
LOST_AFTER_S, SWEEP_S, SOFT_S, HARD_S = 3, 1, 5, 7


@dataclass
class Bench:
    """The worker under test and the folder it talks by."""

    folder: Path
    farm: Farm
    children: list[Child]

    @property
    def log(self) -> str:
        """What worker and beat said so far."""
        return (self.folder / "worker.log").read_text(encoding="utf-8")

    def queued(self, name: str = "slow", **more: Any) -> Run:
        """A run of the scene's problem, queued."""
        problem = replace(scenes.problem(), name=name)
        run = scenes.run(self.farm, problem=problem_to_json(problem), **more)
        run_queue(run)
        return run

    def solver_pid(self, number: int = 1) -> int:
        """The process that works on the n-th try, once it does."""
        path = self.folder / f"pid-{number}"
        self.wait(path.exists, f"no try {number}")
        return int(path.read_text())

    def go(self) -> None:
        """Let the solver end."""
        (self.folder / "go").touch()

    def until(self, run: Run, ready: Callable[[Run], bool]) -> Run:
        """The run, once it is as expected."""

        def look() -> bool:
            run.refresh_from_db()
            return ready(run)

        self.wait(look, "the run is not as expected", run)
        return run

    def wait(self, ready: Callable[[], bool], what: str, run: Run | None = None, seconds: float = 25.0) -> None:
        """Poll with a deadline; a failure shows the worker's log."""
        pause, deadline = threading.Event(), time.monotonic() + seconds
        while time.monotonic() < deadline:
            if ready():
                return
            pause.wait(0.05)
        pytest.fail(f"{what}: {run and (run.state, run.attempt, run.text)}\n{self.log[-3000:]}")


def database_url() -> str:
    """The test's own database as the worker's DATABASE_URL."""
    made = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{made['NAME']}"
    secret = f":{made['PASSWORD']}" if made["PASSWORD"] else ""
    return f"postgres://{made['USER']}{secret}@{made['HOST']}:{made['PORT'] or 5432}/{made['NAME']}"


@contextlib.contextmanager
def own_queue(folder: Path) -> Iterator[None]:
    """Send to a queue of our own: another folder, or on Redis another prefix; the worker is told by its environment."""
    (folder / "queue").mkdir()
    files = {"data_folder_in": str(folder / "queue"), "data_folder_out": str(folder / "queue")}
    files["control_folder"] = str(folder / "control")
    transport = {"global_keyprefix": f"test-{uuid.uuid4().hex}-"} if settings.REDIS_URL else files
    kept = app.conf.broker_transport_options
    told = {"LULL_TEST_TRANSPORT": json.dumps(transport), "LULL_TEST_DIR": str(folder), "DATABASE_URL": database_url()}
    limits = {"LULL_RUN_LOST_AFTER_S": LOST_AFTER_S, "LULL_RECOVER_EVERY_S": SWEEP_S, "LULL_SOLVE_LIMIT_S": 3}
    limits |= {"LULL_TASK_SOFT_LIMIT_S": SOFT_S, "LULL_TASK_HARD_LIMIT_S": HARD_S}
    with pytest.MonkeyPatch.context() as patch, override_settings(VAR_DIR=folder, CELERY_BEAT_SCHEDULE_FILENAME=folder / "beat"):
        # A message carries the sender's limits, so the test's own task needs them too.
        patch.setattr(run_solve, "soft_time_limit", SOFT_S)
        patch.setattr(run_solve, "time_limit", HARD_S)
        for name, value in {**told, **limits, "LULL_VAR_DIR": folder}.items():
            patch.setenv(name, str(value))
        _use(app.conf.broker_transport_options | transport)
        try:
            yield
        finally:
            _use(kept)


def _use(options: dict[str, Any]) -> None:
    """New options take effect with new connections."""
    app.conf.broker_transport_options = options
    app._after_fork()


@pytest.fixture(scope="module")
def workers(django_db_setup: None, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, list[Child]]]:
    """Worker and beat for the tests of a module, ended afterwards."""
    folder = tmp_path_factory.mktemp("workers")
    with own_queue(folder), embedded_worker(target=TARGET, grace_s=0.5) as children:
        yield folder, children


@pytest.fixture
def bench(workers: tuple[Path, list[Child]], transactional_db: None) -> Bench:
    """The module's worker, the tiny farm with orders W-1 and W-2, and no trace of the test before."""
    folder, children = workers
    for path in (*folder.glob("pid-*"), folder / "go"):
        path.unlink(missing_ok=True)
    (folder / "worker.log").write_text("")
    farm = build_farm()
    list(scenes.orders(farm))
    return Bench(folder, farm, children)


def kill(pid: int) -> None:
    """kill -9."""
    os.kill(pid, signal.SIGKILL)


def answers(children: list[Child]) -> bool:
    """Whether our own worker answers."""
    return bool(children) and worker_answers(timeout_s=3)


def gone(pid: int) -> bool:
    """Whether a process has ended. A zombie of ours counts as still there; one that init has inherited is init's to reap."""
    try:
        state, parent = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[:2]
    except (FileNotFoundError, ProcessLookupError):
        return True
    return state == "Z" and parent == "1"

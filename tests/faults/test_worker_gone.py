"""The whole worker is killed in the middle of a solve; the next one takes the run up."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest

from scheduling.embedded import embedded_worker
from scheduling.models import Plan
from tests.farm import build_farm
from tests.faults.conftest import TARGET, Bench, gone, own_queue
from tests.scheduling.services import scenes

pytestmark = pytest.mark.worker


def test_killing_the_whole_worker_loses_nothing(transactional_db: None, tmp_path: Path) -> None:
    with own_queue(tmp_path):
        farm = build_farm()
        list(scenes.orders(farm))
        with embedded_worker(target=TARGET, grace_s=0.5) as children:
            bench = Bench(tmp_path, farm, children)
            run = bench.queued()
            child = bench.solver_pid()
            for process in children:
                assert process.process is not None
                os.killpg(process.process.pid, signal.SIGKILL)
            bench.wait(lambda: gone(child), "the child outlived its group")
            run.refresh_from_db()
            assert run.state == "solving"
        with embedded_worker(target=TARGET, grace_s=0.5):
            bench.solver_pid(2)
            bench.go()
            bench.until(run, lambda row: not row.is_open)
    assert (run.state, run.attempt, Plan.objects.count()) == ("done", 2, 1)

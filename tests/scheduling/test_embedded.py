"""Worker and beat of our own: there when needed, gone afterwards, even when whoever started them is killed."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from django.conf import settings

from scheduling import embedded
from scheduling.embedded import WorkerDidNotStart, embedded_worker, worker_answers
from tests.faults.conftest import TARGET, gone, own_queue

pytestmark = [pytest.mark.worker, pytest.mark.usefixtures("django_db_setup")]

STARTER = """
import django; django.setup()
import time
from scheduling.embedded import embedded_worker
with embedded_worker(target="tests.faults.worker_app") as children:
    print(*[child.process.pid for child in children], flush=True)
    time.sleep(60)
"""


def children_of(pid: int) -> list[int]:
    """Processes whose parent this is (Linux)."""
    return [int(text) for text in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def wait(ready: Callable[[], bool], seconds: float = 15.0) -> bool:
    """Poll with a deadline."""
    pause, deadline = threading.Event(), time.monotonic() + seconds
    while not ready() and time.monotonic() < deadline:
        pause.wait(0.05)
    return ready()


def test_it_answers_inside_and_is_gone_with_all_its_children_afterwards(tmp_path: Path) -> None:
    with own_queue(tmp_path):
        with embedded_worker(target=TARGET) as children:
            assert worker_answers(timeout_s=3)
            own = [child.process.pid for child in children if child.process]
            pool = children_of(own[0])
            with embedded_worker(target=TARGET) as second:
                assert second == []
        assert len(own) == 2
        assert pool
        # SIGKILL was sent to the whole group; the kernel takes a moment to carry it out and init one to reap.
        assert wait(lambda: all(gone(pid) for pid in (*own, *pool)), 5.0)
        assert not list(tmp_path.glob("beat-*"))


def test_without_beat_there_is_one_process(tmp_path: Path) -> None:
    with own_queue(tmp_path), embedded_worker(target=TARGET, beat=False, grace_s=0.2) as children:
        assert [child.name for child in children] == ["worker"]


def test_a_worker_that_cannot_start_names_its_log(tmp_path: Path) -> None:
    with own_queue(tmp_path):
        with pytest.raises(WorkerDidNotStart, match=r"ended at once .*worker\.log"), embedded_worker(target="no.such.module"):
            pass
        assert "Unable to load celery application" in embedded.log_path().read_text()


def test_an_error_inside_ends_the_worker_too(tmp_path: Path) -> None:
    kept: list[int] = []

    def break_off() -> None:
        with embedded_worker(target=TARGET, beat=False, grace_s=0.2) as children:
            kept.extend(child.process.pid for child in children if child.process)
            raise ZeroDivisionError

    with own_queue(tmp_path), pytest.raises(ZeroDivisionError):
        break_off()
    assert all(gone(pid) for pid in kept)


def test_when_the_starter_is_killed_worker_and_beat_end(tmp_path: Path) -> None:
    with own_queue(tmp_path):
        env = {**os.environ, "DJANGO_SETTINGS_MODULE": "planner.project.settings"}
        starter = subprocess.Popen(
            [sys.executable, "-c", STARTER], cwd=settings.BASE_DIR, env=env, stdout=subprocess.PIPE, text=True
        )
        assert starter.stdout is not None
        pids = [int(text) for text in starter.stdout.readline().split()]
        pool = children_of(pids[0])
        starter.send_signal(signal.SIGKILL)
        starter.wait()
        starter.stdout.close()
        assert len(pids) == 2
        assert wait(lambda: all(gone(pid) for pid in (*pids, *pool))), (tmp_path / "worker.log").read_text()[-2000:]

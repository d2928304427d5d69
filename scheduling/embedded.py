"""A Celery worker (and beat) of our own, for machines where nobody runs one: `serve`, `demo` and `plan` use it.

The solve goes through the queue exactly as in production; only who starts the worker differs.
"""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from celery import current_app as app
from django.conf import settings

PARENT = "LULL_PARENT_PID"
"""Tells a process of ours who must outlive it; planner/project/celery.py looks at it."""
READY_S = 60.0
GRACE_S = 3.0
"""Tasks are safe to break off (runs_recover finds the run), so nobody has to wait for a worker that is slow to end."""
QUIET = ("--without-gossip", "--without-mingle", "--without-heartbeat")
"""One machine needs no chatter between workers; on the queue in files each message of it would be a file."""


class WorkerDidNotStart(RuntimeError):
    """The worker ended, or did not answer in time; the sentence names its log."""


def log_path() -> Path:
    """Where embedded processes write what they have to say."""
    return Path(settings.VAR_DIR) / "worker.log"


def worker_answers(timeout_s: float = 1.0) -> bool:
    """Whether any worker of this queue answers."""
    try:
        return bool(app.control.ping(timeout=timeout_s, limit=1))
    except (OSError, app.connection_for_write().connection_errors):
        return False


@dataclass
class Child:
    """A process of ours in a session of its own, so that its children end with it."""

    name: str
    argv: Sequence[str]
    env: dict[str, str] = field(default_factory=dict)
    process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it, its output appended to the log."""
        env = {**os.environ, **self.env, PARENT: str(os.getpid()), "PYTHONUNBUFFERED": "1"}
        with log_path().open("ab") as log:
            self.process = subprocess.Popen(
                self.argv,
                cwd=settings.BASE_DIR,
                env=env,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )

    def ended(self) -> int | None:
        """Its exit code, or None while it runs."""
        return self.process.poll() if self.process is not None else 0

    def stop(self, grace_s: float = GRACE_S) -> None:
        """Ask it to end, then end it and every child of it; reaped, so no zombie stays."""
        if self.process is None:
            return
        if self.process.poll() is None:
            self.process.terminate()
            with contextlib.suppress(subprocess.TimeoutExpired):
                self.process.wait(grace_s)
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


def worker_child(target: str = "planner.project") -> Child:
    """A worker as production runs it."""
    node = f"lull-{os.getpid()}@%h"
    return Child("worker", [sys.executable, "-m", "celery", "-A", target, "worker", "-n", node, "-l", "INFO", *QUIET])


def beat_child(target: str = "planner.project") -> Child:
    """The clock that sends the sweeps. Its schedule file is its own, so that two servers do not share one."""
    schedule = f"{settings.CELERY_BEAT_SCHEDULE_FILENAME}-{os.getpid()}"
    pid = ["--pidfile", ""]
    return Child("beat", [sys.executable, "-m", "celery", "-A", target, "beat", "-s", schedule, "-l", "INFO", *pid])


@contextlib.contextmanager
def embedded_worker(*, beat: bool = True, target: str = "planner.project", grace_s: float = GRACE_S) -> Iterator[list[Child]]:
    """Inside the context a worker answers: one that is there already, else one that lives as long as the context.

    Gives the processes started (none if a worker was there). Raises WorkerDidNotStart with one sentence.
    """
    if worker_answers():
        yield []
        return
    children = [worker_child(target), *([beat_child(target)] if beat else [])]
    try:
        for child in children:
            child.start()
        _wait_until_it_answers(children[0])
        _recover()
        yield children
    finally:
        for child in reversed(children):
            child.stop(grace_s)
        _tidy()


def _wait_until_it_answers(worker: Child) -> None:
    deadline = time.monotonic() + READY_S
    while time.monotonic() < deadline:
        if worker_answers(timeout_s=0.6):
            return
        if worker.ended() is not None:
            raise WorkerDidNotStart(f"The worker ended at once (exit code {worker.ended()}): see {log_path()}.")
    raise WorkerDidNotStart(f"The worker did not answer within {READY_S:.0f} s: see {log_path()}.")


def _recover() -> None:
    """Runs left behind by the last worker are taken up now, not at the next sweep."""
    from scheduling.tasks import runs_recover

    runs_recover.delay()


def _tidy() -> None:
    for path in Path(settings.VAR_DIR).glob(f"beat-{os.getpid()}*"):
        path.unlink(missing_ok=True)

"""`manage.py serve`: everything in one go, and everything ended in one go."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import threading
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from scheduling.management.commands import serve
from tests.faults.conftest import gone


@pytest.fixture
def port() -> Iterator[int]:
    """A port that is held by somebody else."""
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        held.listen()
        yield held.getsockname()[1]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def test_a_busy_port_is_one_sentence(port: int) -> None:
    with pytest.raises(CommandError, match=rf"Cannot listen on 127\.0\.0\.1:{port} .*: give another --port"):
        call_command("serve", "--port", str(port))


@pytest.mark.parametrize("port", [0, 65536, -1])
def test_a_port_that_does_not_exist(port: int) -> None:
    with pytest.raises(CommandError, match="does not exist"):
        call_command("serve", port=port)


def test_production_does_not_migrate_by_itself(settings: Any, monkeypatch: pytest.MonkeyPatch, db: None) -> None:
    settings.PRODUCTION = True
    monkeypatch.setattr(serve.MigrationExecutor, "migration_plan", lambda *_: ["one"])
    with pytest.raises(CommandError, match=r"run `manage\.py migrate` first"):
        call_command("serve", port=free_port())


@pytest.mark.worker
def test_web_worker_and_beat_start_from_nothing_and_end_together(tmp_path: Path) -> None:
    """A fresh folder, no environment: SQLite and the queue in files."""
    left_out = {"DATABASE_URL", "REDIS_URL", "LULL_PRODUCTION"}
    env = {name: value for name, value in os.environ.items() if name not in left_out} | {"LULL_VAR_DIR": str(tmp_path)}
    number = free_port()
    argv = [sys.executable, "-u", "manage.py", "serve", "--port", str(number)]
    started = subprocess.Popen(argv, cwd=settings.BASE_DIR, env=env, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    try:
        assert started.stdout is not None
        told = started.stdout.readline()
        assert re.search(rf"http://127\.0\.0\.1:{number}/ .*worker: started here .*log: {tmp_path}", told), told
        children = [int(pid) for pid in Path(f"/proc/{started.pid}/task/{started.pid}/children").read_text().split()]
        assert len(children) == 3
        assert status(f"http://127.0.0.1:{number}/admin/login/") == 200
    finally:
        started.send_signal(signal.SIGTERM)
        rest, _ = started.communicate(timeout=60)
    assert (started.returncode, rest.strip()) == (0, "Ended.")
    assert all(gone(pid) for pid in children)


def status(url: str) -> int:
    """The answer's status; the server may still be starting."""
    pause = threading.Event()
    for _ in range(200):
        try:
            with urllib.request.urlopen(url, timeout=20) as answer:
                return int(answer.status)
        except urllib.error.HTTPError as error:
            return error.code
        except urllib.error.URLError:
            pause.wait(0.1)
    return 0

"""manage.py serve: web, worker and beat in one go, for one machine. Ctrl-C or SIGTERM ends them all."""

from __future__ import annotations

import contextlib
import signal
import socket
import sys
import time
from argparse import ArgumentParser
from collections.abc import Iterator
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from scheduling.embedded import Child, WorkerDidNotStart, embedded_worker, log_path, worker_answers

TRIES, LOOK_S = 5, 0.5
ENDING = (signal.SIGINT, signal.SIGTERM)


class Command(BaseCommand):
    help = "Run Lull on this machine: the web server, a worker and the clock of the sweeps."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Where to listen."""
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--no-worker", action="store_true", help="web only; a worker runs elsewhere")

    def handle(self, *args: Any, **options: Any) -> None:
        """Start all, say where, wait, end all."""
        host, port = options["host"], options["port"]
        _refuse_busy(host, port)
        _migrate()
        for number in ENDING:
            signal.signal(number, _interrupt)
        web = web_child(host, port)
        worker = _no_worker() if options["no_worker"] else embedded_worker()
        try:
            with worker as children, _running(web):
                self._say(host, port, children, options["no_worker"])
                _look_after([web, *children], self.stdout.write)
        except KeyboardInterrupt:
            self.stdout.write("Ended.")
        except WorkerDidNotStart as error:
            raise CommandError(str(error)) from None

    def _say(self, host: str, port: int, children: list[Child], no_worker: bool) -> None:
        own = "started here" if children else "not started here (--no-worker)" if no_worker else "one was running already"
        self.stdout.write(f"Lull is at http://{host}:{port}/   worker: {own}   log: {log_path()}   Ctrl-C ends it.")
        self.stdout.flush()
        if no_worker and not worker_answers():
            self.stdout.write("No worker answers yet: plans wait in the queue until one is started.")


def web_child(host: str, port: int) -> Child:
    """gunicorn with threads: one process fits SQLite, and pages that watch a run do not block the others."""
    argv = [sys.executable, "-m", "gunicorn", "planner.project.wsgi", "--bind", f"{host}:{port}", "--workers", "1"]
    return Child("web server", [*argv, "--threads", "8", "--timeout", "120", "--graceful-timeout", "5", "--preload"])


@contextlib.contextmanager
def _no_worker() -> Iterator[list[Child]]:
    yield []


@contextlib.contextmanager
def _running(web: Child) -> Iterator[None]:
    web.start()
    try:
        yield
    finally:
        web.stop()


def _refuse_busy(host: str, port: int) -> None:
    if not 0 < port < 65536:
        raise CommandError(f"Port {port} does not exist: give one from 1 to 65535.")
    with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise CommandError(f"Cannot listen on {host}:{port} ({error.strerror}): give another --port or --host.") from None


def _migrate() -> None:
    """Bring the database up to date; in production that is a step of its own, taken with a backup."""
    executor = MigrationExecutor(connection)
    if not executor.migration_plan(executor.loader.graph.leaf_nodes()):
        return
    if settings.PRODUCTION:
        raise CommandError("The database is behind the program: back it up and run `manage.py migrate` first.")
    call_command("migrate", verbosity=0)


def _interrupt(number: int, frame: Any) -> None:
    """The first signal ends all; a second one must not leave half of it running."""
    for each in ENDING:
        signal.signal(each, signal.SIG_IGN)
    raise KeyboardInterrupt


def _look_after(children: list[Child], say: Any) -> None:
    """Until interrupted: start again what ended by itself, a few times."""
    tries = dict.fromkeys((child.name for child in children), 0)
    while True:
        time.sleep(LOOK_S)
        for child in children:
            if child.ended() is None:
                continue
            tries[child.name] += 1
            if tries[child.name] > TRIES:
                raise CommandError(f"The {child.name} ended {TRIES} times: see {log_path()}.")
            say(f"The {child.name} ended (exit code {child.ended()}) and is started again.")
            child.stop()
            child.start()

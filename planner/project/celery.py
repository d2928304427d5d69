"""The Celery application. `celery -A planner.project worker` finds it through planner/project/__init__.py."""

from __future__ import annotations

import os
import signal
import threading
import time

from celery import Celery
from kombu.transport import TRANSPORT_ALIASES

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "planner.project.settings")
TRANSPORT_ALIASES["filesystem"] = "planner.project.filequeue:Transport"
PARENT = "LULL_PARENT_PID"
"""Set by scheduling/embedded.py for its own worker, beat and web server: the process that these must not outlive."""

app = Celery("lull")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()


def end_with_parent() -> None:
    """A process whose starter was killed ends too, instead of running on unseen. For the starter's own child only."""
    if os.environ.get(PARENT) == str(os.getppid()):
        threading.Thread(target=_watch, args=(os.getppid(), os.getpid()), daemon=True).start()


def _watch(parent: int, own: int) -> None:
    while os.getppid() == parent:
        time.sleep(0.5)
    os.kill(own, signal.SIGTERM)


end_with_parent()

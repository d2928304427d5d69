"""The Celery application. `celery -A planner.project worker` finds it through planner/project/__init__.py."""

from __future__ import annotations

import os
import signal
import threading
import time
from typing import Any

from celery import Celery
from celery.signals import beat_init, celeryd_init
from kombu.transport import TRANSPORT_ALIASES

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "planner.project.settings")
TRANSPORT_ALIASES["filesystem"] = "planner.project.filequeue:Transport"
PARENT = "LULL_PARENT_PID"
"""Set by whoever starts a worker or beat of its own: the process that must not outlive it."""

app = Celery("lull")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()


@celeryd_init.connect
@beat_init.connect
def end_with_parent(**_: Any) -> None:
    """An embedded worker whose starter was killed ends too, instead of running on unseen."""
    if os.environ.get(PARENT):
        threading.Thread(target=_watch_parent, args=(int(os.environ[PARENT]), os.getpid()), daemon=True).start()


def _watch_parent(parent: int, own: int) -> None:
    while os.getppid() == parent:
        time.sleep(0.5)
    os.kill(own, signal.SIGTERM)

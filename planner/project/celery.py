"""The Celery application. `celery -A planner.project worker` finds it through planner/project/__init__.py."""

from __future__ import annotations

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "planner.project.settings")

app = Celery("lull")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()

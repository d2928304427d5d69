"""Contradictions between settings, found at start-up (`manage.py check`), each with an id that stays."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, Warning, register


@register()
def limits_in_order(app_configs: Sequence[Any] | None, **_: Any) -> list[CheckMessage]:
    """Solver limit < soft limit < hard limit < redelivery; otherwise a solve is cut off, or started twice."""
    s = settings
    redeliver = s.CELERY_BROKER_TRANSPORT_OPTIONS.get("visibility_timeout")
    steps = [
        ("E001", "LULL_SOLVE_LIMIT_S", s.SOLVE_LIMIT_S, "LULL_TASK_SOFT_LIMIT_S", s.CELERY_TASK_SOFT_TIME_LIMIT),
        ("E002", "LULL_TASK_SOFT_LIMIT_S", s.CELERY_TASK_SOFT_TIME_LIMIT, "LULL_TASK_HARD_LIMIT_S", s.CELERY_TASK_TIME_LIMIT),
        ("E005", "LULL_QUESTION_LIMIT_S", s.QUESTION_LIMIT_S, "LULL_TASK_SOFT_LIMIT_S", s.CELERY_TASK_SOFT_TIME_LIMIT),
    ]
    if redeliver is not None:
        steps.append(("E003", "LULL_TASK_HARD_LIMIT_S", s.CELERY_TASK_TIME_LIMIT, "LULL_REDELIVER_AFTER_S", int(str(redeliver))))
    return [
        Error(f"{low} is {low_s} s, not below {high} ({high_s} s).", hint=f"Lower {low} or raise {high}.", id=f"lull.{code}")
        for code, low, low_s, high, high_s in steps
        if not low_s < high_s
    ]


@register(Tags.security)
def production_is_closed(app_configs: Sequence[Any] | None, **_: Any) -> list[CheckMessage]:
    """Debug pages show settings and rows to whoever finds an error."""
    if not (settings.PRODUCTION and settings.DEBUG):
        return []
    return [Error("LULL_DEBUG is on in production.", hint="Unset LULL_DEBUG or LULL_PRODUCTION.", id="lull.E004")]


@register()
def database_fits(app_configs: Sequence[Any] | None, **_: Any) -> list[CheckMessage]:
    """SQLite is one file on one machine: no workers elsewhere, few writers."""
    if not settings.DATABASES["default"]["ENGINE"].endswith("sqlite3"):
        return []
    found: list[CheckMessage] = []
    hint = "Set DATABASE_URL to a PostgreSQL database."
    if settings.REDIS_URL:
        text = "REDIS_URL is set with SQLite: workers on other machines would not see this machine's database."
        found.append(Warning(text, hint=hint, id="lull.W001"))
    if settings.PRODUCTION:
        found.append(Warning("Production runs on SQLite.", hint=hint, id="lull.W002"))
    return found


@register()
def queue_fits(app_configs: Sequence[Any] | None, **_: Any) -> list[CheckMessage]:
    """The queue in files serves one machine only."""
    if settings.REDIS_URL or not settings.PRODUCTION:
        return []
    text = "Production has no REDIS_URL: the queue is a folder, which only workers of this machine can read."
    return [Warning(text, hint="Set REDIS_URL, or keep web and worker on one machine.", id="lull.W003")]

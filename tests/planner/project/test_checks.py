"""Contradicting settings are found, each under an id that stays."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.core.checks import CheckMessage
from django.core.checks.registry import registry

from planner.project import checks

REDELIVER = {"visibility_timeout": 3600}
SQLITE = {"default": {"ENGINE": "django.db.backends.sqlite3", "NAME": ":memory:"}}
POSTGRES = {"default": {"ENGINE": "django.db.backends.postgresql", "NAME": "x"}}
SOUND = {
    "SOLVE_LIMIT_S": 60,
    "CELERY_TASK_SOFT_TIME_LIMIT": 1800,
    "CELERY_TASK_TIME_LIMIT": 1920,
    "CELERY_BROKER_TRANSPORT_OPTIONS": REDELIVER,
    "PRODUCTION": False,
    "DEBUG": False,
    "REDIS_URL": "",
}


def ours() -> list[Callable[..., list[CheckMessage]]]:
    """What `manage.py check` runs of ours: the registered functions, so that an unregistered one fails here."""
    return [check for check in registry.get_checks() if check.__module__ == checks.__name__]


def found(settings: object, **changed: object) -> set[str]:
    """Ids of our checks under these settings. The databases themselves are not touched."""
    databases = changed.pop("DATABASES", SQLITE)
    for name, value in {**SOUND, **changed}.items():
        setattr(settings, name, value)
    settings.DATABASES["default"]["ENGINE"], kept = databases["default"]["ENGINE"], settings.DATABASES["default"]["ENGINE"]
    try:
        return {str(message.id) for check in ours() for message in check(app_configs=None)}
    finally:
        settings.DATABASES["default"]["ENGINE"] = kept


def test_sound_settings_say_nothing(settings: object) -> None:
    assert found(settings) == set()


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"SOLVE_LIMIT_S": 1800}, "lull.E001"),
        ({"CELERY_TASK_SOFT_TIME_LIMIT": 1920}, "lull.E002"),
        ({"CELERY_BROKER_TRANSPORT_OPTIONS": {"visibility_timeout": 1920}}, "lull.E003"),
        ({"PRODUCTION": True, "DEBUG": True, "DATABASES": POSTGRES, "REDIS_URL": "redis://x"}, "lull.E004"),
        ({"QUESTION_LIMIT_S": 1800}, "lull.E005"),
        ({"REDIS_URL": "redis://x"}, "lull.W001"),
        ({"PRODUCTION": True, "REDIS_URL": "redis://x", "DATABASES": SQLITE}, "lull.W002"),
        ({"PRODUCTION": True, "DATABASES": POSTGRES}, "lull.W003"),
    ],
)
def test_each_contradiction_has_its_id(settings: object, changed: dict[str, object], code: str) -> None:
    assert code in found(settings, **changed)


def test_a_limit_equal_to_the_next_one_is_too_high(settings: object) -> None:
    assert "lull.E001" in found(settings, SOLVE_LIMIT_S=1800)
    assert "lull.E001" not in found(settings, SOLVE_LIMIT_S=1799)


def test_the_queue_in_files_has_no_redelivery_to_check(settings: object) -> None:
    assert found(settings, CELERY_BROKER_TRANSPORT_OPTIONS={}) == set()

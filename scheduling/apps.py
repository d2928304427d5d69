from __future__ import annotations

from django.apps import AppConfig


class SchedulingConfig(AppConfig):
    """When, and by whom."""

    name = "scheduling"
    verbose_name = "Plans and weather"

from __future__ import annotations

from django.apps import AppConfig


class SchedulingConfig(AppConfig):
    """When, and by whom."""

    name = "scheduling"
    verbose_name = "Plans and weather"

    def ready(self) -> None:
        """State whose rows are whose, whichever door is opened first."""
        from scheduling.selectors import scopes  # noqa: F401

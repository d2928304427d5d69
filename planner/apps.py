from __future__ import annotations

from django.apps import AppConfig


class PlannerConfig(AppConfig):
    """What stands, what it needs, who can do it, what falls due."""

    name = "planner"
    verbose_name = "Register"

    def ready(self) -> None:
        """State whose rows are whose, whichever door is opened first."""
        from planner.selectors import scopes  # noqa: F401

from __future__ import annotations

from django.apps import AppConfig


class WorkordersConfig(AppConfig):
    """An order's life, from raised to accepted."""

    name = "workorders"
    verbose_name = "Orders"

    def ready(self) -> None:
        """State whose rows are whose, whichever door is opened first."""
        from workorders.selectors import scopes  # noqa: F401

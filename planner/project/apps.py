"""The admin site that carries Lull's name and its work pages."""

from __future__ import annotations

from django.contrib.admin.apps import AdminConfig


class LullAdminConfig(AdminConfig):
    """Django's own admin with our site class."""

    default_site = "planner.project.adminsite.LullAdminSite"

    def ready(self) -> None:
        """Register the system checks of the settings."""
        super().ready()
        from planner.project import checks  # noqa: F401

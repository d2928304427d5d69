"""Runs."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.urls import reverse

from planner.admin.base import PlainAdmin, ReadOnly, ScopedFilter, WorkPage
from planner.views.formats import moment
from scheduling.models import Run
from scheduling.selectors.plans import BULKY


@admin.register(Run)
class RunAdmin(WorkPage, ReadOnly, PlainAdmin):
    """Every solve: asked for and stopped on its work page. The problem and the plan stay in the database (see the API)."""

    joins = ("base", "asked_by")
    unloaded = BULKY
    list_display = (
        "id", "kind", "base", "first_day", "days", "state", "value", "bound", "gap", "seconds", "asked", "asked_by", "work_page",
    )  # fmt: skip
    list_filter = ("kind", "state", ("base", ScopedFilter))
    search_fields = ("base__name", "text", "status", "asked_by__username")
    date_hierarchy = "first_day"
    fields = (
        "base", "fleet", "kind", "state", "text", "first_day", "days", "seed", "params", "versions", "status", "value", "bound",
        "gap", "seconds", "attempt", "stop_asked", "asked_by", "asked_at", "started_at", "beat_at", "ended_at", "error",
    )  # fmt: skip

    def page_of(self, row: Run) -> str:
        """Fortnight or Year."""
        return f"{reverse(row.kind)}?base={row.base_id}"

    @admin.display(ordering="asked_at")
    def asked(self, row: Run) -> Any:
        """In the base's zone."""
        return moment(row.asked_at, row.base.zone)

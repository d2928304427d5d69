"""Fleets."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.urls import reverse
from django.utils.html import format_html, format_html_join

from planner.admin.base import Cautioned, PlainAdmin, ReadOnly, WorkPage
from scheduling.models import Fleet


@admin.register(Fleet)
class FleetAdmin(Cautioned, WorkPage, ReadOnly, PlainAdmin):
    """Many bases' fortnights begun together; begun, watched and stopped on their work page. The parts stand among the runs."""

    joins = ("asked_by",)
    unloaded = ("outcome",)
    list_display = ("id", "first_day", "days", "state", "text", "asked_at", "asked_by", "ended_at", "work_page")
    list_filter = ("state",)
    search_fields = ("text", "asked_by__username")
    date_hierarchy = "first_day"
    fields = (
        "state", "text", "first_day", "days", "seed", "params", "in_turn", "shared", "clashing", "stop_asked", "asked_by",
        "asked_at", "ended_at",
    )  # fmt: skip
    readonly_fields = ("in_turn", "clashing")

    def page_of(self, row: Fleet) -> str:
        """Its own page."""
        return f"{reverse('fleet')}?fleet={row.pk}"

    @admin.display(description="planned one after the other")
    def in_turn(self, row: Fleet) -> Any:
        """Bases in their order, and what they share."""
        lines = ((", ".join(one["bases"]), ", ".join(one["by"])) for one in row.joined_by)
        return format_html("<ul>{}</ul>", format_html_join("", "<li>{} (share {})</li>", lines)) if row.joined_by else "none"

    @admin.display(description="used twice")
    def clashing(self, row: Fleet) -> Any:
        """Each in a sentence."""
        lines = format_html_join("", "<li>{}</li>", ((one,) for one in row.clashes))
        return format_html("<ul>{}</ul>", lines) if row.clashes else "nothing"

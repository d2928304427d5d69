"""What stays were called, and what became of them."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.utils.html import format_html, format_html_join

from planner.admin.base import PlainAdmin, ReadOnly, ScopedFilter
from planner.views.formats import chance, moment
from scheduling.admin.plans import OnPlan, instant
from scheduling.models import StayCall


@admin.register(StayCall)
class StayCallAdmin(OnPlan, ReadOnly, PlainAdmin):
    """Calls of stays, as they were said. A call of the past says nothing about now."""

    joins = ("visit__plan", "visit__turbine__site", "site", "forecast__site")
    unloaded = ("visit__plan__left_out", "visit__plan__parts", "forecast__data", "forecast__about")
    list_display = ("of_visit", "site", "issued", "lead_h", "said_chance", "go", "fitted", "why", "work_page")
    list_filter = (("site", ScopedFilter), "go", "fitted")
    search_fields = ("visit__turbine__code", "visit__jobs__order__number")
    date_hierarchy = "starts_at"
    fields = (
        "visit", "site", "issued", "starts", "ends", "lead_h", "said_chance", "go", "limits", "said", "fitted", "scored",
        "outcome", "forecast",
    )  # fmt: skip
    readonly_fields = ("issued", "starts", "ends", "said_chance", "said", "scored", "outcome")
    issued = instant("issued_at", "forecast issued")
    starts = instant("starts_at", "starts")
    ends = instant("ends_at", "ends")

    @admin.display(description="chance", ordering="chance")
    def said_chance(self, row: StayCall) -> str:
        """When it was said."""
        return chance(row.chance)

    @admin.display(description="scored", ordering="scored_at")
    def scored(self, row: StayCall) -> str:
        """In the site's zone."""
        return moment(row.scored_at, row.site.zone) if row.scored_at else "not yet"

    @admin.display(description="not known because")
    def why(self, row: StayCall) -> str:
        """What a stay without an outcome lacks."""
        return str(_measured(row).get("why", ""))

    @admin.display(description="what bound it")
    def said(self, row: StayCall) -> str:
        """What was said beside the chance."""
        return str(row.about.get("binds", "")) or "nothing"

    @admin.display(description="what was measured")
    def outcome(self, row: StayCall) -> str:
        """Limit by limit."""
        told = _measured(row)
        lines = [*told.get("judged", []), *(f"{name}: not measured" for name in told.get("left_out", []))]
        return format_html("<ul>{}</ul>", format_html_join("", "<li>{}</li>", ((line,) for line in lines)))


def _measured(row: StayCall) -> dict[str, Any]:
    return dict(row.about.get("measured", {}))

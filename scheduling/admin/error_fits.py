"""How far off a site's forecasts were."""

from __future__ import annotations

from typing import Any

from django.contrib import admin

from planner.admin.base import NoAdd, PlainAdmin, ScopedFilter
from scheduling.models import ErrorFit
from scheduling.selectors.forecast_error import fit_text


@admin.register(ErrorFit)
class ErrorFitAdmin(NoAdd, PlainAdmin):
    """What fits found. They are made by the service; here one is taken out of use, or into it again."""

    joins = ("site",)
    list_display = ("site", "fitted_at", "first_issue", "last_issue", "forecasts", "pairs", "in_use")
    list_filter = (("site", ScopedFilter), "in_use")
    search_fields = ("site__code", "site__name")
    date_hierarchy = "fitted_at"
    fields = ("site", "fitted_at", "told", "in_use", "model")
    readonly_fields = ("site", "fitted_at", "told", "model")

    @admin.display(description="rests on")
    def told(self, row: ErrorFit) -> Any:
        """In a line."""
        return fit_text(row)

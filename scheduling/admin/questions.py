"""Questions about plans."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.urls import reverse

from planner.admin.base import PlainAdmin, ReadOnly, ScopedFilter, WorkPage
from planner.views.formats import moment
from scheduling.models import PlanQuestion


@admin.register(PlanQuestion)
class PlanQuestionAdmin(WorkPage, ReadOnly, PlainAdmin):
    """What was asked of plans; asked and answered on the Fortnight page."""

    joins = ("plan__base", "asked_by")
    unloaded = ("answer", "plan__left_out")
    list_display = ("id", "plan", "kind", "order_number", "visit", "state", "asked", "asked_by", "work_page")
    list_filter = ("kind", "state", ("plan__base", ScopedFilter))
    search_fields = ("order_number", "text", "asked_by__username")
    fields = (
        "plan", "kind", "order_number", "visit", "state", "tried", "to_try", "text", "attempt", "asked_by", "asked_at", "beat_at",
        "ended_at",
    )  # fmt: skip

    def page_of(self, row: PlanQuestion) -> str:
        """The plan on the Fortnight page."""
        return f"{reverse('fortnight')}?base={row.plan.base_id}&plan={row.plan_id}"

    @admin.display(ordering="asked_at")
    def asked(self, row: PlanQuestion) -> Any:
        """In the base's zone."""
        return moment(row.asked_at, row.plan.base.zone)

"""Moves and step results: read, never typed."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.urls import reverse

from planner.admin.base import PlainAdmin, ReadOnly, RowAdmin, ScopedFilter, WorkPage
from workorders.models import OrderMove, StepResult


class OrderPage(WorkPage):
    """Rows that stand on their order's page."""

    def page_of(self, row: Any) -> str:
        """The order's page."""
        return reverse("order", args=[row.order_id])


@admin.register(OrderMove)
class OrderMoveAdmin(OrderPage, ReadOnly, PlainAdmin):
    """Every move of every order."""

    joins = ("order__turbine__site", "by")
    list_display = ("order", "at", "name", "source", "target", "by", "note", "work_page")
    list_filter = ("name", ("order__turbine__site", ScopedFilter))
    search_fields = ("order__number", "order__turbine__code", "note")
    date_hierarchy = "at"


@admin.register(StepResult)
class StepResultAdmin(OrderPage, ReadOnly, RowAdmin):
    """Every answer to every step."""

    joins = ("order__turbine__site", "step", "by")
    list_display = ("order", "step", "value", "unit", "text", "by", "at", "work_page")
    list_filter = ("step__kind", ("order__turbine__site", ScopedFilter))
    search_fields = ("order__number", "order__turbine__code", "step__text", "text")
    date_hierarchy = "at"

    @admin.display
    def unit(self, row: StepResult) -> str:
        """Of the step."""
        return row.step.unit

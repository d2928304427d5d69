"""Rounds."""

from __future__ import annotations

from django.contrib import admin
from django.urls import reverse

from planner.admin.base import OnTurbine, PlainAdmin, ReadOnly, ScopedFilter, WorkPage
from scheduling.models import Round, RoundItem
from scheduling.selectors.plans import BULKY


@admin.register(Round)
class RoundAdmin(WorkPage, ReadOnly, PlainAdmin):
    """A year's round; its weeks stand on the Year page."""

    joins = ("base", "run")
    unloaded = ("about", *(f"run__{name}" for name in BULKY))
    list_display = ("id", "base", "state", "first_day", "last_day", "run", "created_at", "work_page")
    list_filter = ("state", ("base", ScopedFilter))
    search_fields = ("base__name",)
    date_hierarchy = "first_day"
    fields = ("base", "run", "state", "first_day", "last_day", "created_at")

    def page_of(self, row: Round) -> str:
        """The Year page of the base."""
        return f"{reverse('year')}?base={row.base_id}"


@admin.register(RoundItem)
class RoundItemAdmin(OnTurbine, WorkPage, ReadOnly, PlainAdmin):
    """Every item of every round, of the caller's sites."""

    joins = ("round", "turbine__site", "component__kind", "interval")
    unloaded = ("round__about",)
    list_display = ("turbine", "site", "component", "interval", "due_on", "closes_on", "week", "reason", "work_page")
    list_filter = (("turbine__site", ScopedFilter), ("week", admin.EmptyFieldListFilter), "round__state")
    search_fields = ("turbine__code", "interval__code", "reason")
    date_hierarchy = "due_on"

    def page_of(self, row: RoundItem) -> str:
        """The Year page of the base."""
        return f"{reverse('year')}?base={row.round.base_id}"

"""What is held, with its history. Locks are set and released on the Fortnight page or over the API."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.urls import reverse

from planner.admin.base import ReadOnly, RowAdmin, ScopedFilter, WorkPage
from scheduling.models import FrozenDay, Lock


class OnBase(WorkPage):
    """Rows that stand on a base's Fortnight page."""

    def page_of(self, row: Any) -> str:
        """The Fortnight page of the base."""
        return f"{reverse('fortnight')}?base={row.base_id}"


@admin.register(Lock)
class LockAdmin(OnBase, ReadOnly, RowAdmin):
    """Locks of orders of the caller's sites."""

    joins = ("base", "order__turbine__site", "by", "released_by")
    list_display = ("order", "kind", "number", "first_day", "last_day", "reason", "by", "made_at", "released_at", "work_page")
    list_filter = ("kind", ("base", ScopedFilter), ("released_at", admin.EmptyFieldListFilter))
    search_fields = ("order__number", "reason", "by__username")
    date_hierarchy = "made_at"
    fields = (
        "base", "order", "kind", "number", "first_day", "last_day", "starts_at", "named", "reason", "by", "made_at",
        "released_at", "released_by",
    )  # fmt: skip
    readonly_fields = ("named",)

    @admin.display(description="people")
    def named(self, row: Lock) -> str:
        """Who is named."""
        return ", ".join(person.name for person in row.people.all())


@admin.register(FrozenDay)
class FrozenDayAdmin(OnBase, ReadOnly, RowAdmin):
    """Frozen days of the caller's bases."""

    joins = ("base", "by", "released_by")
    list_display = ("base", "day", "reason", "by", "made_at", "released_at", "work_page")
    list_filter = (("base", ScopedFilter), ("released_at", admin.EmptyFieldListFilter))
    search_fields = ("base__name", "reason", "by__username")
    date_hierarchy = "day"
    fields = ("base", "day", "reason", "by", "made_at", "released_at", "released_by")

"""Who works with whom, hire periods, on-call duty and call-outs."""

from __future__ import annotations

from django.contrib import admin

from planner.admin.base import RowAdmin, ScopedFilter
from planner.models import CallOut, HirePeriod, OnCall, Pair


@admin.register(Pair)
class PairAdmin(RowAdmin):
    """Pairs of technicians of the caller's bases."""

    joins = ("first__base", "second__base")
    list_display = ("first", "second", "kind", "reason", "from_day", "until_day")
    list_filter = ("kind", ("first__base", ScopedFilter))
    search_fields = ("first__name", "second__name", "reason")
    autocomplete_fields = ("first", "second")


@admin.register(HirePeriod)
class HirePeriodAdmin(RowAdmin):
    """When hired people are there. A hired person without any period is never planned."""

    joins = ("technician__base",)
    list_display = ("technician", "first_day", "last_day", "day_cost", "note")
    list_filter = (("technician__base", ScopedFilter),)
    search_fields = ("technician__name", "note")
    date_hierarchy = "first_day"
    autocomplete_fields = ("technician",)


@admin.register(OnCall)
class OnCallAdmin(RowAdmin):
    """Who is on call: no overtime on those days."""

    joins = ("technician__base",)
    list_display = ("technician", "first_day", "last_day")
    list_filter = (("technician__base", ScopedFilter),)
    search_fields = ("technician__name",)
    date_hierarchy = "first_day"
    autocomplete_fields = ("technician",)


@admin.register(CallOut)
class CallOutAdmin(RowAdmin):
    """Call-outs: the daily rest runs from their end."""

    joins = ("technician__base",)
    list_display = ("technician", "ended_at", "note")
    list_filter = (("technician__base", ScopedFilter),)
    search_fields = ("technician__name", "note")
    date_hierarchy = "ended_at"
    autocomplete_fields = ("technician",)

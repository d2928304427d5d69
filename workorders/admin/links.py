"""Orders that come after others."""

from __future__ import annotations

from typing import Any

from django.contrib import admin

from planner.admin.base import RowAdmin, ScopedFilter
from planner.admin.forms import RowForm
from planner.rest.caller import LEADS
from workorders.models import OrderLink
from workorders.services.links import link_check


class LinkForm(RowForm):
    """Asks the other links too."""

    def judge(self, row: Any) -> None:
        """No rings, one base."""
        link_check(row)


@admin.register(OrderLink)
class OrderLinkAdmin(RowAdmin):
    """Which order comes after which, for the orders of the caller's sites."""

    write_roles = LEADS
    form = LinkForm
    joins = ("earlier__turbine__site", "later__turbine__site")
    list_display = ("later", "earlier", "least_gap_h")
    list_filter = (("later__turbine__site", ScopedFilter), "later__state")
    search_fields = ("later__number", "earlier__number")
    autocomplete_fields = ("earlier", "later")

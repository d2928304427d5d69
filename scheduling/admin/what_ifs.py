"""What-ifs."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.urls import reverse
from django.utils.html import format_html, format_html_join

from planner.admin.base import Cautioned, ReadOnly, RowAdmin, ScopedFilter, WorkPage
from planner.views.formats import moment
from scheduling.models import WhatIf
from scheduling.selectors.what_ifs import BULKY


@admin.register(WhatIf)
class WhatIfAdmin(Cautioned, WorkPage, ReadOnly, RowAdmin):
    """What was tried, with its history: made, changed, solved and ended on its work page."""

    joins = ("base", "by")
    unloaded = BULKY
    list_display = ("name", "base", "state", "first_day", "days", "made", "by", "work_page")
    list_filter = ("state", ("base", ScopedFilter))
    search_fields = ("name", "note", "base__name", "by__username")
    date_hierarchy = "first_day"
    fields = ("name", "base", "state", "note", "first_day", "days", "tried", "result", "by", "made")
    readonly_fields = ("tried", "made")

    def page_of(self, row: WhatIf) -> str:
        """What if."""
        return f"{reverse('what-if')}?base={row.base_id}&what_if={row.pk}"

    @admin.display(ordering="created_at")
    def made(self, row: WhatIf) -> str:
        """In the base's zone."""
        return moment(row.created_at, row.base.zone)

    @admin.display(description="changes")
    def tried(self, row: WhatIf) -> Any:
        """Each in a sentence."""
        lines = format_html_join("", "<li>{}</li>", ((one["said"],) for one in row.told))
        return format_html("<ul>{}</ul>", lines) if row.told else "none"

"""What orders wait for."""

from __future__ import annotations

from typing import Any

from django.contrib import admin

from planner.admin.base import ReadOnly, RowAdmin, ScopedFilter, ServiceAdd
from planner.admin.forms import ServiceForm
from planner.rest.caller import CREW, LEADS, caller_of
from workorders.admin.moves import carry_out
from workorders.admin.story import OrderPage
from workorders.models import Hold
from workorders.services.holds import hold_clear, hold_set


class HoldForm(ServiceForm):
    """A hold on an order that is not finished."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["since"].required = False
        self.fields["since"].help_text = "Empty: today at the site."

    def carry_out(self, given: dict[str, Any]) -> Hold:
        """Through the service."""
        return hold_set(by=self.by, **given)


@admin.register(Hold)
class HoldAdmin(ServiceAdd, OrderPage, ReadOnly, RowAdmin):
    """Holds are set here and cleared by the action above the list; one that was wrong is cleared and set anew."""

    write_roles = CREW
    add_form = HoldForm
    add_fields = ("order", "kind", "reason", "since", "expected_until")
    joins = ("order__turbine__site",)
    list_display = ("order", "turbine", "kind", "reason", "since", "expected_until", "cleared_on", "work_page")
    list_filter = ("kind", ("cleared_on", admin.EmptyFieldListFilter), ("order__turbine__site", ScopedFilter))
    search_fields = ("order__number", "order__turbine__code", "reason")
    date_hierarchy = "since"
    autocomplete_fields = ("order",)
    actions = ("clear",)

    def has_add_permission(self, request: Any, obj: Any = None) -> bool:
        """The crew."""
        return RowAdmin.has_add_permission(self, request, obj)

    def has_clear_permission(self, request: Any) -> bool:
        """Planners and leads."""
        return caller_of(request).has_any(LEADS)

    @admin.action(description="Clear the chosen holds, as of today", permissions=["clear"])
    def clear(self, request: Any, queryset: Any) -> None:
        """Through the service."""
        carry_out(request, queryset, "cleared", lambda hold: hold_clear(hold=hold, by=request.user))

    @admin.display(ordering="order__turbine__code")
    def turbine(self, row: Hold) -> str:
        """Of the order."""
        return str(row.order.turbine)

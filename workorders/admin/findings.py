"""What was found up there."""

from __future__ import annotations

from typing import Any

from django.contrib import admin

from planner.admin.base import ReadOnly, RowAdmin, ScopedFilter, ServiceAdd
from planner.admin.forms import ServiceForm
from planner.rest.caller import CREW, LEADS, caller_of
from workorders.admin.moves import carry_out
from workorders.admin.story import OrderPage
from workorders.models import Finding
from workorders.services.findings import finding_raise_order, finding_record


class FindingForm(ServiceForm):
    """A finding on the turbine of an order."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["found_on"].required = False
        self.fields["found_on"].help_text = "Empty: today at the site."

    def carry_out(self, given: dict[str, Any]) -> Finding:
        """Through the service."""
        return finding_record(by=self.by, **given)


@admin.register(Finding)
class FindingAdmin(ServiceAdd, OrderPage, ReadOnly, RowAdmin):
    """Findings are recorded here and raise their order by the action above the list."""

    write_roles = CREW
    add_form = FindingForm
    add_fields = ("order", "severity", "within_days", "text", "component", "found_on", "procedure")
    joins = ("order__turbine__site", "component__kind", "procedure", "raised_order")
    list_display = ("found_on", "order", "turbine", "severity", "within_days", "text", "component", "raised_order", "work_page")
    list_filter = ("severity", ("raised_order", admin.EmptyFieldListFilter), ("order__turbine__site", ScopedFilter))
    search_fields = ("order__number", "order__turbine__code", "text")
    date_hierarchy = "found_on"
    autocomplete_fields = ("order", "procedure")
    raw_id_fields = ("component",)
    actions = ("raise_orders",)

    def has_add_permission(self, request: Any, obj: Any = None) -> bool:
        """The crew."""
        return RowAdmin.has_add_permission(self, request, obj)

    def has_raise_permission(self, request: Any) -> bool:
        """Planners and leads."""
        return caller_of(request).has_any(LEADS)

    @admin.action(description="Raise an order that mends each", permissions=["raise"])
    def raise_orders(self, request: Any, queryset: Any) -> None:
        """Through the service, once each."""
        carry_out(request, queryset, "raised as orders", lambda finding: finding_raise_order(finding=finding, by=request.user))

    @admin.display(ordering="order__turbine__code")
    def turbine(self, row: Finding) -> str:
        """Of the order."""
        return str(row.order.turbine)

"""Orders."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import admin
from django.urls import reverse

from planner.admin.base import Cautioned, OnTurbine, ReadOnly, RowAdmin, RowInline, ScopedFilter, ServiceAdd, WorkPage
from planner.admin.forms import ServiceForm
from planner.rest.caller import LEADS
from workorders.admin.moves import NoteForm, move_actions
from workorders.choices import Klass, Origin
from workorders.models import Finding, Hold, Order, OrderLink, OrderMove, StepResult
from workorders.selectors.orders import open_holds
from workorders.services.orders import order_raise_by_hand

DATES = ("opens_on", "due_on", "closes_on")


class RaiseForm(ServiceForm):
    """An order that no interval asks for."""

    klass = forms.ChoiceField(
        choices=[("", "as the procedure says"), *Klass.choices], required=False, label="Class",
        help_text="What leaving it out costs hangs on it; 'turbine stands' is yours to say.",
    )  # fmt: skip

    def carry_out(self, given: dict[str, Any]) -> Order:
        """Through the service."""
        return order_raise_by_hand(by=self.by, **{**given, "klass": given["klass"] or None})


class ToldInline(ReadOnly, RowInline):
    """What others wrote about the order."""

    def formfield_for_foreignkey(self, db_field: Any, request: Any, **kwargs: Any) -> Any:
        """Nothing is chosen here."""
        return None


class HoldsInline(ToldInline):
    """What it waits for."""

    model = Hold
    fields = ("kind", "reason", "since", "expected_until", "cleared_on")


class EarlierInline(ToldInline):
    """The orders it comes after."""

    model = OrderLink
    fk_name = "later"
    joins = ("earlier", "later")
    fields = ("earlier", "least_gap_h")


class FindingsInline(ToldInline):
    """What was found on it."""

    model = Finding
    fk_name = "order"
    joins = ("component__kind", "raised_order")
    fields = ("severity", "text", "component", "found_on", "raised_order")


class ResultsInline(ToldInline):
    """Answers to its steps."""

    model = StepResult
    joins = ("order", "step", "by")
    fields = ("step", "value", "text", "by", "at")


class MovesInline(ToldInline):
    """Its story."""

    model = OrderMove
    joins = ("order", "by")
    fields = ("at", "name", "source", "target", "by", "note")


@admin.register(Order)
class OrderAdmin(OnTurbine, ServiceAdd, Cautioned, WorkPage, RowAdmin):
    """Orders move by the actions above the list, never by typing a state. Of an order raised from due work the dates stay too."""

    write_roles = LEADS
    add_form = RaiseForm
    add_fields = ("turbine", "component", "procedure", "klass", "due_on", "opens_on", "closes_on", "note")
    action_form = NoteForm
    joins = ("turbine__site", "component__kind", "procedure", "interval", "finished_by")
    list_display = (
        "number", "turbine", "site", "procedure", "state", "due_on", "closes_on", "waits_for", "klass", "component",
        "effort_left_h", "work_page",
    )  # fmt: skip
    list_filter = ("state", "klass", "origin", ("turbine__site", ScopedFilter), ("procedure", ScopedFilter))
    search_fields = ("number", "turbine__code", "procedure__code", "procedure__name", "note")
    date_hierarchy = "due_on"
    autocomplete_fields = ("turbine", "procedure")
    raw_id_fields = ("component",)
    fields = (
        "number", "state", "turbine", "component", "procedure", "interval", "origin", "klass", *DATES, "effort_left_h", "note",
        "raised_at", "done_on", "finished_by",
    )  # fmt: skip
    readonly_fields = tuple(name for name in fields if name not in ("note", *DATES))
    inlines = (HoldsInline, EarlierInline, FindingsInline, ResultsInline, MovesInline)

    def get_queryset(self, request: Any) -> Any:
        """With the holds that are open."""
        return super().get_queryset(request).prefetch_related(open_holds())

    def get_readonly_fields(self, request: Any, obj: Any = None) -> Any:
        """Dates that an interval set are facts of the day on which the order was raised."""
        fixed = super().get_readonly_fields(request, obj)
        return (*fixed, *DATES) if obj is not None and obj.origin == Origin.DUE else fixed

    def get_actions(self, request: Any) -> Any:
        """The moves, and nothing else: an order is withdrawn, not deleted."""
        return move_actions(request)

    def has_delete_permission(self, request: Any, obj: Any = None) -> bool:
        """Nobody."""
        return False

    def page_of(self, row: Order) -> str:
        """The order's own page."""
        return reverse("order", args=[row.pk])

    @admin.display(description="waits for")
    def waits_for(self, row: Order) -> str:
        """Its open holds."""
        holds: list[Hold] = getattr(row, "open_holds", [])
        return ", ".join(hold.get_kind_display() for hold in holds)

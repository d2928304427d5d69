"""Intervals, and the history of work done."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import admin
from django.urls import reverse

from planner.admin.base import OnTurbine, ReadOnly, RowAdmin, ScopedFilter, ServiceAdd, WorkPage
from planner.admin.forms import RowForm, ServiceForm
from planner.choices import Gate, Role
from planner.errors import PlannerError
from planner.models import Interval, WorkDone
from planner.services.access import require_role
from planner.services.register_rules import absorbs_check
from planner.services.work_done import work_done_record


class IntervalForm(RowForm):
    """What a lapse stops is ticked."""

    stops = forms.MultipleChoiceField(choices=Gate.choices, required=False, widget=forms.CheckboxSelectMultiple)

    def judge(self, row: Any) -> None:
        """No ring of intervals that absorb each other."""
        absorbs_check(row, self.cleaned_data.get("absorbs") or ())


@admin.register(Interval)
class IntervalAdmin(RowAdmin):
    """Intervals: shared, but one for a single turbine is its site's."""

    form = IntervalForm
    joins = ("procedure", "turbine_type", "component_kind", "turbine__site")
    list_display = ("code", "procedure", "applies_to", "every", "trigger", "early_days", "late_days", "statutory", "active")
    list_filter = ("statutory", "trigger", "scope", "active", ("turbine_type", ScopedFilter), ("component_kind", ScopedFilter))
    search_fields = ("code", "source", "procedure__code", "procedure__name")
    autocomplete_fields = ("procedure", "turbine", "absorbs")

    @admin.display(description="on")
    def applies_to(self, row: Interval) -> str:
        """The type, the kind of component, or the one turbine."""
        if row.turbine:
            return f"{row.turbine} at {row.turbine.site}"
        named = (row.component_kind, row.turbine_type)
        return " of ".join(str(one) for one in named if one)


class WorkDoneForm(ServiceForm):
    """History from before Lull: what was done, on which day."""

    def carry_out(self, given: dict[str, Any]) -> WorkDone:
        """Through the one writer of history; a day that stands already is said, not passed over."""
        turbine = given["turbine"]
        asset = {name: given[name] for name in ("interval", "turbine", "component", "done_on")}
        require_role(user=self.by, site=turbine.site, roles=(Role.PLANNER,))
        if WorkDone.objects.filter(**asset).exists():
            there = f"{given['interval']} on {turbine} stands for {given['done_on']} already: give another day, or leave it."
            raise PlannerError(there, field="done_on")
        return work_done_record(**asset, due_on=given["due_on"], counter=given["counter"], note=given["note"])


@admin.register(WorkDone)
class WorkDoneAdmin(OnTurbine, ServiceAdd, WorkPage, ReadOnly, RowAdmin):
    """History: written when an order is accepted, and here for work from before; never changed."""

    add_form = WorkDoneForm
    add_fields = ("interval", "turbine", "component", "done_on", "due_on", "counter", "note")
    joins = ("interval", "turbine__site", "component__kind")
    list_display = ("interval", "turbine", "site", "component", "done_on", "due_on", "counter", "note", "work_page")
    list_filter = (("turbine__site", ScopedFilter), ("interval", ScopedFilter))
    search_fields = ("interval__code", "turbine__code", "note")
    date_hierarchy = "done_on"
    autocomplete_fields = ("interval", "turbine")
    raw_id_fields = ("component",)

    def has_add_permission(self, request: Any, obj: Any = None) -> bool:
        """Planners."""
        return RowAdmin.has_add_permission(self, request, obj)

    def page_of(self, row: WorkDone) -> str:
        """Where its next due date stands."""
        return reverse("due")

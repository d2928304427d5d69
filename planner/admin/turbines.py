"""Turbine types, turbines, their component trees and counters."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from django.contrib import admin
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from planner.admin.base import OnTurbine, RowAdmin, ScopedFilter
from planner.admin.forms import RowForm
from planner.models import Component, ComponentKind, CounterReading, Turbine, TurbineType
from planner.rest.caller import CREW
from planner.services.register_rules import component_check, turbine_type_check

TREE = '<ul style="margin: 0; padding: 0 0 0 1.5em; list-style: disc outside">{}</ul>'


class TurbineTypeForm(RowForm):
    """Asks the turbines of the type too."""

    def judge(self, row: Any) -> None:
        """The lift stays below their hubs."""
        turbine_type_check(row)


@admin.register(TurbineType)
class TurbineTypeAdmin(RowAdmin):
    """Rotor, power curve and the way up."""

    form = TurbineTypeForm
    list_display = ("name", "rated_kw", "rotor_diameter_m", "cut_in_mps", "cut_out_mps", "lift_to_m")
    list_filter = (("lift_to_m", admin.EmptyFieldListFilter),)
    search_fields = ("name",)


@admin.register(Turbine)
class TurbineAdmin(RowAdmin):
    """Turbines of the caller's sites, each with its tree."""

    joins = ("site", "type")
    list_display = ("code", "site", "type", "hub_height_m", "feeder", "road", "commissioned_on")
    list_filter = (("site", ScopedFilter), ("type", ScopedFilter), "feeder")
    search_fields = ("code", "designation", "site__code", "site__name")
    fields = (
        "site", "code", "type", ("latitude", "longitude"), "hub_height_m", "feeder", "road", "commissioned_on",
        "designation", "tree",
    )  # fmt: skip
    readonly_fields = ("tree",)

    def label(self, row: Turbine) -> str:
        """With the site: codes repeat between sites."""
        return f"{row} at {row.site}"

    @admin.display(description="components")
    def tree(self, row: Turbine) -> str:
        """The components as a tree, each leading to its page, and a way to add one."""
        if not row.pk:
            return "Save the turbine first."
        below: dict[int | None, list[Component]] = defaultdict(list)
        for component in row.components.select_related("kind"):
            below[component.parent_id].append(component)
        new = f"{reverse('admin:planner_component_add')}?turbine={row.pk}"
        return format_html('{}<a class="addlink" href="{}">Add a component</a>', _branch(below, None), new)


def _branch(below: dict[int | None, list[Component]], parent: int | None) -> SafeString:
    twigs = ((_address(one), str(one), one.designation, _branch(below, one.pk)) for one in below[parent])
    leaves = format_html_join("", '<li><a href="{}">{}</a> {}{}</li>', twigs)
    return format_html(TREE, leaves) if leaves else SafeString("")


def _address(component: Component) -> str:
    return reverse("admin:planner_component_change", args=[component.pk])


@admin.register(ComponentKind)
class ComponentKindAdmin(RowAdmin):
    """Kinds of components, shared by all sites."""

    list_display = ("code", "name")
    search_fields = ("code", "name")


class ComponentForm(RowForm):
    """Asks the tree too."""

    def judge(self, row: Any) -> None:
        """No rings."""
        component_check(row)


@admin.register(Component)
class ComponentAdmin(OnTurbine, RowAdmin):
    """Components of the caller's turbines. The parent is chosen from the list of components, which shows the turbine."""

    form = ComponentForm
    joins = ("kind", "turbine__site", "parent__kind")
    list_display = ("__str__", "turbine", "site", "parent", "designation", "serial", "installed_on")
    list_filter = (("turbine__site", ScopedFilter), ("kind", ScopedFilter))
    search_fields = ("turbine__code", "kind__code", "kind__name", "designation", "serial")
    autocomplete_fields = ("turbine", "kind")
    raw_id_fields = ("parent",)


@admin.register(CounterReading)
class CounterReadingAdmin(OnTurbine, RowAdmin):
    """Counter readings; the crew writes them too."""

    write_roles = CREW
    joins = ("turbine__site",)
    list_display = ("turbine", "site", "counter", "read_on", "value")
    list_filter = (("turbine__site", ScopedFilter), "counter")
    search_fields = ("turbine__code",)
    date_hierarchy = "read_on"
    autocomplete_fields = ("turbine",)

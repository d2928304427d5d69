"""Plans with their visits, and the morning's calls. Times are shown in the zone of the site or base, with its name."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.urls import reverse
from django.utils.html import format_html, format_html_join

from planner.admin.base import Cautioned, OnTurbine, PlainAdmin, ReadOnly, RowInline, ScopedFilter, WorkPage
from planner.views.formats import chance, moment
from scheduling.models import Call, Plan, Visit, VisitJob
from scheduling.selectors.plans import BULKY


@admin.register(Plan)
class PlanAdmin(Cautioned, WorkPage, ReadOnly, PlainAdmin):
    """A fortnight's plan; its visits stand on the Fortnight page."""

    joins = ("base", "run", "published_by")
    unloaded = ("left_out", *(f"run__{name}" for name in BULKY))
    list_display = ("id", "base", "state", "first_day", "last_day", "value", "bound", "published", "published_by", "work_page")
    list_filter = ("state", ("base", ScopedFilter))
    search_fields = ("base__name", "published_by__username")
    date_hierarchy = "first_day"
    fields = (
        "base", "run", "state", "first_day", "last_day", "value", "bound", "cost", "published", "published_by", "created_at",
    )  # fmt: skip
    readonly_fields = ("cost", "published")

    def page_of(self, row: Plan) -> str:
        """The plan on the Fortnight page."""
        return f"{reverse('fortnight')}?base={row.base_id}&plan={row.pk}"

    @admin.display(ordering="published_at")
    def published(self, row: Plan) -> str:
        """In the base's zone."""
        return moment(row.published_at, row.base.zone) if row.published_at else "not published"

    @admin.display
    def cost(self, row: Plan) -> str:
        """By part."""
        return format_html("<ul>{}</ul>", format_html_join("", "<li>{}: {}</li>", sorted(row.parts.items())))


def instant(name: str, description: str) -> Any:
    """A column of an instant in the zone of the row's site."""

    @admin.display(description=description, ordering=name)
    def column(page: OnPlan, row: Any) -> str:
        return moment(getattr(row, name), page.visit_of(row).turbine.site.zone)

    return column


class OnPlan(Cautioned, WorkPage):
    """Rows that stand on a plan's page."""

    def visit_of(self, row: Any) -> Visit:
        """The visit, whose plan has the page and whose site the zone."""
        return row.visit  # type: ignore[no-any-return]

    @admin.display(description="visit", ordering="visit__starts_at")
    def of_visit(self, row: Any) -> str:
        """Its turbine, and its start in the site's zone."""
        return f"{row.visit.turbine}, {moment(row.visit.starts_at, row.visit.turbine.site.zone)}"

    def page_of(self, row: Any) -> str:
        """The plan on the Fortnight page."""
        plan = self.visit_of(row).plan
        return f"{reverse('fortnight')}?base={plan.base_id}&plan={plan.pk}"


class JobsInline(ReadOnly, RowInline):
    """What is done on a visit."""

    model = VisitJob
    joins = ("order", "visit__turbine")
    fields = ("order", "number", "work_min")


NIGHT = ("sets_out_from", "sleeps_at")


@admin.register(Visit)
class VisitAdmin(OnTurbine, OnPlan, ReadOnly, PlainAdmin):
    """Visits to the caller's turbines, of every plan."""

    joins = ("plan", "turbine__site", "vehicle", "sets_out_from", "sleeps_at")
    unloaded = ("plan__left_out", "plan__parts")
    list_display = (
        "turbine",
        "site",
        "day",
        "starts",
        "ends",
        "down",
        "planned_chance",
        "team",
        "vehicle",
        "told",
        "plan",
        "work_page",
    )
    list_filter = (("turbine__site", ScopedFilter), "plan__state", "by", ("told_at", admin.EmptyFieldListFilter))
    search_fields = ("turbine__code", "people__name", "jobs__order__number")
    date_hierarchy = "day"
    fields = ("plan", "turbine", "day", "starts", "ends", "down", "planned_chance", "by", "only_if", "told", "team",
              "vehicle", *NIGHT)  # fmt: skip
    readonly_fields = ("starts", "ends", "down", "told", "planned_chance", "team")
    inlines = (JobsInline,)
    starts = instant("starts_at", "starts")
    ends = instant("ends_at", "ends")
    down = instant("down_by", "down by")

    @admin.display(description="told", ordering="told_at")
    def told(self, row: Visit) -> str:
        """When the team was told, in the site's zone."""
        return moment(row.told_at, row.turbine.site.zone) if row.told_at else "not yet"

    def visit_of(self, row: Visit) -> Visit:
        """Itself."""
        return row

    def get_queryset(self, request: Any) -> Any:
        """With the people."""
        return super().get_queryset(request).prefetch_related("people")

    @admin.display(description="chance", ordering="chance")
    def planned_chance(self, row: Visit) -> str:
        """When it was planned."""
        return chance(row.chance)

    @admin.display
    def team(self, row: Visit) -> str:
        """Who goes."""
        return ", ".join(person.name for person in row.people.all())


@admin.register(VisitJob)
class VisitJobAdmin(OnPlan, ReadOnly, PlainAdmin):
    """Which part of which order is done on which visit."""

    joins = ("order", "visit__plan", "visit__turbine__site")
    unloaded = ("visit__plan__left_out", "visit__plan__parts")
    list_display = ("order", "of_visit", "number", "work_min", "work_page")
    list_filter = (("visit__turbine__site", ScopedFilter), "visit__plan__state")
    search_fields = ("order__number", "visit__turbine__code")
    date_hierarchy = "visit__day"


@admin.register(Call)
class CallAdmin(OnPlan, ReadOnly, PlainAdmin):
    """What the mornings said, as it was said. A call of the past says nothing about now."""

    joins = ("visit__plan", "visit__turbine__site", "forecast__site", "by")
    unloaded = ("about", "visit__plan__left_out", "visit__plan__parts", "forecast__data", "forecast__about")
    list_display = ("of_visit", "site", "verdict", "said", "first", "last", "down", "said_chance", "by", "work_page")
    list_filter = ("verdict", ("visit__turbine__site", ScopedFilter))
    search_fields = ("visit__turbine__code", "by__username")
    date_hierarchy = "said_at"
    fields = ("visit", "verdict", "said", "first", "last", "down", "said_chance", "forecast", "by")
    readonly_fields = ("said", "first", "last", "down", "said_chance")
    said = instant("said_at", "said")
    first = instant("first_start", "first start")
    last = instant("last_start", "last start")
    down = instant("down_by", "down by")

    @admin.display(ordering="visit__turbine__site__code")
    def site(self, row: Call) -> str:
        """Of the turbine."""
        return str(row.visit.turbine.site)

    @admin.display(description="chance", ordering="chance")
    def said_chance(self, row: Call) -> str:
        """When it was said."""
        return chance(row.chance)

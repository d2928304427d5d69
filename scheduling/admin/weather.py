"""Weather feeds, and the series that came in."""

from __future__ import annotations

from typing import Any

from django.contrib import admin, messages
from django.core.exceptions import ValidationError
from django.utils.html import format_html, format_html_join

from planner.admin.base import NoAdd, OnTurbine, PlainAdmin, ReadOnly, RowAdmin, ScopedFilter
from planner.admin.forms import RowForm
from planner.errors import PlannerError
from planner.rest.caller import PLANNERS, caller_of
from planner.services.access import require_role
from scheduling.models import TurbineWind, WeatherFeed, WeatherSet
from scheduling.services.shear import shear_fit
from scheduling.weather.recipe import recipe_from_json


class FeedForm(RowForm):
    """A recipe that leaves something open is refused now, not with the first file."""

    def judge(self, row: Any) -> None:
        """Read the recipe as a file would."""
        try:
            recipe_from_json(row.recipe if isinstance(row.recipe, dict) else {})
        except ValueError as error:
            raise ValidationError({"recipe": str(error)}) from error


@admin.register(WeatherFeed)
class WeatherFeedAdmin(RowAdmin):
    """Where weather comes from and how its files are read."""

    form = FeedForm
    joins = ("site",)
    list_display = ("name", "site", "kind", "every_h")
    list_filter = (("site", ScopedFilter), "kind")
    search_fields = ("name", "site__code", "site__name")


@admin.register(WeatherSet)
class WeatherSetAdmin(ReadOnly, PlainAdmin):
    """What came in; the numbers themselves stay in the database."""

    joins = ("site", "feed")
    unloaded = ("data", "about")
    list_display = ("site", "kind", "issued_at", "starts_at", "ends_at", "step_min", "members", "feed", "received_at")
    list_filter = (("site", ScopedFilter), "kind", ("feed", ScopedFilter))
    search_fields = ("site__code", "site__name", "feed__name")
    date_hierarchy = "starts_at"
    fields = (
        "site", "kind", "feed", "issued_at", "received_at", "starts_at", "ends_at", "step_min", "members", "series", "digest",
    )  # fmt: skip
    readonly_fields = ("series",)
    actions = ("look_at_profile", "fit_profile")

    def has_fit_permission(self, request: Any) -> bool:
        """Planners."""
        return caller_of(request).has_any(PLANNERS)

    @admin.action(description="Look at the wind profile it tells", permissions=["view"])
    def look_at_profile(self, request: Any, queryset: Any) -> None:
        """Nothing is written."""
        self._fit(request, queryset, write=False)

    @admin.action(description="Give its site the wind profile it tells", permissions=["fit"])
    def fit_profile(self, request: Any, queryset: Any) -> None:
        """Through the service; the exponent before and after is said."""
        self._fit(request, queryset, write=True)

    def _fit(self, request: Any, queryset: Any, *, write: bool) -> None:
        for row in queryset.select_related("site"):
            try:
                if write:
                    require_role(user=request.user, site=row.site, roles=PLANNERS)
                done = shear_fit(site=row.site, weather_set=row, write=write)
                messages.success(request, f"{row.site}: {done.told}")
            except PlannerError as error:
                messages.error(request, f"{row}: {error.message}")

    @admin.display
    def series(self, row: WeatherSet) -> str:
        """Variable, unit, height and averaging of each series."""
        told = (
            (one.get("variable"), one.get("unit"), one.get("height_m"), one.get("averaging_min"))
            for one in row.about.get("series", [])
        )
        return format_html("<ul>{}</ul>", format_html_join("", "<li>{} in {} at {} m, mean of {} min</li>", told))


@admin.register(TurbineWind)
class TurbineWindAdmin(NoAdd, OnTurbine, PlainAdmin):
    """Corrections learnt from turbines' own wind (see the API): looked at, and put in and out of use."""

    joins = ("turbine__site",)
    list_display = ("turbine", "site", "factor", "offset_mps", "pairs", "rest_mps", "fitted_at", "in_use")
    list_filter = (("turbine__site", ScopedFilter), "in_use")
    search_fields = ("turbine__code", "turbine__site__code", "turbine__site__name")
    fields = ("turbine", "factor", "offset_mps", "pairs", "rest_mps", "fitted_at", "in_use")
    readonly_fields = ("turbine", "factor", "offset_mps", "pairs", "rest_mps", "fitted_at")

"""Weather feeds, and the series that came in."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.core.exceptions import ValidationError
from django.utils.html import format_html, format_html_join

from planner.admin.base import PlainAdmin, ReadOnly, RowAdmin, ScopedFilter
from planner.admin.forms import RowForm
from scheduling.models import WeatherFeed, WeatherSet
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
    list_display = ("name", "site")
    list_filter = (("site", ScopedFilter),)
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

    @admin.display
    def series(self, row: WeatherSet) -> str:
        """Variable, unit, height and averaging of each series."""
        told = (
            (one.get("variable"), one.get("unit"), one.get("height_m"), one.get("averaging_min"))
            for one in row.about.get("series", [])
        )
        return format_html("<ul>{}</ul>", format_html_join("", "<li>{} in {} at {} m, mean of {} min</li>", told))
